"""How the light falls over the table: a smooth surface through the logarithm of the table's brightness.

It halves the color error under a slope of light or a soft shadow. It is read from blocks of table, so that grain, felt
and the lines of a mat average out, and only believed when the blocks lie on the surface (spread below a gate): a table
of two colors would paint its stripes onto the work.

A phone also lifts what is dark all round and lowers what is bright (see ``localtone``): table beside white paper is
darker than table far from it, by a power of the brightness all round. That power is fitted along with the light; so is
the step at the edge of a shadow (see ``shadow``), where one is clearly seen.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.cards.geometry import CARD
from portfolio.straighten.localtone import LocalTone, TableCells, card_places, code_of, slope_at
from portfolio.straighten.plane import Float, Plane
from portfolio.straighten.pose import Array
from portfolio.straighten.shadow import ShadowEdge, find_edge
from portfolio.straighten.tabletop import UNLIKE

GATE: Final = 0.14
"""Natural log. Wood leaves 0.10-0.13, other tables up to 0.09; without any gate colors were no better (measured 2026
on 238 simulated photos: median CIEDE2000 1.4, without a field 2.6)."""
LARGEST: Final = 0.9
"""Natural log: never more than this much lighter or darker than on the card."""
CLEAR: Final = 0.45
"""A shadow's edge is believed from this share of what the smooth surface leaves (measured 2026 on 136 simulated photos:
58 of 100 shadows are found, the deep ones, and 5 of 100 photos without one get a small step; .3 to .6 did as well)."""
DEEPEST: Final = 0.75
"""Natural log: a shadow takes no more than half of the light; a larger step is two tables."""
SAME_HUE: Final = 5.0
"""Step in a* and b* (at L* 50) from which two sides of an edge are two tables."""
_LEAST_FOR_EDGE: Final = 60
"""Blocks of table; on fewer an edge could be found in mere grain (photos had 145 and more)."""
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
    """Natural log of the light relative to the card: a quadratic in place (see ``_terms``), and where a shadow's
    ``edge`` was found a step there. ``tone``: what a phone did to the brightness by what lies all round, when the
    table tells.
    """

    terms: Array
    middle_mm: Array
    span_mm: float
    tone: LocalTone | None = None
    edge: ShadowEdge | None = None

    def at(self, points_mm: Array) -> NDArray[np.float32]:
        """Light relative to the card at points (… × 2): 1 = as on the card."""
        card, weights = card_places()
        on_card = np.average(self._logs(card - CARD.center), weights=weights)
        logs = self._logs(points_mm - self.middle_mm) - on_card
        return np.asarray(np.exp(np.clip(logs, -LARGEST, LARGEST)), np.float32)

    def _logs(self, away_mm: Array) -> Array:
        return np.asarray(_terms(away_mm / self.span_mm, self.edge) @ self.terms, np.float64)


def _terms(where: Array, edge: ShadowEdge | None = None) -> Array:
    x, y = where[..., 0], where[..., 1]
    smooth = [x, y, x * x, x * y, y * y]
    return np.stack(smooth if edge is None else [*smooth, edge.shares(where)], axis=-1)


@dataclass(frozen=True, slots=True, eq=False)
class TableSeen:
    """Blocks of table: where they lie, how bright they are and of what ``hues`` (a* and b* if L* were 50), and the
    light that they tell if tone is left out.
    """

    points: Array
    logs: Array
    hues: Array
    card_mm: Array
    span_mm: float
    fit: Array
    spread: float
    edge: ShadowEdge | None = None

    def where(self, points_mm: Array) -> Array:
        """Points in spans of the table from the card."""
        return np.asarray((points_mm - self.card_mm) / self.span_mm, np.float64)

    def columns(self, points_mm: Array) -> Array:
        """What the light is made of at points (N × 2): one number for the table, five for the slope of light, and one
        for the shadow when its edge is known.
        """
        return np.column_stack([np.ones(len(points_mm)), _terms(self.where(points_mm), self.edge)])

    def with_shadow(self, cells: TableCells) -> TableSeen:
        """The same with the edge of a shadow, when one is clearly seen and only the light differs across it."""
        if len(self.points) < _LEAST_FOR_EDGE:
            return self
        columns, tone = self.columns(self.points), self._tone(cells)
        error = self.logs - columns @ self.fit
        known = np.column_stack([columns, slope_at(self.logs) * tone.logs_at(self.points)])
        weights = _huber(error, 1.4826 * float(np.median(np.abs(error))))
        edge, told = find_edge(self.where(self.points), self.logs, known, weights)
        if told < CLEAR:
            return self
        seen = replace(self, edge=edge)
        columns = seen.columns(self.points)
        fit, spread = _robust(columns, self.logs)
        hues = [_robust(columns, hue)[0][-1] for hue in self.hues.T]
        if abs(fit[-1]) > DEEPEST or np.hypot(*hues) > SAME_HUE:
            return self
        return replace(seen, fit=fit, spread=spread)

    def field(self) -> LightField | None:
        """The light over the table without local tone; ``None`` when the blocks do not lie on a smooth surface."""
        return self._field(self.fit, self.spread)

    def field_with_tone(self, cells: TableCells, usual: Usual = UNKNOWN) -> LightField | None:
        """The same with local tone mapping; ``usual`` is what it comes near where the table says little."""
        fit, spread, power = self.fit, self.spread, 0.0
        stiff = max(spread, _LEAST_SPREAD) / usual.give * _WEIGHT_OF_USUAL**0.5
        here, slopes = self.columns(self.points), slope_at(self.logs)
        tone = cells.around.tone()
        for _ in range(_PASSES):
            base = np.clip(self.columns(cells.places) @ fit[: here.shape[1]], _DARKEST, 0)
            tone = cells.around.tone(code_of(base + power * slope_at(base) * tone.logs_at_cells), cells.table)
            columns = np.column_stack([here, slopes * tone.logs_at(self.points)])
            fit, spread = _robust(columns, self.logs, last=(usual.power * stiff, stiff))
            power = float(np.clip(fit[-1], *tone.POWERS))
        return self._field(fit[:-1], spread, tone.with_power(power))

    def _tone(self, cells: TableCells) -> LocalTone:
        """How bright it is all round, by the light as it is known."""
        base = np.clip(self.columns(cells.places) @ self.fit, _DARKEST, 0)
        return cells.around.tone(code_of(base), cells.table)

    def _field(self, fit: Array, spread: float, tone: LocalTone | None = None) -> LightField | None:
        return LightField(fit[1:], self.card_mm, self.span_mm, tone, self.edge) if spread < GATE else None


def see_table(plane: Plane, unlike: Float, *, card_mm: Array) -> TableSeen | None:
    """What the table tells of the light, or ``None`` when too little of it is seen. ``card_mm``: the card's middle."""
    points, logs, hues = _blocks(plane, unlike)
    if len(points) < _LEAST_BLOCKS or not _is_all_round(points):
        return None
    span = float(np.ptp(points, axis=0).max())
    columns = np.column_stack([np.ones(len(points)), _terms((points - card_mm) / span)])
    fit, spread = _robust(columns, logs)
    return TableSeen(points, logs, hues, card_mm, span, fit, spread)


