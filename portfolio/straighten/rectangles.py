"""Straight sheets: every rectangle that the edges in the plane could make, scored by its four sides.

For each of the strongest directions the edge points are laid into a raster turned that way, so that both families of
sides run nearly along its rows and columns. A side's support is then the share of it that has an edge point within a
millimeter or so, read from running sums; with 16 lines each way that is 14,400 figures in a few milliseconds.
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

DIRECTIONS: Final = 3
LINES: Final = 16
BEST: Final = 6
LEAST_SIDE_MM: Final = 70.0
AnyArray = NDArray[np.integer | np.floating]
Pair = tuple[NDArray[np.intp], NDArray[np.intp]]

_TOLERANCE_DEG: Final = 5.0
_APART_DEG: Final = 7
_BEYOND_MM: Final = 25.0
_BAND_MM: Final = (2.0, 7.0)
_MAX_POINTS: Final = 60_000
_STRETCH_MM: Final = 12.0
_COVERED: Final = 0.5
_LEAST_SUPPORT: Final = 0.25
_SLOPES: Final = np.tan(np.radians(np.linspace(-2.0, 2.0, 9)))


@dataclass(frozen=True, slots=True, eq=False)
class Rectangle:
    """A candidate in plane pixels: corners (4 × 2, clockwise), and what speaks for it."""

    corners: Array
    score: float
    weakest: float
    """Share of the weakest side that lies on an edge, 0-1."""
    outside: float
    """Share of the band outside the worst side that looks like table, 0-1."""


@dataclass(frozen=True, slots=True, eq=False)
class _Points:
    """Edge points: place (plane pixels), direction across the edge (degrees, 0-180) and strength."""

    x: Array
    y: Array
    across_deg: Array
    strength: Array


def find_rectangles(plane: Plane, unlike: Float) -> list[Rectangle]:
    """The best rectangles, best first. ``unlike``: distance from table (see ``tabletop``)."""
    points = _edge_points(plane)
    if len(points.x) < 100:
        return []
    table = _table(plane, unlike)
    found: list[Rectangle] = []
    for direction in _directions(points):
        found += _along(direction, points, table, scale=plane.px_per_mm)
    return _distinct(sorted(found, key=lambda rectangle: -rectangle.score))


def _edge_points(plane: Plane) -> _Points:
    """Ridges of the color gradient, thinned, without the frame's edge and the card's."""
    gx, gy, size = _steepest(cv2.GaussianBlur(plane.lab, (0, 0), 1.0))
    strength = np.sqrt(size)
    usable = np.asarray(cv2.erode(plane.usable.astype(np.uint8), np.ones((5, 5), np.uint8))) > 0
    noise = float(np.median(strength[usable])) if usable.any() else 1.0
    y, x = np.nonzero(usable & (strength > max(0.25, 1.8 * noise)))
    ridge = _is_ridge(strength, gx, gy, at=(y, x))
    y, x = y[ridge], x[ridge]
    if len(x) > _MAX_POINTS:
        keep = np.argpartition(-strength[y, x], _MAX_POINTS)[:_MAX_POINTS]
        y, x = y[keep], x[keep]
    direction = np.degrees(np.arctan2(gy[y, x], gx[y, x])) % 180
    return _Points(x.astype(np.float64), y.astype(np.float64), direction, strength[y, x].astype(np.float64))


def _steepest(lab: AnyArray) -> tuple[Float, Float, Float]:
    """Of the three color channels the steepest slope at every place: in x, in y, and its square."""
    slopes = []
    for channel in cv2.split(lab):
        gx, gy = (cv2.Sobel(channel, cv2.CV_32F, *order, ksize=3, scale=1 / 8) for order in ((1, 0), (0, 1)))
        slopes.append((np.asarray(gx, np.float32), np.asarray(gy, np.float32), np.asarray(gx * gx + gy * gy)))
    best_x, best_y, size = slopes[0]
    for gx, gy, own in slopes[1:]:
        more = own > size
        np.copyto(best_x, gx, where=more)
        np.copyto(best_y, gy, where=more)
        size = np.maximum(size, own)
    return best_x, best_y, size


def _is_ridge(strength: AnyArray, gx: AnyArray, gy: AnyArray, *, at: Pair) -> NDArray[np.bool_]:
    """Which places are stronger than both neighbors across the edge, taking the nearer of the two axes."""
    y, x = at
    sideways = np.abs(gx[at]) >= np.abs(gy[at])
    step_x, step_y = sideways.astype(int), (~sideways).astype(int)
    height, width = strength.shape
    before = strength[np.maximum(y - step_y, 0), np.maximum(x - step_x, 0)]
    after = strength[np.minimum(y + step_y, height - 1), np.minimum(x + step_x, width - 1)]
    return np.asarray((strength[at] >= before) & (strength[at] > after), np.bool_)


def _directions(points: _Points) -> list[float]:
    """The strongest directions modulo 90 degrees, a few degrees apart from each other."""
    weight = np.minimum(points.strength, 4.0)
    bins = np.bincount((points.across_deg % 90).astype(int) % 90, weight, 90)
    ring = np.concatenate([bins, bins, bins])
    smooth = np.convolve(ring, [0.25, 0.5, 1.0, 0.5, 0.25], "same")[90:180]
    chosen: list[float] = []
    for peak in np.argsort(-smooth):
        if all(min(abs(peak - other), 90 - abs(peak - other)) >= _APART_DEG for other in chosen):
            chosen.append(_settled(float(peak) + 0.5, points, weight))
        if len(chosen) == DIRECTIONS:
            break
    return chosen


def _settled(peak_deg: float, points: _Points, weight: Array) -> float:
    """Mean direction within three degrees of the peak."""
    off = (points.across_deg - peak_deg + 45) % 90 - 45
    near = np.abs(off) < 3
    return peak_deg + float(np.average(off[near], weights=weight[near])) if near.any() else peak_deg


@dataclass(frozen=True, slots=True, eq=False)
class _Turned:
    """The plane turned by one direction. Rasters are [u, v]; u runs across the first family of sides."""

    axis: Array
    low: Array
    upright: NDArray[np.uint8]
    """1 where an edge point crosses u (a side of nearly constant u)."""
    level: NDArray[np.uint8]
    """The same for v."""
    upright_at: Pair
    level_at: Pair
    """Where they are 1: u and v."""
    like: Float
    """The table's raster (see :func:`_table`), turned alike."""


