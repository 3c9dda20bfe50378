"""Several works in one photo: each card gets its own work, and what is in doubt is asked about."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from portfolio.demo.camera.conditions import Blur, Conditions, Light, View
from portfolio.demo.camera.drawings import drawing
from portfolio.demo.camera.mix import several_works
from portfolio.demo.camera.scene import CardLaid, Place, Scene, TableKind, WorkLaid
from portfolio.demo.camera.shot import expose
from portfolio.demo.camera.table import table_of
from portfolio.model.cards import CardKind, CardSeen, CardStatus
from portfolio.model.photo import PhotoSeen
from portfolio.reading import open_photo, read_picture
from portfolio.straighten import are_several, cards_beside, may_show_several
from portfolio.straighten.order import measure_by, screen_pixels
from portfolio.straighten.plane import card_on_table
from portfolio.straighten.several import NO_WORK, UNCLEAR_WHOSE, straighten_each

PLAIN = Conditions(view=View(tilt_deg=8, azimuth_deg=50), blur=Blur(0.9), light=Light(exposure_ev=-0.3))
WIDE, HIGH = 229.0, 152.0


def sheet(seed, x, y):
    return WorkLaid(drawing(seed, WIDE, HIGH, paper=0), WIDE, HIGH, place=Place(x, y, seed % 3 - 1.0))


def card(number, x, y):
    return CardLaid(CardKind.NUMBER, number, place=Place(x, y, 1.0))


def photographed(works, cards, table=TableKind.FELT):
    scene = Scene(table_of(table, 1), tuple(works), tuple(cards))
    return expose(scene, PLAIN, seed=4, width_px=3000, height_px=2250)


def seen(shot):
    picture = open_photo(shot.jpeg, file="photo")
    cards = read_picture(picture).cards
    return {one.card.value: one for one in straighten_each(picture, cards)}


def iou(outline, true, shot):
    masks = []
    for points in (outline, true):
        mask = np.zeros((shot.height_px, shot.width_px), np.uint8)
        cv2.fillPoly(mask, [np.rint(np.array(points)).astype(np.int32)], 1)
        masks.append(mask > 0)
    return float((masks[0] & masks[1]).sum() / (masks[0] | masks[1]).sum())


@pytest.fixture(scope="module")
def four():
    """Four sheets in two rows, each with its card below it."""
    places = [(x, y) for y in (0.0, 310.0) for x in (0.0, 300.0)]
    works = [sheet(seed, x, y) for seed, (x, y) in enumerate(places)]
    cards = [card(11 + index, x + 10, y + 125) for index, (x, y) in enumerate(places)]
    shot = photographed(works, cards)
    return shot, seen(shot)


def test_every_card_gets_its_own_work(four):
    """Four cards, four works, each surely, each with the right outline, size and upright pictures."""
    shot, found = four
    assert set(found) == {11, 12, 13, 14}
    for index, number in enumerate((11, 12, 13, 14)):
        one = found[number]
        assert one.sure, one.why
        assert iou(one.straightened.crop.outline_px, shot.works[index].outline_px, shot) > 0.97
        assert one.straightened.size.width_mm == pytest.approx(WIDE, rel=0.015)
        assert one.straightened.size.height_mm == pytest.approx(HIGH, rel=0.015)
        assert one.straightened.derivatives[0].width_px > one.straightened.derivatives[0].height_px


def test_the_works_do_not_overlap(four):
    """No two crops show the same part of the photo, and no two pictures are the same."""
    shot, found = four
    outlines = [one.straightened.crop.outline_px for one in found.values()]
    assert all(iou(a, b, shot) < 0.01 for i, a in enumerate(outlines) for b in outlines[:i])
    assert len({one.straightened.crop_hash for one in found.values()}) == 4


def test_cards_that_only_others_contradict_are_sure_by_themselves(four):
    """In one photo they contradict each other; each for its own work is sure."""
    _, found = four
    assert {one.card.status for one in found.values()} == {CardStatus.CONFLICT}
    assert {one.card.alone for one in found.values()} == {CardStatus.SURE}


def test_a_card_midway_between_two_works_is_asked_about():
    """Nobody can tell whose it is; the work beside its own card stays sure only if nothing else claims it."""
    works = [sheet(0, 0, 0), sheet(1, 430, 0)]
    found = seen(photographed(works, [card(5, 215, 0), card(6, 430, 130)]))
    assert found[5].why == UNCLEAR_WHOSE
    assert not found[5].sure


def test_a_card_without_a_work_is_asked_about():
    """A forgotten card far from everything gives no crop; with more cards than works the others are asked about too."""
    found = seen(photographed([sheet(0, 0, 0)], [card(5, 0, 125), card(9, 420, 250)]))
    assert found[5].why == UNCLEAR_WHOSE
    assert found[5].straightened.crop is not None
    assert found[9].straightened.crop is None
    assert found[9].why in {NO_WORK, UNCLEAR_WHOSE}


def test_white_paper_on_a_white_table_is_found_beside_each_card():
    """Only edges show; each number is offered its own sheet, the cards lying left of the works."""
    places = [(x, y) for y in (0.0, 230.0) for x in (0.0, 480.0)]
    works = [sheet(seed, x, y) for seed, (x, y) in enumerate(places)]
    cards = [card(21 + index, x - 210, y + 30) for index, (x, y) in enumerate(places)]
    shot = photographed(works, cards, TableKind.WHITE)
    found = seen(shot)
    for index, work in enumerate(shot.works):
        assert iou(found[21 + index].straightened.crop.outline_px, work.outline_px, shot) > 0.95


def scrap(width_mm, height_mm, x, y, degrees=5.0):
    return WorkLaid(drawing(9, width_mm, height_mm, paper=0), width_mm, height_mm, place=Place(x, y, degrees))


def test_two_works_that_a_scrap_joins_are_two():
    """A strip of paper lies from one sheet to the next; each card is offered its own sheet."""
    works = [sheet(0, 0, 0), sheet(1, 0, 250)]
    shot = photographed([scrap(40, 150, 40, 125), *works], [card(5, -220, 0), card(6, -220, 250)])
    found = seen(shot)
    for number, work in zip((5, 6), shot.works[1:], strict=True):
        assert iou(found[number].straightened.crop.outline_px, work.outline_px, shot) > 0.9


@pytest.mark.parametrize(
    ("seed", "number"),
    [
        pytest.param(75050, 3, id="nearly the color of the table, a scrap beside its card"),
        pytest.param(75060, 37, id="half of it the color of the table"),
        pytest.param(75373, 36, id="two scraps reach out from under it"),
        pytest.param(75446, 1, id="joined to another work by scraps"),
    ],
)
def test_a_sheet_is_proposed_that_only_its_sides_tell(seed, number):
    """Simulated photos on which the sheet was missed, or cut with what lies about; nothing is cropped in doubt."""
    shot = several_works(seed)
    work = shot.works[[card.value for card in shot.cards].index(number)]
    found = seen(shot)[number]
    assert iou(found.straightened.crop.outline_px, work.outline_px, shot) > 0.97
    assert not (found.sure and found.straightened.crop.sure)


def test_no_free_shape_is_cropped_without_asking_where_pencils_lie():
    """A sheet that pencils touch at both sides looks like a free shape by its color and by its edge."""
    found = seen(several_works(75490))
    assert all(one.straightened.crop.shape == "sheet" for one in found.values() if one.straightened.crop.sure)
    assert not found[16].straightened.crop.sure


def test_scraps_do_not_make_works_doubtful_that_lie_in_one_order():
    """Three sheets, each with its card below it, and two scraps elsewhere: surely given; the scraps are nobody's."""
    places = [(0.0, 0.0), (300.0, 0.0), (600.0, 0.0)]
    works = [sheet(seed, x, y) for seed, (x, y) in enumerate(places)]
    scraps = [WorkLaid(drawing(9, 90, 70, paper=0), 90, 70, place=Place(x, 330.0, 5.0)) for x in (80.0, 420.0)]
    cards = [card(31 + index, x + 10, y + 125) for index, (x, y) in enumerate(places)]
    shot = photographed([*works, *scraps], cards)
    found = seen(shot)
    for index in range(3):
        assert found[31 + index].sure, found[31 + index].why
        outline = found[31 + index].straightened.crop.outline_px
        assert iou(outline, shot.works[index].outline_px, shot) > 0.97


