"""The school's records: years, terms, marked days, classes, lessons, class cards.

Every function takes the flow's open session first and never commits. What comes out are frozen values of ``model``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date

from sqlmodel import Session, col, select

from portfolio.archive import tables
from portfolio.archive.rows import existing
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.model.calendar import Calendar, DayKind, LostDay, MarkedDay, SchoolYear, Term, TimetableSlot
from portfolio.model.school import CLASS_CARD_MAX, CLASS_CARD_MIN, ClassGroup

# --- years ------------------------------------------------------------------------------------------------


def add_year(
    session: Session,
    label: str,
    *,
    starts_on: date,
    ends_on: date,
    cycle_days: int = 6,
    first_cycle_day: int = 1,
    lost_day: LostDay = LostDay.SHIFT,
) -> SchoolYear:
    """A new school year. Refuses a label that is there already, days in the wrong order, and an overlap."""
    if starts_on >= ends_on:
        raise PortfolioError("bad-request", item="The school year", found="it ends before it starts")
    for other in years(session):
        if other.label == label or (starts_on <= other.ends_on and other.starts_on <= ends_on):
            raise Refused("school-exists", item=f"The school year {other.label}")
    row = tables.SchoolYear(
        label=label,
        starts_on=starts_on,
        ends_on=ends_on,
        cycle_days=cycle_days,
        first_cycle_day=first_cycle_day,
        lost_day=lost_day.value,
    )
    session.add(row)
    session.flush()
    return _year(row)


def years(session: Session) -> tuple[SchoolYear, ...]:
    """Every school year, oldest first."""
    rows = session.exec(select(tables.SchoolYear).order_by(col(tables.SchoolYear.starts_on))).all()
    return tuple(_year(row) for row in rows)


def year_of_day(session: Session, day: date) -> SchoolYear | None:
    """The year that holds ``day``; ``None`` when no year does."""
    return next((year for year in years(session) if year.holds(day)), None)


def current_year(session: Session, today: date) -> SchoolYear | None:
    """The year that holds ``today``, else the newest; ``None`` when there is no year at all."""
    known = years(session)
    holding = [year for year in known if year.holds(today)]
    return next(reversed(holding or known), None)


def pick_year(session: Session, label: str | None = None, *, today: date) -> SchoolYear:
    """The year with this label, or (without a label) the current one. ``NotFound`` when there is none."""
    if label is None:
        found = current_year(session, today)
    else:
        found = next((year for year in years(session) if year.label == label), None)
    if found is None:
        raise NotFound("not-found", item=f"The school year {label}" if label else "A school year")
    return found


def year_by_id(session: Session, year_id: int) -> SchoolYear:
    """One school year."""
    return _year(_year_row(session, year_id))


def _year(row: tables.SchoolYear) -> SchoolYear:
    assert row.id is not None
    return SchoolYear(row.id, row.label, row.starts_on, row.ends_on)


def _year_row(session: Session, year_id: int) -> tables.SchoolYear:
    return existing(session, tables.SchoolYear, year_id, item=f"School year {year_id}")


# --- calendar ---------------------------------------------------------------------------------------------


def calendar(session: Session, year_id: int) -> Calendar:
    """Days, terms and cycle of one year."""
    row = _year_row(session, year_id)
    return Calendar(
        year=_year(row),
        cycle_days=row.cycle_days,
        first_cycle_day=row.first_cycle_day,
        lost_day=LostDay(row.lost_day),
        terms=terms(session, year_id),
        marked=marked_days(session, year_id),
    )


def set_cycle(
    session: Session, year_id: int, *, cycle_days: int, first_cycle_day: int = 1, lost_day: LostDay = LostDay.SHIFT
) -> Calendar:
    """Change how a year counts its days."""
    row = _year_row(session, year_id)
    try:
        Calendar(_year(row), cycle_days, first_cycle_day, lost_day)
    except ValueError as error:
        raise PortfolioError("bad-request", item="The cycle", found=str(error)) from error
    row.cycle_days, row.first_cycle_day, row.lost_day = cycle_days, first_cycle_day, lost_day.value
    session.flush()
    return calendar(session, year_id)


def move_year(session: Session, year_id: int, *, starts_on: date, ends_on: date) -> SchoolYear:
    """Change a year's first and last day. Refuses an overlap with another year."""
    if starts_on >= ends_on:
        raise PortfolioError("bad-request", item="The school year", found="it ends before it starts")
    for other in years(session):
        if other.year_id != year_id and starts_on <= other.ends_on and other.starts_on <= ends_on:
            raise Refused("school-exists", item=f"The school year {other.label}")
    row = _year_row(session, year_id)
    row.starts_on, row.ends_on = starts_on, ends_on
    session.flush()
    return _year(row)