@dataclass(frozen=True, slots=True, eq=False)
class _Lines:
    """Lines of one family: row = ``rows`` + ``slopes`` · (column - middle). Profiles: running sums [line, column]."""

    rows: Array
    slopes: Array
    middle: float
    edge: Array
    before: Array
    after: Array

    def at(self, column: Array) -> Array:
        """Row of every line at columns [line, …]."""
        return np.asarray(self.rows[:, None] + self.slopes[:, None] * (column - self.middle), np.float64)


def _table(plane: Plane, unlike: Float) -> Float:
    """1 where table, else 0; 0.5 outside the photo or under the card."""
    table = np.where(unlike < UNLIKE, np.float32(1), np.float32(0))
    table[~plane.usable] = 0.5
    return table


def _along(direction_deg: float, points: _Points, table: Float, *, scale: float) -> list[Rectangle]:
    turned = _turn(direction_deg, points, table)
    upright = _lines(turned.upright, turned.upright_at, turned.like, scale=scale)
    level = _lines(turned.level.T, turned.level_at[::-1], turned.like.T, scale=scale)
    if len(upright.rows) < 2 or len(level.rows) < 2:
        return []
    return _scored(turned, upright, level, scale=scale)


def _turn(direction_deg: float, points: _Points, table: Float) -> _Turned:
    angle = np.radians(direction_deg)
    axis = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    height, width = table.shape
    box = np.array([[0, 0], [width, 0], [width, height], [0, height]]) @ axis.T
    low = np.floor(box.min(axis=0)) - 2
    size = tuple(int(side) for side in np.ceil(box.max(axis=0) - low) + 3)
    at = np.rint(np.column_stack([points.x, points.y]) @ axis.T - low).astype(int)
    off = (points.across_deg - direction_deg + 90) % 180 - 90
    families = []
    for wanted in (np.abs(off) < _TOLERANCE_DEG, np.abs(np.abs(off) - 90) < _TOLERANCE_DEG):
        raster = np.zeros(size, np.uint8)
        raster[at[wanted, 0], at[wanted, 1]] = 1
        families.append((raster, (at[wanted, 0], at[wanted, 1])))
    to_plane = np.column_stack([axis.T[:, ::-1], axis.T @ low])  # raster (column v, row u) → plane (x, y)
    like = cv2.warpAffine(table, to_plane, size[::-1], flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP, borderValue=0.5)
    (upright, upright_at), (level, level_at) = families
    return _Turned(axis, low, upright, level, upright_at, level_at, np.asarray(like, np.float32))


