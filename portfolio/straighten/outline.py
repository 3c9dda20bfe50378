"""Where the work ends: a sheet with four straight sides when the photo bears that out, else the outline of whatever
is not table. Both are looked for; where they contradict each other the photo is asked about.

Measured lesson: white paper on a white table cannot be told by color at all, but its four sides still show as a faint
shadow; a drawn frame or a grid mat makes sides too, but does not have table right outside them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.straighten.evidence import LEAST_SUPPORT, Candidate, fitted_candidates
from portfolio.straighten.freeform import Blob, agreement, cut_again, find_blob, table_outside
from portfolio.straighten.plane import Float, Plane
from portfolio.straighten.pose import Array, Pose
from portfolio.straighten.rectangles import find_rectangles

Pixels = NDArray[np.uint8]

MAX_ANGLE_DEG: Final = 3.0
_TOO_MUCH: Final = 0.7
LIKELY: Final = 0.0
SURE: Final = 3.0
"""Log odds from which a rectangle is taken for the sheet, and from which it is cropped without asking. At 3.0 no photo
of 300 was cropped wrongly; with the right rectangle taken away from the candidates, 1 of 300 was (measured 2026)."""
RIVAL: Final = 2.0
SURE_CUT: Final = 0.96
SURE_OUTSIDE_FREE: Final = 0.91
MAX_TAKEN_OFF: Final = 0.02
MAX_OTHERS: Final = 0.1
"""A free shape among other things is asked about: nothing says that they do not belong to it."""
FAINT: Final = 1.5
"""Distance from table at which a plain white sheet on a plain white table may still show."""
NEARLY_TABLE: Final = "the work is nearly the color of the table"


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """An outline in millimeters (N × 2). ``shape``: "sheet" (4 corners, clockwise) or "free"."""

    outline_mm: Array
    shape: str
    sure: bool
    why: str = ""
    size_mm: tuple[float, float] | None = None
    """Of a sheet: lengths of the first and the second side, better than the outline's own."""


def find_outline(pixels: Pixels, plane: Plane, pose: Pose, *, unlike: Float, shrink: int) -> Found | None:
    """The work's outline, or ``None`` when there is nothing on the table."""
    clear = find_blob(plane, unlike)
    faint = find_blob(plane, np.asarray(cv2.blur(unlike, (7, 7)), np.float32), threshold=FAINT)
    blobs = [seen for seen in (clear, faint) if seen is not None and seen.mask.mean() < _TOO_MUCH]
    candidates = _candidates(pixels, plane, pose, unlike=unlike, blobs=blobs, shrink=shrink)
    blob = faint if faint is not None and _is_nearly_table(faint, clear) else clear
    best = max(candidates, key=lambda candidate: candidate.likely, default=None)
    if best is not None and _is_sheet(best):
        return _judged_sheet(best, [other for other in candidates if other is not best])
    if blob is None:
        return None
    why = NEARLY_TABLE if blob is faint else _doubt_of_free(plane, unlike, blob, rival=best)
    return Found(plane.to_mm(blob.contour), "free", not why, why)


def _is_nearly_table(faint: Blob, clear: Blob | None) -> bool:
    """Black paper on black felt: what is clear is only the drawing on it, and lies inside the faint shape."""
    if faint.mask.mean() >= _TOO_MUCH or faint.at_frame > 0.02:
        return False
    if clear is None:
        return True
    inside = float((clear.mask & faint.mask).sum()) / float(clear.mask.sum())
    return inside > 0.85 and float(faint.mask.sum()) > 1.5 * float(clear.mask.sum())


def _candidates(
    pixels: Pixels, plane: Plane, pose: Pose, *, unlike: Float, blobs: list[Blob], shrink: int
) -> list[Candidate]:
    starts = [rectangle.corners for rectangle in find_rectangles(plane, unlike)]
    starts += [_clockwise(seen.box) for seen in blobs]
    return fitted_candidates(pixels, plane, pose, starts=starts, unlike=unlike, blobs=blobs, shrink=shrink)


def _clockwise(corners: Array) -> Array:
    x, y = corners[:, 0], corners[:, 1]
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    return corners if area > 0 else corners[::-1]


def _is_sheet(candidate: Candidate) -> bool:
    fit = candidate.fitted
    return (
        candidate.inside
        and fit.weakest >= LEAST_SUPPORT
        and fit.worst_angle_deg <= MAX_ANGLE_DEG
        and candidate.likely >= LIKELY
    )


def _judged_sheet(candidate: Candidate, others: list[Candidate]) -> Found:
    why = ""
    if candidate.likely < SURE:
        why = candidate.doubt
    elif any(_rivals(candidate, other) for other in others):
        why = "another outline fits as well"
    return Found(candidate.fitted.corners_mm, "sheet", not why, why, candidate.size_mm)


def _rivals(best: Candidate, other: Candidate) -> bool:
    """Another likely sheet in another place, or much larger."""
    if not other.inside or other.likely < RIVAL:
        return False
    apart = np.linalg.norm(best.fitted.corners_mm.mean(axis=0) - other.fitted.corners_mm.mean(axis=0))
    return bool(apart > 60) or other.area_mm2 > 1.3 * best.area_mm2


def _doubt_of_free(plane: Plane, unlike: Float, blob: Blob, *, rival: Candidate | None) -> str:
    """Why a free shape must be asked about, or nothing. The second opinion on its edge costs most and comes last."""
    if blob.at_frame > 0.02:
        return "the work reaches the edge of the photo"
    if blob.at_card > 0.02:
        return "the card lies on the work"
    if blob.others > MAX_OTHERS:
        return "other things lie on the table"
    if blob.taken_off > MAX_TAKEN_OFF:
        return "something thin touches the work or is part of it"
    if not _ends_clearly(plane, unlike, blob):
        return "where the work ends is not clear"
    split = rival is not None and rival.fitted.weakest >= 0.7 and rival.agrees < 0.85
    return "edges and colors do not agree on where the work ends" if split else ""


def _ends_clearly(plane: Plane, unlike: Float, blob: Blob) -> bool:
    if table_outside(plane, unlike, blob.contour) < SURE_OUTSIDE_FREE:
        return False
    return agreement(blob.mask, cut_again(plane, blob)) >= SURE_CUT