def find_field(plane: Plane, unlike: Float, *, card_mm: Array) -> LightField | None:
    """The light over the table without local tone, or ``None`` when the table does not tell it."""
    seen = see_table(plane, unlike, card_mm=card_mm)
    return seen.field() if seen is not None else None


def _is_all_round(points: Array) -> bool:
    """A strip of table along one side tells nothing about the light on the other."""
    wide = np.linalg.svd(points - points.mean(axis=0), compute_uv=False)
    return bool(wide[1] >= _LEAST_ROUND * wide[0])


def _blocks(plane: Plane, unlike: Float) -> tuple[Array, Array, Array]:
    """Middles (N × 2, mm) of blocks of table, the natural log of the luminance there, and the hues (N × 2)."""
    table = ((unlike < UNLIKE) & plane.usable).astype(np.uint8)
    table = np.asarray(cv2.erode(table, np.ones((5, 5), np.uint8)))
    side = max(4, round(_BLOCK_MM * plane.px_per_mm))
    height, width = (length // side * side for length in table.shape)
    size = width // side, height // side
    share, total = (
        np.asarray(cv2.resize(layer[:height, :width].astype(np.float32), size, interpolation=cv2.INTER_AREA))
        for layer in (table, plane.lab * table[..., None])
    )
    rows, columns = np.nonzero(share >= _LEAST_TABLE)
    middles = np.column_stack([columns, rows]).astype(np.float64) * side + (side - 1) / 2
    lab = (total[rows, columns] / share[rows, columns, None]).astype(np.float64)
    return plane.to_mm(middles), np.log(np.maximum(_luminance(lab[:, 0]), 1e-3)), lab[:, 1:] / (lab[:, :1] + 16) * 66


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
        fit, *_ = np.linalg.lstsq(rows.T @ rows, rows.T @ right, rcond=None)  # normal equations: a tenth of the time
        error = values - columns @ fit
        spread = 1.4826 * float(np.median(np.abs(error)))
        weight = _huber(error, spread)
    return np.asarray(fit, np.float64), spread


def _huber(error: Array, spread: float) -> Array:
    """Square roots of how much equations count that miss by ``error``."""
    return np.sqrt(np.minimum(1.0, 1.5 * spread / np.maximum(np.abs(error), 1e-9)))
