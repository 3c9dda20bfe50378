"""How the light falls over the table: a smooth surface through the logarithm of the table's brightness.

It halves the color error under a slope of light or a soft shadow. It is read from blocks of table, so that grain, felt
and the lines of a mat average out, and only believed when the blocks lie on the surface (spread below a gate): a table
of two colors would paint its stripes onto the work.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.straighten.plane import Float, Plane
from portfolio.straighten.pose import Array
from portfolio.straighten.tabletop import UNLIKE

GATE: Final = 0.14
"""Natural log. Wood leaves 0.10-0.13, other tables up to 0.09; without any gate colors were no better (measured 2026
on 238 simulated photos: median CIEDE2000 1.4, without a field 2.6)."""
LARGEST: Final = 0.9
"""Natural log: never more than this much lighter or darker than on the card."""
_BLOCK_MM: Final = 16.0
_LEAST_BLOCKS: Final = 12
_LEAST_ROUND: Final = 0.2
_LEAST_TABLE: Final = 0.5
"""Share of a block that must be table."""


@dataclass(frozen=True, slots=True, eq=False)
class LightField:
    """Natural log of the light relative to the card's middle: a quadratic in place (see ``_terms``)."""

    terms: Array
    middle_mm: Array
    span_mm: float

    def at(self, points_mm: Array) -> NDArray[np.float32]:
        """Light relative to the card at points (… × 2): 1 = as on the card."""
        logs = _terms((points_mm - self.middle_mm) / self.span_mm) @ self.terms
        return np.asarray(np.exp(np.clip(logs, -LARGEST, LARGEST)), np.float32)


def _terms(where: Array) -> Array:
    x, y = where[..., 0], where[..., 1]
    return np.stack([x, y, x * x, x * y, y * y], axis=-1)


def find_field(plane: Plane, unlike: Float, *, card_mm: Array) -> LightField | None:
    """The light over the table, or ``None`` when the table does not tell it. ``card_mm``: the card's middle."""
    points, brightness = _blocks(plane, unlike)
    if len(points) < _LEAST_BLOCKS or not _is_all_round(points):
        return None
    span = float(np.ptp(points, axis=0).max())
    where = _terms((points - card_mm) / span)
    fit, spread = _robust(np.column_stack([np.ones(len(where)), where]), brightness)
    return LightField(fit[1:], card_mm, span) if spread < GATE else None


def _is_all_round(points: Array) -> bool:
    """A strip of table along one side tells nothing about the light on the other."""
    wide = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)
    return bool(wide[1] >= _LEAST_ROUND * wide[0])


def _blocks(plane: Plane, unlike: Float) -> tuple[Array, Array]:
    """Middles (N × 2, mm) of blocks of table and the natural log of the luminance there."""
    table = ((unlike < UNLIKE) & plane.usable).astype(np.uint8)
    table = np.asarray(cv2.erode(table, np.ones((5, 5), np.uint8)))
    side = max(4, round(_BLOCK_MM * plane.px_per_mm))
    height, width = (length // side * side for length in table.shape)
    size = width // side, height // side
    share, total = (
        np.asarray(cv2.resize(layer[:height, :width].astype(np.float32), size, interpolation=cv2.INTER_AREA))
        for layer in (table, plane.lab[..., 0] * table)
    )
    rows, columns = np.nonzero(share >= _LEAST_TABLE)
    middles = np.column_stack([columns, rows]).astype(np.float64) * side + (side - 1) / 2
    lightness = (total[rows, columns] / share[rows, columns]).astype(np.float64)
    return plane.to_mm(middles), np.log(np.maximum(_luminance(lightness), 1e-3))


def _luminance(lightness: Array) -> Array:
    """CIE L* to relative luminance."""
    high = ((lightness + 16) / 116) ** 3
    return np.asarray(np.where(lightness > 8, high, lightness / 903.3), np.float64)


def _robust(columns: Array, values: Array) -> tuple[Array, float]:
    """Huber fit; the spread of what is left (1.48 × median deviation)."""
    weight = np.ones(len(values))
    fit: NDArray[np.floating] = np.zeros(columns.shape[1])
    spread = np.inf
    for _ in range(8):
        fit, *_ = np.linalg.lstsq(columns * weight[:, None], values * weight, rcond=None)
        error = np.abs(values - columns @ fit)
        spread = 1.4826 * float(np.median(error))
        weight = np.sqrt(np.minimum(1.0, 1.5 * spread / np.maximum(error, 1e-9)))
    return np.asarray(fit, np.float64), spread
