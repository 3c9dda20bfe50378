"""What a page shows, as frozen values: the pieces that many screens share.

These are apart from the tables on purpose: a page can only show what stands here. Only the answers made for the
teacher have a ``name``; those for other roles have no such attribute.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

LineKind = Literal["kept", "asks", "coming", "chosen", "now", "not-yet"]
"""The kind of line is the state: solid, dashed, dotted, double, heavy, dotted."""


@dataclass(frozen=True, slots=True)
class Drawer:
    """One drawer of the frame. ``place``: near (always), mid (from 600 px), wide (from 1000 px), narrow (below)."""

    word: str
    short: str
    href: str
    place: str
    waits: int = 0
    open: bool = False


@dataclass(frozen=True, slots=True)
class Frame:
    """The cabinet around a page."""

    school: str
    year: str
    drawers: tuple[Drawer, ...]


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture on a wall: where it is, its shape in pixels, its width in steps of 10 mm, and words for it."""

    src: str
    width_px: int
    height_px: int
    mm: int
    alt: str
    srcset: str = ""
    sizes: str = ""


@dataclass(frozen=True, slots=True)
class Tile:
    """A work on a ledge: the picture and its number are one link called ``name``."""

    name: str
    number: str
    title: str
    second: str
    line: LineKind = "kept"
    href: str | None = None
    picture: Picture | None = None
    said: str = ""
    """A child's words that stand here in place of a picture."""
    kind: Literal["tile"] = "tile"


@dataclass(frozen=True, slots=True)
class Sign:
    """Words that stand on a ledge: a school year, a grade."""

    words: str
    second: str
    kind: Literal["sign"] = "sign"


@dataclass(frozen=True, slots=True)
class Said:
    """A child's own words on a ledge or in a list, letter for letter."""

    text: str
    second: str
    language: str = "en"
    href: str | None = None
    kind: Literal["said"] = "said"


Piece = Tile | Sign | Said


@dataclass(frozen=True, slots=True)
class Wall:
    """Pieces on ledges, at one scale. ``long``: something is wider than a phone, so it is drawn smaller there."""

    pieces: tuple[Piece, ...]

    @property
    def long(self) -> bool:
        """Whether a piece is wider than a phone's page at the phone's scale."""
        return any(
            isinstance(piece, Tile) and piece.picture is not None and piece.picture.mm > 1100 for piece in self.pieces
        )


@dataclass(frozen=True, slots=True)
class Choice:
    """One entry of a list to pick from."""

    value: str
    label: str
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class Chip:
    """A word that can be switched on; ``count`` works would be left."""

    value: str
    label: str
    count: int | None = None
    chosen: bool = False


@dataclass(frozen=True, slots=True)
class Note:
    """Bad news in four parts: what happened, what is safe, what to do, where. ``alert``: she must act now."""

    heading: str
    safe: str
    do: str
    where: str = ""
    alert: bool = False
    links: tuple[tuple[str, str], ...] = ()
    """(address, words): where to look."""


@dataclass(frozen=True, slots=True)
class Line:
    """A sentence in a list, with a link if there is more to see."""

    text: str
    href: str | None = None
    link: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One line of a history: what happened when, and the step to undo if it can be."""

    text: str
    when: str
    undo: int | None = None


@dataclass(frozen=True, slots=True)
class Badge:
    """Where works may be shown: a word on a solid line, or on a hatch when withheld."""

    word: str
    withheld: bool


@dataclass(frozen=True, slots=True)
class Fact:
    """A word and what is so, for a list of facts."""

    word: str
    value: str
    href: str | None = None


@dataclass(frozen=True, slots=True)
class Empty:
    """A page that has only its words."""

    title: str
    sentence: str = ""
    lines: tuple[Line, ...] = field(default=())
