"""A work without a card: propose where its edge may be, from the table around it. Never sure, and never a size.

Without a card nothing tells the camera's tilt, the scale or the light, so this is only the best guess for a question:
the largest thing with four straight sides that lies free on the table.
"""

from __future__ import annotations

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.model.photo import Crop
from portfolio.straighten.plane import Float, Plane
from portfolio.straighten.pose import Array
from portfolio.straighten.source import Pixels
from portfolio.straighten.tabletop import UNLIKE, learn_table, unlikeness

WHY: Final = "no card can be seen, so this edge is a guess"
_LONG_PX: Final = 640
_LEAST_AREA: Final = 0.06
"""A work fills at least this share of a photo that was taken of it."""
_MOST_AREA: Final = 0.92
_FULL: Final = 0.90
"""Its four sides must hold this share of its hull, and it must fill this share of them."""
_NEAR_SIDE: Final = 0.03
"""Points of the contour so near to a side (share of the photo's longer side) belong to it."""
_CORNER: Final = 0.12
"""Share of each side left out at its ends when a line is fitted to it: corners are bent or torn."""

Mask = NDArray[np.uint8]


def propose_edge(screen: Pixels, *, shrink: int) -> Crop | None:
    """A quadrilateral that may be the work's edge, in pixels of the upright photo; ``None`` when nothing stands out.

    ``screen``: the photo in sRGB, shrunk by ``shrink``.
    """
    factor = _LONG_PX / max(screen.shape[:2])
    small = cv2.resize(screen, None, fx=factor, fy=factor, interpolation=cv2.INTER_AREA)
    corners = _four_sides(_things(np.asarray(small, np.uint8)))
    if corners is None:
        return None
    full = (corners + 0.5) / factor * shrink - 0.5
    return Crop(tuple((float(x), float(y)) for x, y in full), sure=False, shape="sheet", why=WHY)


def _things(small: Pixels) -> Mask:
    """Where the photo does not look like the table along its frame, holes filled (1 = something lies there)."""
    lab = np.asarray(cv2.cvtColor(small.astype(np.float32) / 255, cv2.COLOR_RGB2LAB), np.float32)
    plane = _as_plane(lab)
    unlike = unlikeness(plane, learn_table(plane))
    there = (unlike > UNLIKE).astype(np.uint8)
    there = np.asarray(cv2.morphologyEx(there, cv2.MORPH_CLOSE, np.ones((7, 7), np.uint8)), np.uint8)
    return np.asarray(cv2.morphologyEx(there, cv2.MORPH_OPEN, np.ones((9, 9), np.uint8)), np.uint8)


def _as_plane(lab: Float) -> Plane:
    """The photo itself as if it were the table seen from above; there is no card on it."""
    shape = lab.shape[:2]
    return Plane(lab, np.ones(shape, np.bool_), np.zeros(shape, np.bool_), 1.0, (0.0, 0.0))


def _four_sides(there: Mask) -> Array | None:
    """Corners (4 × 2) of the largest thing that is a quadrilateral and has table all around it."""
    contours, _ = cv2.findContours(there, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    for contour in sorted(contours, key=cv2.contourArea, reverse=True):
        share = cv2.contourArea(contour) / there.size
        if share < _LEAST_AREA:
            return None
        corners = _quadrilateral(contour.reshape(-1, 2).astype(np.float64))
        if corners is not None and share <= _MOST_AREA and _is_free(corners, there):
            return corners
    return None


def _quadrilateral(points: Array) -> Array | None:
    """Four corners from lines fitted to the contour's sides; ``None`` when it has not four straight sides."""
    hull = cv2.convexHull(points.astype(np.float32))
    rough = None
    for share in np.arange(0.02, 0.12, 0.01):
        found = cv2.approxPolyDP(hull, float(share * cv2.arcLength(hull, closed=True)), closed=True)
        if len(found) == 4:
            rough = found.reshape(4, 2).astype(np.float64)
            break
    if rough is None:
        return None
    corners = _refined(points, rough)
    if corners is None:
        return None
    area, of_hull = cv2.contourArea(corners.astype(np.float32)), cv2.contourArea(hull)
    filled = cv2.contourArea(points.astype(np.float32))
    return corners if min(of_hull, area, filled) >= _FULL * max(of_hull, area) else None


def _refined(points: Array, rough: Array) -> Array | None:
    """The rough corners moved to where robust lines through the four sides cross."""
    near = _NEAR_SIDE * _LONG_PX
    lines = []
    for start, end in zip(rough, np.roll(rough, -1, axis=0), strict=True):
        along = (end - start) / max(1.0, float(np.linalg.norm(end - start)))
        offset = points - start
        place = offset @ along / max(1.0, float(np.linalg.norm(end - start)))
        away = np.abs(offset @ np.array([-along[1], along[0]]))
        side = points[(place > _CORNER) & (place < 1 - _CORNER) & (away < near)]
        if len(side) < 12:
            return None
        lines.append(np.asarray(cv2.fitLine(side.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01)).ravel())
    crossings = [_crossing(lines[place - 1], lines[place]) for place in range(4)]
    return None if any(one is None for one in crossings) else np.array(crossings, np.float64)


def _crossing(one: Array, other: Array) -> Array | None:
    """Where two lines (direction, point) cross; ``None`` when they are nearly parallel."""
    turn = float(one[0] * other[1] - one[1] * other[0])
    if abs(turn) < 0.1:
        return None
    gap = other[2:] - one[2:]
    step = float(gap[0] * other[1] - gap[1] * other[0]) / turn
    return np.asarray(one[2:] + step * one[:2], np.float64)


def _is_free(corners: Array, there: Mask) -> bool:
    """Whether there is table between every corner and the photo's frame."""
    height, width = there.shape
    return bool((corners > 1).all() and (corners < (width - 2, height - 2)).all())
