"""What a phone does to its picture before it is stored, undone as far as the card and the table tell.

Local tone mapping: the sRGB value of each place is scaled by a power of how bright everything round it is. The power
is told by the table (see ``lightfield``): the same table is darker beside white paper. Table is put in smooth where
the brightness all round is taken, or the grain of wood would count as its own surroundings.

Stronger colors: grays cannot show them. Where halos beside the tags' black, or local tone, tell that a phone made the
picture, colors are weakened by a middle amount; phones differ between no more than as seen and a fourth more (own
judgment, as in the simulator, no measurement).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import ClassVar, Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.cards.geometry import PATCHES, TAGS, WHITES, Rect
from portfolio.straighten.plane import Float, Mask, Plane, shrunk
from portfolio.straighten.pose import Array, Pose, carried
from portfolio.straighten.srgb import from_light

Pixels = NDArray[np.uint8]

STRONGER: Final = 1.12
HALO: Final = 0.003
"""Overshoot beside the black of a tag over the step itself: phones leave .001-.11 (five in nine over this), a plain
sensor never (measured 2026 on 156 simulated photos)."""
_LUMA: Final = (0.299, 0.587, 0.114)
_CELL_PX: Final = 16
_AROUND: Final = 0.03
"""What counts as "all round": standard deviation of a blur, as a share of the photo's long side."""
_FLOOR: Final = 0.02
_MOSTLY_TABLE: Final = 0.5
_MARGIN_MM, _NEAR_MM, _FAR_MM = 3.0, 1.6, 2.5
_LEAST_STEP: Final = 20.0


def code_of(log_light: Array) -> Float:
    """Natural log of luminance to sRGB values 0-1."""
    return np.asarray(from_light(np.exp(log_light)), np.float32)


def slope_at(log_light: Array) -> Array:
    """By how much more the log of light moves than the log of the sRGB value, there (IEC 61966-2-1)."""
    return slope_of(code_of(log_light))


