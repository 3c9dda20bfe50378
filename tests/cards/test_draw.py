"""The raster of one card shows what the contract says."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from portfolio.cards.draw import card_image, card_reflectance, tag_modules
from portfolio.cards.geometry import (
    LEGAL_IDS,
    NUMBER_BOX,
    PAPER_REFLECTANCE,
    PATCH_INSET_MM,
    PATCH_REFLECTANCE,
    PATCHES,
    VALUES,
    WHITES,
    Rect,
    Side,
    tag_corners,
    tags_of,
)
from portfolio.model.cards import CardKind

DETECTOR = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11))


def _seen(gray: np.ndarray) -> dict[int, np.ndarray]:
    """Outside check: tag id → corners in pixels, as OpenCV's own reader finds them."""
    corners, ids, _ = DETECTOR.detectMarkers(np.pad(gray, 40, constant_values=60))
    return {int(tag): quad.reshape(4, 2) - 40 for tag, quad in zip(ids.ravel(), corners, strict=True)}


def _cut(card: np.ndarray, rect: Rect, px_per_mm: float) -> np.ndarray:
    left, top = rect.x_mm * px_per_mm, rect.y_mm * px_per_mm
    right, bottom = left + rect.width_mm * px_per_mm, top + rect.height_mm * px_per_mm
    return card[round(top) : round(bottom), round(left) : round(right)]


@pytest.mark.parametrize(("kind", "value"), [(kind, value) for kind, values in VALUES.items() for value in values])
def test_every_card_reads_as_itself(kind: CardKind, value: int) -> None:
    """OpenCV reads the two ids of the card, with corners where the geometry has them."""
    seen = _seen(card_image(kind, value, 5))
    left, right = tags_of(kind, value)
    assert set(seen) == {left, right}
    for tag, side in ((left, Side.LEFT), (right, Side.RIGHT)):
        expected = np.array(tag_corners(side)) * 5 - 0.5
        assert np.abs(seen[tag] - expected).max() < 1.0


@pytest.mark.parametrize("px_per_mm", [2.0, 3.7, 8.0])
def test_the_grays_are_linear_light(px_per_mm: float) -> None:
    """Patches and bare card hold their reflectance at any scale, and sRGB encodes it (IEC 61966-2-1)."""
    light = card_reflectance(CardKind.NUMBER, 14, px_per_mm)
    for rect, level in zip(PATCHES, PATCH_REFLECTANCE, strict=True):
        assert _cut(light, rect.inset(PATCH_INSET_MM), px_per_mm) == pytest.approx(level, abs=1e-4)
    for rect in WHITES:
        assert _cut(light, rect.inset(0.8), px_per_mm) == pytest.approx(PAPER_REFLECTANCE, abs=1e-4)
    gray = card_image(CardKind.NUMBER, 14, px_per_mm)
    # 0.82 → 1.055 · 0.82^(1/2.4) − 0.055 = 0.9163 → 233.7; 0.12 → 0.3810 → 97.2
    assert int(gray[2, 2]) == 234
    assert int(np.median(_cut(gray, PATCHES[1].inset(PATCH_INSET_MM), px_per_mm))) == 97


@pytest.mark.parametrize("value", [1, 4, 6, 28, 40])
def test_digits_are_tall_and_keep_inside_their_box(value: int) -> None:
    """A number is at least 20 mm tall and prints nothing between its box and the tags."""
    light = card_reflectance(CardKind.NUMBER, value, 8)
    inked = _cut(light, NUMBER_BOX, 8) < 0.4
    rows = np.flatnonzero(inked.any(axis=1))
    assert (rows[-1] - rows[0] + 1) / 8 >= 20
    for left_mm in (48.0, 87.25):
        assert np.all(_cut(light, Rect(left_mm, 0, 4.75, 60), 8) > 0.8)


def test_tags_differ_from_each_other_by_eleven_bits() -> None:
    """The family promises 11 bits between any two codes in any turn (Olson 2011), and ours keep it."""
    codes = [tag_modules(tag)[1:7, 1:7] for tag in sorted(LEGAL_IDS)]
    turned = np.array([[np.rot90(code, turn).ravel() for turn in range(4)] for code in codes])
    for index, code in enumerate(turned[:, 0]):
        apart = (turned != code).sum(axis=2)
        apart[index, 0] = 99
        assert apart.min() >= 11
