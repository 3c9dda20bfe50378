"""What the table looks like, learnt from a band along the photo's frame, and how unlike it every other place is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.cards.geometry import WHITES
from portfolio.straighten.plane import Float, Plane

BAND: Final = 0.045
"""Width of the band, as a share of the plane's longer side."""
_CLUSTERS: Final = 4
_SAMPLES: Final = 4000
_LEAST_SAMPLES: Final = 200
_LEAST_SHARE: Final = 0.05
_SECTORS: Final = 16
_PRESENT: Final = 0.08
_WIDESPREAD: Final = 0.6
_COMMON: Final = 0.25
"""A color of the table is found in most sectors of the frame, or (half of it lies in shadow) fills a quarter of it."""
_AT_RIM: Final = 0.5
_SHADE: Final = (15.0, 6.0)
"""Difference in L* and in (a*, b*) up to which one color of the frame may be the shade of another."""
_LEAST_SPREAD: Final = np.array([2.2, 1.6, 1.6])
"""Noise floor in L*, a*, b*: print grain and JPEG blocks pass for table up to here."""
NEAR_WHITE: Final = 6.0
"""CIE Lab distance between table and card below which the teacher should be told once."""
_PLAIN: Final = 2.0
_EVERY: Final = 4
UNLIKE: Final = 3.6
"""Distance, in spreads, from which a place does not count as table."""


@dataclass(frozen=True, slots=True, eq=False)
class TableLook:
    """Up to four colors of the table (K × 3, CIE L*a*b*) with their spreads, and the slope of L* common to them.

    The slope is told over ``frame_mm``: left, top, width and height of the plane where this was learnt.
    """

    middles: NDArray[np.float64]
    spreads: NDArray[np.float64]
    slope: NDArray[np.float64]
    frame_mm: tuple[float, float, float, float]

    def unlikeness(self, plane: Plane) -> Float:
        """Distance of every pixel of a plane from the nearest table color, in spreads (H × W). 0 = exactly table.

        Pixels outside the photo are 0. The plane may show another part of the same table.
        """
        height, width = plane.valid.shape
        left, top, wide, high = self.frame_mm
        x = ((np.arange(width) / plane.px_per_mm + plane.origin_mm[0]) - left) / wide * 2 - 1
        y = ((np.arange(height) / plane.px_per_mm + plane.origin_mm[1]) - top) / high * 2 - 1
        flat = _smooth(plane)
        flat[..., 0] -= (x * self.slope[0] + y[:, None] * self.slope[1]).astype(np.float32)
        nearest = np.full((height, width), np.inf, np.float32)
        for middle, spread in zip(self.middles, self.spreads, strict=True):
            away = cv2.transform(flat, np.column_stack([np.diag(1 / spread), -middle / spread]))
            squares = cv2.transform(cv2.multiply(away, away), np.ones((1, 3)))
            nearest = np.asarray(cv2.min(nearest, squares), np.float32)
        nearest = np.sqrt(nearest)
        nearest[~plane.valid] = 0
        return nearest


def learn_table(plane: Plane) -> TableLook | None:
    """The table's colors, from a band along the photo's frame; ``None`` when too little of that is in view."""
    rows, columns = np.nonzero(_band(plane))
    if len(rows) < _LEAST_SAMPLES:
        return None
    pick = np.random.default_rng(0).choice(len(rows), min(_SAMPLES, len(rows)), replace=False)
    rows, columns = rows[pick], columns[pick]
    colors = _smooth(plane)[rows, columns].astype(np.float32)
    at_rim = _rim(plane)[rows, columns]
    middles, spreads, slope = _table_colors(colors, _where(plane, rows, columns), at_rim=at_rim)
    height, width = plane.valid.shape
    frame_mm = *plane.origin_mm, width / plane.px_per_mm, height / plane.px_per_mm
    return TableLook(middles, spreads, slope, frame_mm)


def unlikeness(plane: Plane, look: TableLook | None) -> Float:
    """How unlike the table every place of a plane is (H × W, see :class:`TableLook`); nowhere, when that is unknown."""
    return look.unlikeness(plane) if look is not None else np.zeros(plane.valid.shape, np.float32)


def _smooth(plane: Plane) -> Float:
    return np.asarray(cv2.GaussianBlur(plane.lab, (0, 0), 0.8), np.float32)


def is_near_white(plane: Plane, unlike: Float) -> bool:
    """The table is nearly as white as the card: sheets will be hard to tell from it."""
    table = (unlike < _PLAIN) & plane.usable
    places = [(x, rect.center[1]) for rect in WHITES for x in (20.0, 45.0, 70.0, 95.0, 120.0)]
    at = np.rint(plane.to_px(np.array(places))).astype(int)
    height, width = plane.valid.shape
    at = at[((at >= 0) & (at < (width, height))).all(axis=1)]
    if not table.any() or len(at) < 3:
        return False
    card = np.median(plane.lab[at[:, 1], at[:, 0]], axis=0)
    colors = plane.lab[::_EVERY, ::_EVERY][table[::_EVERY, ::_EVERY]]
    return bool(len(colors) and np.linalg.norm(np.median(colors, axis=0) - card) < NEAR_WHITE)


