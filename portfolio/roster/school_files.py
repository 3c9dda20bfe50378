"""Calendars, timetables and releases from a table of any spreadsheet: good lines as values, bad ones as problems."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Final

from portfolio.model.calendar import DayKind, MarkedDay, SchoolYear
from portfolio.model.people import Audience, NameForm
from portfolio.roster.columns import told
from portfolio.roster.sheet import Sheet
from portfolio.roster.table import Line, Table
from portfolio.roster.values import Guess, LineProblem
from portfolio.roster.words import date_of, time_of, yes_or_no

MAX_BREAK_DAYS: Final = 120
"""A longer stretch without school is rather a mistyped year."""

_SNOW: Final = re.compile(r"\b(snow|ice|weather|closed|closure|emergency|lost|storm|flood|power)\b")
_SCHOOL: Final = re.compile(r"\b(make-?up|school day|in session)\b|^school$")
_HOLIDAY: Final = re.compile(
    r"\b(holidays?|no school|vacation|break|recess|off|non-?instructional|professional|workday|in-?service|pd|"
    r"conferences?|teacher|staff|day off)\b"
)
_WEEKDAYS: Final = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class DaysFile:
    """The marked days of a calendar file."""

    days: tuple[MarkedDay, ...]
    problems: tuple[LineProblem, ...]


@dataclass(frozen=True, slots=True)
class LessonLine:
    """One lesson as a line tells it; the class is still a label."""

    line: int
    class_label: str
    cycle_day: int
    starts_at: time
    ends_at: time


@dataclass(frozen=True, slots=True)
class ReleaseLine:
    """What one line says that a family has allowed; the child is told by class and number, or by id."""

    line: int
    class_label: str
    number: int | None
    child_id: str | None
    audiences: tuple[Audience, ...]
    allowed: bool
    name_form: NameForm
    from_day: date | None
    to_day: date | None
    source: str


# --- calendar ---------------------------------------------------------------------------------------------


def read_days(table: Table, guess: Guess, *, year: SchoolYear) -> DaysFile:
    """Marked days of one year: one day a line, or a first and a last day. Without a kind a day is a holiday."""
    sheet = Sheet(table, guess)
    day_first = sheet.day_first("day", "last day")
    found: dict[date, MarkedDay] = {}
    for line in sheet.body:
        for marked in _marked(sheet, line, year=year, day_first=day_first):
            found[marked.day] = marked
    return DaysFile(tuple(found[day] for day in sorted(found)), tuple(sheet.problems))


def _marked(sheet: Sheet, line: Line, *, year: SchoolYear, day_first: bool) -> Iterator[MarkedDay]:
    text, last_text = sheet.cell(line, "day"), sheet.cell(line, "last day")
    first = date_of(text, day_first=day_first)
    last = date_of(last_text, day_first=day_first) if last_text else first
    if first is None or last is None:
        sheet.tell("roster-date-unreadable", line.line, told(last_text if first else text))
        return
    note = sheet.cell(line, "note")
    kind = kind_of(sheet.cell(line, "kind"), note)
    if kind is None:
        sheet.tell("roster-word-unknown", line.line, "write holiday, snow or school")
        return
    if not (year.holds(first) and year.holds(last)) or not timedelta(0) <= last - first <= timedelta(MAX_BREAK_DAYS):
        sheet.tell("roster-date-outside", line.line, f"{first} to {last}" if last != first else str(first))
        return
    number = cycle_day_of(sheet.cell(line, "cycle day"))
    for step in range((last - first).days + 1):
        yield MarkedDay(first + timedelta(days=step), kind, note, number if step == 0 else None)


def kind_of(word: str, note: str = "") -> DayKind | None:
    """What a day is, from its kind or else its note; ``None`` when a kind is written that is not known."""
    for text in (word.casefold(), note.casefold()):
        if _SCHOOL.search(text) and "no school" not in text:
            return DayKind.SCHOOL
        if _SNOW.search(text):
            return DayKind.SNOW
        if _HOLIDAY.search(text) or (text in ("no", "n") and text == word.casefold()):
            return DayKind.HOLIDAY
    return None if word else DayKind.HOLIDAY


# --- timetable --------------------------------------------------------------------------------------------


def read_lessons(
    table: Table, guess: Guess, *, cycle_days: int
) -> tuple[tuple[LessonLine, ...], tuple[LineProblem, ...]]:
    """Lessons: class, cycle day ("3", "Day 3", "C", "Wed"), start and end (or "8:15-8:55" in one column)."""
    sheet = Sheet(table, guess)
    lessons = [one for line in sheet.body if (one := _lesson(sheet, line, cycle_days)) is not None]
    return tuple(lessons), tuple(sheet.problems)


def _lesson(sheet: Sheet, line: Line, cycle_days: int) -> LessonLine | None:
    label = sheet.cell(line, "class")
    if not label:
        sheet.tell("roster-class-missing", line.line)
        return None
    number = cycle_day_of(sheet.cell(line, "cycle day"))
    if number is None or number > cycle_days:
        sheet.tell("roster-cycle-day-outside", line.line, told(sheet.cell(line, "cycle day")))
        return None
    start_text, end_text = sheet.cell(line, "start"), sheet.cell(line, "end")
    if not start_text or not end_text:
        start_text, _, end_text = re.sub(r"\s*(?:-|–|\bto\b)\s*", "|", sheet.cell(line, "time")).partition("|")
    starts_at, ends_at = time_of(start_text), time_of(end_text)
    if starts_at is None or ends_at is None or ends_at <= starts_at:
        sheet.tell("roster-time-unreadable", line.line, told(f"{start_text} to {end_text}"))
        return None
    return LessonLine(line.line, label, number, starts_at, ends_at)


def cycle_day_of(text: str) -> int | None:
    """A cycle day from "3", "Day 3", a letter (C = 3) or a weekday (Wed = 3); ``None`` when it says none."""
    word = re.sub(r"\bday\b|[^a-z0-9]", "", text.casefold())
    if word.isdecimal() and len(word) <= 2:
        return int(word) or None
    if len(word) == 1 and "a" <= word <= "j":
        return ord(word) - ord("a") + 1
    if len(word) > 2 and word[:3] in _WEEKDAYS:
        return _WEEKDAYS.index(word[:3]) + 1
    return None


# --- releases ---------------------------------------------------------------------------------------------

_AUDIENCES: Final = {
    **{audience.value: (audience,) for audience in Audience if audience is not Audience.TEACHER},
    **dict.fromkeys(("web", "website", "internet", "online", "public web"), (Audience.PUBLIC,)),
    **dict.fromkeys(("hall", "building", "hallway", "wall", "in the building"), (Audience.SCHOOL,)),
    **dict.fromkeys(("print", "booklet", "newsletter", "paper"), (Audience.COMMUNITY,)),
    **dict.fromkeys(("all", "everyone", "any", "everything"), (Audience.SCHOOL, Audience.COMMUNITY, Audience.PUBLIC)),
}
_FORMS: Final = {
    **{form.value: form for form in NameForm},
    **dict.fromkeys(("", "no", "no name", "without", "-"), NameForm.NONE),
    **dict.fromkeys(("first name", "first only", "first name only", "given", "given name"), NameForm.FIRST),
    **dict.fromkeys(
        ("first name and initial", "first + initial", "initial", "first and initial", "first name + initial"),
        NameForm.FIRST_INITIAL,
    ),
    **dict.fromkeys(("full name", "whole", "first and last", "yes"), NameForm.FULL),
}


def read_releases(table: Table, guess: Guess) -> tuple[tuple[ReleaseLine, ...], tuple[LineProblem, ...]]:
    """What families have allowed. A word that is not known leaves the line out: nothing is ever allowed on a doubt."""
    sheet = Sheet(table, guess)
    day_first = sheet.day_first("from", "to")
    found = [one for line in sheet.body if (one := _release(sheet, line, day_first=day_first)) is not None]
    return tuple(found), tuple(sheet.problems)


def _release(sheet: Sheet, line: Line, *, day_first: bool) -> ReleaseLine | None:
    audiences = _AUDIENCES.get(sheet.cell(line, "audience").casefold())
    allowed = yes_or_no(sheet.cell(line, "allowed"))
    form = _FORMS.get(sheet.cell(line, "name form").casefold())
    if audiences is None or allowed is None or form is None:
        sheet.tell("roster-word-unknown", line.line, _needed(audiences, allowed))
        return None
    days: list[date | None] = []
    for meaning in ("from", "to"):
        text = sheet.cell(line, meaning)
        days.append(date_of(text, day_first=day_first) if text else None)
        if text and days[-1] is None:
            sheet.tell("roster-date-unreadable", line.line, told(text))
            return None
    number = sheet.cell(line, "number").removesuffix(".0")
    return ReleaseLine(
        line=line.line,
        class_label=sheet.cell(line, "class"),
        number=int(number) if number.isdecimal() and len(number) < 4 else None,
        child_id=sheet.cell(line, "id") or None,
        audiences=audiences,
        allowed=allowed,
        name_form=form if allowed else NameForm.NONE,
        from_day=days[0],
        to_day=days[1],
        source=sheet.cell(line, "source"),
    )


def _needed(audiences: object, allowed: object) -> str:
    if audiences is None:
        return "audience: school, family, community or public"
    return "allowed: yes or no" if allowed is None else "name form: none, first, first initial or full"
