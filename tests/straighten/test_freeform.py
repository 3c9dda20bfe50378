"""Free shapes: what is left of a scrap or a shadow at their edge is taken off by its color."""

import cv2
import numpy as np

from portfolio.straighten.freeform import agreement, filled, trimmed
from portfolio.straighten.plane import Plane

HEIGHT, WIDTH = 300, 360
PAPER, TABLE, SCRAP = (236, 226, 200), (150, 112, 72), (250, 170, 190)


def seen(rgb) -> Plane:
    noise = np.random.default_rng(1).normal(0, 3, rgb.shape)
    lab = cv2.cvtColor(np.clip(rgb + noise, 0, 255).astype(np.float32) / 255, cv2.COLOR_RGB2LAB)
    shape = rgb.shape[:2]
    return Plane(lab, np.ones(shape, np.bool_), np.zeros(shape, np.bool_), px_per_mm=1.0, origin_mm=(0.0, 0.0))


def drawn(*things) -> np.ndarray:
    rgb = np.full((HEIGHT, WIDTH, 3), TABLE, np.float64)
    for color, mask in things:
        rgb[mask] = color
    return rgb


def ring(x, y, radius_x, radius_y):
    turn = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    return np.column_stack([x + radius_x * np.cos(turn), y + radius_y * np.sin(turn)])


def outline_of(mask):
    contours, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return max(contours, key=cv2.contourArea).reshape(-1, 2).astype(np.float64)


def test_the_rest_of_a_scrap_at_the_edge_is_taken_off():
    """A pink scrap reaches under the work; the outline holds a bulge of it, and the rest of it lies outside."""
    work = filled((HEIGHT, WIDTH), ring(150, 150, 80, 60))
    scrap = np.zeros_like(work)
    scrap[100:190, 200:300] = True
    sun = filled((HEIGHT, WIDTH), ring(130, 140, 15, 15))
    plane = seen(drawn((SCRAP, scrap), (PAPER, work), ((240, 190, 40), sun)))
    bulge = scrap & filled((HEIGHT, WIDTH), ring(222, 150, 24, 40))
    before = work | bulge
    after = filled((HEIGHT, WIDTH), trimmed(plane, outline_of(before)))
    assert agreement(before, work) < 0.94
    assert agreement(after, work) > 0.97


def test_a_plain_work_keeps_its_outline():
    """Nothing at its edge that is not its own: the outline stays within a pixel."""
    work = filled((HEIGHT, WIDTH), ring(150, 150, 80, 60))
    plane = seen(drawn((PAPER, work)))
    assert agreement(filled((HEIGHT, WIDTH), trimmed(plane, outline_of(work))), work) > 0.975


def test_a_small_thing_is_left_as_it_is():
    """Without a core that is surely the work nothing can be told."""
    outline = ring(60, 60, 12, 12)
    assert trimmed(seen(drawn((PAPER, filled((HEIGHT, WIDTH), outline)))), outline) is outline
