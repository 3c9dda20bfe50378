"""Torn, cut out or solid work: whatever does not look like table, as one closed outline."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.straighten.plane import Float, Mask, Plane
from portfolio.straighten.pose import Array
from portfolio.straighten.tabletop import UNLIKE

LEAST_AREA_MM2: Final = 2500.0
_OPEN_MM: Final = 2.0
_CLOSE_MM: Final = 4.0
_THIN_MM: Final = 14.0
_MOSTLY: Final = 0.7
_BAND_MM: Final = (2.5, 8.0)


@dataclass(frozen=True, slots=True, eq=False)
class Blob:
    """One connected thing on the table. ``mask`` in plane pixels, holes filled."""

    mask: Mask
    contour: Array
    """N × 2 plane pixels, clockwise or not, closed."""
    at_frame: float
    """Share of its outline that runs along the photo's frame."""
    at_card: float
    """Share of its outline that runs along the card."""
    others: float
    """Area of everything else that is not table, over its own: a cluttered table."""
    taken_off: float
    """Share of it that was thin and taken off: pencils that touch it, or limbs of its own."""

    @property
    def box(self) -> Array:
        """Corners (4 × 2, plane pixels) of the smallest rectangle round it."""
        return np.asarray(cv2.boxPoints(cv2.minAreaRect(self.contour.astype(np.float32))), np.float64)


def find_blob(plane: Plane, unlike: Float, *, threshold: float = UNLIKE) -> Blob | None:
    """The largest thing that does not look like table, or ``None``. Thin things that touch it are taken off."""
    scale = plane.px_per_mm
    seen = ((unlike > threshold) & plane.usable).astype(np.uint8)
    seen = np.asarray(cv2.morphologyEx(seen, cv2.MORPH_OPEN, _disc(_OPEN_MM * scale)), np.uint8)
    seen = np.asarray(cv2.morphologyEx(seen, cv2.MORPH_CLOSE, _disc(_CLOSE_MM * scale)), np.uint8)
    whole = _largest(seen)
    if whole is None or whole.sum() < LEAST_AREA_MM2 * scale**2:
        return None
    thick = _largest(np.asarray(cv2.morphologyEx(whole, cv2.MORPH_OPEN, _disc(_THIN_MM * scale)), np.uint8))
    mask = whole if thick is None or thick.sum() < _MOSTLY * whole.sum() else thick
    contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    contour = np.asarray(max(contours, key=cv2.contourArea), np.int32).reshape(-1, 2)
    return Blob(
        mask > 0,
        contour.astype(np.float64),
        _share_at(contour, ~plane.valid),
        _share_at(contour, plane.card),
        float((seen & (whole == 0)).sum()) / float(whole.sum()),
        1 - float(mask.sum()) / float(whole.sum()),
    )


def _largest(seen: NDArray[np.uint8]) -> NDArray[np.uint8] | None:
    """The largest connected thing, with its holes filled."""
    contours, _ = cv2.findContours(seen, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not contours:
        return None
    filled = np.zeros(seen.shape, np.uint8)
    cv2.drawContours(filled, [max(contours, key=cv2.contourArea)], -1, 1, cv2.FILLED)
    return filled


def _disc(diameter_px: float) -> NDArray[np.uint8]:
    size = max(3, round(diameter_px) | 1)
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


def _share_at(contour: NDArray[np.integer], mask: Mask) -> float:
    padded = np.pad(mask.astype(np.uint8), 1, constant_values=1 if mask[0, 0] else 0)
    near = np.asarray(cv2.dilate(padded, np.ones((7, 7), np.uint8)))[1:-1, 1:-1]
    edge = np.zeros(mask.shape, np.bool_)
    edge[[0, -1]] = edge[:, [0, -1]] = True
    return float(((near[contour[:, 1], contour[:, 0]] > 0) | edge[contour[:, 1], contour[:, 0]]).mean())


def cut_again(plane: Plane, blob: Blob) -> Mask:
    """A second opinion on the blob's outline: GrabCut at a coarse scale, certain only well inside and well outside."""
    share = min(1.0, 0.4 / plane.px_per_mm)
    size = tuple(max(8, round(side * share)) for side in blob.mask.shape[::-1])
    small = cv2.resize(plane.lab, size, interpolation=cv2.INTER_AREA)
    picture = np.clip(small * (2.55, 1.0, 1.0) + (0, 128, 128), 0, 255).astype(np.uint8)
    inside = np.asarray(cv2.resize(blob.mask.astype(np.uint8), size, interpolation=cv2.INTER_AREA))
    usable = np.asarray(cv2.resize(plane.usable.astype(np.uint8), size, interpolation=cv2.INTER_NEAREST))
    reach = _disc(2 * 6.0 * plane.px_per_mm * share)
    marks = np.where(inside > 0, cv2.GC_PR_FGD, cv2.GC_PR_BGD).astype(np.uint8)
    marks[np.asarray(cv2.erode(inside, reach)) > 0] = cv2.GC_FGD
    marks[np.asarray(cv2.dilate(inside, reach)) == 0] = cv2.GC_BGD
    marks[usable == 0] = cv2.GC_BGD
    if not ((marks == cv2.GC_FGD).any() and (marks == cv2.GC_BGD).any()):
        return blob.mask
    cv2.setRNGSeed(1)
    cv2.grabCut(picture, marks, (0, 0, 1, 1), np.zeros((1, 65)), np.zeros((1, 65)), 3, cv2.GC_INIT_WITH_MASK)
    cut = ((marks == cv2.GC_FGD) | (marks == cv2.GC_PR_FGD)).astype(np.uint8) * 255
    full = cv2.resize(cut, blob.mask.shape[::-1], interpolation=cv2.INTER_LINEAR)
    return np.asarray(full > 127, np.bool_)


def table_outside(plane: Plane, unlike: Float, polygon: Array) -> float:
    """Share of a band just outside a polygon (plane pixels) that looks like table; the worst of its eight sectors."""
    inner = np.zeros(plane.valid.shape, np.uint8)
    cv2.fillPoly(inner, [np.rint(polygon).astype(np.int32)], 1)
    near, far = (_disc(2 * edge * plane.px_per_mm) for edge in _BAND_MM)
    band = (cv2.dilate(inner, far) > 0) & (cv2.dilate(inner, near) == 0) & plane.usable
    rows, columns = np.nonzero(band)
    if len(rows) < 50:
        return 0.0
    middle = polygon.mean(axis=0)
    sector = ((np.arctan2(rows - middle[1], columns - middle[0]) / np.pi + 1) * 3.999).astype(int)
    like = unlike[rows, columns] < UNLIKE
    counts = np.bincount(sector, minlength=8)
    shares = np.bincount(sector, like, 8) / np.maximum(counts, 1)
    return float(shares[counts > 20].min()) if (counts > 20).any() else 0.0


def agreement(one: Mask, other: Mask) -> float:
    """Intersection over union."""
    union = int((one | other).sum())
    return int((one & other).sum()) / union if union else 0.0


def filled(shape: tuple[int, int], polygon: Array) -> Mask:
    """The inside of a polygon (plane pixels) as a mask."""
    mask = np.zeros(shape, np.uint8)
    cv2.fillPoly(mask, [np.rint(polygon * 8).astype(np.int32)], 1, shift=3)
    return mask > 0
