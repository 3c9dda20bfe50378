"""A part of the table round one thing, looked at closely; nothing else in it counts as seen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.straighten.freeform import disc
from portfolio.straighten.order import Measured, look_closer
from portfolio.straighten.plane import Float, Mask, Plane
from portfolio.straighten.pose import Array
from portfolio.straighten.source import Pixels

CELL_MM: Final = 18.0
"""Table kept round a work: enough to see that it ends, less than half of what lies between two works."""


def cell_of(
    screen: Pixels,
    own: Measured,
    outlines: list[Array],
    thing: int,
    *,
    brush: NDArray[np.uint8],
    shrink: int,
    hull: bool = False,
) -> tuple[Plane, Float]:
    """The part of the table round one work (round its ``hull``), as far as the brush reaches, that holds no other."""
    plane = own.plane
    here = np.asarray(cv2.dilate(mask_of(plane, [outlines[thing]], hull=hull), brush))
    others = mask_of(plane, [outline for index, outline in enumerate(outlines) if index != thing])
    near_others = np.asarray(cv2.dilate(others, disc(0.5 * CELL_MM * plane.px_per_mm)))
    return part_of(screen, own, (here > 0) & (near_others == 0), shrink=shrink)


def part_of(screen: Pixels, own: Measured, keep: Mask, *, shrink: int) -> tuple[Plane, Float]:
    """The smallest part of the table that holds all of ``keep``, looked at closely; nothing else counts as seen."""
    plane = own.plane
    rows, columns = np.nonzero(keep & plane.valid)
    if not len(rows):
        return plane, own.unlike
    low, high = plane.to_mm(np.array([[columns.min(), rows.min()], [columns.max() + 1, rows.max() + 1]], np.float64))
    close, unlike = look_closer(screen, own, low, high, shrink=shrink)
    scale = plane.px_per_mm / close.px_per_mm
    shift_x, shift_y = plane.to_px(np.array([close.origin_mm]))[0]
    to_coarse = np.array([[scale, 0, shift_x], [0, scale, shift_y]])
    size, how = (close.valid.shape[1], close.valid.shape[0]), cv2.INTER_NEAREST | cv2.WARP_INVERSE_MAP
    kept = np.asarray(cv2.warpAffine(keep.astype(np.uint8), to_coarse, size, flags=how)) > 0
    part = replace(close, valid=np.asarray(close.valid & kept, np.bool_))
    return part, np.asarray(np.where(part.valid, unlike, 0), np.float32)


def coarse_part_of(own: Measured, keep: Mask) -> tuple[Plane, Float]:
    """The whole table as it was seen first, of which only ``keep`` counts: fine lines of a mat are not seen in it."""
    cell = replace(own.plane, valid=np.asarray(own.plane.valid & keep, np.bool_))
    return cell, np.asarray(np.where(cell.valid, own.unlike, 0), np.float32)


def mask_of(plane: Plane, outlines_mm: Sequence[Array], *, hull: bool = False) -> NDArray[np.uint8]:
    """1 where one of the outlines (N × 2, mm), or its ``hull``, lies on the table seen from above."""
    mask = np.zeros(plane.valid.shape, np.uint8)
    for outline in outlines_mm:
        spot = np.asarray(np.rint(plane.to_px(outline)), np.int32)
        cv2.fillPoly(mask, [np.asarray(cv2.convexHull(spot) if hull else spot, np.int32).reshape(-1, 1, 2)], 1)
    return mask