def test_half_a_card_is_never_sure():
    """The number of half a card is a guess, so its work is asked about."""
    shot = photographed([sheet(0, 0, 0), sheet(1, 300, 0)], [card(5, 0, 125), card(6, 300, 125)])
    picture = open_photo(shot.jpeg, file="photo")
    cards = read_picture(picture).cards
    half = tuple(
        replace(one, right_px=None, by_itself=CardStatus.CHECK, why="only the left half of the card can be seen")
        if one.value == 6
        else one
        for one in cards
    )
    found = {one.card.value: one for one in straighten_each(picture, half)}
    assert found[5].sure  # whose it is, is clear from where the half card lies
    assert "half" in found[6].why
    assert iou(found[6].straightened.crop.outline_px, shot.works[1].outline_px, shot) > 0.95


def test_half_a_card_still_tells_where_it_lies(four):
    """By its one tag a card is laid on the table, within a few millimeters of where two tags say."""
    shot, _ = four
    card_seen = read_picture(open_photo(shot.jpeg, file="photo")).cards[0]
    pose = find_pose_of(shot, card_seen)
    whole = card_on_table(card_seen, pose)
    for half in (replace(card_seen, right_px=None), replace(card_seen, left_px=None)):
        assert np.abs(card_on_table(half, pose) - whole).max() < 4
    assert card_on_table(replace(card_seen, left_px=None, right_px=None), pose) is None