def _band(plane: Plane) -> NDArray[np.bool_]:
    """The strip along the frame, without cards."""
    return np.asarray(_within(plane, max(6, round(BAND * max(plane.valid.shape)))) & ~plane.card, np.bool_)


def _rim(plane: Plane) -> NDArray[np.bool_]:
    """The outermost third of that strip: a work that reaches into the strip rarely reaches so far."""
    return _within(plane, max(2, round(BAND / 3 * max(plane.valid.shape))))


def _within(plane: Plane, width_px: int) -> NDArray[np.bool_]:
    padded = np.pad(plane.valid.astype(np.uint8), 1)
    inner = cv2.erode(padded, np.ones((2 * width_px + 1,) * 2, np.uint8))[1:-1, 1:-1]
    return np.asarray(plane.valid & (inner == 0), np.bool_)


def _where(plane: Plane, rows: NDArray[np.integer], columns: NDArray[np.integer]) -> NDArray[np.float64]:
    """Place in the plane, about -1 to 1 in both directions (… × 2)."""
    height, width = plane.valid.shape
    return np.stack([columns / width * 2 - 1, rows / height * 2 - 1], axis=-1)


def _table_colors(
    colors: Float, where: NDArray[np.float64], *, at_rim: NDArray[np.bool_]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Middles and spreads (K × 3) of the table's colors, and the slope of L* common to all of them (2)."""
    stop = (cv2.TERM_CRITERIA_EPS + cv2.TERM_CRITERIA_MAX_ITER, 20, 0.5)
    cv2.setRNGSeed(1)
    slope = np.zeros(2)
    none = np.zeros((len(colors), 1), np.int32)
    flat = colors.astype(np.float32)
    for _ in range(2):
        _, labels, middles = cv2.kmeans(flat, _CLUSTERS, none, stop, 1, cv2.KMEANS_PP_CENTERS)
        labels = np.asarray(labels).ravel()
        off = colors[:, 0] - np.asarray(middles)[labels, 0]
        slope = _robust_slope(off, where)
        flat = colors.copy()
        flat[:, 0] -= (where @ slope).astype(np.float32)
    keep = _table_clusters(np.asarray(labels, np.int_), np.asarray(middles, np.float64), where, at_rim=at_rim)
    groups = [flat[labels == k].astype(np.float64) for k in keep]
    middle = np.array([np.median(group, axis=0) for group in groups])
    wide = np.array([1.4826 * np.median(np.abs(group - np.median(group, axis=0)), axis=0) for group in groups])
    return middle, np.maximum(wide, _LEAST_SPREAD), slope


def _table_clusters(
    labels: NDArray[np.integer], middles: NDArray[np.float64], where: NDArray[np.float64], *, at_rim: NDArray[np.bool_]
) -> list[int]:
    """Which colors along the frame are table: widespread ones, and whatever shades into these (a shadow)."""
    common = [k for k in range(_CLUSTERS) if (labels == k).mean() >= _LEAST_SHARE]
    keep = [k for k in common if _is_table(labels == k, where, at_rim=at_rim)]
    keep = keep or [int(np.bincount(labels, minlength=_CLUSTERS).argmax())]
    apart = np.abs(middles[:, None] - middles[None])
    shades = (apart[..., 0] < _SHADE[0]) & (np.linalg.norm(apart[..., 1:], axis=-1) < _SHADE[1])
    for _ in common:
        keep = [k for k in common if k in keep or shades[k, keep].any()]
    return keep


def _is_table(own: NDArray[np.bool_], where: NDArray[np.float64], *, at_rim: NDArray[np.bool_]) -> bool:
    """Whether a color along the frame is table: not that of a work that reaches in, nor of a few things lying there.

    ``own``: which samples have the color.
    """
    if own[at_rim].mean() < _AT_RIM * own[~at_rim].mean():
        return False
    sector = ((np.arctan2(where[:, 1], where[:, 0]) / np.pi + 1) * (_SECTORS / 2 - 1e-6)).astype(int)
    counts, owned = np.bincount(sector, minlength=_SECTORS), np.bincount(sector, own, _SECTORS)
    seen = counts > 0
    present = float((owned[seen] > _PRESENT * counts[seen]).mean())
    return present >= _WIDESPREAD or float(own.mean()) >= _COMMON


def _robust_slope(off: NDArray[np.floating], where: NDArray[np.float64]) -> NDArray[np.float64]:
    """Least squares through the inner two thirds of the residuals, twice."""
    keep = np.ones(len(off), np.bool_)
    slope: NDArray[np.floating] = np.zeros(2)
    for _ in range(3):
        slope, *_ = np.linalg.lstsq(where[keep], off[keep].astype(np.float64), rcond=None)
        error = np.abs(off - where @ slope)
        keep = error <= np.quantile(error, 0.7)
    return np.asarray(np.clip(slope, -12, 12), np.float64)
