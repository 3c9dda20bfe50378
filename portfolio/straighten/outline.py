"""Where the work ends: a sheet with four straight sides when the photo bears that out, else the outline of whatever
is not table. Whoever is sure wins; when nobody is, the photo is asked about.

Measured lessons: white paper on a white table cannot be told by color at all, but its edge still shows as a faint
shadow (see ``walls``); a drawn frame or a grid mat makes sides too, but does not have table right outside them (see
``evidence``); two ways that err differently and agree are a better sign than one way that is proud of itself.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from portfolio.straighten.evidence import LEAST_SUPPORT, Candidate, Sheets, is_elsewhere
from portfolio.straighten.freeform import CLUTTERED, Blob, agreement, filled, find_blob, table_outside, trimmed
from portfolio.straighten.plane import Float, Plane
from portfolio.straighten.pose import Array, Pose
from portfolio.straighten.rectangles import find_rectangles
from portfolio.straighten.walls import Walled, find_walled

Pixels = NDArray[np.uint8]

MAX_ANGLE_DEG: Final = 3.0
SAME_EDGE: Final = 0.98
"""Intersection over union from which a rectangle and a free shape are the same outline."""
WITH_SCRAPS: Final = 0.95
"""Below it a sheet and the free shape round it are not the same thing."""
_TOO_MUCH: Final = 0.7
LIKELY: Final = 0.0
SURE: Final = 3.0
"""Log odds from which a rectangle is taken for the sheet, and from which it is cropped without asking. At 3.0 no photo
of 300 was cropped wrongly; none was either with the right rectangle taken away from the candidates (measured 2026)."""
RIVAL: Final = 2.0
SURE_AGREEMENT: Final = 0.96
"""Of a free shape by its color and by its edge: two ways that err differently."""
SURE_STEADY: Final = 0.98
SURE_OUTSIDE: Final = 0.91
MAX_AT_FRAME: Final = 0.02
MAX_AT_CARD: Final = 0.12
MAX_HIDDEN: Final = 0.08
MAX_TAKEN_OFF: Final = 0.02
MAX_OTHERS: Final = CLUTTERED
"""A free shape among other things is asked about: nothing says that they do not belong to it."""
_CONTAINED: Final = 0.9
_MUCH_LARGER: Final = 1.5
NEARLY_TABLE: Final = "the work is nearly the color of the table"
OTHERS: Final = "other things lie on the table"
THIN: Final = "something thin touches the work or is part of it"
SHAKEN: Final = "the photo was shaken, so that edges are not sharp"
UNCLEAR: Final = "where the work ends is not clear"
MAY_BE_TRIMMED: Final = frozenset({OTHERS, THIN, UNCLEAR})
"""Doubts of a free shape whose proposal is better for being trimmed to its own colors; it stays a question."""

CLEARLY_UNLIKE: Final = 10.0
"""Work less unlike the table than this (in spreads) would lose of itself when it is trimmed."""


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """An outline in millimeters (N × 2). ``shape``: "sheet" (4 corners, clockwise) or "free"."""

    outline_mm: Array
    shape: str
    sure: bool
    why: str = ""
    size_mm: tuple[float, float] | None = None
    """Of a sheet: lengths of the first and the second side, better than the outline's own."""


def find_outline(
    pixels: Pixels, plane: Plane, pose: Pose, *, unlike: Float, shrink: int, scraps: bool = False
) -> Found | None:
    """The work's outline, or ``None`` when there is nothing on the table. ``scraps``: more lies about than is seen."""
    clear = find_blob(plane, unlike, scraps=scraps)
    blobs = [] if clear is None or clear.mask.mean() >= _TOO_MUCH else [clear]
    starts = [rectangle.corners for rectangle in find_rectangles(plane, unlike)]
    sheets = Sheets(pixels, plane, pose, unlike, shrink)
    candidates = sheets.fitted([*starts, *(clockwise(blob.box) for blob in blobs)], blobs=blobs)
    sheet = _judged(candidates)
    if sheet is not None and sheet.sure:
        return sheet
    walled = find_walled(plane)
    if walled is not None:
        candidates = sheets.judged_again(candidates, start=clockwise(walled.blob.box), blobs=[*blobs, walled.blob])
        sheet = _judged(candidates)
    found = _surer(plane, sheet, _free(plane, unlike, clear=clear, walled=walled))
    if found is None or found.why not in MAY_BE_TRIMMED or found.shape != "free":
        return found
    contour = plane.to_px(found.outline_mm)
    if float(np.median(unlike[filled(plane.valid.shape, contour)])) < CLEARLY_UNLIKE:
        return found
    return replace(found, outline_mm=plane.to_mm(trimmed(plane, contour)))


