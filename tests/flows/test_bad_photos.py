"""Bad photos end as a question or a coded sentence, never at a wrong number: read and decided as in a batch.

The class and the day are chosen by the teacher, so that only the photo itself can keep it from being filed.
"""

from dataclasses import replace
from io import BytesIO

import cv2
import numpy as np
import pytest
from PIL import Image

from portfolio.cards.draw import card_image, tag_modules
from portfolio.demo.camera.conditions import Conditions, Difficulty, Light, View
from portfolio.demo.camera.drawings import sample_work
from portfolio.demo.camera.scene import CardLaid, Laying, Shape
from portfolio.demo.camera.shot import expose, photograph
from portfolio.filing import decide_batch
from portfolio.model.cards import CardKind
from portfolio.model.filing import Chosen, Outcome, PhotoEvidence, QuestionKind, Role, What
from portfolio.reading import open_photo, read_photo, read_picture
from portfolio.straighten import distance, straighten
from tests.support.rows import CLASS, DAY, context
from tests.support.shots import make_shot

NUMBER = 3
SIZE = {"width_px": 2016, "height_px": 1512}
CHOSEN = Chosen(class_id=CLASS, day=DAY)
PLAIN = Conditions(view=View(tilt_deg=4), light=Light(exposure_ev=-0.3))


def shot_of(*cards, seed=5, conditions=PLAIN, work=None):
    """A drawing on a careful teacher's cloth with these cards round it."""
    laid = [card if isinstance(card, CardLaid) else CardLaid(CardKind.NUMBER, card) for card in cards]
    sheet = work or sample_work(seed, shape=Shape.SHEET)
    return photograph([sheet], laid, seed=seed, difficulty=Difficulty.GENTLE, conditions=conditions, **SIZE)


def png(pixels) -> bytes:
    out = BytesIO()
    Image.fromarray(pixels).save(out, "PNG")
    return out.getvalue()


def decided(*files):
    """Read these photos and decide them as one batch."""
    seen = []
    for photo_id, file in enumerate(files, start=1):
        picture = open_photo(file, file="photo")
        reading = read_picture(picture)
        made = straighten(picture, reading.cards)
        facts = reading.facts
        seen.append(PhotoEvidence(photo_id, reading.cards, facts.taken, facts.camera, made.crop_hash))
    return decide_batch(seen, context(CHOSEN)).decisions


def asked(file) -> QuestionKind:
    (decision,) = decided(file)
    assert decision.outcome is Outcome.ASK, decision.reason
    return decision.asked.kind


def filed(file):
    (decision,) = decided(file)
    assert decision.outcome is Outcome.FILE, decision.reason
    return decision.filing


def painted_over(shot, polygon_px, color=(60, 60, 70)):
    """The photo with something lying over a part of it."""
    pixels = shot.upright().copy()
    cv2.fillPoly(pixels, [np.rint(np.array(polygon_px)).astype(np.int32)], color)
    return png(pixels)


def test_a_plain_photo_is_filed():
    """Nothing is wrong: so the questions below come from what is wrong."""
    assert filed(shot_of(NUMBER).jpeg).numbers == (NUMBER,)


def test_two_number_cards_are_a_question():
    """Whose work is it?"""
    assert asked(shot_of(NUMBER, 4).jpeg) is QuestionKind.TWO_NUMBERS


def test_a_card_upside_down_says_its_own_number_and_which_way_is_up():
    """6 and 9 are not mixed up, and the work comes out the other way up."""
    shot = shot_of(NUMBER)
    card = shot.scene.cards[0]
    place = replace(card.place, angle_deg=card.place.angle_deg + 180)
    turned = expose(replace(shot.scene, cards=(card.at(place),)), PLAIN, seed=5, **SIZE)
    assert filed(turned.jpeg).numbers == (NUMBER,)
    upright, reversed_ = (made_of(one.jpeg) for one in (shot, turned))
    half_turned = made_of(png(np.ascontiguousarray(shot.upright()[::-1, ::-1])))
    assert distance(upright.crop_hash, half_turned.crop_hash) <= 10
    assert np.abs(picture_of(upright)[::-1, ::-1] - picture_of(reversed_)).mean() < 12


