"""The outline of a work by its edge alone: what cannot be reached from the photo's frame without crossing an edge.

Color fails where paper and table look alike, but even there a faint line of shadow runs round the work. Edges are
walls; the table is flooded from the frame; what stays dry is the work. How strong an edge must be to count as a wall
is not known beforehand, so several strengths are tried: a work keeps its outline over many of them, noise does not.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.straighten.freeform import LEAST_AREA_MM2, Blob, agreement, blob_of, disc, largest
from portfolio.straighten.plane import Float, Mask, Plane

_LEVELS: Final = (22.0, 16.0, 11.0, 8.0, 6.0, 4.0, 3.0)
"""Strengths of a wall over that of what is no edge, tried from the strongest down."""
_STEADY: Final = 0.95
_GROWS: Final = 1.5
"""A lower level counts when it is so much larger: what stood before was only the drawing on the paper."""
_CONTAINS: Final = 0.9
_CLOSE_MM: Final = 4.0
_OPEN_MM: Final = 10.0
_SURE_INSIDE_MM: Final = 5.0
_SURE_OUTSIDE_MM: Final = 1.5
_RIM_PX: Final = 6
_CONTRAST: Final = 6.0


@dataclass(frozen=True, slots=True, eq=False)
class Walled:
    """A work found by its edge."""

    blob: Blob
    steady: float
    """Intersection over union with what the next weaker walls give."""


@dataclass(frozen=True, slots=True, eq=False)
class _Dry:
    """What the flood leaves dry: the largest piece, its holes filled, and the area of all others over its own."""

    mask: Mask
    others: float

    @property
    def area(self) -> float:
        return float(self.mask.sum())


def find_walled(plane: Plane) -> Walled | None:
    """The largest thing that edges close off from the frame, or ``None``."""
    chosen, steady = None, 0.0
    before: _Dry | None = None
    for dry in _levels(plane):
        if before is not None:
            agreed = agreement(before.mask, dry.mask)
            if chosen is None or (agreed >= _STEADY and _is_whole_of(before, chosen)):
                chosen, steady = before, agreed
        before = dry
    if chosen is None:
        return None
    mask = _refined(plane, chosen.mask)
    return None if mask is None else Walled(blob_of(plane, mask, others=chosen.others), steady)


def _is_whole_of(larger: _Dry, part: _Dry) -> bool:
    return larger.area > _GROWS * part.area and float((larger.mask & part.mask).sum()) > _CONTAINS * part.area


def _levels(plane: Plane) -> Iterator[_Dry]:
    strength = _strength(plane)
    usable = strength > 0
    near_card = plane.valid & (np.asarray(cv2.dilate(plane.card.astype(np.uint8), np.ones((9, 9), np.uint8))) > 0)
    noise = float(np.median(strength[usable])) if usable.any() else 1.0
    for level in _LEVELS:
        dry = _dry(plane, (strength > level * noise) | near_card)
        if dry is not None:
            yield dry


def _strength(plane: Plane) -> Float:
    """Size of the color gradient; 0 near the card and outside the photo."""
    soft = cv2.GaussianBlur(plane.lab, (0, 0), 1.5)
    across, down = (cv2.Sobel(soft, cv2.CV_32F, *order, ksize=3, scale=1 / 8) for order in ((1, 0), (0, 1)))
    strength = np.sqrt((np.square(across) + np.square(down)).max(axis=2))
    usable = cv2.erode(plane.usable.astype(np.uint8), np.ones((5, 5), np.uint8))
    return np.asarray(np.where(usable > 0, strength, 0), np.float32)


def _dry(plane: Plane, edge: Mask) -> _Dry | None:
    scale = plane.px_per_mm
    walls = np.asarray(cv2.morphologyEx(edge.astype(np.uint8), cv2.MORPH_CLOSE, disc(_CLOSE_MM * scale)), np.uint8)
    padded = np.pad(walls, 1)
    inner = cv2.erode(np.pad(plane.valid.astype(np.uint8), 1), np.ones((2 * _RIM_PX + 1,) * 2, np.uint8))
    padded[np.asarray(inner) == 0] = 0
    cv2.floodFill(padded, None, (0, 0), 2)
    dry = ((padded[1:-1, 1:-1] != 2) & plane.usable).astype(np.uint8)
    dry = np.asarray(cv2.morphologyEx(dry, cv2.MORPH_OPEN, disc(_OPEN_MM * scale)), np.uint8)
    whole = largest(dry)
    if whole is None or whole.sum() < LEAST_AREA_MM2 * scale**2:
        return None
    others = float((dry & (whole == 0)).sum()) / float(whole.sum())
    return _Dry(whole > 0, others)


def _refined(plane: Plane, mask: Mask) -> Mask | None:
    """The outline moved from the outside of its wall to the strongest line in it (watershed)."""
    scale = plane.px_per_mm
    inside = mask.astype(np.uint8)
    marks = np.zeros(mask.shape, np.int32)
    marks[(np.asarray(cv2.dilate(inside, disc(2 * _SURE_OUTSIDE_MM * scale))) == 0) | ~plane.usable] = 1
    marks[np.asarray(cv2.erode(inside, disc(2 * _SURE_INSIDE_MM * scale))) > 0] = 2
    soft = cv2.GaussianBlur(plane.lab, (0, 0), 1.0)
    middle = np.median(soft[plane.usable], axis=0)
    cv2.watershed(_stretched(soft, middle), marks)
    return _opened(marks == 2, scale)


def _stretched(lab: NDArray[np.generic], middle: NDArray[np.floating]) -> NDArray[np.uint8]:
    """With a strong contrast about the middle: a faint shadow is only a unit or two of L* deep."""
    return np.clip((np.asarray(lab, np.float32) - middle) * _CONTRAST + 128, 0, 255).astype(np.uint8)


def _opened(mask: Mask, scale: float) -> Mask | None:
    filled = largest(mask.astype(np.uint8))
    return None if filled is None or filled.sum() < LEAST_AREA_MM2 * scale**2 else filled > 0
