"""The light over the table, told from the table itself."""

import cv2
import numpy as np

from portfolio.straighten.lightfield import find_field, see_table
from portfolio.straighten.localtone import Surroundings
from portfolio.straighten.plane import Plane

HEIGHT, WIDTH = 480, 640
CARD = np.array([100.0, 240.0])
X, Y = np.meshgrid((np.arange(WIDTH) - CARD[0]) / WIDTH, (np.arange(HEIGHT) - CARD[1]) / HEIGHT)
LIGHT = np.exp(0.35 * X - 0.2 * Y - 0.15 * X * X)


def table(reflectance) -> tuple[Plane, np.ndarray]:
    """A table in that light, 1 px per mm, with a work in the middle of it; and how unlike table each place is."""
    luminance = np.clip(reflectance * LIGHT, 0, 1)
    lightness = np.where(luminance > 0.008856, 116 * np.cbrt(luminance) - 16, 903.3 * luminance)
    unlike = np.zeros((HEIGHT, WIDTH), np.float32)
    unlike[120:360, 220:540] = 9
    lightness[unlike > 0] = 95
    lab = np.dstack([lightness, np.zeros_like(lightness), np.zeros_like(lightness)]).astype(np.float32)
    whole = np.ones((HEIGHT, WIDTH), np.bool_)
    return Plane(lab, whole, ~whole, px_per_mm=1.0, origin_mm=(0.0, 0.0)), unlike


def grain(amount) -> np.ndarray:
    """Bands of wood, some centimeters wide, with fine noise."""
    rings = cv2.resize(np.random.default_rng(1).normal(0, 1, (40, 4)), (WIDTH, HEIGHT), interpolation=cv2.INTER_LINEAR)
    return np.exp(amount * np.sin(3 * rings) + np.random.default_rng(2).normal(0, 0.05, (HEIGHT, WIDTH)))


def error_on_the_work(reflectance) -> float:
    plane, unlike = table(reflectance)
    field = find_field(plane, unlike, card_mm=CARD)
    places = np.column_stack([X[120:360, 220:540].ravel() * WIDTH, Y[120:360, 220:540].ravel() * HEIGHT]) + CARD
    return float(np.abs(np.log(field.at(places) / LIGHT[120:360, 220:540].ravel())).max())


def test_the_light_is_told_from_a_plain_table():
    """Under the work, where no table shows, to three percent."""
    assert error_on_the_work(np.full((HEIGHT, WIDTH), 0.2)) < 0.03


def test_the_light_is_told_from_wood():
    """Grain averages out."""
    assert error_on_the_work(0.3 * grain(0.12)) < 0.1


def test_a_table_of_two_colors_tells_nothing():
    """One half twice as light: that is not the light."""
    plane, unlike = table(np.where(X > 0.3, 0.5, 0.2))
    assert find_field(plane, unlike, card_mm=CARD) is None


def test_too_little_table_tells_nothing():
    """A work that fills the photo leaves nothing to tell the light by."""
    plane, unlike = table(np.full((HEIGHT, WIDTH), 0.2))
    unlike[30:] = 9
    assert find_field(plane, unlike, card_mm=CARD) is None


def seen_with_shadow(step, *, hue=0.0):
    """A table on one side of which the light is lower by ``step`` (natural log) and b* higher by ``hue``."""
    beyond = 1 / (1 + np.exp(-(X - 0.4 + 0.3 * Y) * WIDTH / 12))
    plane, unlike = table(0.4 * np.exp(-step * beyond))
    plane.lab[..., 2] += hue * beyond
    around = Surroundings(plane.lab[::16, ::16, 0] / 100, np.diag([1 / 16, 1 / 16, 1.0]))
    seen = see_table(plane, unlike, card_mm=CARD)
    return seen, seen.with_shadow(around.on_table(plane, unlike < 1)), np.exp(-step * beyond) * LIGHT


def test_a_shadow_across_the_work_is_told():
    """The light on both sides of a shadow's edge under the work is right; without the edge it would be far off."""
    smooth, seen, light = seen_with_shadow(0.35)
    work = np.s_[120:360:8, 220:540:8]
    places = np.column_stack([(axis[work] * length).ravel() for axis, length in ((X, WIDTH), (Y, HEIGHT))]) + CARD
    plain, told = (np.abs(np.log(each.field().at(places) / light[work].ravel())) for each in (smooth, seen))
    assert np.quantile(told, 0.9) < 0.03
    assert np.quantile(plain, 0.9) > 0.1


def test_no_shadow_is_seen_where_there_is_none():
    """A smooth slope of light stays a smooth slope."""
    smooth, seen, _ = seen_with_shadow(0.0)
    assert seen is smooth


def test_two_tables_side_by_side_are_no_shadow():
    """A shadow changes the light only: where the hue changes too, or most of the light goes, two tables meet."""
    smooth, seen, _ = seen_with_shadow(0.35, hue=8.0)
    assert seen is smooth
    smooth, seen, _ = seen_with_shadow(0.95)
    assert seen is smooth
