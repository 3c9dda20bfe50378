"""The teacher changes the school's time by hand: years and terms, the lessons of a class, days off.

Every change is one step that can be undone; each gives its number. What does not fit is refused field by field.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise
from typing import Final

from portfolio.archive import room, school
from portfolio.archive.library import Library
from portfolio.errors import PortfolioError
from portfolio.flows.misfits import refuse
from portfolio.flows.school import SCHOOL_NAME
from portfolio.model.calendar import Calendar, DayKind, LostDay, MarkedDay, SchoolYear, Term, TimetableSlot
from portfolio.model.school import ClassGroup
from portfolio.roster import calendar as days
from portfolio.roster.sessions import read_year_label

SCHOOL_NAME_MAX: Final = 120
SPAN_MAX_DAYS: Final = 120
"""Days off marked at once; more is rather a slip of the pen."""


@dataclass(frozen=True, slots=True)
class SchoolTime:
    """One school year as Settings shows it; ``calendar`` is ``None`` in a library without a year."""

    school: str
    years: tuple[SchoolYear, ...]
    """Newest first."""
    calendar: Calendar | None
    classes: tuple[ClassGroup, ...] = ()
    slots: tuple[TimetableSlot, ...] = ()

    @property
    def overlaps(self) -> tuple[tuple[TimetableSlot, TimetableSlot], ...]:
        """Lessons that are on at the same time."""
        return days.overlaps(self.slots)


def see_time(library: Library, *, year: str | None = None, today: date) -> SchoolTime:
    """The year with this label (or the current one): days, classes, lessons. Refuses a year that is not there."""
    with library.reading() as session:
        name = str(room.setting(session, SCHOOL_NAME) or "")
        known = tuple(reversed(school.years(session)))
        shown = school.pick_year(session, year, today=today) if year else school.current_year(session, today)
        if shown is None:
            return SchoolTime(name, known, None)
        key = shown.year_id
        return SchoolTime(
            name, known, school.calendar(session, key), school.classes(session, key), school.slots(session, key)
        )


# --- school and year --------------------------------------------------------------------------------------


def name_school(library: Library, name: str) -> int:
    """Set the school's name; gives the step's number."""
    plain = " ".join(name.split())
    if not plain or len(plain) > SCHOOL_NAME_MAX:
        refuse({"school_name": f"A name of 1 to {SCHOOL_NAME_MAX} letters is needed."})
    with library.writing(who="teacher", what="named the school") as writing:
        room.put_setting(writing.session, SCHOOL_NAME, plain)
        return writing.action_id


def add_year(library: Library, label: str, *, starts_on: date, ends_on: date) -> tuple[str, int]:
    """A new school year, counting its days as the newest one does; gives its label and the step's number."""
    try:
        plain = read_year_label(label)
    except PortfolioError:
        refuse({"new_label": "Write it as 2026-27."})
    with library.writing(who="teacher", what="made a school year") as writing:
        session = writing.session
        known = school.years(session)
        if any(one.label == plain for one in known):
            refuse({"new_label": "This year is there already."})
        refuse(_year_problems(known, starts_on, ends_on, keys=("new_starts", "new_ends")))
        like = school.calendar(session, known[-1].year_id) if known else None
        made = school.add_year(session, plain, starts_on=starts_on, ends_on=ends_on)
        if like is not None:
            school.set_cycle(session, made.year_id, cycle_days=like.cycle_days, lost_day=like.lost_day)
        return plain, writing.action_id


