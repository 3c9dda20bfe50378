"""Where a marked region of the photo lies in the work's own picture, so that it can be covered there.

Only told where it is sure: a photo shown as taken, or a sheet cut out by its four corners. Elsewhere ``None``: then
the picture must not be shown.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from portfolio.model.showing import FractionPolygon, MarkedPicture

Array = NDArray[np.float64]
_TOO_ALIKE = 0.8
"""Perspective may swap the two sides that run furthest to the right when one reaches so far beside the other."""


def regions_in_picture(marked: MarkedPicture) -> tuple[FractionPolygon, ...] | None:
    """The marked regions as shares of the picture's width and height; ``None`` = cannot be told."""
    if not marked.regions_px:
        return ()
    corners = _corners(marked)
    if corners is None:
        return None
    to_picture = _homography(np.roll(corners, marked.quarter_turns, axis=0))
    return tuple(_carried(np.array(region, np.float64), to_picture) for region in marked.regions_px)


def _corners(marked: MarkedPicture) -> Array | None:
    if marked.outline_px is None:
        if marked.photo_px is None:
            return None
        width, height = marked.photo_px
        return np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float64)
    if marked.shape != "sheet" or len(marked.outline_px) != 4:
        return None
    return _from_top_left(np.array(marked.outline_px, np.float64), marked.right_px or (1.0, 0.0))


def _from_top_left(corners: Array, right: tuple[float, float]) -> Array | None:
    """Clockwise, beginning so that the first side runs to the card's right as nearly as it can: as it was cut out.

    ``None`` where two sides run so nearly alike that the picture may begin with the other one.
    """
    x, y = corners[:, 0], corners[:, 1]
    if float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) < 0:
        corners = corners[::-1]
    along = (np.roll(corners, -1, axis=0) - corners) @ np.array(right)
    second, first = np.sort(along)[-2:]
    if second > _TOO_ALIKE * first:
        return None
    return np.roll(corners, -int(np.argmax(along)), axis=0)


def _homography(corners: Array) -> Array:
    """From the photo to the unit square, by four pairs of points (direct linear transformation)."""
    rows = []
    for (x, y), (u, v) in zip(corners, ((0, 0), (1, 0), (1, 1), (0, 1)), strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y, -u], [0, 0, 0, x, y, 1, -v * x, -v * y, -v]]
    return np.asarray(np.linalg.svd(np.array(rows, np.float64))[2][-1].reshape(3, 3), np.float64)


def _carried(points: Array, through: Array) -> FractionPolygon:
    ends = np.column_stack([points, np.ones(len(points))]) @ through.T
    return tuple((float(x / w), float(y / w)) for x, y, w in ends)
