"""A simulated photo is repeatable, and its truth is what the file shows."""

from __future__ import annotations

from datetime import datetime
from io import BytesIO

import cv2
import numpy as np
import pytest
from PIL import Image

from portfolio.cards.geometry import tags_of
from portfolio.demo.camera.conditions import Blur, Conditions, Difficulty, Light, Sensor, View
from portfolio.demo.camera.drawings import sample_work
from portfolio.demo.camera.layers import work_cover
from portfolio.demo.camera.scene import CardLaid, Laying, Shape, TableKind
from portfolio.demo.camera.shot import Shot, photograph
from portfolio.demo.camera.table import table_of
from portfolio.model.cards import CardKind
from tests.support.shots import make_shot

DETECTOR = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11))
PLAIN = Conditions(blur=Blur(0.7), light=Light(kelvin=6500, balance=1.0, exposure_ev=-0.3, vignetting=0.0))


def _tags(shot: Shot) -> dict[int, np.ndarray]:
    """Outside check: tag id → corners, as OpenCV reads them in the file."""
    corners, ids, _ = DETECTOR.detectMarkers(cv2.cvtColor(shot.upright(), cv2.COLOR_RGB2GRAY))
    return {int(tag): quad.reshape(4, 2) for tag, quad in zip(ids.ravel(), corners, strict=True)}


def _outline_error(shot: Shot, mask: np.ndarray) -> float:
    """1 - intersection over union of the true outline and a mask."""
    filled = np.zeros(mask.shape, np.uint8)
    points = np.rint(np.array(shot.works[0].outline_px) * 16).astype(np.int32)
    cv2.fillPoly(filled, [points], 1, shift=4)
    inside = filled > 0
    return 1 - float((inside & mask).sum() / (inside | mask).sum())


def test_the_same_seed_gives_the_same_bytes() -> None:
    """A photo can be made again, byte for byte; another seed gives another photo."""
    assert make_shot(5, width_px=800, height_px=600).jpeg == make_shot(5, width_px=800, height_px=600).jpeg
    assert make_shot(5, width_px=800, height_px=600).jpeg != make_shot(6, width_px=800, height_px=600).jpeg


@pytest.mark.parametrize("seed", range(8))
def test_tags_lie_where_the_truth_has_them(seed: int) -> None:
    """OpenCV reads both tags of a careful teacher's photo, corner by corner at the true place."""
    shot = make_shot(seed, difficulty=Difficulty.GENTLE)
    seen, card = _tags(shot), shot.cards[0]
    assert card.inside
    for tag, truth in zip(tags_of(card.kind, card.value), (card.left_px, card.right_px), strict=True):
        assert np.abs(seen[tag] - np.array(truth)).max() < 2.0
        assert np.abs(seen[tag].mean(axis=0) - np.mean(truth, axis=0)).max() < 0.5


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_the_truth_is_that_of_the_upright_photo(orientation: int) -> None:
    """However the sensor was held, a viewer that obeys EXIF shows the card at its true place."""
    conditions = Conditions(sensor=Sensor(orientation=orientation), blur=Blur(0.8))
    shot = make_shot(3, conditions=conditions, laying=Laying.BESIDE, width_px=1600, height_px=1200)
    with Image.open(BytesIO(shot.jpeg)) as stored:
        assert stored.size == (1600, 1200)
        assert stored.getexif()[0x0112] == orientation
    assert (shot.width_px, shot.height_px) == ((1200, 1600) if orientation in (6, 8) else (1600, 1200))
    assert shot.upright().shape == (shot.height_px, shot.width_px, 3)
    card = shot.cards[0]
    left, _ = tags_of(card.kind, card.value)
    assert np.abs(_tags(shot)[left] - np.array(card.left_px)).max() < 2.5


def test_the_file_says_when_and_with_what_it_was_taken() -> None:
    """EXIF has the original time with sub-seconds and offset, the camera and the focal length."""
    taken = datetime(2025, 9, 3, 13, 5, 59, 120000)  # noqa: DTZ001 - a camera writes naive local time
    conditions = Conditions(taken=taken, utc_offset_minutes=330, view=View(focal_35mm=26))
    shot = make_shot(1, conditions=conditions, width_px=640, height_px=480)
    with Image.open(BytesIO(shot.jpeg)) as stored:
        detail = stored.getexif().get_ifd(0x8769)
        assert stored.getexif()[0x0110] == "Camera 26"
    assert detail[0x9003] == "2025:09:03 13:05:59"
    assert (detail[0x9291], detail[0x9011], detail[0xA405]) == ("120", "+05:30", 26)


