"""Children, their names, their numbers, and what their families have allowed.

Names stay sealed in every value that comes out. Numbers are never reused while someone holds them, and an
enrolment that ended keeps its line, so that the past can be told.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import UTC, date, datetime

from sqlalchemy import select as columns
from sqlmodel import Session, col, select

from portfolio.archive import school, tables
from portfolio.archive.rows import existing
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.model.names import SealedName
from portfolio.model.people import (
    NUMBER_MAX,
    NUMBER_MIN,
    Audience,
    ChildName,
    NameForm,
    Release,
    RollEntry,
    StudentRecord,
)

# --- children ---------------------------------------------------------------------------------------------


def add_student(
    session: Session, name: ChildName, *, source_id: str | None = None, identifier: str | None = None
) -> StudentRecord:
    """A new child. Refuses a ``source_id`` that another child has."""
    if source_id is not None and student_by_source(session, source_id) is not None:
        raise Refused("school-exists", item="A student with this id")
    row = tables.Student(
        source_id=source_id,
        identifier=identifier,
        given=name.given,
        family=name.family,
        preferred=name.preferred,
        middle=name.middle,
    )
    session.add(row)
    session.flush()
    assert row.id is not None
    for also in name.also:
        add_also(session, row.id, also)
    return student(session, row.id)


def students(session: Session, ids: Collection[int] | None = None) -> tuple[StudentRecord, ...]:
    """Every child, or those with these ids, by id; names sealed."""
    query = select(tables.Student).order_by(col(tables.Student.id))
    also = select(tables.StudentAlso).order_by(col(tables.StudentAlso.id))
    if ids is not None:
        query = query.where(col(tables.Student.id).in_(ids))
        also = also.where(col(tables.StudentAlso.student_id).in_(ids))
    spellings: dict[int, list[SealedName]] = {}
    for line in session.exec(also).all():
        spellings.setdefault(line.student_id, []).append(line.name)
    return tuple(_student(row, spellings.get(row.id or 0, [])) for row in session.exec(query).all())


def student(session: Session, student_id: int) -> StudentRecord:
    """One child."""
    found = students(session, [student_id])
    if not found:
        raise NotFound("not-found", item=f"Student {student_id}")
    return found[0]


def student_by_source(session: Session, source_id: str) -> StudentRecord | None:
    """The child with the school system's own id."""
    row = session.exec(select(tables.Student).where(tables.Student.source_id == source_id)).first()
    return None if row is None or row.id is None else student(session, row.id)


def names(session: Session, ids: Collection[int] | None = None) -> Mapping[int, ChildName]:
    """The sealed names of all children, or of these."""
    return {one.student_id: one.name for one in students(session, ids)}


def change_student(
    session: Session,
    student_id: int,
    *,
    name: ChildName | None = None,
    source_id: str | None = None,
    identifier: str | None = None,
) -> StudentRecord:
    """Change what is given. Parts of a name that go out of use are kept beside it, so that a sweep still finds them."""
    row = _row(session, student_id)
    row.source_id, row.identifier = source_id or row.source_id, identifier or row.identifier
    if name is not None:
        kept = (name.given, name.family, name.preferred, name.middle)
        old = [part for part in (row.given, row.family, row.preferred, row.middle) if part and part not in kept]
        row.given, row.family, row.preferred, row.middle = kept
        for part in (*old, *name.also):
            add_also(session, student_id, part)
    session.flush()
    return student(session, student_id)


def add_also(session: Session, student_id: int, name: SealedName) -> None:
    """Note a nickname or other spelling, once."""
    query = select(tables.StudentAlso).where(tables.StudentAlso.student_id == student_id)
    if all(line.name != name for line in session.exec(query).all()):
        session.add(tables.StudentAlso(student_id=student_id, name=name))
        session.flush()


def set_left(session: Session, student_id: int, left_on: date | None) -> None:
    """Note the last day at the school; ``None`` = the child is here."""
    _row(session, student_id).left_on = left_on
    session.flush()


