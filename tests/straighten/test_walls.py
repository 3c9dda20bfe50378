"""The outline of a work by its edge alone, on drawn tables."""

import cv2
import numpy as np
import pytest

from portfolio.straighten.freeform import agreement, blob_of, find_blob
from portfolio.straighten.plane import Plane
from portfolio.straighten.walls import find_walled

HEIGHT, WIDTH = 420, 560
TURN = np.linspace(0, 2 * np.pi, 120, endpoint=False)
BLOB = np.column_stack(
    [280 + (120 + 14 * np.sin(5 * TURN)) * np.cos(TURN), 210 + (100 + 9 * np.cos(7 * TURN)) * np.sin(TURN)]
)


def filled(points) -> np.ndarray:
    mask = np.zeros((HEIGHT, WIDTH), np.uint8)
    cv2.fillPoly(mask, [np.rint(points * 16).astype(np.int32)], 1, cv2.LINE_8, 4)
    return mask > 0


WORK = filled(BLOB)


def table(lightness, card=None) -> Plane:
    """A plane of 1 px per mm with the noise of a good photo."""
    noise = np.random.default_rng(0).normal(0, 0.3, (HEIGHT, WIDTH))
    lab = np.dstack([lightness + noise, np.zeros_like(lightness), np.zeros_like(lightness)]).astype(np.float32)
    hidden = np.zeros((HEIGHT, WIDTH), np.bool_) if card is None else card
    return Plane(lab, np.ones_like(hidden), hidden, px_per_mm=1.0, origin_mm=(0.0, 0.0))


def white_on_white(shadow=3.0) -> np.ndarray:
    """Paper as white as the table: only a line of shadow round it, and a dark drawing on it."""
    seam = WORK.astype(np.uint8) - cv2.erode(WORK.astype(np.uint8), np.ones((3, 3), np.uint8))
    light = 92.0 - shadow * cv2.GaussianBlur(cv2.dilate(seam, np.ones((3, 3))).astype(np.float64), (0, 0), 1.5)
    cv2.circle(light, (250, 190), 22, 30.0, cv2.FILLED)
    cv2.line(light, (260, 230), (330, 260), 40.0, 3)
    return light


def test_white_paper_on_a_white_table_is_closed_off_by_its_shadow():
    """Not the drawing, which is far clearer, but the paper that it is on."""
    found = find_walled(table(white_on_white()))
    assert agreement(found.blob.mask, WORK) > 0.95
    assert found.steady > 0.95


def test_it_agrees_with_the_color_where_color_works():
    """Paper on a dark table: both ways find the same."""
    seen = cv2.GaussianBlur(np.where(WORK, 88.0, 25.0), (0, 0), 1.0)
    found = find_walled(table(seen))
    by_color = find_blob(table(seen), np.where(seen > 50, np.float32(9), np.float32(0)))
    assert agreement(found.blob.mask, WORK) > 0.97
    assert agreement(found.blob.mask, by_color.mask) > 0.96


def test_a_bare_table_has_no_work():
    """Noise alone closes nothing off."""
    assert find_walled(table(np.full((HEIGHT, WIDTH), 60.0))) is None


@pytest.mark.parametrize("middle", [(280, 110), (400, 210)])
def test_what_a_card_hides_is_filled_in(middle):
    """A card over the edge of the work does not let the flood in, and what it hides is guessed."""
    card = np.zeros((HEIGHT, WIDTH), np.bool_)
    card[middle[1] - 22 : middle[1] + 22, middle[0] - 40 : middle[0] + 40] = True
    seen = cv2.GaussianBlur(np.where(WORK, 88.0, 25.0), (0, 0), 1.0)
    found = find_walled(table(seen, card))
    assert agreement(found.blob.mask, WORK) > 0.93
    assert found.blob.hidden > 0.01


def test_a_scrap_that_touches_the_work_is_taken_off_on_a_cluttered_table():
    """Scraps lie about, one under the work: it is not part of the work's outline."""
    things = WORK.copy()
    things[200:222, 390:440] = True
    lonely = find_blob(table(things * 60.0), np.where(things, np.float32(9), np.float32(0)))
    assert agreement(lonely.mask, things) > 0.97
    for left in (20, 90, 460):
        things[20:80, left : left + 60] = True
    among = find_blob(table(things * 60.0), np.where(things, np.float32(9), np.float32(0)))
    assert agreement(among.mask, WORK) > 0.98
    assert among.others > 0.1


def test_a_blob_knows_what_it_touches():
    """Shares of the outline at the frame and at the card."""
    at_edge = np.zeros((HEIGHT, WIDTH), np.bool_)
    at_edge[:200, 100:300] = True
    blob = blob_of(table(at_edge * 60.0), at_edge, others=0.0)
    assert 0.15 < blob.at_frame < 0.35
    assert blob.at_card == 0
