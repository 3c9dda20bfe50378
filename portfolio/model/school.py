"""Classes, media and centers as frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from portfolio.model.cards import CARD_VALUES, CardKind

MEDIUM_CARD_MIN, MEDIUM_CARD_MAX = CARD_VALUES[CardKind.MEDIUM][0], CARD_VALUES[CardKind.MEDIUM][-1]
CLASS_CARD_MIN, CLASS_CARD_MAX = CARD_VALUES[CardKind.CLASS][0], CARD_VALUES[CardKind.CLASS][-1]


@dataclass(frozen=True, slots=True)
class ClassGroup:
    """A class in one school year, e.g. label "3B", grade "3". ``source_id`` is the school system's own id."""

    class_id: int
    year_id: int
    label: str
    grade: str
    source_id: str | None = None


@dataclass(frozen=True, slots=True)
class Medium:
    """What a work is made with. ``card`` is its medium card, 61-90; ``solid`` = usually three-dimensional."""

    medium_id: int
    label: str
    aat_id: str | None = None
    card: int | None = None
    solid: bool = False
    active: bool = True


@dataclass(frozen=True, slots=True)
class Centre:
    """A place in the room, with the media at hand there."""

    centre_id: int
    label: str
    medium_ids: tuple[int, ...] = ()
    active: bool = True


@dataclass(frozen=True, slots=True)
class CentreOpening:
    """When a center is open, for one class or (``class_id`` = ``None``) for all classes of the year."""

    centre_id: int
    year_id: int
    opens_on: date
    class_id: int | None = None
    closes_on: date | None = None

    def covers(self, day: date, *, class_id: int) -> bool:
        """Whether the center is open for this class on this day."""
        ours = self.class_id is None or self.class_id == class_id
        return ours and self.opens_on <= day and (self.closes_on is None or day <= self.closes_on)