def _surer(plane: Plane, sheet: Found | None, free: Found | None) -> Found | None:
    """A sheet that is not sure by itself is cropped as one all the same where the free shape says the same edge: paper
    of no usual size is still paper. A sheet that lies wholly within a much larger free shape has scraps at its edges:
    it is proposed, nothing is cropped.
    """
    if sheet is None or free is None or sheet.sure or not free.sure:
        return free if sheet is None else sheet
    paper, shape = (filled(plane.valid.shape, plane.to_px(found.outline_mm)) for found in (sheet, free))
    alike, within = agreement(paper, shape), float((paper & shape).sum()) / float(paper.sum())
    if alike >= SAME_EDGE:
        return replace(sheet, sure=True, why="")
    return sheet if alike < WITH_SCRAPS and within >= SAME_EDGE else free


def _judged(candidates: list[Candidate]) -> Found | None:
    """The likeliest rectangle, if it may be called a sheet."""
    best = max(candidates, key=lambda candidate: candidate.likely, default=None)
    if best is None or not _is_sheet(best):
        return None
    return _judged_sheet(best, [other for other in candidates if other is not best])


def clockwise(corners: Array) -> Array:
    """Corners in the order of the clock, as seen on the screen."""
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
    likely = other.inside and other.likely >= RIVAL
    return likely and is_elsewhere(best.fitted.corners_mm, other.fitted.corners_mm)


def _free(plane: Plane, unlike: Float, *, clear: Blob | None, walled: Walled | None) -> Found | None:
    """A free shape by its color or, where color fails, by its edge alone."""
    if walled is None or (clear is not None and not _color_fails(clear, walled.blob)):
        if clear is None:
            return None
        edge = 0.0 if walled is None else agreement(clear.mask, walled.blob.mask)
        why = _doubt_of_free(plane, unlike, clear) or ("" if edge >= SURE_AGREEMENT else UNCLEAR)
        return Found(plane.to_mm(clear.contour), "free", not why, why)
    why = _doubt_of_free(plane, unlike, walled.blob) or ("" if walled.steady >= SURE_STEADY else NEARLY_TABLE)
    return Found(plane.to_mm(walled.blob.contour), "free", not why, why)


def _color_fails(clear: Blob, walled: Blob) -> bool:
    """White paper on a white table: what is clear by color is only the drawing on it; or a shadow joins the frame."""
    inside = float((clear.mask & walled.mask).sum()) / float(clear.mask.sum())
    drawing = inside > _CONTAINED and float(walled.mask.sum()) > _MUCH_LARGER * float(clear.mask.sum())
    over_card = walled.hidden > MAX_HIDDEN >= clear.hidden
    return (drawing and not over_card) or (clear.at_frame > MAX_AT_FRAME >= walled.at_frame)


def _doubt_of_free(plane: Plane, unlike: Float, blob: Blob) -> str:
    """Why a free shape must be asked about, or nothing."""
    if blob.at_frame > MAX_AT_FRAME:
        return "the work reaches the edge of the photo"
    if blob.at_card > MAX_AT_CARD or blob.hidden > MAX_HIDDEN:
        return "the card lies on the work"
    if blob.others > MAX_OTHERS:
        return OTHERS
    if blob.taken_off > MAX_TAKEN_OFF:
        return THIN
    return "" if table_outside(plane, unlike, blob.contour) >= SURE_OUTSIDE else UNCLEAR
