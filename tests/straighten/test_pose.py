"""Where the camera was, from a picture of the card alone, against cameras that are known."""

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.cards.draw import card_image
from portfolio.cards.geometry import Side, tag_corners
from portfolio.model.cards import CardKind, CardSeen, CardStatus
from portfolio.straighten.pose import card_for_pose, carried, find_pose, focal_px

WIDTH, HEIGHT, FOCAL = 1200, 900, 26.0
LENS_PX = focal_px(FOCAL, WIDTH, HEIGHT)
CAMERA = np.array([[LENS_PX, 0, (WIDTH - 1) / 2], [0, LENS_PX, (HEIGHT - 1) / 2], [0, 0, 1]])
TAGS_MM = np.array([*tag_corners(Side.LEFT), *tag_corners(Side.RIGHT)])
views = st.tuples(st.floats(-25, 25), st.floats(-25, 25), st.floats(-180, 180), st.floats(330, 480))


def plane_of(tilt_x, tilt_y, roll, distance) -> np.ndarray:
    """Homography, card millimeters to pixels, of a camera ``distance`` mm over the card's middle."""
    lean, _ = cv2.Rodrigues(np.radians([tilt_x, tilt_y, 0.0]))
    spin, _ = cv2.Rodrigues(np.radians([0.0, 0.0, roll]))
    turn = lean @ spin
    shift = np.array([0, 0, distance]) - turn @ np.array([70.0, 30.0, 0.0])
    return CAMERA @ np.column_stack([turn[:, 0], turn[:, 1], shift])


def seen(corners) -> CardSeen:
    points = [tuple(map(float, point)) for point in corners]
    return CardSeen(CardKind.NUMBER, 14, CardStatus.SURE, tuple(points[:4]), tuple(points[4:]))


def photo_of(plane, blur_px=0.0) -> np.ndarray:
    card = cv2.cvtColor(card_image(CardKind.NUMBER, 14, 8), cv2.COLOR_GRAY2RGB)
    to_card = np.array([[1 / 8, 0, 1 / 16], [0, 1 / 8, 1 / 16], [0, 0, 1.0]])
    light = (card / 255.0) ** 2.2
    table = np.full((HEIGHT * 2, WIDTH * 2, 3), 0.2)
    double = np.array([[2, 0, 0.5], [0, 2, 0.5], [0, 0, 1.0]])
    size = (WIDTH * 2, HEIGHT * 2)
    cv2.warpPerspective(light, double @ plane @ to_card, size, table, cv2.INTER_AREA, cv2.BORDER_TRANSPARENT)
    if blur_px:
        table = cv2.GaussianBlur(table, (0, 0), 2 * blur_px)
    small = cv2.resize(table, (WIDTH, HEIGHT), interpolation=cv2.INTER_AREA)
    return np.clip(255 * small ** (1 / 2.2), 0, 255).astype(np.uint8)


@settings(max_examples=12, deadline=None)
@given(views, st.floats(0, 2.5), st.integers(0, 2**31))
def test_the_pose_is_found_from_rough_corners(view, blur_px, seed):
    """From corners that are wrong by pixels, in a blurred picture, the tags are found to a quarter of a pixel."""
    plane = plane_of(*view)
    true = carried(TAGS_MM, plane)
    rough = true + np.random.default_rng(seed).normal(0, 1.5, true.shape)
    pose = find_pose(photo_of(plane, blur_px), seen(rough), shrink=1, size_px=(WIDTH, HEIGHT), focal_35mm=FOCAL)
    assert np.abs(carried(TAGS_MM, pose.to_px) - true).max() < 0.35
    assert not pose.about


def test_lengths_on_the_table_are_carried_over():
    """300 mm beside the card are measured to 0.3 percent."""
    plane = plane_of(12, -9, 20, 420)
    pose = find_pose(
        photo_of(plane, 1.0), seen(carried(TAGS_MM, plane)), shrink=1, size_px=(WIDTH, HEIGHT), focal_35mm=FOCAL
    )
    ends = carried(np.array([[0.0, 80.0], [300.0, 80.0]]), plane)
    back = carried(ends, np.linalg.inv(pose.to_px))
    assert np.linalg.norm(back[1] - back[0]) == pytest.approx(300, rel=0.003)


@settings(max_examples=40, deadline=None)
@given(views)
def test_homographies_agree_with_opencv(view):
    """Points through our homography are those of ``cv2.perspectiveTransform``."""
    plane = plane_of(*view)
    assert np.allclose(carried(TAGS_MM, plane), cv2.perspectiveTransform(TAGS_MM[None], plane)[0])


def test_a_guess_says_about():
    """Without a focal length, or with one tag only, the size is "about"."""
    plane = plane_of(3, 2, 0, 400)
    card = seen(carried(TAGS_MM, plane))
    assert find_pose(photo_of(plane), card, shrink=1, size_px=(WIDTH, HEIGHT), focal_35mm=None).about
    half = CardSeen(card.kind, card.value, CardStatus.CHECK, card.left_px, None)
    assert find_pose(photo_of(plane), half, shrink=1, size_px=(WIDTH, HEIGHT), focal_35mm=FOCAL).about


def test_only_number_cards_measure():
    """Class, medium and control cards are printed larger: none of them gives a scale. A whole card comes first."""
    whole = seen(carried(TAGS_MM, plane_of(0, 0, 0, 400)))
    half = CardSeen(CardKind.NUMBER, 3, CardStatus.CHECK, whole.left_px, None)
    slate = CardSeen(CardKind.CLASS, 301, CardStatus.SURE, whole.left_px, whole.right_px)
    assert card_for_pose((slate,)) is None
    assert card_for_pose((half, whole, slate)) is whole
    assert card_for_pose((half,)) is half
