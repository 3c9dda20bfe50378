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
_PIECE_SHARE: Final = 0.33
"""Among other things, what juts out and is narrower than this share of the work's own width is taken for a scrap."""
_MOSTLY: Final = 0.7
CLUTTERED: Final = 0.1
"""Area of other things over the work's own from which the table counts as cluttered."""
_AROUND_MM: Final = 40.0
_CORE_MM: Final = 40.0
"""What lies half of this inside an outline is taken to be the work when the rest is told by its colors …"""
_RIM_MM: Final = 6.0
"""… and what lies half of this outside may be."""
_SMOOTH_MM: Final = 6.0
_TRIM_PX: Final = 220
_CUTS: Final = 4
_TO_BYTES: Final = np.array([2.55, 1.5, 1.5], np.float32)
_FROM_BYTE: Final = np.array([0.0, 128.0, 128.0], np.float32)
_HALF: Final = 127
_NEAR_CARD_PX: Final = 11
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
    hidden: float
    """Share of it that a card hides: there its outline is a guess."""

    @property
    def box(self) -> Array:
        """Corners (4 × 2, plane pixels) of the smallest rectangle round it."""
        return np.asarray(cv2.boxPoints(cv2.minAreaRect(self.contour.astype(np.float32))), np.float64)


def find_blob(plane: Plane, unlike: Float, *, threshold: float = UNLIKE, scraps: bool = False) -> Blob | None:
    """The largest thing that does not look like table, or ``None``. Thin things that touch it are taken off, and with
    ``scraps`` about (or when these are seen) what may be one of them.
    """
    scale = plane.px_per_mm
    seen = ((unlike > threshold) & plane.usable).astype(np.uint8)
    seen = np.asarray(cv2.morphologyEx(seen, cv2.MORPH_OPEN, disc(_OPEN_MM * scale)), np.uint8)
    seen = np.asarray(cv2.morphologyEx(seen, cv2.MORPH_CLOSE, disc(_CLOSE_MM * scale)), np.uint8)
    whole = largest(seen)
    if whole is None or whole.sum() < LEAST_AREA_MM2 * scale**2:
        return None
    others = float((seen & (whole == 0)).sum()) / float(whole.sum())
    mask = _without(whole, _THIN_MM * scale)
    if scraps or others > CLUTTERED:
        mask = _without(mask, _PIECE_SHARE * float(mask.sum()) ** 0.5)
    return blob_of(plane, mask > 0, others=others, taken_off=1 - float(mask.sum()) / float(whole.sum()))


def _without(mask: NDArray[np.uint8], width_px: float) -> NDArray[np.uint8]:
    """The thing without whatever juts out of it and is narrower than ``width_px``, unless that is much of it."""
    thick = largest(np.asarray(cv2.morphologyEx(mask, cv2.MORPH_OPEN, disc(width_px)), np.uint8))
    if thick is None:
        return mask
    corners = np.asarray(cv2.dilate(thick, disc(0.3 * width_px)), np.uint8)  # opening has rounded them off
    kept = mask & corners
    return kept if kept.sum() >= _MOSTLY * mask.sum() else mask


def blob_of(plane: Plane, mask: Mask, *, others: float, taken_off: float = 0.0) -> Blob:
    """One thing on the table by its mask. What a card hides of it is taken to be as its own outline has it."""
    shown = _outline_of(mask)
    hull = np.zeros(mask.shape, np.uint8)
    cv2.fillConvexPoly(hull, cv2.convexHull(shown), 1)
    near_card = np.asarray(cv2.dilate(plane.card.astype(np.uint8), np.ones((_NEAR_CARD_PX,) * 2, np.uint8))) > 0
    whole = largest((mask | ((hull > 0) & near_card)).astype(np.uint8))
    whole = mask.astype(np.uint8) if whole is None else whole
    contour = _outline_of(whole > 0)
    return Blob(
        whole > 0,
        contour.astype(np.float64),
        _share_at(contour, _beyond_photo(plane)),
        _share_at(contour, plane.card),
        others,
        taken_off,
        1 - float(mask.sum()) / float(whole.sum()),
    )


