"""What the screen Today shows."""

from __future__ import annotations

from dataclasses import dataclass, replace

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
    """One step of setting up a new library. ``command``: what is typed where the app has no page for it."""

    title: str
    about: str
    href: str = ""
    press: str = ""
    done: bool = False
    is_next: bool = False
    command: str = ""

    def as_next(self) -> BeginStep:
        """The same step as the one to do now."""
        return replace(self, is_next=True)


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
