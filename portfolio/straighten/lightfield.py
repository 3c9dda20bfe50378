"""How the light falls over the table: a smooth surface through the logarithm of the table's brightness.

It takes a third off the color error under a slope of light or a soft shadow. It is only believed when the table is
plain enough to be told from the light (residual below a gate): a table of two colors would paint its stripes onto
the work.
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

GATE: Final = 0.075
LARGEST: Final = 0.9
"""Natural log: never more than this much lighter or darker than on the card."""
_LEAST_PIXELS: Final = 4000


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
    usable = (unlike < UNLIKE) & plane.usable
    usable = np.asarray(cv2.erode(usable.astype(np.uint8), np.ones((5, 5), np.uint8))) > 0
    rows, columns = np.nonzero(usable)
    if len(rows) < _LEAST_PIXELS:
        return None
    pick = np.random.default_rng(0).choice(len(rows), min(len(rows), 12_000), replace=False)
    rows, columns = rows[pick], columns[pick]
    smooth = cv2.blur(plane.lab[..., 0], (5, 5))
    brightness = np.log(np.maximum(_luminance(smooth[rows, columns].astype(np.float64)), 1e-3))
    points = plane.to_mm(np.column_stack([columns, rows]).astype(np.float64))
    middle, span = card_mm, float(np.ptp(points, axis=0).max())
    where = _terms((points - middle) / span)
    columns_of = np.column_stack([np.ones(len(where)), where])
    fit, spread = _robust(columns_of, brightness)
    return LightField(fit[1:], middle, span) if spread < GATE else None


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
