"""What the table looks like, learnt along the photo's frame."""

import cv2
import numpy as np

from portfolio.straighten.plane import Plane
from portfolio.straighten.tabletop import UNLIKE, learn_table, unlikeness

HEIGHT, WIDTH = 400, 500


def seen(rgb) -> Plane:
    noise = np.random.default_rng(0).normal(0, 3, rgb.shape)
    lab = cv2.cvtColor(np.clip(rgb + noise, 0, 255).astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    shape = rgb.shape[:2]
    return Plane(lab, np.ones(shape, np.bool_), np.zeros(shape, np.bool_), px_per_mm=1.0, origin_mm=(0.0, 0.0))


def unlike_of(rgb) -> np.ndarray:
    plane = seen(rgb)
    return unlikeness(plane, learn_table(plane))


def wood() -> np.ndarray:
    return np.full((HEIGHT, WIDTH, 3), (170, 120, 70), np.float64)


def test_a_work_that_reaches_into_the_rim_is_not_table():
    """Black paper nearly as tall as the photo: its color is common near the frame, but not at it."""
    rgb = wood()
    rgb[9:-9, 150:380] = 40
    unlike = unlike_of(rgb)
    assert np.median(unlike[50:-50, 200:330]) > UNLIKE
    assert np.median(unlike[:, :100]) < UNLIKE


def test_scraps_of_paper_along_the_frame_are_not_table():
    """A few white scraps at the rim do not make the white sheet in the middle table."""
    rgb = wood()
    rgb[0:60, 0:80] = rgb[340:400, 420:500] = rgb[0:50, 300:340] = 235
    rgb[100:300, 120:380] = 235
    assert np.median(unlike_of(rgb)[150:250, 200:300]) > UNLIKE


def test_the_shadowed_half_of_a_table_is_table():
    """A soft shadow over part of the table changes its light, not what it is."""
    rgb = wood()
    shade = 1 - 0.3 / (1 + np.exp(-(np.arange(WIDTH) - 380) / 25))
    unlike = unlike_of(rgb * shade[None, :, None])
    assert (unlike < UNLIKE).mean() > 0.9


def test_a_part_of_the_table_is_told_by_the_look_of_the_whole():
    """A part cut out of the plane is as unlike the table as that part of the whole, slope of light and all."""
    rgb = wood() * np.linspace(0.8, 1.0, WIDTH)[None, :, None]
    rgb[100:300, 120:380] = 235
    whole = seen(rgb)
    look = learn_table(whole)
    rows, columns = slice(80, 330), slice(100, 420)
    part = Plane(whole.lab[rows, columns], whole.valid[rows, columns], whole.card[rows, columns], 1.0, (100.0, 80.0))
    inner = slice(5, -5)
    np.testing.assert_allclose(
        unlikeness(part, look)[inner, inner], unlikeness(whole, look)[rows, columns][inner, inner], rtol=1e-3, atol=1e-3
    )
    assert not unlikeness(part, None).any()
