"""What the screen Find and the page of one work show."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Chip, Choice, Fact, Note, Picture, Said, Step, Wall


@dataclass(frozen=True, slots=True)
class TierWall:
    """Works that were found the same way: written so, as children spell it, or maybe."""

    title: str
    sentence: str
    wall: Wall


@dataclass(frozen=True, slots=True)
class FindPage:
    """The words, the chips, the walls."""

    words: str
    chips: tuple[Chip, ...]
    more_chips: tuple[Chip, ...]
    hidden: tuple[tuple[str, str], ...]
    total: str
    tiers: tuple[TierWall, ...]
    more_href: str
    nothing: str
    note: Note | None = None


@dataclass(frozen=True, slots=True)
class ViewLink:
    """One view of a work: a small picture and its role."""

    href: str
    word: str
    picture: Picture
    open: bool


@dataclass(frozen=True, slots=True)
class SaidHere:
    """A child's words on the page of their work, and whether someone may be named in them."""

    said: Said
    reflection_id: int
    doubt: str = ""
    """The words that may be a name, as a sentence to decide; empty when nothing waits."""
    kept: str = ""
    """That others never read these words, because the teacher has said so."""


@dataclass(frozen=True, slots=True)
class WorkPage:
    """One work, for the teacher."""

    work_id: int
    title: str
    number: str
    about: str
    name: str
    student_href: str
    picture: Picture | None
    full_href: str
    views: tuple[ViewLink, ...]
    open_view: str
    """The word of the view that is large."""
    place: str
    """Which of them it is: "2 of 3"."""
    before: str
    """Where the view before it is; empty at the first."""
    after: str
    facts: tuple[Fact, ...]
    said: tuple[SaidHere, ...]
    children: tuple[Choice, ...]
    """Whose words may be written down here, where several made it; empty for one child's work."""
    writers: tuple[Choice, ...]
    typed: str
    """Words that could not be kept, as they were typed."""
    words_max: int
    tags: tuple[str, ...]
    observations: tuple[Fact, ...]
    history: tuple[Step, ...]
    original_href: str
    edge_href: str
    """Where its edge is set and parts are hidden; both empty when its photo has no pixels to point at."""
    hide_href: str
    media: tuple[Choice, ...]
    centers: tuple[Choice, ...]
    tags_written: str
    plain_title: str
    note: Note | None = None