def made_of(file):
    picture = open_photo(file, file="photo")
    return straighten(picture, read_picture(picture).cards)


def picture_of(made) -> np.ndarray:
    with Image.open(BytesIO(made.derivatives[-1].jpeg)) as small:
        return np.asarray(small.convert("RGB").resize((64, 48)), np.float64)


@pytest.mark.parametrize("side", ["left_px", "right_px"])
def test_a_torn_card_is_a_question(side):
    """Half of it is gone: the number is only a guess."""
    shot = shot_of(NUMBER)
    torn = np.array(getattr(shot.cards[0], side))
    middle = torn.mean(axis=0)
    assert asked(painted_over(shot, middle + (torn - middle) * 1.2)) is QuestionKind.HALF_CARD


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_a_half_covered_card_is_never_another_number(share):
    """A hand over part of both tags: a question, or still surely the same number; nothing else."""
    shot = shot_of(NUMBER)
    a, b, c, d = np.array(shot.cards[0].corners_px)
    (decision,) = decided(painted_over(shot, [a + (d - a) * (1 - share), b + (c - b) * (1 - share), c, d]))
    guess = decision.filing or decision.asked.guess
    assert guess.numbers in {(), (NUMBER,)}
    assert decision.outcome is Outcome.ASK


@pytest.mark.parametrize("period_px", [2.3, 3.1])
def test_a_screen_that_shows_a_card_says_that_number_or_none(period_px):
    """A photographed screen, with its frame, its grid of dots and its glow: the number shown, or a question."""
    shown = cv2.resize(shot_of(NUMBER).upright(), (1200, 900), interpolation=cv2.INTER_AREA).astype(np.float64)
    y, x = np.mgrid[0:900, 0:1200]
    dots = 0.85 + 0.15 * np.sin(2 * np.pi * x / period_px)[..., None] * np.array([1.0, 0.4, -0.8])
    dots = dots * (0.92 + 0.08 * np.sin(2 * np.pi * y / period_px))[..., None]
    desk = np.full((1512, 2016, 3), 70.0)
    desk[280:1220, 380:1620] = 8
    desk[300:1200, 400:1600] = np.clip(shown * dots * 1.1 + 12, 0, 255)
    (decision,) = decided(png(cv2.GaussianBlur(desk, (0, 0), 0.9).astype(np.uint8)))
    assert (decision.filing or decision.asked.guess).numbers in {(), (NUMBER,)}


def test_a_card_drawn_into_the_artwork_is_a_question():
    """The child has pasted a copy of another card into the picture: two numbers."""
    work = sample_work(5, shape=Shape.SHEET)
    pasted = work.picture.copy()
    card = np.dstack([card_image(CardKind.NUMBER, 4, 4.0)] * 3)
    pasted[200 : 200 + card.shape[0], 200 : 200 + card.shape[1]] = card
    assert asked(shot_of(NUMBER, work=replace(work, picture=pasted)).jpeg) is QuestionKind.TWO_NUMBERS


def test_a_card_that_lies_on_the_work_is_never_another_number():
    """It hides some of the work: its number counts all the same."""
    shot = shot_of(CardLaid(CardKind.NUMBER, NUMBER, laying=Laying.OVER))
    assert filed(shot.jpeg).numbers == (NUMBER,)


def test_the_class_card_of_another_class_is_a_question():
    """The card says another class than the teacher chose."""
    shot = shot_of(NUMBER, CardLaid(CardKind.CLASS, 302))
    assert asked(shot.jpeg) in {QuestionKind.CLASS_CHOSEN, QuestionKind.CLASS_CARD}


def test_a_number_that_nobody_has_is_a_question():
    """A card of a larger class."""
    assert asked(shot_of(37).jpeg) is QuestionKind.NOBODY


