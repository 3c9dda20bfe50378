"""What the screen Today shows."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Line, LineKind, Wall


@dataclass(frozen=True, slots=True)
class Lesson:
    """One lesson of the day on its line: ``asks`` questions wait, ``now`` it is on, ``not-yet`` it comes."""

    time: str
    datetime: str
    class_name: str
    href: str
    sentence: str
    line: LineKind
    waits: int = 0
    waits_href: str = ""


@dataclass(frozen=True, slots=True)
class BeginStep:
    """One step of setting up a new library, with the page where it is done."""

    title: str
    about: str
    href: str
    press: str
    done: bool = False
    is_next: bool = False


@dataclass(frozen=True, slots=True)
class TodayPage:
    """The day's classes, what waits, what is worth knowing, the latest works."""

    day: str
    lessons: tuple[Lesson, ...]
    no_lessons: str
    waits: int
    waits_words: str
    worth_title: str
    worth: tuple[Line, ...]
    works_title: str
    works: Wall
    coming: tuple[Line, ...]
    begin: tuple[BeginStep, ...] = ()