def trimmed(plane: Plane, contour: Array) -> Array:
    """An outline (N × 2 plane pixels) without what has not the colors of the work: what is left of a scrap or a shadow
    at its edge is like what lies beyond it. Told by cutting the graph of pixels where they differ most [1].

    [1] C. Rother, V. Kolmogorov, A. Blake: "GrabCut": interactive foreground extraction using iterated graph cuts.
        ACM Transactions on Graphics 23(3), 2004, as OpenCV has it.
    """
    margin = _AROUND_MM * plane.px_per_mm
    low = np.maximum(np.floor(contour.min(axis=0) - margin), 0).astype(int)
    high = np.ceil(contour.max(axis=0) + margin).astype(int)
    part = slice(low[1], high[1]), slice(low[0], high[0])
    lab, usable = plane.lab[part], plane.usable[part].astype(np.uint8)
    factor = min(1.0, _TRIM_PX / max(lab.shape[:2]))
    size = max(1, round(lab.shape[1] * factor)), max(1, round(lab.shape[0] * factor))
    mask = filled(usable.shape, contour - low).astype(np.uint8)
    small, scale = cv2.resize(mask, size, interpolation=cv2.INTER_NEAREST), plane.px_per_mm * factor
    core = np.asarray(cv2.erode(small, disc(_CORE_MM * scale)))
    if not core.any():
        return contour
    labels = np.where(cv2.dilate(small, disc(_RIM_MM * scale)) > 0, cv2.GC_PR_BGD, cv2.GC_BGD).astype(np.uint8)
    labels[cv2.resize(usable, size, interpolation=cv2.INTER_NEAREST) == 0] = cv2.GC_BGD
    labels[small > 0] = cv2.GC_PR_FGD
    labels[core > 0] = cv2.GC_FGD
    bytes_of = np.clip(cv2.resize(lab, size, interpolation=cv2.INTER_AREA) * _TO_BYTES + _FROM_BYTE, 0, 255)
    cv2.setRNGSeed(1)
    beyond, own = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.grabCut(bytes_of.astype(np.uint8), labels, (0, 0, 0, 0), beyond, own, _CUTS, cv2.GC_INIT_WITH_MASK)
    kept = ((labels == cv2.GC_FGD) | (labels == cv2.GC_PR_FGD)).astype(np.uint8)
    for how in (cv2.MORPH_CLOSE, cv2.MORPH_OPEN):
        kept = np.asarray(cv2.morphologyEx(kept, how, disc(_SMOOTH_MM * scale)), np.uint8)
    large = cv2.resize(kept * 255, mask.shape[::-1], interpolation=cv2.INTER_LINEAR) > _HALF
    whole = largest((large & (mask > 0)).astype(np.uint8))
    return contour if whole is None else np.asarray(_outline_of(whole > 0) + low, np.float64)


def _outline_of(mask: Mask) -> NDArray[np.int32]:
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return np.asarray(max(contours, key=cv2.contourArea), np.int32).reshape(-1, 2)


def largest(seen: NDArray[np.uint8]) -> NDArray[np.uint8] | None:
    """The largest connected thing, with its holes filled."""
    contours, _ = cv2.findContours(seen, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    if not contours:
        return None
    filled = np.zeros(seen.shape, np.uint8)
    cv2.drawContours(filled, [max(contours, key=cv2.contourArea)], -1, 1, cv2.FILLED)
    return filled


def disc(diameter_px: float) -> NDArray[np.uint8]:
    """A round brush for opening and closing."""
    size = max(3, round(diameter_px) | 1)
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


def _share_at(contour: NDArray[np.integer], mask: Mask) -> float:
    """Share of an outline that runs within three pixels of a mask."""
    near = np.asarray(cv2.dilate(mask.astype(np.uint8), np.ones((7, 7), np.uint8))) > 0
    return float(near[contour[:, 1], contour[:, 0]].mean())


def _beyond_photo(plane: Plane) -> Mask:
    beyond = ~plane.valid
    beyond[[0, -1]] = beyond[:, [0, -1]] = True
    return np.asarray(beyond, np.bool_)


def table_outside(plane: Plane, unlike: Float, polygon: Array) -> float:
    """Share of a band just outside a polygon (plane pixels) that looks like table; the worst of its eight sectors."""
    inner = np.zeros(plane.valid.shape, np.uint8)
    cv2.fillPoly(inner, [np.rint(polygon).astype(np.int32)], 1)
    near, far = (disc(2 * edge * plane.px_per_mm) for edge in _BAND_MM)
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