def test_tags_that_belong_to_nothing_are_no_card():
    """Squares of the same family on some other thing, e.g. a toy: as if there were no card."""
    pixels = np.full((1512, 2016, 3), 120, np.uint8)
    for place, tag in ((300, 250), (900, 400), (1500, 586)):
        square = np.kron(np.where(tag_modules(tag), 20, 230), np.ones((25, 25))).astype(np.uint8)
        pixels[570:830, place - 30 : place + 230] = 235
        pixels[600:800, place : place + 200] = square[..., None]
    assert asked(png(pixels)) is QuestionKind.NO_CARD


@pytest.mark.parametrize("orientation", [3, 6, 8])
def test_where_the_file_lies_about_up_the_card_wins(orientation):
    """The EXIF turn is wrong; the work comes out as the card has it."""
    shot = shot_of(NUMBER)
    with Image.open(BytesIO(shot.jpeg)) as stored:
        exif = stored.getexif()
        exif[0x0112] = orientation
        out = BytesIO()
        stored.save(out, "JPEG", quality=95, exif=exif)
    true, lied = made_of(shot.jpeg), made_of(out.getvalue())
    assert read_photo(out.getvalue(), file="photo").number == NUMBER
    assert lied.size.width_mm == pytest.approx(true.size.width_mm, rel=0.01)
    assert np.abs(picture_of(true) - picture_of(lied)).mean() < 6


def test_a_panorama_is_read_or_asked_about():
    """A very wide picture: with a card its number, without one a question."""
    photo = shot_of(NUMBER).upright()
    wide = np.full((1512, 9000, 3), 45, np.uint8)
    assert asked(png(wide)) is QuestionKind.NO_CARD
    wide[:, 4000 : 4000 + photo.shape[1]] = photo
    (decision,) = decided(png(wide))
    assert (decision.filing or decision.asked.guess).numbers in {(), (NUMBER,)}


def test_a_screenshot_has_no_focal_length_so_its_size_is_about():
    """A PNG without EXIF: the number counts, and the size says "about"."""
    file = png(shot_of(NUMBER).upright())
    assert filed(file).numbers == (NUMBER,)
    assert made_of(file).size.about
    window = np.full((900, 1440, 3), 240, np.uint8)
    window[:60] = (60, 90, 160)
    cv2.putText(window, "Week 7: lines and shapes", (80, 300), cv2.FONT_HERSHEY_SIMPLEX, 2, (30, 30, 30), 3)
    assert asked(png(window)) is QuestionKind.NO_CARD


def test_a_burst_is_one_work():
    """Three photos of the same work within a second: one work and two more views of it."""
    shots = [
        expose(shot_of(NUMBER).scene, replace(PLAIN, view=View(tilt_deg=4, azimuth_deg=turn)), seed=5, **SIZE)
        for turn in (0, 8, 16)
    ]
    first, *more = decided(*(shot.jpeg for shot in shots))
    assert (first.outcome, first.filing.what) == (Outcome.FILE, What.WORK)
    for one in more:
        assert (one.outcome, one.filing.what, one.filing.role) == (Outcome.FILE, What.VIEW, Role.ANGLE)
        assert one.filing.joins_photo == 1


def test_a_person_is_nobodys_work():
    """A photo of somebody, without a card."""
    pixels = np.full((1512, 2016, 3), (150, 170, 190), np.uint8)
    cv2.ellipse(pixels, (1000, 1500), (520, 500), 0, 0, 360, (60, 80, 140), -1)
    cv2.ellipse(pixels, (1000, 700), (260, 340), 0, 0, 360, (224, 180, 150), -1)
    for x in (900, 1100):
        cv2.circle(pixels, (x, 640), 30, (50, 40, 40), -1)
    assert asked(png(pixels)) is QuestionKind.NO_CARD


def test_no_photo_of_a_worn_card_says_another_number():
    """Curled, laminated under a lamp, sharpened by a phone: its own number, or a question."""
    for seed in range(70_100, 70_110):
        shot = make_shot(seed, difficulty=Difficulty.PHONE, number=NUMBER)
        assert read_photo(shot.jpeg, file="photo").number in {None, NUMBER}
