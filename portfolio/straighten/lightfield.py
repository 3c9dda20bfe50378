"""How the light falls over the table: a smooth surface through the logarithm of the table's brightness.

It halves the color error under a slope of light or a soft shadow. It is read from blocks of table, so that grain, felt
and the lines of a mat average out, and only believed when the blocks lie on the surface (spread below a gate): a table
of two colors would paint its stripes onto the work.

A phone also lifts what is dark all round and lowers what is bright (see ``localtone``): table beside white paper is
darker than table far from it, by a power of the brightness all round. That power is fitted along with the light.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.straighten.localtone import LocalTone, TableCells, code_of, slope_at
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
_DARKEST: Final = np.log(2.5e-3)
_WEIGHT_OF_USUAL: Final = 8.0
"""Blocks of table that what is usual counts as much as; neighboring blocks err together, so that many count as few."""
_LEAST_SPREAD: Final = 0.01
_PASSES: Final = 2


@dataclass(frozen=True, slots=True)
class Usual:
    """How strongly local tone is usually mapped (a power, 0 = not at all, never above) and how widely that varies."""

    power: float
    give: float


UNKNOWN: Final = Usual(0.0, 0.15)
OF_PHONES: Final = Usual(-0.2, 0.1)
TONED: Final = -0.05
"""A power below this is local tone mapping (measured 2026: 86 % of simulated phone photos are told by this or by halos,
14 % of others, whose colors are hardly worse for it)."""


@dataclass(frozen=True, slots=True, eq=False)
class LightField:
    """Natural log of the light relative to the card: a quadratic in place (see ``_terms``). ``tone``: what a phone did
    to the brightness by what lies all round, when the table tells.
    """

    terms: Array
    middle_mm: Array
    span_mm: float
    tone: LocalTone | None = None

    def at(self, points_mm: Array) -> NDArray[np.float32]:
        """Light relative to the card at points (… × 2): 1 = as on the card."""
        logs = _terms((points_mm - self.middle_mm) / self.span_mm) @ self.terms
        return np.asarray(np.exp(np.clip(logs, -LARGEST, LARGEST)), np.float32)


def _terms(where: Array) -> Array:
    x, y = where[..., 0], where[..., 1]
    return np.stack([x, y, x * x, x * y, y * y], axis=-1)


@dataclass(frozen=True, slots=True, eq=False)
class TableSeen:
    """Blocks of table: where they lie and how bright they are, and the light that they tell if tone is left out."""

    points: Array
    logs: Array
    card_mm: Array
    span_mm: float
    fit: Array
    spread: float

    def columns(self, points_mm: Array) -> Array:
        """What the light is made of at points (N × 2): one number for the table, five for the slope of light."""
        return np.column_stack([np.ones(len(points_mm)), _terms((points_mm - self.card_mm) / self.span_mm)])

    def field(self) -> LightField | None:
        """The light over the table without local tone; ``None`` when the blocks do not lie on a smooth surface."""
        return LightField(self.fit[1:6], self.card_mm, self.span_mm) if self.spread < GATE else None

    def field_with_tone(self, cells: TableCells, usual: Usual = UNKNOWN) -> LightField | None:
        """The same with local tone mapping; ``usual`` is what it comes near where the table says little."""
        fit, spread, power = self.fit, self.spread, 0.0
        stiff = max(spread, _LEAST_SPREAD) / usual.give * _WEIGHT_OF_USUAL**0.5
        here, there, slopes = self.columns(self.points), self.columns(cells.places), slope_at(self.logs)
        tone = cells.around.tone()
        for _ in range(_PASSES):
            base = np.clip(there @ fit[:6], _DARKEST, 0)
            tone = cells.around.tone(code_of(base + power * slope_at(base) * tone.logs_at_cells), cells.table)
            columns = np.column_stack([here, slopes * tone.logs_at(self.points)])
            fit, spread = _robust(columns, self.logs, last=(usual.power * stiff, stiff))
            power = float(np.clip(fit[6], *tone.POWERS))
        if spread >= GATE:
            return None
        return LightField(fit[1:6], self.card_mm, self.span_mm, tone.with_power(power))


def see_table(plane: Plane, unlike: Float, *, card_mm: Array) -> TableSeen | None:
    """What the table tells of the light, or ``None`` when too little of it is seen. ``card_mm``: the card's middle."""
    points, logs = _blocks(plane, unlike)
    if len(points) < _LEAST_BLOCKS or not _is_all_round(points):
        return None
    span = float(np.ptp(points, axis=0).max())
    columns = np.column_stack([np.ones(len(points)), _terms((points - card_mm) / span)])
    fit, spread = _robust(columns, logs)
    return TableSeen(points, logs, card_mm, span, fit, spread)


def find_field(plane: Plane, unlike: Float, *, card_mm: Array) -> LightField | None:
    """The light over the table without local tone, or ``None`` when the table does not tell it."""
    seen = see_table(plane, unlike, card_mm=card_mm)
    return seen.field() if seen is not None else None


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


def _robust(columns: Array, values: Array, *, last: tuple[float, float] | None = None) -> tuple[Array, float]:
    """Huber fit; the spread of what is left (1.48 × median deviation). ``last``: what the last coefficient times the
    second number should come to, as one more equation that always counts.
    """
    weight = np.ones(len(values))
    fit: NDArray[np.floating] = np.zeros(columns.shape[1])
    spread = np.inf
    more = np.zeros((0, columns.shape[1])) if last is None else np.eye(columns.shape[1])[-1:] * last[1]
    for _ in range(8):
        rows, right = np.vstack([columns * weight[:, None], more]), np.append(values * weight, last[:1] if last else ())
        fit, *_ = np.linalg.lstsq(rows, right, rcond=None)
        error = np.abs(values - columns @ fit)
        spread = 1.4826 * float(np.median(error))
        weight = np.sqrt(np.minimum(1.0, 1.5 * spread / np.maximum(error, 1e-9)))
    return np.asarray(fit, np.float64), spread
