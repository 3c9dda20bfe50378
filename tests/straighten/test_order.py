"""From a photo to the work itself, on simulated photos with exact truth (small ones, to stay quick)."""

from dataclasses import replace
from io import BytesIO

import cv2
import numpy as np
import pytest
from PIL import Image

from portfolio.demo.camera.conditions import Conditions, Difficulty, Light
from portfolio.demo.camera.scene import Laying, Shape, TableKind, WorkLaid
from portfolio.demo.camera.table import table_of
from portfolio.model.cards import CardStatus
from portfolio.model.photo import Crop
from portfolio.reading import open_photo, read_picture
from portfolio.straighten import distance, straighten, straighten_with
from tests.support.color_difference import ciede2000, lab_of
from tests.support.shots import make_shot


def careful(seed, **given):
    return make_shot(seed, **{"difficulty": Difficulty.GENTLE} | given)


def on_felt(seed, shape, conditions=None, work=None):
    """Beside its card on dark felt, in plain light unless told otherwise."""
    table = table_of(TableKind.FELT, 51)
    return make_shot(
        seed, shape=shape, laying=Laying.BESIDE, table=table, conditions=conditions or Conditions(), work=work
    )


def seen(shot):
    picture = open_photo(shot.jpeg, file="photo.jpg")
    reading = read_picture(picture)
    return picture, reading, straighten(picture, reading.cards)


def iou(one, other, shot) -> float:
    masks = []
    for outline in (one, other):
        mask = np.zeros((shot.height_px, shot.width_px), np.uint8)
        cv2.fillPoly(mask, [np.rint(np.array(outline)).astype(np.int32)], 1)
        masks.append(mask > 0)
    return float((masks[0] & masks[1]).sum() / (masks[0] | masks[1]).sum())


def pixels_of(made, rung=1) -> np.ndarray:
    return np.asarray(Image.open(BytesIO(made.derivatives[rung].jpeg)))


@pytest.mark.parametrize("seed", [31, 32, 33, 34])
def test_a_careful_photo_is_cropped_measured_and_named(seed):
    """Dark cloth, small tilt: the sheet is found to 1 % of its area, its size to 1 %, without asking."""
    shot = careful(seed)
    _, reading, made = seen(shot)
    work = shot.works[0]
    assert reading.number == shot.cards[0].value
    assert made.crop.sure
    assert made.crop.shape == "sheet"
    assert iou(made.crop.outline_px, work.outline_px, shot) > 0.985
    assert sorted((made.size.width_mm, made.size.height_mm)) == pytest.approx(
        sorted((work.width_mm, work.height_mm)), rel=0.01
    )
    assert not made.size.about
    assert made.size.sheet is not None


def test_the_crop_shows_the_work_upright_in_its_own_colors():
    """The derivative is the work's own picture: right way up by the card, colors within a few units of CIEDE2000."""
    shot = careful(35)
    _, _, made = seen(shot)
    laid = shot.scene.works[0]
    shown = pixels_of(made).astype(np.float32)
    turns = round((laid.place.angle_deg - shot.scene.cards[0].place.angle_deg) / 90) % 4
    true = np.rot90(laid.picture, -turns)
    true = cv2.resize(np.ascontiguousarray(true), shown.shape[1::-1], interpolation=cv2.INTER_AREA)
    inner = (slice(15, -15), slice(15, -15))
    soft_shown, soft_true = (cv2.GaussianBlur(np.float32(p), (0, 0), 3)[inner] for p in (shown, true))
    apart = ciede2000(lab_of(soft_shown.reshape(-1, 3)), lab_of(soft_true.reshape(-1, 3)))
    assert np.median(apart) < 3


