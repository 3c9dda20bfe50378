"""Fitting the four sides of a sheet: on drawn pictures whose edges are known."""

import cv2
import numpy as np
import pytest

from portfolio.straighten.plane import Plane
from portfolio.straighten.pose import Pose
from portfolio.straighten.sides import fit_sides

WIDTH_PX, HEIGHT_PX, PX_PER_MM = 900, 700, 2.0
STRAIGHT_ABOVE = Pose(np.zeros(3), np.array([0.0, 0.0, 500.0]), 1000.0, (0.0, 0.0))
SHEET = np.array([[60.0, 50.0], [364.8, 50.0], [364.8, 278.6], [60.0, 278.6]])
GUESS = SHEET + np.array([[2.0, -2.0], [-1.5, 2.0], [2.0, 2.0], [-2.0, 1.0]])


def table(card_mm=None) -> Plane:
    card = np.zeros((HEIGHT_PX // 2, WIDTH_PX // 2), np.bool_)
    if card_mm is not None:
        (left, top), (right, bottom) = card_mm
        card[top:bottom, left:right] = True
    lab = np.zeros((*card.shape, 3), np.float32)
    return Plane(lab, np.ones_like(card), card, px_per_mm=1.0, origin_mm=(0.0, 0.0))


def picture(outline_mm=SHEET) -> np.ndarray:
    seen = np.full((HEIGHT_PX, WIDTH_PX, 3), 70, np.uint8)
    cv2.fillPoly(seen, [np.rint(outline_mm * PX_PER_MM * 16).astype(np.int32)], (230, 230, 225), cv2.LINE_AA, 4)
    return blurred(seen)


def blurred(seen) -> np.ndarray:
    noise = np.random.default_rng(0).normal(0, 1.5, seen.shape)
    return np.clip(cv2.GaussianBlur(seen, (0, 0), 1.2) + noise, 0, 255).astype(np.uint8)


def fitted(seen, plane=None):
    return fit_sides(seen, STRAIGHT_ABOVE, plane or table(), GUESS, shrink=1)


def test_sides_settle_on_the_edges():
    """From two millimeters off, every corner comes out to a quarter of a millimeter, with full support."""
    found = fitted(picture())
    assert found.corners_mm == pytest.approx(SHEET, abs=0.25)
    assert found.weakest > 0.95
    assert found.beyond.max() < 0.2


def test_what_a_card_hides_is_not_held_against_a_side():
    """A card over a third of one side: what is left of the side counts."""
    seen = picture()
    seen[500:620, 300:520] = 250
    hidden = fitted(seen, table(((146, 246), (264, 314))))
    assert hidden.weakest > 0.95
    assert hidden.weakest > fitted(seen).weakest


def test_lines_of_a_grid_go_on_beyond_the_corners():
    """Four lines of a cutting mat make sides as clear as a sheet's, but they do not end at its corners."""
    seen = np.full((HEIGHT_PX, WIDTH_PX, 3), 70, np.uint8)
    (left, top), (right, bottom) = np.rint(SHEET[[0, 2]] * PX_PER_MM).astype(int).tolist()
    seen[:, [left, right]] = 200
    seen[[top, bottom]] = 200
    found = fitted(blurred(seen))
    assert found.weakest > 0.9
    assert found.beyond.min() > 0.8


def test_nothing_has_no_sides():
    """A bare table: no side is clear."""
    assert fitted(blurred(np.full((HEIGHT_PX, WIDTH_PX, 3), 70, np.uint8))).weakest < 0.5