def change_year(
    library: Library,
    label: str,
    *,
    starts_on: date,
    ends_on: date,
    cycle_days: int,
    first_cycle_day: int,
    lost_day: LostDay,
) -> int:
    """Change a year's days and how they are counted; gives the step's number.

    Refuses days that cut off a term or a marked day, or that another year has, and a cycle that a lesson lies outside.
    """
    with library.writing(who="teacher", what="changed a school year") as writing:
        session = writing.session
        year = school.pick_year(session, label, today=starts_on)
        others = [one for one in school.years(session) if one.year_id != year.year_id]
        problems = _year_problems(others, starts_on, ends_on, keys=("starts_on", "ends_on"))
        problems = problems or _cut_off(school.calendar(session, year.year_id), starts_on, ends_on)
        if first_cycle_day > cycle_days:
            problems["first_cycle_day"] = f"The cycle has only {cycle_days} days."
        beyond = [one.cycle_day for one in school.slots(session, year.year_id) if one.cycle_day > cycle_days]
        if beyond:
            problems["cycle_days"] = f"There are lessons on day {max(beyond)}. Change the timetable first."
        refuse(problems)
        school.move_year(session, year.year_id, starts_on=starts_on, ends_on=ends_on)
        school.set_cycle(
            session, year.year_id, cycle_days=cycle_days, first_cycle_day=first_cycle_day, lost_day=lost_day
        )
        return writing.action_id


def _year_problems(
    others: Iterable[SchoolYear], starts_on: date, ends_on: date, *, keys: tuple[str, str]
) -> dict[str, str]:
    if starts_on >= ends_on:
        return {keys[1]: "The last day comes before the first."}
    if (ends_on - starts_on).days > 400:
        return {keys[1]: "That is more than a year after the first day."}
    for other in others:
        if starts_on <= other.ends_on and other.starts_on <= ends_on:
            key = keys[0] if other.holds(starts_on) else keys[1]
            return {key: f"The school year {other.label} has this day already."}
    return {}


def _cut_off(calendar: Calendar, starts_on: date, ends_on: date) -> dict[str, str]:
    """Terms and marked days must stay inside."""
    spans = [(f"The term {one.label}", one.starts_on, one.ends_on) for one in calendar.terms]
    spans += [(f"The marked day {one.day}", one.day, one.day) for one in calendar.marked]
    for what, first, last in spans:
        if first < starts_on:
            return {"starts_on": f"{what} begins before this. Change that first."}
        if last > ends_on:
            return {"ends_on": f"{what} ends after this. Change that first."}
    return {}


# --- terms ------------------------------------------------------------------------------------------------


def change_terms(library: Library, terms: Iterable[Term], *, year: str) -> int:
    """Replace the terms of a year; gives the step's number. Problems are named by the term's place: ``term-0-ends``."""
    wanted = tuple(terms)
    with library.writing(who="teacher", what="changed the terms") as writing:
        session = writing.session
        found = school.pick_year(session, year, today=date.min)
        refuse(_term_problems(wanted, found))
        school.set_terms(session, found.year_id, wanted)
        return writing.action_id


def _term_problems(terms: tuple[Term, ...], year: SchoolYear) -> dict[str, str]:
    problems: dict[str, str] = {}
    for at, one in enumerate(terms):
        if one.label in {other.label for other in terms[:at]}:
            problems[f"term-{at}-label"] = "Another term has this name."
        if not year.holds(one.starts_on):
            problems[f"term-{at}-starts"] = f"This is outside the school year {year.label}."
        if not year.holds(one.ends_on):
            problems[f"term-{at}-ends"] = f"This is outside the school year {year.label}."
        elif one.ends_on < one.starts_on:
            problems[f"term-{at}-ends"] = "The last day comes before the first."
    in_order = sorted(range(len(terms)), key=lambda at: terms[at].starts_on)
    for before, after in pairwise(in_order):
        if terms[after].starts_on <= terms[before].ends_on:
            problems.setdefault(f"term-{after}-starts", f"{terms[before].label} is not over by then.")
    return problems


# --- lessons ----------------------------------------------------------------------------------------------


def change_lessons(library: Library, class_id: int, slots: Iterable[TimetableSlot]) -> int:
    """Replace the lessons of one class; gives the step's number. Problems are named by place: ``lesson-0-ends``."""
    wanted = tuple(slots)
    with library.writing(who="teacher", what="changed the timetable of a class") as writing:
        session = writing.session
        group = school.class_by_id(session, class_id)
        cycle_days = school.calendar(session, group.year_id).cycle_days
        refuse(_lesson_problems(wanted, cycle_days))
        school.set_slots(session, class_id, wanted)
        return writing.action_id


