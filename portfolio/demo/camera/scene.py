"""What lies on the table: the table itself, works and cards. Lengths in millimeters on the table.

x runs right and y down as seen from above, angles turn clockwise. Heights above the table are positive.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from portfolio.cards.geometry import PATCH_REFLECTANCE
from portfolio.model.cards import CardKind


class TableKind(StrEnum):
    """What the works lie on."""

    WOOD = "wood"
    FELT = "felt"
    WHITE = "white"
    MAT = "mat"
    KRAFT = "kraft"
    CLUTTER = "clutter"


class Shape(StrEnum):
    """What kind of thing a work is."""

    SHEET = "sheet"
    """Straight edges, the whole picture."""
    TORN = "torn"
    """A sheet with torn edges; the picture's alpha says where paper is."""
    CUT = "cut"
    """Cut out along a free line; the picture's alpha says where."""
    SOLID = "solid"
    """A 3-D thing: a cut-out seen from above, with a shadow of its height."""


class Laying(StrEnum):
    """How a card lies to its work and to the photo."""

    BESIDE = "beside"
    OVER = "over"
    """It covers some of the work."""
    CUT = "cut"
    """The edge of the photo cuts it."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where the middle of a thing lies and how far it is turned clockwise."""

    x_mm: float
    y_mm: float
    angle_deg: float = 0.0


ORIGIN = Place(0.0, 0.0)
FOLD_ROUND_MM = 3.0
"""Radius of a crease's top, about."""


@dataclass(frozen=True, slots=True)
class Fold:
    """One crease of a crumpled sheet: a ridge along a line that the paper keeps after it was smoothed out."""

    at_mm: tuple[float, float]
    """A point on it, from the work's middle."""
    angle_deg: float
    height_mm: float
    width_mm: float
    """How fast it falls off to both sides."""


@dataclass(frozen=True, slots=True)
class Glare:
    """A lamp mirrored in a laminated card: a bright oval, and a faint veil over all of it."""

    at_mm: tuple[float, float]
    """Its middle, from the card's middle."""
    radii_mm: tuple[float, float]
    angle_deg: float
    peak: float
    """Light added in its middle, in units of what white paper would give back."""
    veil: float


@dataclass(frozen=True, slots=True, eq=False)
class WorkLaid:
    """One work on the table. ``picture`` is sRGB, height × width × 3, or × 4 with alpha for a free outline."""

    picture: NDArray[np.uint8]
    width_mm: float
    height_mm: float
    shape: Shape = Shape.SHEET
    place: Place = ORIGIN
    bow_mm: float = 0.0
    """How far two opposite edges stand off the table (left and right; top and bottom when ``bow_upright``)."""
    bow_upright: bool = False
    thickness_mm: float = 0.3
    """Height of the edges that throw a shadow; for a solid work its height."""
    folds: tuple[Fold, ...] = ()

    def at(self, place: Place) -> WorkLaid:
        """The same work in another place."""
        return replace(self, place=place)


@dataclass(frozen=True, slots=True)
class CardLaid:
    """One printed card on the table. ``patches`` are the grays as this printer made them; ``tint`` its paper."""

    kind: CardKind
    value: int
    label: str | None = None
    laying: Laying = Laying.BESIDE
    place: Place = ORIGIN
    patches: tuple[tuple[float, float, float], ...] = tuple((level,) * 3 for level in PATCH_REFLECTANCE)
    tint: tuple[float, float, float] = (1.0, 1.0, 1.0)
    scale: float = 1.0
    """Printed size over true size; 0.96 for a page shrunk to fit."""
    curl_mm: float = 0.0
    """How far its left and right ends stand off the table."""
    glare: Glare | None = None

    def at(self, place: Place) -> CardLaid:
        """The same card in another place."""
        return replace(self, place=place)


Thing = WorkLaid | CardLaid


@dataclass(frozen=True, slots=True)
class Table:
    """What lies below. ``seed`` makes its grain."""

    kind: TableKind
    seed: int
    reflectance: tuple[float, float, float]
    """Mean linear reflectance in red, green, blue."""


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Everything on the table, from below to above: works first, then cards."""

    table: Table
    works: tuple[WorkLaid, ...]
    cards: tuple[CardLaid, ...]

    @property
    def things(self) -> tuple[Thing, ...]:
        """Works and cards, from below to above."""
        return (*self.works, *self.cards)


def to_table(points_mm: NDArray[np.float64], place: Place) -> NDArray[np.float64]:
    """Points of a thing (N × 2, from its middle) as points on the table."""
    turn = np.deg2rad(place.angle_deg)
    spin = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    moved: NDArray[np.float64] = points_mm @ spin.T + (place.x_mm, place.y_mm)
    return moved


def from_table(x_mm: NDArray[np.float64], y_mm: NDArray[np.float64], place: Place) -> tuple[NDArray[np.float64], ...]:
    """Table coordinates as coordinates of a thing, from its middle; any array shape."""
    turn = np.deg2rad(place.angle_deg)
    dx, dy = x_mm - place.x_mm, y_mm - place.y_mm
    return dx * np.cos(turn) + dy * np.sin(turn), dy * np.cos(turn) - dx * np.sin(turn)


def height_at(thing: Thing, u_mm: NDArray[np.float64], v_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """Height of the paper over the table at points of a work or card (from its middle)."""
    if isinstance(thing, CardLaid):
        curl: NDArray[np.float64] = thing.curl_mm * np.square(np.clip(u_mm / (size_mm(thing)[0] / 2), -1.1, 1.1))
        return curl
    along, half = (v_mm, thing.height_mm / 2) if thing.bow_upright else (u_mm, thing.width_mm / 2)
    lift: NDArray[np.float64] = thing.bow_mm * np.square(np.clip(along / half, -1.1, 1.1))
    for fold in thing.folds:
        lift = lift + _ridge(fold, u_mm, v_mm)
    return lift


def _ridge(fold: Fold, u_mm: NDArray[np.float64], v_mm: NDArray[np.float64]) -> NDArray[np.float64]:
    """A crease with a rounded top, so that the picture can be worked out between the nodes of a grid."""
    turn = np.deg2rad(fold.angle_deg)
    away = (u_mm - fold.at_mm[0]) * np.sin(turn) - (v_mm - fold.at_mm[1]) * np.cos(turn)
    rounded = np.sqrt(np.square(away) + FOLD_ROUND_MM**2) - FOLD_ROUND_MM
    ridge: NDArray[np.float64] = fold.height_mm * np.exp(-rounded / fold.width_mm)
    return ridge


def is_uneven(thing: Thing) -> bool:
    """Whether its light and shade are seen: a curled card, a folded sheet."""
    return bool(thing.folds) if isinstance(thing, WorkLaid) else thing.curl_mm > 0


def peak_mm(thing: Thing) -> float:
    """The greatest height of its paper over the table (at most)."""
    if isinstance(thing, CardLaid):
        return thing.curl_mm * 1.21
    return thing.bow_mm + sum(fold.height_mm for fold in thing.folds)


def size_mm(thing: Thing) -> tuple[float, float]:
    """Width and height of a work or card."""
    if isinstance(thing, WorkLaid):
        return thing.width_mm, thing.height_mm
    return 140.0 * thing.scale, 60.0 * thing.scale


def corners_mm(thing: Thing) -> NDArray[np.float64]:
    """The four corners (4 × 2) on the table, from its own top left, clockwise."""
    width, height = size_mm(thing)
    box = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * (width / 2, height / 2)
    return to_table(box, thing.place)