def test_orange_paper_stays_orange():
    """The card tells the light from the paper: an orange sheet in warm light is not washed out to gray."""
    orange = (232, 122, 38)
    picture = np.full((600, 800, 3), orange, np.uint8)
    work = WorkLaid(picture, 304.8, 228.6, Shape.SHEET)
    conditions = replace(Conditions(), light=Light(kelvin=3200, balance=0.6, exposure_ev=-0.3))
    made = seen(on_felt(54, Shape.SHEET, conditions, work=work))[2]
    shown = pixels_of(made)[60:-60, 60:-60].reshape(-1, 3)
    assert np.median(ciede2000(lab_of(shown), lab_of(np.array([orange], np.uint8)))) < 4
    assert max(made.color_shares, key=made.color_shares.get) == "orange"


def test_two_photos_of_one_work_have_near_hashes():
    """The same work on another table is recognized by its crop; another work is not."""
    one = careful(36)
    again = make_shot(36, difficulty=Difficulty.GENTLE, conditions=Conditions.sample(77, Difficulty.GENTLE))
    other = careful(37)
    hashes = [seen(shot)[2].crop_hash for shot in (one, again, other)]
    assert distance(hashes[0], hashes[1]) <= 10
    assert distance(hashes[0], hashes[2]) >= 14


def test_a_photo_without_a_card_is_shown_as_taken():
    """No card: an edge is only proposed; no size, no color, but all three pictures, of the whole photo."""
    shot = careful(38)
    picture = open_photo(shot.jpeg, file="photo.jpg")
    made = straighten(picture)
    assert made.crop is not None
    assert not made.crop.sure
    assert (made.size, made.color, made.crop_hash) == (None, None, None)
    assert straighten(picture, solid=True).crop is None
    shown = pixels_of(made, 0)
    assert np.abs(shown.astype(int) - picture.rgb()).mean() < 3


def test_an_unsure_outline_shows_the_whole_photo():
    """White paper on a white table under light from all sides: never cropped wrongly without asking."""
    for seed in (41, 42, 43):
        conditions = Conditions.sample(seed, Difficulty.GENTLE)
        conditions = replace(conditions, light=replace(conditions.light, contact=0.02))
        shot = make_shot(seed, shape=Shape.SHEET, table=table_of(TableKind.WHITE, seed), conditions=conditions)
        picture, _, made = seen(shot)
        if made.crop is None or not made.crop.sure:
            shown = made.derivatives[0]
            assert shown.width_px / shown.height_px == pytest.approx(
                picture.facts.width_px / picture.facts.height_px, abs=0.01
            )
            assert made.crop is None or made.crop.why
        else:
            assert iou(made.crop.outline_px, shot.works[0].outline_px, shot) > 0.95


@pytest.mark.parametrize("shape", [Shape.TORN, Shape.CUT])
def test_a_free_shape_keeps_its_surround(shape):
    """Torn and cut-out works are found by color and shown whole, with a rim of table."""
    shot = on_felt(51, shape)
    _, _, made = seen(shot)
    assert made.crop.shape == "free"
    assert iou(made.crop.outline_px, shot.works[0].outline_px, shot) > 0.95
    if made.crop.sure:
        corner = pixels_of(made)[:4, :4].mean()
        assert corner < 90  # felt is dark; the paper is not


def test_a_solid_work_is_never_rectified():
    """A 3-D work keeps its perspective: the picture's sides are those of the photo, and it has no size."""
    shot = make_shot(
        52, shape=Shape.SOLID, laying=Laying.BESIDE, table=table_of(TableKind.FELT, 51), conditions=Conditions()
    )
    picture = open_photo(shot.jpeg, file="photo.jpg")
    reading = read_picture(picture)
    made = straighten(picture, reading.cards, solid=True)
    assert made.crop.shape == "solid"
    assert made.size is None
    assert made.crop_hash is None


