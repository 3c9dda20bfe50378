"""What one photo is and what was seen in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum

from portfolio.errors import Problem
from portfolio.model.cards import CardKind, CardSeen, CardStatus, Polygon


class TakenSource(StrEnum):
    """Where the time of a photo comes from, most trusted first."""

    ORIGINAL = "exif original"
    DIGITIZED = "exif digitized"
    FILE = "file time"


@dataclass(frozen=True, slots=True)
class Taken:
    """When a photo was taken: naive local wall time with sub-seconds; the offset from UTC if the file says it."""

    local: datetime
    source: TakenSource
    offset_minutes: int | None = None


@dataclass(frozen=True, slots=True)
class PhotoFacts:
    """What the file itself says. Sizes are of the **upright** picture, in pixels."""

    format: str
    """Pillow's format word: JPEG, MPO, PNG, WEBP, HEIF, AVIF, GIF, TIFF, BMP."""
    width_px: int
    height_px: int
    orientation: int = 1
    """EXIF orientation 1-8 as found by the picture library; anything else counts as 1."""
    taken: Taken | None = None
    camera: str | None = None
    """Make and model only; never a serial number or an owner."""
    focal_35mm: float | None = None
    """Focal length in 35 mm equivalent, or ``None``. Already discarded when the pixel size shows a later crop."""
    profile: str | None = None
    """Name of the embedded color profile, e.g. "Display P3"; ``None`` = sRGB assumed."""
    notes: tuple[str, ...] = ()
    """Harmless oddities, e.g. "first of 12 pictures in the file", "end marker missing"."""


@dataclass(frozen=True, slots=True)
class Reading:
    """What the picture says: the file's facts and every card in it. ``problem`` is set when it cannot be opened."""

    facts: PhotoFacts | None
    cards: tuple[CardSeen, ...] = ()
    problem: Problem | None = None

    @property
    def number_cards(self) -> tuple[CardSeen, ...]:
        """The number cards only."""
        return tuple(card for card in self.cards if card.kind is CardKind.NUMBER)

    @property
    def number(self) -> int | None:
        """The one number this photo shows, however sure; ``None`` when there is none or more than one."""
        values = {card.value for card in self.number_cards}
        return values.pop() if len(values) == 1 else None

    @property
    def status(self) -> str:
        """``sure`` · ``check`` · ``conflict`` · ``none`` for the number cards of this photo together."""
        cards = self.number_cards
        if not cards:
            return "none"
        if len(cards) > 1 or any(card.status is CardStatus.CONFLICT for card in cards):
            return "conflict"
        return cards[0].status.value


@dataclass(frozen=True, slots=True)
class SizeMm:
    """Size of a work on the paper's own plane. ``about`` is true when the photo has no focal length."""

    width_mm: float
    height_mm: float
    about: bool = False
    sheet: str | None = None
    """Name of a standard sheet within tolerance, e.g. "9 × 12 in", "A4"."""


@dataclass(frozen=True, slots=True)
class ColorSeen:
    """What the card's neutral patches said. ``gains`` multiply linear R, G, B; ``clipped`` = too bright to correct."""

    gains: tuple[float, float, float]
    gammas: tuple[float, float, float] = (1.0, 1.0, 1.0)
    clipped: bool = False
    table_near_white: bool = False


@dataclass(frozen=True, slots=True)
class Crop:
    """Where the work lies in the upright photo."""

    outline_px: Polygon
    sure: bool
    """May be cropped without asking."""
    shape: str
    """One of "sheet" (straight edges, rectified) · "free" (torn, cut-out; flat) · "solid" (3-D: cropped with a margin,
    never rectified)."""
    why: str = ""
    """One clause for the teacher, e.g. "the sheet is as white as the table"."""
    by_hand: bool = False


@dataclass(frozen=True, slots=True)
class Derivative:
    """A picture made from the original: JPEG bytes, fresh, without metadata."""

    long_side_px: int
    """The rung of the ladder: 2016, 672 or 336 (the picture may be smaller than its rung)."""
    width_px: int
    height_px: int
    jpeg: bytes = field(repr=False)


@dataclass(frozen=True, slots=True)
class Straightened:
    """The work itself: upright, flat, cropped, true color, as far as could be told."""

    derivatives: tuple[Derivative, ...]
    crop: Crop | None = None
    size: SizeMm | None = None
    color: ColorSeen | None = None
    crop_hash: int | None = None
    """64-bit perceptual hash of the crop; comparable only when made from a rectified crop."""
    color_shares: Mapping[str, int] = field(default_factory=dict)
    """Percent of the work in each of the 11 basic color terms, paper excluded: red orange yellow green blue
    purple pink brown black white gray."""
    recipe: int = 1
    """Version of the way these pictures were made; a change rebuilds them."""


@dataclass(frozen=True, slots=True)
class WorkOfCard:
    """One of several works in a photo: the number card it belongs to, and its own pictures.

    ``why`` is empty when the card was read surely and surely belongs to this work; else it says in one clause what is
    in doubt, and the number must be asked about. Whether the work's edge is clear, its crop says.
    """

    card: CardSeen
    straightened: Straightened
    why: str = ""

    @property
    def sure(self) -> bool:
        """May be filed to the card's number without asking."""
        return not self.why

    @property
    def own_card(self) -> CardSeen:
        """The card as filing may trust it for this work: other cards in the photo are not held against it, a doubt
        about whose work it is counts like a card that cannot be read surely.
        """
        if not self.why:
            return replace(self.card, status=CardStatus.SURE, why="", by_itself=None)
        unsure = CardStatus.CONFLICT if self.card.alone is CardStatus.SURE else self.card.alone
        return replace(self.card, status=unsure, why=self.why, by_itself=None)


@dataclass(frozen=True, slots=True)
class PhotoSeen:
    """Everything one worker found in one photo: plain values, safe to send between processes."""

    file: str
    """The file's own name, never its path."""
    reading: Reading
    straightened: Straightened | None = None
    works: tuple[WorkOfCard, ...] = ()
    """Set when the photo shows several works, each with its number card; ``straightened`` is ``None`` then."""

    @property
    def each(self) -> tuple[PhotoSeen, ...]:
        """One for each work in the photo, as if it had been photographed alone; itself when there is only one."""
        if not self.works:
            return (self,)
        others = tuple(card for card in self.reading.cards if card.kind is not CardKind.NUMBER)
        return tuple(
            PhotoSeen(
                self.file,
                replace(self.reading, cards=(one.own_card, *others)),
                one.straightened if one.straightened.derivatives else None,
            )
            for one in self.works
        )

    def one_work(self, part: int) -> PhotoSeen:
        """The work that row ``part`` of a photo is about: from 1 of several works, else (0) the photo itself."""
        return self.each[part - 1] if 0 < part <= len(self.works) else self
