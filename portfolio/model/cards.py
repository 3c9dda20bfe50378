"""What can be seen of a printed card in a photo."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final

Point = tuple[float, float]
Polygon = tuple[Point, ...]


class CardKind(StrEnum):
    """What a card says: a child's number, a medium, a control word, or a class."""

    NUMBER = "number"
    MEDIUM = "medium"
    CONTROL = "control"
    CLASS = "class"


CARD_VALUES: Final = MappingProxyType(
    {
        CardKind.NUMBER: range(1, 41),
        CardKind.MEDIUM: range(61, 91),
        CardKind.CONTROL: range(101, 111),
        CardKind.CLASS: range(301, 361),
    }
)
"""The card values of each kind (a fixed contract, DESIGN §3). A value is also the id of the card's left tag."""


class CardStatus(StrEnum):
    """How far a card's reading may be trusted. Only ``SURE`` may file a photo."""

    SURE = "sure"
    """Both tags agree and fit one geometry."""
    CHECK = "check"
    """Only one of the two tags was read."""
    CONFLICT = "conflict"
    """The tags contradict each other, or a second card contradicts this one."""


class Control(StrEnum):
    """The control words, in the order of their cards."""

    ANOTHER_VIEW = "another view"
    GROUP_WORK = "group work"
    SLIP = "reflection slip"
    BACK = "back"
    DETAIL = "detail"
    END_OF_CLASS = "end of class"


@dataclass(frozen=True, slots=True)
class CardSeen:
    """One card in one photo. Corners are pixels of the upright photo, pixel centers at whole numbers,
    in the order top-left, top-right, bottom-right, bottom-left **of the tag as printed**; ``None`` when that tag
    was not read.
    """

    kind: CardKind
    value: int
    status: CardStatus
    left_px: Polygon | None = None
    right_px: Polygon | None = None
    why: str = ""
    """One short clause for the evidence sentence, e.g. "only the left half of the card can be seen"."""
    by_itself: CardStatus | None = None
    """What it would be if only other cards did not contradict it; ``None`` when ``status`` says it already."""
    shaken: bool = False
    """Whether it could be read only after the shake of the hand was undone: edges in such a photo are not sharp."""

    @property
    def alone(self) -> CardStatus:
        """How far its reading may be trusted when each card of the photo stands for a work of its own."""
        return self.by_itself or self.status


def only_sure(cards: Iterable[CardSeen]) -> tuple[CardSeen, ...]:
    """Those that were read surely."""
    return tuple(card for card in cards if card.status is CardStatus.SURE)