def test_an_outline_set_by_hand_is_kept():
    """What the teacher sets is what is cut out, turned as she says; the size turns along."""
    shot = careful(39)
    picture, reading, auto = seen(shot)
    crop = Crop(tuple(shot.works[0].corners_px), sure=True, shape="sheet", by_hand=True)
    plain = straighten_with(picture, crop, cards=reading.cards)
    turned = straighten_with(picture, crop, 1, cards=reading.cards)
    assert plain.crop == turned.crop == crop
    assert (plain.size.width_mm, plain.size.height_mm) == pytest.approx((turned.size.height_mm, turned.size.width_mm))
    assert plain.size.width_mm == pytest.approx(auto.size.width_mm, rel=0.02)
    one, other = pixels_of(plain).astype(int), np.rot90(pixels_of(turned)).astype(int)
    assert abs(one.shape[0] - other.shape[0]) <= 1
    height, width = min(one.shape[0], other.shape[0]), min(one.shape[1], other.shape[1])
    assert np.abs(one[:height, :width] - other[:height, :width]).mean() < 8


def test_by_hand_works_without_a_card():
    """Without a card the outline still squares up, in the photo's own colors and without a size."""
    shot = careful(40)
    picture = open_photo(shot.jpeg, file="photo.jpg")
    crop = Crop(tuple(shot.works[0].corners_px), sure=True, shape="sheet", by_hand=True)
    made = straighten_with(picture, crop)
    assert (made.size, made.color) == (None, None)
    shown, work = made.derivatives[0], shot.works[0]
    ratio = max(shown.width_px, shown.height_px) / min(shown.width_px, shown.height_px)
    true = max(work.width_mm, work.height_mm) / min(work.width_mm, work.height_mm)
    assert ratio == pytest.approx(true, rel=0.08)


def test_a_card_that_is_too_bright_is_said_at_once():
    """An overexposed card: clipped, and nothing is corrected by it."""
    conditions = Conditions()
    conditions = replace(conditions, light=replace(conditions.light, exposure_ev=0.9))
    shot = make_shot(
        53, shape=Shape.SHEET, laying=Laying.BESIDE, table=table_of(TableKind.FELT, 51), conditions=conditions
    )
    assert shot.cards[0].clipped
    assert seen(shot)[2].color.clipped


def test_the_original_pixels_are_not_touched():
    """Straightening reads the photo's pixels and leaves them as they are."""
    shot = careful(31)
    picture = open_photo(shot.jpeg, file="photo.jpg")
    before = picture.rgb(picture.shrink_for(1920)).copy()
    straighten(picture, read_picture(picture).cards)
    assert np.array_equal(before, picture.rgb(picture.shrink_for(1920)))


def test_two_numbers_never_crop_without_asking():
    """With two number cards there may be two works: the outline is a proposal."""
    shot = careful(31)
    picture = open_photo(shot.jpeg, file="photo.jpg")
    (card,) = read_picture(picture).cards
    both = (replace(card, status=CardStatus.CONFLICT), replace(card, value=40, status=CardStatus.CONFLICT))
    made = straighten(picture, both)
    assert not made.crop.sure
    assert "number card" in made.crop.why


def test_a_shaken_photo_is_never_cropped_without_asking():
    """Its card could be read only after the shake was undone: the edge is proposed, and the reason tells what to do."""
    shot = careful(31)
    picture = open_photo(shot.jpeg, file="photo")
    cards = tuple(replace(card, shaken=True) for card in read_picture(picture).cards)
    crop = straighten(picture, cards).crop
    assert not crop.sure
    assert "shaken" in crop.why
    assert iou(crop.outline_px, shot.works[0].outline_px, shot) > 0.97


def test_paper_of_no_usual_size_is_still_a_sheet():
    """7 × 9 in is on no list: squared up like any sheet, not kept with the table round it, and named by nothing."""
    picture = np.full((229 * 4, 178 * 4, 3), (214, 190, 140), np.uint8)
    cv2.rectangle(picture, (80, 90), (620, 800), (190, 40, 50), -1)
    shot = on_felt(61, Shape.SHEET, work=WorkLaid(picture, 178.0, 229.0, Shape.SHEET))
    _, _, made = seen(shot)
    assert (made.crop.shape, made.crop.sure) == ("sheet", True)
    assert iou(made.crop.outline_px, shot.works[0].outline_px, shot) > 0.97
    assert made.size.sheet is None