def _lesson_problems(slots: tuple[TimetableSlot, ...], cycle_days: int) -> dict[str, str]:
    problems = {}
    for at, one in enumerate(slots):
        if not 1 <= one.cycle_day <= cycle_days:
            problems[f"lesson-{at}-day"] = f"The cycle has days 1 to {cycle_days}."
        if one.ends_at <= one.starts_at:
            problems[f"lesson-{at}-ends"] = "The lesson ends before it begins."
        same = [other for other in slots[:at] if other.cycle_day == one.cycle_day]
        if any(one.starts_at < other.ends_at and other.starts_at < one.ends_at for other in same):
            problems.setdefault(f"lesson-{at}-starts", "The class has another lesson at this time.")
    return problems


# --- days off ---------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Span:
    """Days in a row that are marked alike."""

    first: date
    last: date
    kind: DayKind
    note: str
    cycle_day: int | None


def spans_of(marked: Iterable[MarkedDay]) -> tuple[Span, ...]:
    """Marked days, those in a row with one kind and note taken together (a weekend between them does not part them)."""
    found: list[Span] = []
    for one in marked:
        if found and _goes_on(found[-1], one):
            found[-1] = replace(found[-1], last=one.day)
        else:
            found.append(Span(one.day, one.day, one.kind, one.note, one.cycle_day))
    return tuple(found)


def _goes_on(span: Span, one: MarkedDay) -> bool:
    alike = (span.kind, span.note, span.cycle_day) == (one.kind, one.note, None)
    after = span.last + timedelta(days=1)
    while after.weekday() >= days.SATURDAY:
        after += timedelta(days=1)
    return alike and one.cycle_day is None and one.day <= after


def mark_days(
    library: Library,
    *,
    year: str,
    first: date,
    last: date | None,
    kind: DayKind,
    note: str = "",
    cycle_day: int | None = None,
) -> int:
    """Mark a day, or days in a row (weekends are left as they are unless there is school); gives the step's number."""
    until = last or first
    with library.writing(who="teacher", what="marked days in the calendar") as writing:
        session = writing.session
        found = school.pick_year(session, year, today=first)
        cycle_days = school.calendar(session, found.year_id).cycle_days
        refuse(_day_problems(found, first, until, cycle_day=cycle_day, cycle_days=cycle_days))
        plain = " ".join(note.split())
        wanted = [MarkedDay(day, kind, plain, cycle_day) for day in _days_between(first, until, kind)]
        if not wanted:
            refuse({"first": "These are weekend days, when there is no school anyway."})
        if not school.mark_days(session, found.year_id, wanted):
            refuse({"first": "It is marked like this already."})
        return writing.action_id


def _day_problems(
    year: SchoolYear, first: date, last: date, *, cycle_day: int | None, cycle_days: int
) -> dict[str, str]:
    outside = f"This is outside the school year {year.label}."
    tests = (
        (not year.holds(first), "first", outside),
        (last < first, "last", "The last day comes before the first."),
        (not year.holds(last), "last", outside),
        ((last - first).days >= SPAN_MAX_DAYS, "last", f"Mark at most {SPAN_MAX_DAYS} days at once."),
        (cycle_day is not None and last != first, "cycle_day", "The school names the cycle day of one day at a time."),
        (not 1 <= (cycle_day or 1) <= cycle_days, "cycle_day", f"The cycle has days 1 to {cycle_days}."),
    )
    return next(({key: words} for failed, key, words in tests if failed), {})


def _days_between(first: date, last: date, kind: DayKind) -> Iterator[date]:
    for step in range((last - first).days + 1):
        day = first + timedelta(days=step)
        if kind is DayKind.SCHOOL or day.weekday() < days.SATURDAY:
            yield day


def unmark_days(library: Library, *, year: str, first: date, last: date) -> int:
    """Make marked days plain again; gives the step's number. Refuses when none of them is marked."""
    with library.writing(who="teacher", what="unmarked days in the calendar") as writing:
        session = writing.session
        found = school.pick_year(session, year, today=first)
        marked = [one.day for one in school.marked_days(session, found.year_id) if first <= one.day <= last]
        if not [school.unmark_day(session, found.year_id, day) for day in marked]:
            refuse({"first": "No day there is marked."})
        return writing.action_id