@pytest.mark.parametrize("shape", list(Shape))
def test_the_outline_is_the_edge_of_the_work(shape: Shape) -> None:
    """The outline encloses the pixels that the work covers, for sheets (bowed too), torn and cut works."""
    shot = make_shot(12, shape=shape, laying=Laying.BESIDE)
    assert shot.works[0].shape is shape
    cover = work_cover(shot.scene.works[0], shot.camera) > 0.5
    assert _outline_error(shot, cover) < 0.003
    assert shot.work_mask()[~cover].sum() == 0


def test_a_white_sheet_shows_its_true_outline_in_the_file() -> None:
    """On dark felt, light pixels of the photo itself fill the outline: the truth is not only true to itself."""
    work = sample_work(0, shape=Shape.SHEET)
    white = type(work)(np.full_like(work.picture, 244), work.width_mm, work.height_mm, bow_mm=5.0)
    tilted = Conditions(view=View(tilt_deg=22, azimuth_deg=40, roll_deg=10, distortion=0.012), blur=Blur(0.8))
    shot = photograph(
        [white], [], seed=4, conditions=tilted, table=table_of(TableKind.FELT, 4), width_px=2016, height_px=1512
    )
    assert _outline_error(shot, shot.upright()[..., 1] > 110) < 0.004


@pytest.mark.parametrize("seed", range(20, 26))
def test_a_card_cut_by_the_frame_is_not_called_whole(seed: int) -> None:
    """A card laid to be cut sticks out of the frame, and the work stays in it."""
    shot = make_shot(seed, laying=Laying.CUT, width_px=800, height_px=600)
    card = shot.cards[0]
    assert not card.inside
    corners = np.array(card.corners_px)
    assert np.any(np.all((corners > 0) & (corners < (shot.width_px, shot.height_px)), axis=1))
    assert shot.works[0].inside


def test_several_works_lie_apart_each_with_its_card() -> None:
    """Five works, five cards: nothing overlaps, everything is in the frame, and all ten tags are read."""
    works = [sample_work(seed, shape=Shape.SHEET) for seed in range(5)]
    cards = [CardLaid(CardKind.NUMBER, number) for number in (3, 8, 14, 21, 40)]
    shot = photograph(works, cards, seed=2, difficulty=Difficulty.GENTLE)
    assert all(work.inside and not work.covered for work in shot.works)
    assert set(_tags(shot)) == {tag for card in cards for tag in tags_of(card.kind, card.value)}


def test_true_colors_are_the_picture_itself() -> None:
    """In neutral light the work shows its own colors: the mean of the picture is the mean of the rendition."""
    work = sample_work(7, shape=Shape.SHEET)
    shot = photograph([work], [], seed=7, difficulty=Difficulty.GENTLE, width_px=2016, height_px=1512)
    seen = shot.true_colors()[shot.work_mask()].mean(axis=0)
    assert np.abs(seen - work.picture.reshape(-1, 3).mean(axis=0)).max() < 2.5


def test_even_neutral_light_photographs_true_colors() -> None:
    """With white light, no cast left and no tone curve, the file is the true rendition but for exposure."""
    level = Conditions(
        view=PLAIN.view,
        light=Light(kelvin=6500, balance=1.0, exposure_ev=0.0, vignetting=0.0, contact=0.0),
        blur=Blur(0.7),
        sensor=Sensor(shot_noise=0.0, read_noise=1e-5, contrast=0.0, jpeg_quality=95),
    )
    shot = make_shot(9, conditions=level, shape=Shape.SHEET, laying=Laying.BESIDE)
    mask = shot.work_mask()
    difference = shot.upright()[mask].astype(float) - shot.true_colors()[mask]
    assert np.abs(difference.mean(axis=0)).max() < 1.0
    assert np.median(np.abs(difference)) <= 2


def test_a_card_in_too_much_light_is_called_clipped() -> None:
    """At +1.3 EV the card's white is full white in the file, and the truth says so; at -0.5 EV neither."""
    for ev, clipped in ((1.3, True), (-0.5, False)):
        shot = make_shot(2, conditions=Conditions(light=Light(exposure_ev=ev)), laying=Laying.BESIDE)
        card = shot.cards[0]
        assert card.clipped is clipped
        spot = np.mean([np.array(card.left_px[0]), np.array(card.corners_px[0])], axis=0).astype(int)
        white = np.median(shot.upright()[spot[1] - 1 : spot[1] + 2, spot[0] - 1 : spot[0] + 2], axis=(0, 1))
        assert bool(white.max() >= 250) is clipped