def join_students(session: Session, keep_id: int, other_id: int) -> StudentRecord:
    """Two records are one child: everything of ``other_id`` goes to ``keep_id``, and the other record goes.

    Refuses when both hold a number in one class at the same time, or both made one work.
    """
    keep, other = _row(session, keep_id), _row(session, other_id)
    for theirs in enrolments(session, student_id=other_id):
        for ours in enrolments(session, student_id=keep_id):
            if ours.class_id == theirs.class_id and _overlap(ours, theirs):
                raise Refused("school-one-child", item=f"Students {keep_id} and {other_id}")
    made = set(session.exec(select(tables.Maker.work_id).where(tables.Maker.student_id == keep_id)).all())
    for maker in session.exec(select(tables.Maker).where(tables.Maker.student_id == other_id)).all():
        if maker.work_id in made:
            raise Refused("school-one-child", item=f"Students {keep_id} and {other_id}")
    for kind in (
        tables.Enrolment,
        tables.Maker,
        tables.Reflection,
        tables.Observation,
        tables.ReleaseRecord,
        tables.Disclosure,
        tables.StudentAlso,
    ):
        for row in session.exec(select(kind).where(kind.student_id == other_id)).all():
            row.student_id = keep_id
    source_id, identifier = other.source_id, other.identifier
    for part in (other.given, other.family, other.preferred, other.middle):
        if part and part not in (keep.given, keep.family, keep.preferred, keep.middle):
            add_also(session, keep_id, part)
    session.flush()
    session.delete(other)
    session.flush()
    keep.source_id, keep.identifier = keep.source_id or source_id, keep.identifier or identifier
    session.flush()
    return student(session, keep_id)


def _row(session: Session, student_id: int) -> tables.Student:
    return existing(session, tables.Student, student_id, item=f"Student {student_id}")


def _student(row: tables.Student, also: Collection[SealedName]) -> StudentRecord:
    assert row.id is not None
    name = ChildName(row.given, row.family, row.preferred, row.middle, tuple(also))
    return StudentRecord(row.id, name, row.source_id, row.identifier, row.left_on, row.erased)


# --- numbers ----------------------------------------------------------------------------------------------


def enrol(
    session: Session,
    student_id: int,
    *,
    class_id: int,
    number: int,
    from_day: date,
    to_day: date | None = None,
    source_id: str | None = None,
) -> RollEntry:
    """Give a child a number in a class. Refuses one outside 1-40 or one that another holds on any of these days."""
    if not NUMBER_MIN <= number <= NUMBER_MAX:
        raise PortfolioError("bad-request", item=f"Number {number}", found="numbers are 1 to 40")
    if to_day is not None and to_day < from_day:
        raise PortfolioError("bad-request", item=f"Number {number}", found="its last day is before its first")
    entry = RollEntry(student_id, class_id, number, from_day, to_day)
    for other in enrolments(session, class_id=class_id):
        if _overlap(entry, other) and (other.number == number or other.student_id == student_id):
            raise Refused("school-number-taken", item=f"Number {number}")
    session.add(
        tables.Enrolment(
            student_id=student_id,
            class_id=class_id,
            number=number,
            from_day=from_day,
            to_day=to_day,
            source_id=source_id,
        )
    )
    session.flush()
    return entry


def end_enrolment(session: Session, entry: RollEntry, *, to_day: date) -> RollEntry:
    """Set the last day of a number; the line stays. A day before the first day counts as the first day."""
    query = select(tables.Enrolment).where(
        tables.Enrolment.student_id == entry.student_id,
        tables.Enrolment.class_id == entry.class_id,
        tables.Enrolment.number == entry.number,
        tables.Enrolment.from_day == entry.from_day,
    )
    row = session.exec(query).first()
    if row is None:
        raise NotFound("not-found", item=f"Number {entry.number} of this class")
    row.to_day = max(to_day, row.from_day)
    session.flush()
    return _entry(row)