def find_pose_of(shot, card_seen):
    picture = open_photo(shot.jpeg, file="photo")
    screen = screen_pixels(picture)
    return measure_by(picture, screen, card_seen, (card_seen,)).pose


def test_no_card_no_works():
    """Without number cards there is nothing to give."""
    shot = photographed([sheet(0, 0, 0)], [card(5, 0, 125)])
    assert straighten_each(open_photo(shot.jpeg, file="photo"), ()) == ()


def test_filed_from_pixels_each_to_its_own_number(four):
    """What the reader gives to filing: one photo seen for each work, each with one sure card and its own pictures."""
    shot, _ = four
    picture = open_photo(shot.jpeg, file="photo")
    reading = read_picture(picture)
    assert may_show_several(reading.cards)
    each = straighten_each(picture, reading.cards)
    assert are_several(each)
    seen = PhotoSeen("photo", reading, works=each).each
    assert {one.reading.number for one in seen} == {11, 12, 13, 14}
    assert {one.reading.status for one in seen} == {"sure"}
    assert len({one.straightened.crop_hash for one in seen}) == 4


def test_solid_works_are_not_squared_up(four):
    """Clay: the same works known to be three-dimensional are cropped as seen, with no size."""
    shot, _ = four
    picture = open_photo(shot.jpeg, file="photo")
    for one in straighten_each(picture, read_picture(picture).cards, solid=True):
        assert one.straightened.crop.shape == "solid"
        assert one.straightened.size is None


def test_a_group_card_makes_one_work():
    """Two numbers with the card "group work" are one work of two children, never two works."""
    numbers = [CardSeen(CardKind.NUMBER, value, CardStatus.CONFLICT) for value in (3, 4)]
    assert may_show_several(numbers)
    assert not may_show_several([*numbers, CardSeen(CardKind.CONTROL, 102, CardStatus.CHECK)])
    assert not may_show_several(numbers[:1] * 2)


def test_only_its_own_card_measures_a_work():
    """The cards beside a number: its own and those that are no number's."""
    cards = tuple(CardSeen(CardKind.NUMBER, value, CardStatus.SURE) for value in (3, 4))
    cards += (CardSeen(CardKind.MEDIUM, 62, CardStatus.SURE),)
    assert [card.value for card in cards_beside(cards, 4)] == [4, 62]
    assert cards_beside(cards, None) == cards