def terms(session: Session, year_id: int) -> tuple[Term, ...]:
    """The report periods of a year, in order."""
    query = select(tables.Term).where(tables.Term.year_id == year_id).order_by(col(tables.Term.starts_on))
    return tuple(Term(row.label, row.starts_on, row.ends_on, row.id) for row in session.exec(query).all())


def set_terms(session: Session, year_id: int, wanted: Iterable[Term]) -> tuple[Term, ...]:
    """Replace a year's report periods; one with a label that is there already keeps its id."""
    year, wanted = year_by_id(session, year_id), tuple(wanted)
    for term in wanted:
        if not year.starts_on <= term.starts_on <= term.ends_on <= year.ends_on:
            raise PortfolioError("bad-request", item=f"The term {term.label}", found="its days are not inside the year")
    known = {row.label: row for row in session.exec(select(tables.Term).where(tables.Term.year_id == year_id)).all()}
    for term in wanted:
        row = known.pop(term.label, None) or tables.Term(
            year_id=year_id, label=term.label, starts_on=term.starts_on, ends_on=term.ends_on
        )
        row.starts_on, row.ends_on = term.starts_on, term.ends_on
        session.add(row)
    for row in known.values():
        session.delete(row)
    session.flush()
    return terms(session, year_id)


def marked_days(session: Session, year_id: int) -> tuple[MarkedDay, ...]:
    """The days that differ from the plain week, in order."""
    query = select(tables.CalendarDay).where(tables.CalendarDay.year_id == year_id)
    rows = session.exec(query.order_by(col(tables.CalendarDay.day))).all()
    return tuple(MarkedDay(row.day, DayKind(row.kind), row.note, row.cycle_day) for row in rows)


def mark_days(session: Session, year_id: int, days: Iterable[MarkedDay]) -> int:
    """Mark days (a day marked before is marked anew); gives how many differ from what stood there."""
    year = _year(_year_row(session, year_id))
    query = select(tables.CalendarDay).where(tables.CalendarDay.year_id == year_id)
    known = {row.day: row for row in session.exec(query).all()}
    changed = 0
    for marked in days:
        if not year.holds(marked.day):
            raise PortfolioError("bad-request", item=f"{marked.day}", found=f"it is not in the year {year.label}")
        row = known.setdefault(marked.day, tables.CalendarDay(year_id=year_id, day=marked.day, kind=""))
        new = (marked.kind.value, marked.note, marked.cycle_day)
        changed += new != (row.kind, row.note, row.cycle_day)
        row.kind, row.note, row.cycle_day = new
        session.add(row)
    session.flush()
    return changed


def unmark_day(session: Session, year_id: int, day: date) -> bool:
    """Make a day plain again; tells whether it was marked."""
    query = select(tables.CalendarDay).where(tables.CalendarDay.year_id == year_id, tables.CalendarDay.day == day)
    row = session.exec(query).first()
    if row is None:
        return False
    session.delete(row)
    session.flush()
    return True


# --- classes ----------------------------------------------------------------------------------------------


def add_class(session: Session, year_id: int, *, label: str, grade: str, source_id: str | None = None) -> ClassGroup:
    """A new class of a year. Refuses a label that the year has already."""
    if any(_same(known.label, label) for known in classes(session, year_id)):
        raise Refused("school-exists", item=f"The class {label}")
    row = tables.ClassGroup(year_id=year_id, label=label, grade=grade, source_id=source_id)
    session.add(row)
    session.flush()
    return _class(row)


def change_class(
    session: Session, class_id: int, *, label: str | None = None, grade: str | None = None, source_id: str | None = None
) -> ClassGroup:
    """Change what is given; the rest stays."""
    row = _class_row(session, class_id)
    row.label, row.grade = label or row.label, grade or row.grade
    row.source_id = source_id or row.source_id
    session.flush()
    return _class(row)


def classes(session: Session, year_id: int) -> tuple[ClassGroup, ...]:
    """The classes of a year, by label."""
    rows = session.exec(select(tables.ClassGroup).where(tables.ClassGroup.year_id == year_id)).all()
    return tuple(sorted((_class(row) for row in rows), key=lambda one: one.label))


