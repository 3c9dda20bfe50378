"""What the room takes and gives: frozen values, and its two kinds of refusal."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Tier(StrEnum):
    """How a work was found. The order is the order of the list."""

    EXACT = "exact"
    """Spelled this way."""
    CHILDREN = "children"
    """A child's spelling of it."""
    MAYBE = "maybe"
    """Maybe meant."""


TIERS = (Tier.EXACT, Tier.CHILDREN, Tier.MAYBE)


@dataclass(frozen=True, slots=True)
class Document:
    """The words about one work. Every field is plain text and may be empty; several tags or observations are
    separated by line ends.
    """

    work_id: str
    reflection: str = ""
    title: str = ""
    tags: str = ""
    center: str = ""
    observations: str = ""


@dataclass(frozen=True, slots=True)
class Hit:
    """One work found. ``score`` orders hits within a tier only: rarer words and words of a title weigh more."""

    work_id: str
    tier: Tier
    score: float


@dataclass(frozen=True, slots=True)
class Showing:
    """The program says what it did: showing works for ``shown`` because ``typed`` is in no work, or seems a slip."""

    typed: str
    shown: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SearchResult:
    """The best hits, the number of all, and what was read into the question. ``by_tier`` counts all hits."""

    hits: tuple[Hit, ...] = ()
    total: int = 0
    by_tier: tuple[int, int, int] = (0, 0, 0)
    showing_for: tuple[Showing, ...] = ()


class IndexDamaged(Exception):
    """The index is missing, torn, unreadable or of another version. Nothing is lost: rebuild it."""


class IndexBusy(Exception):
    """Another process is writing the index. Nothing was written; try again later."""
