"""The card, in millimeters: where tags, patches and number lie, and which tag id means what.

A fixed contract: cards printed once must be readable for years. Origin is the card's top left corner, x to the
right, y down; "up" of the card is "up" of the work. Corners always run top left, top right, bottom right, bottom left.
"""

from __future__ import annotations

from enum import StrEnum
from types import MappingProxyType
from typing import Final, NamedTuple

from portfolio.model.cards import CARD_VALUES, CardKind, Control

Point = tuple[float, float]
Corners = tuple[Point, Point, Point, Point]


class Rect(NamedTuple):
    """A rectangle in millimeters on the card."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float

    @property
    def corners(self) -> Corners:
        """The four corners, from the top left, clockwise as printed."""
        right, bottom = self.x_mm + self.width_mm, self.y_mm + self.height_mm
        return ((self.x_mm, self.y_mm), (right, self.y_mm), (right, bottom), (self.x_mm, bottom))

    @property
    def center(self) -> Point:
        """The middle of the rectangle."""
        return (self.x_mm + self.width_mm / 2, self.y_mm + self.height_mm / 2)

    def inset(self, by_mm: float) -> Rect:
        """The rectangle made smaller by ``by_mm`` on every side."""
        return Rect(self.x_mm + by_mm, self.y_mm + by_mm, self.width_mm - 2 * by_mm, self.height_mm - 2 * by_mm)


class Side(StrEnum):
    """Which of the two tags of a card."""

    LEFT = "left"
    RIGHT = "right"


class TagMeaning(NamedTuple):
    """What one tag id says: the card's kind and value, and which side of the card it stands on."""

    kind: CardKind
    value: int
    side: Side


CARD: Final = Rect(0.0, 0.0, 140.0, 60.0)
"""The whole card, matt white. Up to 3 mm may be cut off any side without harm."""
MODULE_MM: Final = 5.0
"""One square of a tag."""
TAG_MODULES: Final = 8
"""Squares along a tag's side: 6 of code and a black border of one."""
TAG_MM: Final = MODULE_MM * TAG_MODULES
TAGS: Final = MappingProxyType(
    {Side.LEFT: Rect(8.0, 10.0, TAG_MM, TAG_MM), Side.RIGHT: Rect(92.0, 10.0, TAG_MM, TAG_MM)}
)
"""The black squares. Their centers are 84 mm apart: the one distance that blur does not change."""
TAG_CENTERS_APART_MM: Final = 84.0
QUIET_MM: Final = 5.0
"""White round every tag: at least one module."""
NUMBER_BOX: Final = Rect(53.0, 9.0, 34.0, 23.0)
"""Where the number or the word stands; its baseline is ``NUMBER_BASELINE_MM``."""
NUMBER_BASELINE_MM: Final = 31.0
"""Height of the line on which the number stands, so that 6 and 9, 16 and 91 cannot be mixed up."""
LEDGE: Final = Rect(53.0, 31.25, 34.0, 0.75)
"""The printed line under the number."""
DIGIT_MM: Final = 20.5
"""Height of a digit; the contract asks for 20 or more."""
CAPITAL_EM: Final = 0.75
"""Height of a capital or digit in Besley, the face of the numbers, in ems (1500 of 2000 in the font)."""
PATCHES: Final = tuple(Rect(x, 36.0, 7.75, 16.0) for x in (53.0, 61.75, 70.5, 79.25))
"""The four gray patches, darkest first. Sample them with ``PATCH_INSET_MM``."""
PATCH_INSET_MM: Final = 2.5
"""Keep this far from a patch's edge when sampling it: blur mixes in the white beside it."""
PATCH_REFLECTANCE: Final = (0.045, 0.12, 0.26, 0.50)
"""How much light each patch gives back (linear, 0-1)."""
PAPER_REFLECTANCE: Final = 0.82
"""The bare card, which is the white of the scale."""
INK_REFLECTANCE: Final = 0.035
"""The black of tags and number as common printers make it; an estimate, no reading depends on it."""
WHITES: Final = (Rect(5.0, 3.5, 130.0, 4.5), Rect(5.0, 53.5, 130.0, 3.5))
"""Strips that no card ever prints on: sample the white here."""

FAMILY: Final = "tag36h11"
"""The tag family: AprilTag 36h11, 587 codes, at least 11 bits apart (Olson 2011)."""
RIGHT_OFFSET: Final = 150
"""The right tag's id is the left tag's id plus this."""
VALUES: Final = CARD_VALUES
"""The card values of each kind."""
CONTROLS: Final = MappingProxyType(dict(zip(VALUES[CardKind.CONTROL], Control, strict=False)))
"""Control words by value; 107-110 are kept free and say nothing yet."""

_MEANINGS: Final = MappingProxyType(
    {
        value + offset: TagMeaning(kind, value, side)
        for kind, values in VALUES.items()
        for value in values
        for side, offset in ((Side.LEFT, 0), (Side.RIGHT, RIGHT_OFFSET))
    }
)
LEGAL_IDS: Final = frozenset(_MEANINGS)
"""Every tag id that means something. Any other id belongs to nothing: ask."""


def card_of_tag(tag_id: int) -> TagMeaning | None:
    """What a tag says, or ``None`` for an id that belongs to nothing."""
    return _MEANINGS.get(tag_id)


def tags_of(kind: CardKind, value: int) -> tuple[int, int]:
    """Ids of the left and the right tag of a card. Refuses a value outside the kind's range."""
    if value not in VALUES[kind]:
        raise ValueError(f"there is no {kind.value} card {value}")
    return value, value + RIGHT_OFFSET


def face_of(kind: CardKind, value: int, label: str | None = None) -> str:
    """What stands in the number box: the label, or the number, the slot of a class, the control word."""
    tags_of(kind, value)
    if label:
        return label
    if kind is CardKind.CLASS:
        return str(slot_of(value))
    if kind is CardKind.CONTROL and value in CONTROLS:
        return CONTROLS[value].value
    return str(value)


def slot_of(value: int) -> int:
    """The slot 1-60 that a class card stands for (card 301 is slot 1)."""
    tags_of(CardKind.CLASS, value)
    return value - VALUES[CardKind.CLASS].start + 1


def tag_corners(side: Side) -> Corners:
    """Outer corners of a tag's black square on the card, in millimeters."""
    return TAGS[side].corners


def card_corners() -> Corners:
    """Corners of the card, in millimeters."""
    return CARD.corners
