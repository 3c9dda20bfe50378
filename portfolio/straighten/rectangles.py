"""Straight sheets: every rectangle that the edges in the plane could make, scored by its four sides.

For each of the strongest directions the edge points are laid into a raster turned that way, so that both families of
sides run along its rows and columns. A side's support is then the share of it that has an edge point within a
millimeter or so, read from running sums; with 16 lines each way that is 14,400 rectangles in a few milliseconds.
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

_TOLERANCE_DEG: Final = 5.0
_APART_DEG: Final = 7
_BEYOND_MM: Final = 25.0
_BAND_MM: Final = (2.0, 7.0)
_MAX_POINTS: Final = 60_000


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
    found: list[Rectangle] = []
    for direction in _directions(points):
        found += _along(direction, points, plane=plane, unlike=unlike)
    return _distinct(sorted(found, key=lambda rectangle: -rectangle.score))


def _edge_points(plane: Plane) -> _Points:
    """Ridges of the color gradient, thinned, without the frame's edge and the card's."""
    lab = cv2.GaussianBlur(plane.lab, (0, 0), 1.0)
    across = cv2.Sobel(lab, cv2.CV_32F, 1, 0, ksize=3, scale=1 / 8)
    down = cv2.Sobel(lab, cv2.CV_32F, 0, 1, ksize=3, scale=1 / 8)
    size = across**2 + down**2
    channel = np.argmax(size, axis=2)[..., None]
    gx, gy = (np.take_along_axis(slope, channel, 2)[..., 0] for slope in (across, down))
    strength = np.sqrt(np.take_along_axis(size, channel, 2)[..., 0])
    usable = np.asarray(cv2.erode((plane.valid & ~plane.card).astype(np.uint8), np.ones((5, 5), np.uint8))) > 0
    noise = float(np.median(strength[usable])) if usable.any() else 1.0
    ridge = usable & _is_ridge(strength, gx, gy) & (strength > max(0.25, 1.8 * noise))
    y, x = np.nonzero(ridge)
    if len(x) > _MAX_POINTS:
        keep = np.argpartition(-strength[y, x], _MAX_POINTS)[:_MAX_POINTS]
        y, x = y[keep], x[keep]
    direction = np.degrees(np.arctan2(gy[y, x], gx[y, x])) % 180
    return _Points(x.astype(np.float64), y.astype(np.float64), direction, strength[y, x].astype(np.float64))


def _is_ridge(strength: AnyArray, gx: AnyArray, gy: AnyArray) -> NDArray[np.bool_]:
    """Stronger than both neighbors across the edge, taking the nearer of the two axes."""
    sideways = np.abs(gx) >= np.abs(gy)
    left, right = np.roll(strength, 1, 1), np.roll(strength, -1, 1)
    above, below = np.roll(strength, 1, 0), np.roll(strength, -1, 0)
    flat = (strength >= left) & (strength > right)
    steep = (strength >= above) & (strength > below)
    return np.asarray(np.where(sideways, flat, steep), np.bool_)


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
    upright: Array
    """1 where an edge point crosses u (a side of constant u)."""
    level: Array
    """The same for v."""
    like: Array
    """1 where table, else 0; 0.5 outside the photo or under the card."""


def _along(direction_deg: float, points: _Points, *, plane: Plane, unlike: Float) -> list[Rectangle]:
    turned = _turn(direction_deg, points, plane=plane, unlike=unlike)
    scale = plane.px_per_mm
    us, vs = _lines(turned.upright, scale), _lines(turned.level.T, scale)
    if len(us) < 2 or len(vs) < 2:
        return []
    return _scored(turned, us, vs, scale=scale)


def _turn(direction_deg: float, points: _Points, *, plane: Plane, unlike: Float) -> _Turned:
    angle = np.radians(direction_deg)
    axis = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    height, width = plane.valid.shape
    box = np.array([[0, 0], [width, 0], [width, height], [0, height]]) @ axis.T
    low = np.floor(box.min(axis=0)) - 2
    size = tuple(int(side) for side in np.ceil(box.max(axis=0) - low) + 3)
    at = np.rint(np.column_stack([points.x, points.y]) @ axis.T - low).astype(int)
    off = (points.across_deg - direction_deg + 90) % 180 - 90
    rasters = []
    for wanted in (np.abs(off) < _TOLERANCE_DEG, np.abs(np.abs(off) - 90) < _TOLERANCE_DEG):
        raster = np.zeros(size, np.float32)
        raster[at[wanted, 0], at[wanted, 1]] = 1
        rasters.append(raster)
    table = np.where(unlike < UNLIKE, np.float32(1), np.float32(0))
    table[~plane.valid | plane.card] = 0.5
    to_plane = np.column_stack([axis.T[:, ::-1], axis.T @ low])  # raster (column v, row u) → plane (x, y)
    like = cv2.warpAffine(table, to_plane, size[::-1], flags=cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP, borderValue=0.5)
    reach = np.ones(3, np.uint8)
    upright = np.asarray(cv2.dilate(rasters[0], reach[:, None]), np.float64)
    level = np.asarray(cv2.dilate(rasters[1], reach[None]), np.float64)
    return _Turned(axis, low, upright, level, np.asarray(like, np.float64))


def _lines(raster: Array, scale: float) -> NDArray[np.int_]:
    """Rows of the raster with the most support, some millimeters apart. Long runs count more than scattered points."""
    kernel = np.ones((1, max(3, round(25 * scale) | 1)), np.float32)
    share = cv2.blur(raster.astype(np.float32), kernel.shape[::-1])
    total = np.where(share > 0.55, raster, 0).sum(axis=1)
    peaks: list[int] = []
    apart = max(2, round(2.5 * scale))
    for row in np.argsort(-total):
        if total[row] < 0.3 * LEAST_SIDE_MM * scale or len(peaks) == LINES:
            break
        if all(abs(row - other) > apart for other in peaks):
            peaks.append(int(row))
    return np.array(sorted(peaks), np.int_)


def _running(raster: Array) -> Array:
    """Running sums along columns, with a leading zero."""
    return np.pad(np.cumsum(raster, axis=1), ((0, 0), (1, 0)))


def _scored(turned: _Turned, us: NDArray[np.int_], vs: NDArray[np.int_], *, scale: float) -> list[Rectangle]:
    """All rectangles of two lines each way; the best few as candidates."""
    i, j = np.triu_indices(len(us), 1)
    a, b = np.triu_indices(len(vs), 1)
    upright = _sides(turned.upright, turned.like, us, vs, scale=scale)
    level = _sides(turned.level.T, turned.like.T, vs, us, scale=scale)
    # sides[line, pair]: pair indexes the two lines of the other family between which the side runs
    support = np.stack(_four(upright.support, level.support, (i, j), (a, b)))
    beyond = np.stack(_four(upright.beyond, level.beyond, (i, j), (a, b)))
    before, after = _four_pairs(upright, level, (i, j), (a, b))
    outside = np.stack([before[0], after[1], before[2], after[3]])
    wide, tall = (us[j] - us[i])[:, None] / scale, (vs[b] - vs[a])[None] / scale
    score = (
        support.mean(axis=0)
        + 1.2 * support.min(axis=0)
        - 0.5 * beyond.mean(axis=0)
        + 0.9 * outside.min(axis=0)
        + 0.12 * np.log(np.maximum(wide * tall, 1.0) / 60_000)
    )
    score[(wide < LEAST_SIDE_MM) | (tall < LEAST_SIDE_MM) | (support.min(axis=0) < 0.25)] = -np.inf
    found = []
    for flat in np.argsort(-score, axis=None)[: 3 * BEST]:
        first, second = np.unravel_index(flat, score.shape)
        if np.isfinite(score[first, second]):
            box = int(us[i[first]]), int(us[j[first]]), int(vs[a[second]]), int(vs[b[second]])
            weakest, worst = support[:, first, second].min(), outside[:, first, second].min()
            found.append(_rectangle(turned, box, float(score[first, second]), (float(weakest), float(worst))))
    return found


@dataclass(frozen=True, slots=True, eq=False)
class _Sides:
    """Arrays [line, pair of crossing lines], 0-1: edge along a side, edge beyond its ends, table on either side."""

    support: Array
    beyond: Array
    before: Array
    after: Array


def _sides(raster: Array, like: Array, lines: NDArray[np.int_], crossing: NDArray[np.int_], *, scale: float) -> _Sides:
    low, high = np.triu_indices(len(crossing), 1)
    start, end = crossing[low], crossing[high]
    sums = _running(raster)[lines]
    reach = max(4, round(_BEYOND_MM * scale))
    gap = max(2, round(2.5 * scale))
    top = raster.shape[1]
    ahead = sums[:, np.clip(start - gap, 0, top)] - sums[:, np.clip(start - gap - reach, 0, top)]
    behind = sums[:, np.clip(end + gap + reach, 0, top)] - sums[:, np.clip(end + gap, 0, top)]
    near, far = (max(1, round(edge * scale)) for edge in _BAND_MM)
    table = np.pad(np.cumsum(_running(like), axis=0), ((1, 0), (0, 0)))
    bands = []
    for inner, outer in ((-far, -near), (near, far)):
        top_row, bottom_row = np.clip(lines + inner, 0, len(like)), np.clip(lines + outer, 0, len(like))
        rows = table[bottom_row] - table[top_row]
        count = np.maximum((bottom_row - top_row)[:, None] * (end - start)[None], 1)
        bands.append((rows[:, end] - rows[:, start]) / count)
    return _Sides((sums[:, end] - sums[:, start]) / (end - start), (ahead + behind) / (2 * reach), bands[0], bands[1])


Pair = tuple[NDArray[np.intp], NDArray[np.intp]]


def _four(upright: Array, level: Array, u_pairs: Pair, v_pairs: Pair) -> list[Array]:
    """Values of the four sides of every rectangle [u pair, v pair]: low u, high u, low v, high v."""
    count_u, count_v = len(u_pairs[0]), len(v_pairs[0])
    (i, j), (a, b) = u_pairs, v_pairs
    across, along = np.arange(count_v)[None], np.arange(count_u)[:, None]
    return [
        upright[i[:, None], across],
        upright[j[:, None], across],
        level[a[None], along],
        level[b[None], along],
    ]


def _four_pairs(upright: _Sides, level: _Sides, u_pairs: Pair, v_pairs: Pair) -> tuple[list[Array], list[Array]]:
    return (
        _four(upright.before, level.before, u_pairs, v_pairs),
        _four(upright.after, level.after, u_pairs, v_pairs),
    )


def _rectangle(turned: _Turned, box: tuple[int, ...], score: float, said: tuple[float, float]) -> Rectangle:
    low_u, high_u, low_v, high_v = box
    turned_corners = np.array([[low_u, low_v], [high_u, low_v], [high_u, high_v], [low_u, high_v]], np.float64)
    return Rectangle((turned_corners + turned.low) @ turned.axis, score, *said)


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
