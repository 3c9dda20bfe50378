"""What phones do to a picture, told from card and table and undone, on simulated photos with exact truth."""

import cv2
import numpy as np
import pytest

from portfolio.demo.camera.conditions import Conditions, Phone
from portfolio.demo.camera.scene import Laying, Shape, TableKind
from portfolio.demo.camera.table import table_of
from portfolio.reading import open_photo, read_picture
from portfolio.straighten.localtone import HALO, STRONGER, halo_of, slope_of, weakened
from portfolio.straighten.order import measure, screen_pixels, true_color
from portfolio.straighten.plane import shrunk
from portfolio.straighten.pose import carried
from portfolio.straighten.srgb import to_light
from tests.support.color_difference import ciede2000, lab_of
from tests.support.shots import make_shot

PHONE = Phone(local_tone=0.3, saturation=1.15, sharpening=0.8, radius_px=1.5)


def photo(kind, seed, phone):
    shot = make_shot(
        seed, shape=Shape.SHEET, laying=Laying.BESIDE, table=table_of(kind, 51), conditions=Conditions(phone=phone)
    )
    picture = open_photo(shot.jpeg, file="photo.jpg")
    screen = screen_pixels(picture)
    return shot, screen, measure(picture, screen, read_picture(picture).cards), shot.width_px // screen.shape[1]


def color_error(shot, screen, measured, shrink) -> tuple[float, float]:
    """Median CIEDE2000 (CIE 142-2001) on the work: by what was told of the light and the phone, and by grays alone."""
    rows, columns = np.nonzero(shot.work_mask()[shrink // 2 :: shrink, shrink // 2 :: shrink])
    pick = np.random.default_rng(1).integers(0, len(rows), 1500)
    rows, columns = rows[pick], columns[pick]
    want = lab_of(shot.true_colors()[rows * shrink + shrink // 2, columns * shrink + shrink // 2])
    back = np.linalg.inv(shrunk(shrink) @ measured.pose.to_px)
    places = carried(np.column_stack([columns, rows]).astype(float), back)[None]
    seen = screen[rows, columns][None]
    told, plain = (true_color(seen, measured, at) for at in (places, None))
    return float(np.median(ciede2000(lab_of(told), want))), float(np.median(ciede2000(lab_of(plain), want)))


@pytest.mark.parametrize(("kind", "seed"), [(TableKind.FELT, 71), (TableKind.MAT, 72), (TableKind.KRAFT, 73)])
def test_how_strongly_a_phone_mapped_local_tone_is_told_by_the_table(kind, seed):
    """A phone that takes out 30 % of the differences leaves a power of -0.3 / 0.7 of what is in the file."""
    _, _, measured, _ = photo(kind, seed, PHONE)
    assert measured.light.tone.power == pytest.approx(-0.3 / 0.7, abs=0.15)


@pytest.mark.parametrize(("kind", "seed"), [(TableKind.FELT, 71), (TableKind.KRAFT, 73)])
def test_colors_of_a_phones_photo_come_near_the_truth(kind, seed):
    """By a third nearer than by the card's grays alone, and not by luck of what the grays give: within 2.5."""
    told, plain = color_error(*photo(kind, seed, PHONE))
    assert told < 2.5
    assert told < 0.67 * plain


def test_halos_tell_a_phone():
    """Beside the tags' black a sharpened picture overshoots; a plain one does not."""
    _, screen, measured, shrink = photo(TableKind.FELT, 71, PHONE)
    assert halo_of(screen, measured.pose, shrink=shrink) > HALO
    assert measured.stronger == STRONGER
    _, plain, seen, shrink = photo(TableKind.FELT, 71, None)
    assert halo_of(plain, seen.pose, shrink=shrink) <= HALO


@pytest.mark.parametrize(("kind", "seed"), [(TableKind.FELT, 71), (TableKind.KRAFT, 73), (TableKind.WOOD, 74)])
def test_a_plain_cameras_photo_is_left_alone(kind, seed):
    """No local tone, no weaker colors."""
    _, _, measured, _ = photo(kind, seed, None)
    assert measured.stronger == 1.0
    assert measured.light is None or measured.light.tone is None


def test_weakened_colors_are_those_before_a_phone_made_them_stronger():
    """The phone's step as OpenCV's own YCrCb has it, then back: within the rounding of eight bits."""
    colors = np.random.default_rng(3).integers(60, 190, (1, 500, 3)).astype(np.uint8)
    apart = cv2.cvtColor(colors, cv2.COLOR_RGB2YCrCb).astype(np.float32)
    apart[..., 1:] = (apart[..., 1:] - 128) * STRONGER + 128
    strong = cv2.cvtColor(np.clip(np.rint(apart), 0, 255).astype(np.uint8), cv2.COLOR_YCrCb2RGB)
    inside = ((strong > 0) & (strong < 255)).all(axis=-1)
    assert np.abs(weakened(strong, STRONGER).astype(int) - colors)[inside].max() <= 3
    assert np.abs(strong.astype(int) - colors)[inside].max() > 5
    assert weakened(strong, 1.0) is strong


@pytest.mark.parametrize("code", [0.02, 0.2, 0.5, 0.9])
def test_the_slope_is_that_of_the_srgb_curve(code):
    """Against the curve itself (IEC 61966-2-1), by a small step."""
    step = 1e-4
    low, high = (float(to_light(np.array([code * (1 + sign * step)]))[0]) for sign in (-1, 1))
    assert float(slope_of(np.array([code]))[0]) == pytest.approx(np.log(high / low) / (2 * step), rel=2e-3)
