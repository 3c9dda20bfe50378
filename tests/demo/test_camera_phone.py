"""What phones do to a photo, and worn things: seen in the picture, with the truth still exact."""

from __future__ import annotations

from dataclasses import replace

import cv2
import numpy as np
import pytest

from portfolio.cards.geometry import tags_of
from portfolio.demo.camera.conditions import Blur, Conditions, Difficulty, Light, Phone, View
from portfolio.demo.camera.drawings import sample_work
from portfolio.demo.camera.mix import several_works, white_on_white
from portfolio.demo.camera.phone import finished
from portfolio.demo.camera.phone_things import crumpled, worn
from portfolio.demo.camera.scene import CardLaid, Fold, Glare, Place, Scene, Shape, TableKind, WorkLaid
from portfolio.demo.camera.shot import expose
from portfolio.demo.camera.table import table_of
from portfolio.model.cards import CardKind
from tests.support.held_out import CLASS, MIXED, ONE_TAG, PHONE, SETS, SEVERAL, WHITE
from tests.support.shots import make_shot

SLANTED = Conditions(view=View(tilt_deg=20, azimuth_deg=30, roll_deg=8), blur=Blur(0.8), light=Light(exposure_ev=-0.3))


def scene(work=None, card=None):
    """A white sheet on felt and a card beside it."""
    paper = work or WorkLaid(np.full((900, 1200, 3), 240, np.uint8), 300.0, 225.0)
    laid = card or CardLaid(CardKind.NUMBER, 7)
    return Scene(table_of(TableKind.FELT, 2), (paper,), (laid.at(Place(0.0, 170.0, 4.0)),))


def exposed(laid, conditions=SLANTED):
    return expose(laid, conditions, seed=3, width_px=2016, height_px=1512)


@pytest.mark.parametrize("part", ["local_tone", "sharpening", "saturation"])
def test_each_thing_that_a_phone_does_changes_its_own_part(part):
    """Tone mapping lifts the dark half, sharpening overshoots at the edge, saturation moves colors apart."""
    picture = np.full((300, 400, 3), (60, 50, 50), np.uint8)
    picture[:, 200:] = (190, 170, 170)
    picture = np.asarray(cv2.GaussianBlur(picture, (0, 0), 1.5))
    plain = finished(picture, Phone(saturation=1.0)).astype(int)
    assert np.abs(plain - picture).max() <= 2
    strength = {"local_tone": 0.3, "sharpening": 1.0, "saturation": 1.3}[part]
    done = finished(picture, Phone(**{"radius_px": 40.0, part: strength})).astype(int)
    if part == "local_tone":
        assert done[150, 20].mean() > plain[150, 20].mean() + 5
        assert done[150, 380].mean() < plain[150, 380].mean() - 5
    elif part == "sharpening":
        assert done.min() < plain.min() - 4
        assert done.max() > plain.max() + 4
    else:
        assert np.ptp(done[150, 380]) > np.ptp(plain[150, 380])


def test_the_phone_mix_leaves_what_the_mixed_mix_draws():
    """Same seed, same number, table and view; the phone's own doings come from streams of their own."""
    for seed in range(4):
        mixed = make_shot(seed, width_px=640, height_px=480)
        phone = make_shot(seed, difficulty=Difficulty.PHONE, width_px=640, height_px=480)
        assert mixed.conditions.phone is None
        assert replace(phone.conditions, phone=None) == mixed.conditions
        assert (phone.cards[0].value, phone.table) == (mixed.cards[0].value, mixed.table)
        assert phone.jpeg != mixed.jpeg


def test_the_older_mixes_have_nothing_of_a_phone():
    """The published gallery is built of them: whatever a phone does must not reach them."""
    for difficulty in (Difficulty.MIXED, Difficulty.GENTLE):
        shot = make_shot(3, difficulty=difficulty, width_px=640, height_px=480)
        assert shot.conditions.phone is None
        assert not any(card.curl_mm or card.glare for card in shot.scene.cards)
        assert not any(work.folds for work in shot.scene.works)
        again = make_shot(3, difficulty=difficulty, conditions=shot.conditions, width_px=640, height_px=480)
        assert again.jpeg == shot.jpeg


def test_the_outline_of_a_crumpled_sheet_is_its_edge():
    """Creases displace the edge; light pixels of the photo still fill the true outline, and the flat one fits worse."""
    folds = (Fold((-60, 0), 80, 9.0, 18), Fold((40, 10), 100, 9.0, 18), Fold((0, -40), 5, 6.0, 15))
    flat = scene()
    folded = scene(work=replace(flat.works[0], folds=folds))
    shot = exposed(folded)
    light = shot.upright()[..., 1] > 95

    def misfit(outline):
        mask = np.zeros(light.shape, np.uint8)
        cv2.fillPoly(mask, [np.rint(np.array(outline) * 16).astype(np.int32)], 1, shift=4)
        near = np.asarray(cv2.dilate(mask, np.ones((9, 9), np.uint8))) > 0
        return 1 - float((light & (mask > 0)).sum() / ((light & near) | (mask > 0)).sum())

    assert misfit(shot.works[0].outline_px) < 0.002
    assert misfit(exposed(flat).works[0].outline_px) > 3 * misfit(shot.works[0].outline_px)
    spread = []
    for one in (shot, exposed(flat)):
        within = np.asarray(cv2.erode(one.work_mask().astype(np.uint8), np.ones((25, 25), np.uint8))) > 0
        spread.append(one.upright()[within].astype(float).mean(axis=1).std())
    assert spread[0] > 1.5 * spread[1]  # creases are shaded


