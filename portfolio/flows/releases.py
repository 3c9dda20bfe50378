"""What families have said: seen class by class, recorded for one child or many, matched from a list of the office.

What is recorded is never changed; a newer line counts instead. A step that was a mistake is undone as a whole.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

from portfolio.archive import people, school
from portfolio.archive.library import Library, Session
from portfolio.flows.desk import ChildLine, see_roll
from portfolio.flows.misfits import refuse
from portfolio.model.calendar import SchoolYear
from portfolio.model.people import Audience, NameForm, Release
from portfolio.model.school import ClassGroup
from portfolio.privacy.releases import WIDEST, standing
from portfolio.roster.school_files import ReleaseLine
from portfolio.roster.words import label_key

AUDIENCES: Final = (Audience.SCHOOL, Audience.FAMILY, Audience.COMMUNITY, Audience.PUBLIC)
"""Whom families are asked about; the teacher sees all."""
SOURCE_MAX: Final = 80


@dataclass(frozen=True, slots=True)
class ChildReleases:
    """A child of a class, what counts for each audience today (``None``: nothing was said), and every line said."""

    child: ChildLine
    standing: Mapping[Audience, Release | None]
    said: tuple[Release, ...]


def see_releases(library: Library, class_id: int, *, today: date) -> tuple[ClassGroup, tuple[ChildReleases, ...]]:
    """What the families of a class have said, by number."""
    group, roll = see_roll(library, class_id, today=today)
    with library.reading() as session:
        by_child: dict[int, list[Release]] = {}
        for one in people.releases(session, [child.student_id for child in roll]):
            by_child.setdefault(one.student_id, []).append(one)
    return group, tuple(_of_child(child, by_child.get(child.student_id, []), today) for child in roll)


def _of_child(child: ChildLine, said: list[Release], today: date) -> ChildReleases:
    counts = {one: standing(said, one, day=today) for one in AUDIENCES}
    return ChildReleases(child, counts, tuple(reversed(said)))


# --- by hand ----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Said:
    """What the families of some children of a class have said, as the teacher records it."""

    numbers: frozenset[int]
    audiences: tuple[Audience, ...]
    allowed: bool
    name_form: NameForm
    from_day: date
    to_day: date | None
    source: str


def record(library: Library, class_id: int, said: Said, *, today: date) -> int:
    """Record it for every child that holds one of the numbers; gives the step's number.

    Refuses a number that nobody holds, a name wider than an audience may ever see, an allowance that a refusal of the
    same day would outweigh, and what is recorded already.
    """
    with library.writing(who="teacher", what="recorded what families said") as writing:
        session = writing.session
        group = school.class_by_id(session, class_id)
        day = school.year_by_id(session, group.year_id).clamp(today)
        holders = {one.number: one.student_id for one in people.roll(session, day=day, class_id=class_id)}
        refuse(_problems(said, holders))
        wanted = _lines(said, [holders[number] for number in sorted(said.numbers)])
        refuse(_outweighed(session, wanted))
        if not [one for one in wanted if people.add_release(session, one)]:
            refuse({"numbers": "All of this is recorded already."})
        return writing.action_id


def _problems(said: Said, holders: Mapping[int, int]) -> dict[str, str]:
    problems = {}
    nobody = sorted(said.numbers - holders.keys())
    if nobody:
        problems["numbers"] = f"Nobody holds number {nobody[0]} now."
    if not said.audiences:
        problems["audiences"] = "Choose at least one."
    if said.to_day is not None and said.to_day < said.from_day:
        problems["to_day"] = "The last day comes before the first."
    if said.to_day is not None and not said.allowed:
        problems["to_day"] = "A refusal is never worn out by time. Leave this empty."
    if len(said.source) > SOURCE_MAX:
        problems["source"] = f"At most {SOURCE_MAX} letters."
    return problems


def _lines(said: Said, children: Iterable[int]) -> list[Release]:
    return [
        Release(
            student_id=child,
            audience=audience,
            allowed=said.allowed,
            name_form=_form_for(audience, said) if said.allowed else NameForm.NONE,
            from_day=said.from_day,
            to_day=said.to_day,
            source=said.source,
        )
        for child in children
        for audience in said.audiences
    ]


_NARROW_FIRST: Final = (NameForm.NONE, NameForm.FIRST, NameForm.FIRST_INITIAL, NameForm.FULL)


def _form_for(audience: Audience, said: Said) -> NameForm:
    """What was allowed, never wider than this audience ever sees."""
    return min(said.name_form, WIDEST[audience], key=_NARROW_FIRST.index)


def _outweighed(session: Session, wanted: list[Release]) -> dict[str, str]:
    """Of two lines from one day the more private counts, so an allowance on the day of a refusal would be in vain."""
    for one in wanted:
        known = people.releases(session, [one.student_id])
        if standing([*known, one], one.audience, day=one.from_day) != one and one not in known:
            return {"from_day": "On this day something more private is recorded. Undo that, or choose a later day."}
    return {}


# --- from a list ------------------------------------------------------------------------------------------


def of_children(
    session: Session, lines: Iterable[ReleaseLine], *, year: SchoolYear, day: date
) -> tuple[tuple[Release, ...], list[tuple[int, str]]]:
    """The releases that a list tells of children of this year; and (line, who) of those whom nobody is."""
    children = _Children(session, year, day)
    told: list[Release] = []
    unknown = []
    for line in lines:
        child = children.of(line)
        if child is None:
            unknown.append((line.line, f"number {line.number}" if line.number is not None else "the id"))
        else:
            told += _releases(line, child, year)
    return tuple(told), unknown


class _Children:
    """Who is meant by a class and number on a day, or by the school's own id."""

    def __init__(self, session: Session, year: SchoolYear, day: date) -> None:
        labels = {one.class_id: label_key(one.label) for one in school.classes(session, year.year_id)}
        roll = people.roll(session, day=day, year_id=year.year_id)
        self._by_number = {(labels[one.class_id], one.number): one.student_id for one in roll}
        self._by_id: dict[str, int] = {}
        for record in people.students(session):
            self._by_id |= {key: record.student_id for key in (record.identifier, record.source_id) if key}

    def of(self, line: ReleaseLine) -> int | None:
        """The child of a line; ``None`` when nobody is, or when id and number contradict each other."""
        by_id = self._by_id.get(line.child_id) if line.child_id else None
        by_number = self._by_number.get((label_key(line.class_label), line.number or 0))
        if line.child_id and line.number is not None and line.class_label:
            return by_id if by_id == by_number else None
        return by_id if line.child_id else by_number


def _releases(line: ReleaseLine, child: int, year: SchoolYear) -> list[Release]:
    return [
        Release(
            student_id=child,
            audience=audience,
            allowed=line.allowed,
            name_form=line.name_form,
            from_day=line.from_day or year.starts_on,
            to_day=line.to_day,
            source=line.source or f"list for {year.label}",
        )
        for audience in line.audiences
    ]


def news(session: Session, told: Collection[Release]) -> tuple[Release, ...]:
    """Those that are not what was recorded last for their child and audience."""
    last = {(one.student_id, one.audience): one for one in people.releases(session, {one.student_id for one in told})}
    found = []
    for one in told:
        key = (one.student_id, one.audience)
        if last.get(key) != one:
            found.append(one)
        last[key] = one
    return tuple(found)
