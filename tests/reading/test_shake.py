"""Undoing the shake of a hand: the line is found, taken out, and whole cards come back; nothing else ever appears."""

from dataclasses import replace
from math import cos, radians, sin

import cv2
import numpy as np
import pytest

from portfolio.demo.camera.conditions import Blur, Conditions
from portfolio.demo.camera.mix import sample_shot, several_works
from portfolio.model.cards import CardKind, CardStatus
from portfolio.reading import cards as search
from portfolio.reading import open_photo
from portfolio.reading.cards import STEADY_PX, find_cards
from portfolio.reading.frame import Frame, read_frame
from portfolio.reading.shake import Shake, passed_by, shakes_of, steadied
from portfolio.reading.tags import Tag

SHAKEN_SEED = 78026


def line_of(length_px, angle_deg):
    """A line as a filter: what ``cv2.filter2D`` needs to smear a picture by it (drawn finely, then shrunk)."""
    fine, side = 16, 2 * int(length_px) + 3
    canvas = np.zeros((side * fine, side * fine), np.float32)
    reach = np.array([cos(radians(angle_deg)), sin(radians(angle_deg))]) * length_px * fine / 2
    middle = side * fine / 2 - 0.5
    one, other = (tuple(np.rint(middle + sign * reach).astype(int).tolist()) for sign in (-1, 1))
    cv2.line(canvas, one, other, 1.0, fine // 2)
    small = cv2.resize(canvas, (side, side), interpolation=cv2.INTER_AREA)
    return small / small.sum()


def busy_picture(seed=3, width=1400, height=1000, grain=12):
    """Sheets and strokes of all grays in all directions on a grainy table."""
    rng = np.random.default_rng(seed)
    picture = rng.normal(130, grain, (height, width)).astype(np.float32)
    for _ in range(240):
        middle = (float(rng.uniform(0, width)), float(rng.uniform(0, height)))
        size = (float(rng.uniform(8, 120)), float(rng.uniform(8, 120)))
        corners = cv2.boxPoints((middle, size, float(rng.uniform(0, 180))))
        cv2.fillPoly(picture, [corners.astype(np.int32)], float(rng.uniform(20, 235)))
    return picture


def smeared(picture, length_px, angle_deg, *, noise=1.5):
    moved = cv2.filter2D(picture, -1, line_of(length_px, angle_deg))
    grain = np.random.default_rng(1).normal(0, noise, picture.shape)
    return np.clip(moved + grain, 0, 255).astype(np.uint8)


@pytest.mark.parametrize(("length_px", "angle_deg"), [(8, 20), (11, 77), (14, 120), (18, 165), (12, 0), (12, 90)])
def test_the_line_of_a_smear_is_found(length_px, angle_deg):
    """Length and direction of a smear made by ``cv2.filter2D`` come out within two pixels, also along rows."""
    shake = shakes_of(smeared(busy_picture(), length_px, angle_deg))[0]
    true = np.array([cos(radians(angle_deg)), sin(radians(angle_deg))]) * length_px
    found = np.array([shake.dx_px, shake.dy_px])
    assert min(np.abs(found - true).max(), np.abs(found + true).max()) <= 2
    assert shake.dy_px >= 0


def test_a_still_picture_is_not_taken_for_shaken():
    """No guess where nothing was moved: nothing is undone and no time is lost."""
    assert shakes_of(np.clip(busy_picture(), 0, 255).astype(np.uint8)) == ()


@pytest.mark.parametrize("shape", [(600, 800), (256, 256), (255, 900), (20, 20)])
def test_a_plain_or_a_small_picture_says_nothing(shape):
    """Without any detail, or smaller than one block, there is nothing to tell a shake by."""
    assert shakes_of(np.full(shape, 128, np.uint8)) == ()


@pytest.mark.parametrize(("length_px", "angle_deg"), [(9, 0), (12, 40), (15, 110)])
def test_what_a_shake_lets_pass_is_the_spectrum_of_its_line(length_px, angle_deg):
    """The model agrees with the transform of the filter that ``cv2.filter2D`` smears by (outside reference)."""
    size = 256
    spot = np.zeros((size, size), np.float32)
    spot[size // 2, size // 2] = 1
    seen = np.fft.rfft2(np.fft.ifftshift(cv2.filter2D(spot, -1, line_of(length_px, angle_deg))))
    shake = Shake(length_px * cos(radians(angle_deg)), length_px * sin(radians(angle_deg)))
    coarse = np.hypot(np.fft.fftfreq(size)[:, None], np.fft.rfftfreq(size)[None]) < 0.2
    assert np.abs(seen - passed_by(shake, (size, size)))[coarse].max() < 0.12


@pytest.mark.parametrize(("length_px", "angle_deg"), [(10, 30), (16, 100)])
def test_undoing_a_known_shake_brings_the_picture_back_to_its_place(length_px, angle_deg):
    """Most of the error of the smeared picture is gone, and nothing is shifted by a quarter pixel."""
    picture = cv2.GaussianBlur(busy_picture(grain=2), (0, 0), 1.0)
    shaken = smeared(picture, length_px, angle_deg, noise=0.5)
    kept = shaken.copy()
    undone = steadied(shaken, Shake(length_px * cos(radians(angle_deg)), length_px * sin(radians(angle_deg))))
    inside = np.s_[60:-60, 60:-60]
    error = [np.sqrt(np.mean((one[inside] - picture[inside]) ** 2)) for one in (shaken.astype(float), undone)]
    assert undone.shape == shaken.shape
    assert error[1] < 0.65 * error[0]  # measured: 0.52 and 0.58
    shift, _ = cv2.phaseCorrelate(picture[inside].astype(np.float64), undone[inside].astype(np.float64))
    assert np.hypot(*shift) < 0.25
    assert np.array_equal(shaken, kept)


def shaken_photo(seed=SHAKEN_SEED):
    conditions = Conditions.sample(seed)
    rng = np.random.default_rng(seed)
    motion_px, motion_deg = float(rng.uniform(15, 30)), float(rng.uniform(0, 180))
    return sample_shot(
        seed, conditions=replace(conditions, blur=Blur(conditions.blur.defocus_px, motion_px, motion_deg))
    )


def test_a_card_in_a_shaken_photo_is_read_only_because_the_shake_is_undone():
    """Without this stage nothing is read; with it the number is sure, and the corners are where the tags are."""
    shot = shaken_photo()
    photo = open_photo(shot.jpeg, file="photo")
    assert find_cards(photo, undo_shake=False) == ()
    (card,) = find_cards(photo)
    (true,) = shot.cards
    assert card.shaken
    assert (card.kind, card.value, card.status) == (CardKind.NUMBER, true.value, CardStatus.SURE)
    for seen, corners in ((card.left_px, true.left_px), (card.right_px, true.right_px)):
        assert np.abs(np.array(seen) - np.array(corners)).max() < 8  # sharp photos': 95 of 100 within 6.3


def test_a_shake_that_only_the_smaller_picture_shows_is_undone_too():
    """Six cards, of which two tags in three cannot be read as the photo is; at half size noise hides the line."""
    shot = several_works(75453)
    photo = open_photo(shot.jpeg, file="photo")
    assert not shakes_of(photo.gray(photo.shrink_for(STEADY_PX)))
    cards = find_cards(photo)
    assert {card.value for card in cards if card.alone is CardStatus.SURE} == {card.value for card in shot.cards}
    assert sum(card.shaken for card in cards) >= 4


def test_half_a_card_from_an_undone_shake_does_not_count():
    """One tag alone could be a trick of the filter; with its partner, wherever that was seen, it makes a card."""
    left, right = Tag(3, ((0, 0), (40, 0), (40, 40), (0, 40))), Tag(153, ((84, 0), (124, 0), (124, 40), (84, 40)))
    other = Tag(7, ((400, 0), (440, 0), (440, 40), (400, 40)))
    assert search._completing((), (left, other)) == ()
    assert search._completing((), (left, right, other)) == (left, right)
    assert search._completing((left,), (left, right)) == (right,)


def test_tags_that_contradict_each_other_do_not_count_when_undone():
    """Halves of two cards, or of one card not in one plane, are no card, and no conflict either."""
    left = Tag(3, ((0, 0), (40, 0), (40, 40), (0, 40)))
    stranger = Tag(154, ((84, 0), (124, 0), (124, 40), (84, 40)))
    bent = Tag(153, ((84, 30), (124, 0), (124, 40), (84, 70)))
    assert search._completing((), (left, stranger)) == ()
    assert search._completing((), (left, bent)) == ()


def test_a_card_already_whole_is_not_seen_twice():
    """Undoing the wrong shake leaves copies beside things; they must not make a conflict of a card that was sure."""
    card = tuple(Tag(tag_id, ((x, 0), (x + 40, 0), (x + 40, 40), (x, 40))) for tag_id, x in ((3, 0), (153, 84)))
    copy = tuple(Tag(tag.id, tuple((x, y + 60) for x, y in tag.corners_px)) for tag in card)
    assert search._completing(card, copy) == ()


def test_a_photo_whose_only_card_was_read_is_not_looked_at_again(monkeypatch):
    """A normal photo does not pay for this: its spectrum is never taken."""
    monkeypatch.setattr(search, "shakes_of", lambda gray: pytest.fail("looked for a shake"))
    conditions = replace(Conditions.sample(78001), blur=Blur())
    (card,) = find_cards(open_photo(sample_shot(78001, conditions=conditions).jpeg, file="photo"))
    assert card.status is CardStatus.SURE


def test_a_picture_without_a_card_stays_without_even_when_shaken():
    """Sharp, smeared, or smeared and undone: no card appears."""
    still = np.clip(busy_picture(seed=8, width=2000, height=1500), 0, 255).astype(np.uint8)
    shaken = smeared(busy_picture(seed=8, width=2000, height=1500), 14, 50)
    assert shakes_of(shaken)
    for pixels in (still, shaken, np.full((1500, 2000), 140, np.uint8)):
        assert find_cards(Frame(pixels)) == ()


def test_live_video_never_waits_for_a_shake_to_be_undone(monkeypatch):
    """Frames come several times a second and mostly hold no card."""
    monkeypatch.setattr(search, "shakes_of", lambda gray: pytest.fail("looked for a shake"))
    assert read_frame(Frame(smeared(busy_picture(width=1000, height=700), 12, 30))) == ()


def test_the_same_photo_gives_the_same_cards():
    """Nothing here is drawn by chance."""
    gray = open_photo(shaken_photo().jpeg, file="photo")
    pixels = gray.gray(gray.shrink_for(STEADY_PX))
    assert shakes_of(pixels) == shakes_of(pixels.copy())
    first = shakes_of(pixels)[0]
    assert np.array_equal(steadied(pixels, first), steadied(pixels.copy(), first))