def test_tags_of_a_curled_card_lie_where_the_truth_has_them():
    """OpenCV finds them displaced by the curl, as the truth says."""
    shot = exposed(scene(card=CardLaid(CardKind.NUMBER, 7, curl_mm=6.0)))
    flat = exposed(scene())
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    gray = cv2.cvtColor(shot.upright(), cv2.COLOR_RGB2GRAY)
    corners, ids, _ = cv2.aruco.ArucoDetector(family).detectMarkers(gray)
    seen = {int(tag): quad.reshape(4, 2).mean(axis=0) for tag, quad in zip(ids.ravel(), corners, strict=True)}
    card = shot.cards[0]
    for tag, truth, level in zip(
        tags_of(card.kind, card.value),
        (card.left_px, card.right_px),
        (flat.cards[0].left_px, flat.cards[0].right_px),
        strict=True,
    ):
        assert np.abs(seen[tag] - np.mean(truth, axis=0)).max() < 0.7
        assert np.abs(np.mean(level, axis=0) - np.mean(truth, axis=0)).max() > 1.5


def test_a_mirrored_lamp_is_bright_and_said():
    """A lamp over the right tag washes it out in the picture, and the truth says which tag."""
    over_right = Glare((42, 0), (16, 6), 20, 2.5, 0.02)
    shot = exposed(scene(card=CardLaid(CardKind.NUMBER, 7, glare=over_right)))
    card = shot.cards[0]
    assert (card.left_glared, card.right_glared) == (False, True)
    x, y = np.rint(np.mean(card.right_px, axis=0)).astype(int)
    assert shot.upright()[y, x].min() > 240
    veil_only = exposed(scene(card=CardLaid(CardKind.NUMBER, 7, glare=replace(over_right, peak=0.0))))
    assert not veil_only.cards[0].right_glared


def test_a_share_of_cards_is_worn_and_of_sheets_crumpled():
    """About a quarter of cards curl, a quarter are laminated, a fifth of flat works are crumpled; solid ones never."""
    cards = [worn(CardLaid(CardKind.NUMBER, 1), seed) for seed in range(400)]
    assert 70 < sum(card.curl_mm > 0 for card in cards) < 130
    assert 70 < sum(card.glare is not None for card in cards) < 130
    flat = WorkLaid(np.zeros((4, 4, 3), np.uint8), 300, 200)
    assert 50 < sum(bool(crumpled(flat, seed).folds) for seed in range(400)) < 110
    assert not any(crumpled(replace(flat, shape=Shape.SOLID), seed).folds for seed in range(50))


def test_several_works_lie_apart_each_beside_its_card():
    """Two to eight works, all in the frame, none covered, card i nearest to work i in most photos."""
    counts = set()
    for seed in range(6):
        shot = several_works(seed, width_px=1200, height_px=900)
        counts.add(len(shot.works))
        assert len(shot.works) == len(shot.cards)
        assert len({card.value for card in shot.cards}) == len(shot.cards)
        assert all(card.inside for card in shot.cards)
        assert not any(work.covered for work in shot.works)
    assert min(counts) >= 2
    assert max(counts) <= 8
    assert len(counts) > 2


def test_white_on_white_is_white_on_white():
    """Paper and table differ by little in the true colors, and contact shadows stay under 7 %."""
    shot = white_on_white(1)
    assert shot.table is TableKind.WHITE
    assert shot.conditions.light.contact <= 0.07
    assert shot.scene.works[0].picture.reshape(-1, 3).max(axis=0).min() > 220


def test_held_out_photos_are_never_tuning_photos():
    """No seed stands in two lists, and none is below 900,000 where tuning takes place; 500 photos are held out."""
    lists = (MIXED, PHONE, ONE_TAG, WHITE, SEVERAL, CLASS)
    every = [seed for seeds in lists for seed in seeds]
    assert len(every) == len(set(every))
    assert min(every) >= 920_000
    assert len(MIXED) + len(PHONE) == 500
    assert {"mixed", "phone", "one-tag", "white", "several", "class"} == set(SETS)


def test_works_are_still_sampled_flat():
    """The mixed mix has no creases: only the phone mix asks for them."""
    assert not any(sample_work(seed).folds for seed in range(20))