def _lines(raster: NDArray[np.uint8], at: Pair, like: Float, *, scale: float) -> _Lines:
    """The lines with the most support, each with its own small slope: a pose that is a little off turns squares askew.

    Long runs count more than scattered points: only stretches that are half covered add to a line.
    """
    rows, columns = at
    height, width = raster.shape
    middle = (width - 1) / 2
    stretch = max(4, round(_STRETCH_MM * scale))
    bins = width // stretch + 1
    totals = np.empty((len(_SLOPES), height))
    for index, slope in enumerate(_SLOPES):
        shifted = np.rint(rows - slope * (columns - middle)).astype(int)
        keep = (shifted >= 0) & (shifted < height)
        counts = np.bincount(shifted[keep] * bins + columns[keep] // stretch, minlength=height * bins)
        share = cv2.blur(counts.reshape(height, bins).astype(np.float32), (1, 3)) * (3 / stretch)
        totals[index] = np.where(share > _COVERED, np.minimum(share, 1.0), 0).sum(axis=1) * stretch
    best = totals.max(axis=0)
    slopes = _SLOPES[totals.argmax(axis=0)]
    chosen: list[int] = []
    apart = max(2, round(2.5 * scale))
    for row in np.argsort(-best):
        if best[row] < 0.3 * LEAST_SIDE_MM * scale or len(chosen) == LINES:
            break
        if all(abs(row - other) > apart for other in chosen):
            chosen.append(int(row))
    picked = np.array(sorted(chosen), np.int_)
    return _profiles(raster, like, picked.astype(np.float64), slopes[picked], scale=scale)


def _profiles(raster: NDArray[np.uint8], like: Float, rows: Array, slopes: Array, *, scale: float) -> _Lines:
    height, width = raster.shape
    columns = np.arange(width)[None]
    middle = (width - 1) / 2
    path = np.rint(rows[:, None] + slopes[:, None] * (columns - middle)).astype(int)

    def along(layer: AnyArray, offsets: range) -> Array:
        seen = [layer[np.clip(path + offset, 0, height - 1), columns] for offset in offsets]
        return np.asarray(seen, np.float32)

    near, far = (max(1, round(edge * scale)) for edge in _BAND_MM)
    edge = along(raster, range(-1, 2)).max(axis=0) if len(rows) else np.zeros((0, width))
    before = along(like, range(-far, -near + 1, 2)).mean(axis=0) if len(rows) else edge
    after = along(like, range(near, far + 1, 2)).mean(axis=0) if len(rows) else edge
    sums = [np.pad(np.cumsum(profile, axis=1, dtype=np.float64), ((0, 0), (1, 0))) for profile in (edge, before, after)]
    return _Lines(rows, slopes, middle, *sums)


@dataclass(frozen=True, slots=True, eq=False)
class _Sides:
    """Arrays [line, pair of crossing lines], 0-1: edge along a side, edge beyond its ends, table on either side."""

    support: Array
    beyond: Array
    before: Array
    after: Array


def _scored(turned: _Turned, upright: _Lines, level: _Lines, *, scale: float) -> list[Rectangle]:
    """All four-sided figures of two lines each way; the best few as candidates."""
    u_at, v_at = _crossings(upright, level)
    i, j = np.triu_indices(len(upright.rows), 1)
    a, b = np.triu_indices(len(level.rows), 1)
    first = _sides(upright, v_at, scale=scale)
    second = _sides(level, u_at.T, scale=scale)
    # sides[line, pair]: pair indexes the two lines of the other family between which the side runs
    support = np.stack(_four(first.support, second.support, (i, j), (a, b)))
    beyond = np.stack(_four(first.beyond, second.beyond, (i, j), (a, b)))
    before = _four(first.before, second.before, (i, j), (a, b))
    after = _four(first.after, second.after, (i, j), (a, b))
    outside = np.stack([before[0], after[1], before[2], after[3]])
    wide = (upright.rows[j] - upright.rows[i])[:, None] / scale
    tall = (level.rows[b] - level.rows[a])[None] / scale
    score = (
        support.mean(axis=0)
        + 1.2 * support.min(axis=0)
        - 0.5 * beyond.mean(axis=0)
        + 0.9 * outside.min(axis=0)
        + 0.12 * np.log(np.maximum(wide * tall, 1.0) / 60_000)
    )
    score[(wide < LEAST_SIDE_MM) | (tall < LEAST_SIDE_MM) | (support.min(axis=0) < _LEAST_SUPPORT)] = -np.inf
    found = []
    for flat in np.argsort(-score, axis=None)[: 3 * BEST]:
        x, y = np.unravel_index(flat, score.shape)
        if np.isfinite(score[x, y]):
            ends = [(i[x], a[y]), (j[x], a[y]), (j[x], b[y]), (i[x], b[y])]
            corners = np.array([[u_at[line, other], v_at[line, other]] for line, other in ends])
            said = float(support[:, x, y].min()), float(outside[:, x, y].min())
            found.append(Rectangle((corners + turned.low) @ turned.axis, float(score[x, y]), *said))
    return found


def _crossings(upright: _Lines, level: _Lines) -> tuple[Array, Array]:
    """Where every upright line meets every level line: u and v, both [upright, level]."""
    v = np.broadcast_to(level.rows[None], (len(upright.rows), len(level.rows)))
    for _ in range(3):  # slopes are below 0.04: each round is exact to that much of the last
        u = upright.at(v)
        v = level.at(u.T).T
    return u, v


def _sides(lines: _Lines, crossing: Array, *, scale: float) -> _Sides:
    """``crossing``: column at which each line [line, …] meets each line of the other family."""
    low, high = np.triu_indices(crossing.shape[1], 1)
    top = lines.edge.shape[1] - 1
    start = np.clip(np.rint(crossing[:, low]), 0, top).astype(int)
    end = np.clip(np.rint(crossing[:, high]), 0, top).astype(int)
    start, end = np.minimum(start, end), np.maximum(start, end)
    reach, gap = max(4, round(_BEYOND_MM * scale)), max(2, round(2.5 * scale))

    def between(sums: Array, left: NDArray[np.int_], right: NDArray[np.int_]) -> Array:
        left, right = np.clip(left, 0, top), np.clip(right, 0, top)
        return np.take_along_axis(sums, right, 1) - np.take_along_axis(sums, left, 1)

    length = np.maximum(end - start, 1)
    ahead = between(lines.edge, start - gap - reach, start - gap)
    behind = between(lines.edge, end + gap, end + gap + reach)
    return _Sides(
        between(lines.edge, start, end) / length,
        (ahead + behind) / (2 * reach),
        between(lines.before, start, end) / length,
        between(lines.after, start, end) / length,
    )


def _four(upright: Array, level: Array, u_pairs: Pair, v_pairs: Pair) -> list[Array]:
    """Values of the four sides of every figure [u pair, v pair]: low u, high u, low v, high v."""
    count_u, count_v = len(u_pairs[0]), len(v_pairs[0])
    (i, j), (a, b) = u_pairs, v_pairs
    across, along = np.arange(count_v)[None], np.arange(count_u)[:, None]
    return [upright[i[:, None], across], upright[j[:, None], across], level[a[None], along], level[b[None], along]]


def _distinct(rectangles: list[Rectangle]) -> list[Rectangle]:
    """The best few that are not the same rectangle within a few pixels."""
    kept: list[Rectangle] = []
    for rectangle in rectangles:
        if all(_far(rectangle, other) for other in kept):
            kept.append(rectangle)
        if len(kept) == BEST:
            break
    return kept


def _far(one: Rectangle, other: Rectangle) -> bool:
    gaps = np.linalg.norm(one.corners[:, None] - other.corners[None], axis=2).min(axis=1)
    return bool(gaps.max() > 5)
