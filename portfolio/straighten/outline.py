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

from portfolio.straighten.freeform import Blob, agreement, cut_again, filled, find_blob, table_outside
from portfolio.straighten.plane import Float, Plane
from portfolio.straighten.pose import Array, Pose, carried
from portfolio.straighten.rectangles import find_rectangles
from portfolio.straighten.sides import Fitted, fit_sides
from portfolio.straighten.sizes import sheet_name
from portfolio.straighten.squared import true_size_mm

Pixels = NDArray[np.uint8]

MAX_ANGLE_DEG: Final = 3.0
_LEAST_POINTS: Final = 5
_TOO_MUCH: Final = 0.7
LEAST_SUPPORT: Final = 0.55
"""Weakest side of what may still be called a sheet."""
SURE_SUPPORT: Final = 0.80
SURE_OUTSIDE: Final = 0.85
SURE_AGREEMENT: Final = 0.95
SURE_CUT: Final = 0.96
SURE_OUTSIDE_FREE: Final = 0.91
MAX_TAKEN_OFF: Final = 0.02
MAX_OTHERS: Final = 0.1
"""A free shape among other things is asked about: nothing says that they do not belong to it."""
FAINT: Final = 1.5
"""Distance from table at which a plain white sheet on a plain white table may still show."""
LEAST_SURE_MM2: Final = 32_000.0
"""A sheet of no usual size must be at least this large (6 × 9 in) to be cropped without asking."""
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


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A fitted sheet and what speaks for it."""

    fitted: Fitted
    outside: float
    agrees: float
    """Intersection over union with what does not look like table."""
    sheet: str | None
    inside: bool
    """All corners lie in the photo."""
    size_mm: tuple[float, float]

    @property
    def area_mm2(self) -> float:
        """About: the product of two sides."""
        return float(self.fitted.sides_mm[:2].prod())

    @property
    def score(self) -> float:
        """For ranking candidates of one photo only."""
        fit = self.fitted
        return (
            float(fit.supports.mean())
            + fit.weakest
            + 0.8 * self.outside
            + 0.8 * self.agrees
            + (0.4 if self.sheet else 0.0)
            + 0.3 * min(1.0, self.area_mm2 / 60_000)
            - 0.1 * fit.worst_angle_deg
            - 0.3 * fit.rough_mm
            - (0.0 if self.inside else 1.0)
        )


def find_outline(pixels: Pixels, plane: Plane, pose: Pose, *, unlike: Float, shrink: int) -> Found | None:
    """The work's outline, or ``None`` when there is nothing on the table."""
    clear = find_blob(plane, unlike)
    faint = find_blob(plane, np.asarray(cv2.blur(unlike, (7, 7)), np.float32), threshold=FAINT)
    blobs = [seen for seen in (clear, faint) if seen is not None and seen.mask.mean() < _TOO_MUCH]
    candidates = _candidates(pixels, plane, pose, unlike=unlike, blobs=blobs, shrink=shrink)
    blob = faint if faint is not None and _is_nearly_table(faint, clear) else clear
    best = max(candidates, key=lambda candidate: candidate.score, default=None)
    if best is not None and _is_sheet(best):
        return _judged_sheet(best, [other for other in candidates if other is not best], blob)
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
    starts = [rectangle.corners for rectangle in find_rectangles(plane, unlike)[:4]]
    starts += [_clockwise(seen.box) for seen in blobs]
    different: list[Fitted] = []
    for start in starts:
        fitted = fit_sides(pixels, pose, plane.to_mm(start), shrink=shrink)
        if all(_differ(fitted, other) for other in different):
            different.append(fitted)
    return [_candidate(fitted, plane, pose, unlike=unlike, blobs=blobs) for fitted in different]


def _differ(one: Fitted, other: Fitted) -> bool:
    return float(np.abs(one.corners_mm - other.corners_mm).max()) > 1.0


def _candidate(fitted: Fitted, plane: Plane, pose: Pose, *, unlike: Float, blobs: list[Blob]) -> Candidate:
    """What speaks for a fitted sheet. This costs more than the fit, so it comes after equal ones were dropped."""
    corners = plane.to_px(fitted.corners_mm)
    mask = filled(plane.valid.shape, corners)
    size = _size_of(fitted, pose)
    at = np.rint(corners).astype(int)
    height, width = plane.valid.shape
    within = bool(((at >= 1) & (at < (width - 1, height - 1))).all()) and bool(plane.valid[at[:, 1], at[:, 0]].all())
    return Candidate(
        fitted,
        table_outside(plane, unlike, corners),
        max((agreement(mask, blob.mask) for blob in blobs), default=0.0),
        sheet_name(*size),
        within,
        size,
    )


def _size_of(fitted: Fitted, pose: Pose) -> tuple[float, float]:
    """Lengths of the first and second side: by right angles where the edges bear that out, else as they lie."""
    sides = fitted.sides_mm
    plain = float(sides[[0, 2]].mean()), float(sides[[1, 3]].mean())
    if fitted.weakest < LEAST_SUPPORT or min(len(points) for points in fitted.edges_mm) < _LEAST_POINTS:
        return plain
    edges = [carried(points, pose.to_px) for points in fitted.edges_mm]
    return true_size_mm(pose, edges, fitted.corners_mm) or plain


def _clockwise(corners: Array) -> Array:
    x, y = corners[:, 0], corners[:, 1]
    area = float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    return corners if area > 0 else corners[::-1]


def _is_sheet(candidate: Candidate) -> bool:
    fit = candidate.fitted
    return (
        fit.weakest >= LEAST_SUPPORT
        and fit.worst_angle_deg <= MAX_ANGLE_DEG
        and candidate.inside
        and (candidate.agrees >= 0.5 or candidate.sheet is not None)
        and (
            candidate.outside >= 0.5 or candidate.agrees >= 0.9 or (fit.weakest >= 0.8 and candidate.sheet is not None)
        )
    )


def _judged_sheet(candidate: Candidate, others: list[Candidate], blob: Blob | None) -> Found:
    fit = candidate.fitted
    why = ""
    if fit.weakest < SURE_SUPPORT:
        why = "one side of the sheet is not clear"
    elif candidate.outside < SURE_OUTSIDE:
        why = "what lies round the sheet is not clearly table"
    elif blob is not None and candidate.agrees < 0.85:
        why = "edges and colors do not agree on where the sheet ends"
    elif candidate.sheet is None and (candidate.agrees < SURE_AGREEMENT or candidate.area_mm2 < LEAST_SURE_MM2):
        why = "the sheet has no usual size and its edge is not clear enough to be sure"
    elif any(_rivals(candidate, other) for other in others):
        why = "another outline fits as well"
    return Found(fit.corners_mm, "sheet", not why, why, candidate.size_mm)


def _rivals(best: Candidate, other: Candidate) -> bool:
    """Another sheet of a usual size with clear sides all round, in another place or much larger."""
    if other.sheet is None or other.fitted.weakest < SURE_SUPPORT or not other.inside or other.outside < 0.5:
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
