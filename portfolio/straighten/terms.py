"""Which of the eleven basic color terms a work is made of (Berlin and Kay 1969), by plain rules in CIE LCh.

The rules are our own, set by eye; naming is fuzzy by nature. The paper is left out when it is light and nearly
colorless (white, cream, manila): otherwise every drawing would be "mostly white". Colored paper counts as color.
"""

from __future__ import annotations

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.model.finding import COLORS

TERMS: Final = COLORS
_SIDE_PX: Final = 64
_PAPER_LIGHTNESS: Final = 66.0
_PAPER_CHROMA: Final = 26.0
_PAPER_NEAR: Final = 9.0
_LEAST_PAPER: Final = 0.10


def color_shares(pixels: NDArray[np.uint8], mask: NDArray[np.bool_] | None = None) -> dict[str, int]:
    """Percent of a work's area in each term that takes up at least one percent; paper is not counted.

    ``pixels``: H × W × 3, sRGB, corrected. ``mask``: what belongs to the work (all of it when left out).
    """
    small = cv2.resize(pixels, (_SIDE_PX, _SIDE_PX), interpolation=cv2.INTER_AREA)
    lab = cv2.cvtColor(np.asarray(small, np.float32) / np.float32(255), cv2.COLOR_RGB2LAB).astype(np.float64)
    inside = np.ones((_SIDE_PX, _SIDE_PX), np.bool_)
    if mask is not None:
        shares = cv2.resize(mask.astype(np.float32), (_SIDE_PX, _SIDE_PX), interpolation=cv2.INTER_AREA)
        inside = np.asarray(shares) > 0.5
    if not inside.any():
        return {}
    marks = inside & ~_paper(lab, inside)
    counts = np.bincount(name_colors(lab[marks]), minlength=len(TERMS))
    percents = np.rint(100 * counts / inside.sum()).astype(int)
    return {term: int(percent) for term, percent in zip(TERMS, percents, strict=True) if percent >= 1}


def _paper(lab: NDArray[np.float64], inside: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Where bare paper shows: near a plane of light fitted to the light, nearly colorless part."""
    light = inside & (lab[..., 0] > _PAPER_LIGHTNESS) & (np.hypot(lab[..., 1], lab[..., 2]) < _PAPER_CHROMA)
    if light.sum() < _LEAST_PAPER * inside.sum():
        return np.zeros_like(inside)
    y, x = np.mgrid[0:_SIDE_PX, 0:_SIDE_PX] / _SIDE_PX - 0.5
    columns = np.stack([np.ones_like(x), x, y], axis=-1)
    keep = light.copy()
    for _ in range(4):
        fit, *_ = np.linalg.lstsq(columns[keep], lab[keep], rcond=None)
        away = np.linalg.norm((lab - columns @ fit) * (0.8, 1.0, 1.0), axis=-1)
        keep = light & (away < max(_PAPER_NEAR, 1.5 * float(np.median(away[light]))))
        if keep.sum() < 20:
            return np.zeros_like(inside)
    paper = inside & (away < _PAPER_NEAR)
    return paper if paper.sum() >= _LEAST_PAPER * inside.sum() else np.zeros_like(inside)


def name_colors(lab: NDArray[np.float64]) -> NDArray[np.int_]:
    """Index into :data:`TERMS` for each color (N × 3, CIE L*a*b*)."""
    light, chroma = lab[:, 0], np.hypot(lab[:, 1], lab[:, 2])
    hue = np.degrees(np.arctan2(lab[:, 2], lab[:, 1])) % 360
    colorless = chroma < np.where(light > 80, 7.0, np.where(light < 25, 10.0, 9.0))
    reddish, pinkish = (hue < 42) | (hue >= 345), (hue < 30) | (hue >= 320)
    rules = [
        ("black", (light < 12) | (colorless & (light < 27)) | ((light < 20) & (chroma < 16))),
        ("white", colorless & (light > 86)),
        ("gray", colorless),
        ("pink", pinkish & (light > 62)),
        ("pink", (hue >= 320) & (light > 45) & (chroma > 35)),
        ("brown", reddish & (hue < 60) & (light < 38) & (chroma < 38)),
        ("red", reddish),
        ("brown", (hue < 75) & ((light < 52) | (chroma < 36)) & (light < 72)),
        ("orange", hue < 74),
        ("brown", (hue < 96) & (light < 55)),
        ("yellow", (hue < 110) & (light >= 55)),
        ("green", hue < 192),
        ("blue", (hue < 297) | ((hue < 309) & (chroma > 58))),
        ("purple", hue < 345),
    ]
    named = np.select([where for _, where in rules], [TERMS.index(term) for term, _ in rules], TERMS.index("gray"))
    return np.asarray(named, np.int_)