def slope_of(code: Array | Float) -> Array:
    """The same by the sRGB value (0-1)."""
    return np.asarray(np.where(code <= 0.04045, 1.0, 2.4 * code / (code + 0.055)), np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class LocalTone:
    """Brightness all round each cell of the photo (natural log, relative to the card), and the power it counts with."""

    POWERS: ClassVar = (-0.55, 0.0)
    cells: Float
    to_cells: Array
    """Millimeters on the table → cells."""
    power: float = 0.0

    @property
    def logs_at_cells(self) -> Array:
        """One value for each cell, row by row."""
        return np.asarray(self.cells.ravel(), np.float64)

    def logs_at(self, points_mm: Array) -> Array:
        """Brightness all round at points (… × 2)."""
        at = carried(points_mm.reshape(-1, 2), self.to_cells).astype(np.float32)
        seen = cv2.remap(self.cells, at[None, :, 0], at[None, :, 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
        return np.asarray(seen, np.float64).reshape(points_mm.shape[:-1])

    def lift_at(self, points_mm: Array) -> NDArray[np.float32]:
        """Natural log of how much more than on the card the sRGB values were lifted at points (… × 2)."""
        return np.asarray(self.power * self.logs_at(points_mm), np.float32)

    def with_power(self, power: float) -> LocalTone:
        """The same with a power that was found."""
        return replace(self, power=power)


@dataclass(frozen=True, slots=True, eq=False)
class Surroundings:
    """The photo in coarse cells. ``codes``: luma 0-1; ``to_cells``: millimeters on the table → cells."""

    codes: Float
    to_cells: Array

    def on_table(self, plane: Plane, table: Mask) -> TableCells:
        """Which cells show table, and where every cell lies."""
        height, width = self.codes.shape
        cells = np.stack(np.meshgrid(np.arange(width), np.arange(height)), axis=-1).reshape(-1, 2).astype(np.float64)
        places = carried(cells, np.linalg.inv(self.to_cells))
        at = plane.to_px(places).astype(np.float32)
        share = cv2.blur((table & plane.usable).astype(np.float32), (9, 9))
        seen = cv2.remap(share, at[None, :, 0], at[None, :, 1], cv2.INTER_LINEAR, borderValue=0)
        return TableCells(self, np.asarray(np.asarray(seen)[0] > _MOSTLY_TABLE, np.bool_), places)

    def tone(self, smooth: Float | None = None, table: Mask | None = None) -> LocalTone:
        """How bright it is all round each cell, with ``smooth`` values put in where there is ``table``."""
        codes = self.codes
        if smooth is not None and table is not None:
            codes = np.where(table, smooth, codes.ravel()).reshape(codes.shape).astype(np.float32)
        wide = cv2.GaussianBlur(codes, (0, 0), max(1.0, _AROUND * max(codes.shape))) + _FLOOR
        tone = LocalTone(np.asarray(np.log(wide), np.float32), self.to_cells)
        places, weights = card_places()
        return replace(tone, cells=tone.cells - np.float32(np.average(tone.logs_at(places), weights=weights)))


@dataclass(frozen=True, slots=True, eq=False)
class TableCells:
    """The coarse cells of a photo, row by row: which show table, and where they lie (N × 2, mm)."""

    around: Surroundings
    table: Mask
    places: Array


def surroundings(pixels: Pixels, pose: Pose, *, shrink: int) -> Surroundings:
    """The coarse cells of a photo shrunk by ``shrink`` (RGB, sRGB)."""
    height, width = pixels.shape[:2]
    size = max(4, width // _CELL_PX), max(4, height // _CELL_PX)
    small = np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.float32)
    across, down = size[0] / width, size[1] / height
    coarser = np.array([[across, 0, across / 2 - 0.5], [0, down, down / 2 - 0.5], [0, 0, 1.0]])
    codes = np.asarray(small @ np.array(_LUMA, np.float32) / np.float32(255), np.float32)
    return Surroundings(codes, coarser @ shrunk(shrink) @ pose.to_px)


def card_places() -> tuple[Array, Array]:
    """Where the card's grays are read (the first four) and its white, and how much each counts in the balance."""
    strips = [
        (rect.x_mm + share * rect.width_mm, rect.center[1]) for rect in WHITES for share in np.linspace(0.1, 0.9, 8)
    ]
    places = [*(rect.center for rect in PATCHES), *strips]
    return np.array(places), np.array([0.16, 0.64, 1.0, 1.44, *[4.0 / len(strips)] * len(strips)])


def halo_of(pixels: Pixels, pose: Pose, *, shrink: int) -> float:
    """How far the picture overshoots beside the tags' black edges, as a share of the step; 0 when none can be seen."""
    to_photo = shrunk(shrink) @ pose.to_px
    across = np.arange(-_FAR_MM, _FAR_MM + 0.01, 0.1)
    overshoots = []
    for profile in (_profile(pixels, to_photo, tag, side, across) for tag in TAGS.values() for side in range(4)):
        if profile is None:
            continue
        white, black = (float(np.median(profile[far])) for far in (across > _NEAR_MM, across < -_NEAR_MM))
        if white - black < _LEAST_STEP:
            continue
        over = float(profile[(across > 0) & (across < _NEAR_MM)].max()) - white
        under = black - float(profile[(across < 0) & (across > -_NEAR_MM)].min())
        overshoots.append((over / (white - black), under / (white - black)))
    return float(np.median(overshoots, axis=0).mean()) if overshoots else 0.0


def _profile(pixels: Pixels, to_photo: Array, tag: Rect, side: int, across: Array) -> Array | None:
    """Luma across one edge of a tag from black to white, the median along it; ``None`` where the photo ends."""
    corners = np.array([[0, 0], [1, 0], [1, 1], [0, 1.0]]) * tag.width_mm + (tag.x_mm, tag.y_mm)
    start, end = corners[side], corners[(side + 1) % 4]
    along = (end - start) / tag.width_mm
    outwards = np.array([along[1], -along[0]])
    steps = np.linspace(_MARGIN_MM, tag.width_mm - _MARGIN_MM, 35)
    at = carried(
        (start + steps[:, None, None] * along + across[None, :, None] * outwards).reshape(-1, 2), to_photo
    ).astype(np.float32)
    if (at < 0).any() or (at > (pixels.shape[1] - 1, pixels.shape[0] - 1)).any():
        return None
    seen = np.asarray(cv2.remap(pixels, at[None, :, 0], at[None, :, 1], cv2.INTER_LINEAR), np.float64)
    return np.asarray(np.median((seen[0] @ np.array(_LUMA)).reshape(len(steps), len(across)), axis=0), np.float64)


def weakened(pixels: Pixels, stronger: float) -> Pixels:
    """Pixels with colors that are not so strong: nearer to their luma. 1 = unchanged."""
    if stronger == 1.0:
        return pixels
    matrix = np.eye(3) / stronger + (1 - 1 / stronger) * np.array([_LUMA] * 3)
    return np.asarray(cv2.transform(pixels, matrix), np.uint8)