def enrolments(
    session: Session, *, student_id: int | None = None, class_id: int | None = None, year_id: int | None = None
) -> tuple[RollEntry, ...]:
    """Every line of a child, a class or a year, also those that ended; by class, number and first day."""
    line = tables.Enrolment
    found = (col(line.student_id), col(line.class_id), col(line.number), col(line.from_day), col(line.to_day))
    query = columns(*found).order_by(col(line.class_id), col(line.number), col(line.from_day), col(line.id))
    if student_id is not None:
        query = query.where(col(line.student_id) == student_id)
    if class_id is not None:
        query = query.where(col(line.class_id) == class_id)
    if year_id is not None:
        of_year = columns(col(tables.ClassGroup.id)).where(col(tables.ClassGroup.year_id) == year_id)
        query = query.where(col(line.class_id).in_(of_year))
    return tuple(RollEntry(*values) for values in session.execute(query))


def enrolled_before(session: Session, student_ids: Collection[int], day: date) -> set[int]:
    """Those of these children who were in a class of this school before a day."""
    asked = select(tables.Enrolment.student_id).where(
        col(tables.Enrolment.student_id).in_(list(student_ids)), col(tables.Enrolment.from_day) < day
    )
    return set(session.exec(asked.distinct()).all())


def roll(
    session: Session, *, day: date, class_id: int | None = None, year_id: int | None = None
) -> tuple[RollEntry, ...]:
    """Who holds which number on a day, in one class or in a whole year, by class and number."""
    found = enrolments(session, class_id=class_id, year_id=year_id)
    return tuple(entry for entry in found if entry.holds_on(day))


def resolve_student(session: Session, text: str, *, year_id: int | None = None, day: date | None = None) -> int:
    """The child meant by an id ("417") or by class and number ("3B-14") in a year.

    When the number changed hands, the one who holds it on ``day`` is meant, else the last who held it.
    """
    text = text.strip()
    if text.isdecimal():
        return student(session, int(text)).student_id
    label, _, number = text.rpartition("-")
    if not label or not number.strip().isdecimal() or year_id is None:
        raise NotFound("not-found", item="This student")  # never the text itself: it may be a name
    group = school.class_by_label(session, label, year_id=year_id)
    lines = [one for one in enrolments(session, class_id=group.class_id) if one.number == int(number)]
    holding = [one for one in lines if day is not None and one.holds_on(day)]
    if not lines:
        raise NotFound("not-found", item=f"Number {int(number)} of {group.label}")
    return (holding or lines)[-1].student_id


def _entry(row: tables.Enrolment) -> RollEntry:
    return RollEntry(row.student_id, row.class_id, row.number, row.from_day, row.to_day)


def _overlap(one: RollEntry, other: RollEntry) -> bool:
    return one.from_day <= (other.to_day or date.max) and other.from_day <= (one.to_day or date.max)


# --- releases ---------------------------------------------------------------------------------------------


def add_release(session: Session, release: Release) -> bool:
    """Record what a family has allowed; tells whether it is news (the same line twice is kept once)."""
    known = [one for one in releases(session, [release.student_id]) if one.audience is release.audience]
    if known and known[-1] == release:
        return False
    session.add(
        tables.ReleaseRecord(
            student_id=release.student_id,
            audience=release.audience.value,
            allowed=release.allowed,
            name_form=release.name_form.value,
            from_day=release.from_day,
            to_day=release.to_day,
            source=release.source,
            recorded_utc=datetime.now(UTC),
        )
    )
    session.flush()
    return True


def releases(
    session: Session, ids: Collection[int] | None = None, *, known_by: datetime | None = None
) -> tuple[Release, ...]:
    """Everything recorded, oldest line first: of two lines that cover a day, the later one counts.

    ``known_by``: only what was recorded up to that moment (UTC).
    """
    query = select(tables.ReleaseRecord).order_by(col(tables.ReleaseRecord.id))
    if ids is not None:
        query = query.where(col(tables.ReleaseRecord.student_id).in_(ids))
    if known_by is not None:
        query = query.where(col(tables.ReleaseRecord.recorded_utc) <= known_by)
    return tuple(
        Release(
            row.student_id,
            Audience(row.audience),
            row.allowed,
            NameForm(row.name_form),
            row.from_day,
            row.to_day,
            row.source,
        )
        for row in session.exec(query).all()
    )