def class_by_id(session: Session, class_id: int) -> ClassGroup:
    """One class of any year."""
    return _class(_class_row(session, class_id))


def class_by_label(session: Session, label: str, *, year_id: int) -> ClassGroup:
    """The class with this label in this year; capitals and spaces don't matter."""
    found = next((one for one in classes(session, year_id) if _same(one.label, label)), None)
    if found is None:
        raise NotFound("not-found", item=f"The class {label}")
    return found


def _same(one: str, other: str) -> bool:
    return "".join(one.split()).casefold() == "".join(other.split()).casefold()


def _class(row: tables.ClassGroup) -> ClassGroup:
    assert row.id is not None
    return ClassGroup(row.id, row.year_id, row.label, row.grade, row.source_id)


def _class_row(session: Session, class_id: int) -> tables.ClassGroup:
    return existing(session, tables.ClassGroup, class_id, item=f"Class {class_id}")


# --- timetable --------------------------------------------------------------------------------------------


def slots(session: Session, year_id: int) -> tuple[TimetableSlot, ...]:
    """Every lesson of a year's cycle, by cycle day and bell."""
    query = (
        select(tables.Slot)
        .join(tables.ClassGroup, col(tables.ClassGroup.id) == col(tables.Slot.class_id))
        .where(tables.ClassGroup.year_id == year_id)
        .order_by(col(tables.Slot.cycle_day), col(tables.Slot.starts_at))
    )
    return tuple(_slot(row) for row in session.exec(query).all())


def set_slots(session: Session, class_id: int, wanted: Iterable[TimetableSlot]) -> tuple[TimetableSlot, ...]:
    """Replace the lessons of one class; lessons that stay are not touched."""
    _class_row(session, class_id)
    left = list(session.exec(select(tables.Slot).where(tables.Slot.class_id == class_id)).all())
    for slot in wanted:
        if slot.class_id != class_id or slot.starts_at >= slot.ends_at:
            raise PortfolioError("bad-request", item="The lesson", found="it ends before it starts")
        same = next((row for row in left if _slot(row) == slot), None)
        if same is not None:
            left.remove(same)
        else:
            session.add(
                tables.Slot(class_id=class_id, cycle_day=slot.cycle_day, starts_at=slot.starts_at, ends_at=slot.ends_at)
            )
    for row in left:
        session.delete(row)
    session.flush()
    rows = session.exec(select(tables.Slot).where(tables.Slot.class_id == class_id)).all()
    return tuple(sorted((_slot(row) for row in rows), key=lambda one: (one.cycle_day, one.starts_at)))


def _slot(row: tables.Slot) -> TimetableSlot:
    return TimetableSlot(row.class_id, row.cycle_day, row.starts_at, row.ends_at)


# --- class cards ------------------------------------------------------------------------------------------


def class_cards(session: Session, year_id: int) -> Mapping[int, int]:
    """Which class (id) each class card stands for in a year."""
    rows = session.exec(select(tables.ClassCard).where(tables.ClassCard.year_id == year_id)).all()
    return {row.card: row.class_id for row in sorted(rows, key=lambda one: one.card)}


def map_card(session: Session, card: int, *, class_id: int) -> None:
    """Let a class card stand for a class in that class's year; a card or class mapped before is mapped anew."""
    if not CLASS_CARD_MIN <= card <= CLASS_CARD_MAX:
        found = f"class cards are {CLASS_CARD_MIN} to {CLASS_CARD_MAX}"
        raise PortfolioError("bad-request", item=f"Card {card}", found=found)
    year_id = _class_row(session, class_id).year_id
    mine = (tables.ClassCard.card == card) | (tables.ClassCard.class_id == class_id)
    for row in session.exec(select(tables.ClassCard).where(tables.ClassCard.year_id == year_id, mine)).all():
        session.delete(row)
    session.flush()
    session.add(tables.ClassCard(year_id=year_id, card=card, class_id=class_id))
    session.flush()


def map_cards_in_order(session: Session, year_id: int) -> Mapping[int, int]:
    """Give every class of a year that has no card yet the next free class card, in the order of the labels."""
    mapped = dict(class_cards(session, year_id))
    free = [card for card in range(CLASS_CARD_MIN, CLASS_CARD_MAX + 1) if card not in mapped]
    waiting = [one for one in classes(session, year_id) if one.class_id not in mapped.values()]
    for card, one in zip(free, waiting, strict=False):
        map_card(session, card, class_id=one.class_id)
    return class_cards(session, year_id)
