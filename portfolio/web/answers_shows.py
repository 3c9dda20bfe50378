"""What the screens Shows, Report galleries and Settings show."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Chip, Choice, Fact, Line, Note, Wall


@dataclass(frozen=True, slots=True)
class ShowLine:
    """A show in the list."""

    title: str
    href: str
    when: str
    works: str


@dataclass(frozen=True, slots=True)
class ShowsPage:
    """Every show, and the form for a new one."""

    shows: tuple[ShowLine, ...]
    note: Note | None = None


@dataclass(frozen=True, slots=True)
class PublicationLine:
    """What was published: for whom, when, what the sweep found, whether it still fits."""

    audience: str
    when: str
    words: str
    href: str
    state: str
    """Empty when it still fits, else "out of date" or "replaced"."""


@dataclass(frozen=True, slots=True)
class ShowPage:
    """One show: its works, why they were chosen, and what was published."""

    show_id: int
    title: str
    about: str
    intro: str
    wall: Wall
    sentence: str
    missing: tuple[str, ...]
    audiences: tuple[Choice, ...]
    readers: tuple[Chip, ...]
    audience: str
    published: tuple[PublicationLine, ...]
    limit: str = ""
    note: Note | None = None
    result: Note | None = None


@dataclass(frozen=True, slots=True)
class ReportLine:
    """What is kept for one class in the term."""

    label: str
    href: str
    children: int
    works: str
    words: str
    nothing: str


@dataclass(frozen=True, slots=True)
class ReportsPage:
    """What report galleries of this term could show, class by class."""

    term: str
    lines: tuple[ReportLine, ...]
    sentence: str


@dataclass(frozen=True, slots=True)
class RosterDecision:
    """What a roster cannot know: a sentence, and what may be chosen."""

    field: str
    name: str
    sentence: str
    choices: tuple[Choice, ...]


@dataclass(frozen=True, slots=True)
class RosterPreview:
    """What a roster would change, before it does."""

    token: str
    file: str
    year: str
    counts: tuple[Fact, ...]
    problems: tuple[str, ...]
    decisions: tuple[RosterDecision, ...] = ()
    notes: tuple[str, ...] = ()
    empty: bool = False
    columns: tuple[Fact, ...] = ()
    """Heading in the file → how it is read."""
    doubts: tuple[str, ...] = ()
    """Why the columns should be looked at."""


@dataclass(frozen=True, slots=True)
class SettingsPage:
    """The school as the library knows it."""

    pages: tuple[Chip, ...]
    facts: tuple[Fact, ...]
    has_classes: bool
    year_guess: str
    terms: tuple[Line, ...]
    media: str
    centers: str
    people: tuple[Fact, ...]
    about: tuple[Fact, ...]
    preview: RosterPreview | None = None
    done: str = ""
    note: Note | None = None
