"""Sheets of which only the four sides can be seen: paper nearly the color of the table, or of which only the drawing is
unlike it. Color says nothing of them, so that they may only be proposed.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from portfolio.straighten.evidence import Candidate, Sheets
from portfolio.straighten.outline import MAX_ANGLE_DEG, clockwise
from portfolio.straighten.plane import Float, Plane
from portfolio.straighten.pose import Array, Pose
from portfolio.straighten.rectangles import find_rectangles
from portfolio.straighten.walls import find_walled

Pixels = NDArray[np.uint8]

WEAKEST: Final = 0.3
"""How much of the weakest side must be seen."""
LIKELY: Final = 2.2
"""Log odds by its edge alone from which a sheet is proposed: on tuning photos true sheets that color had missed had 1.8
to 7.3, squares of a ruled mat up to 1.9 (their lines go on beyond the corners), parts of a sheet up to 2.2."""
MOSTLY_SEEN: Final = 0.6
"""The share of each side outside which table must be seen: what ends where the seen part ends is no sheet."""
_OUTSIDE_MM: Final = 5.0
_ALONG: Final = np.linspace(0.05, 0.95, 19)


def faint_sheets(pixels: Pixels, plane: Plane, pose: Pose, *, unlike: Float, shrink: int) -> list[Candidate]:
    """Rectangles whose four sides can be seen, likeliest first, as if color told nothing."""
    walled = find_walled(plane)
    starts = [rectangle.corners for rectangle in find_rectangles(plane, unlike)]
    starts += [] if walled is None else [clockwise(walled.blob.box)]
    seen = [
        candidate
        for candidate in Sheets(pixels, plane, pose, unlike, shrink).fitted(starts, blobs=[])
        if candidate.fitted.weakest >= WEAKEST
        and candidate.fitted.worst_angle_deg <= MAX_ANGLE_DEG
        and candidate.likely_by_edge >= LIKELY
        and _stands_free(plane, candidate.fitted.corners_mm)
    ]
    return sorted(seen, key=lambda candidate: -candidate.likely_by_edge)


def _stands_free(plane: Plane, corners_mm: Array) -> bool:
    """Whether what lies outside each side is seen."""
    middle = corners_mm.mean(axis=0)
    for start, end in zip(corners_mm, np.roll(corners_mm, -1, axis=0), strict=True):
        outward = (start + end) / 2 - middle
        places = start + _ALONG[:, None] * (end - start) + _OUTSIDE_MM * outward / np.linalg.norm(outward)
        at = np.rint(plane.to_px(places)).astype(int)
        at = at[((at >= 0) & (at < plane.valid.shape[::-1])).all(axis=1)]
        if np.count_nonzero(plane.valid[at[:, 1], at[:, 0]]) < MOSTLY_SEEN * len(_ALONG):
            return False
    return True
