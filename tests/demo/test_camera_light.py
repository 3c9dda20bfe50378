"""Light has the color that physics gives it, and white balance takes out what it is told to."""

from __future__ import annotations

import numpy as np
import pytest

from portfolio.demo.camera.conditions import Conditions, Difficulty, Light
from portfolio.demo.camera.light import cast_of, illuminant
from portfolio.demo.camera.sensor import tone_table


def _planck(kelvin: float) -> np.ndarray:
    """Outside check: Planck's law and the fit to CIE 1931 of Wyman, Sloan, Shirley 2013 (its figures from memory)."""
    nm = np.arange(380.0, 781.0, 5.0)

    def lobe(mean: float, low: float, high: float) -> np.ndarray:
        return np.exp(-0.5 * np.square((nm - mean) * np.where(nm < mean, low, high)))

    x = 0.362 * lobe(442.0, 0.0624, 0.0374) + 1.056 * lobe(599.8, 0.0264, 0.0323) - 0.065 * lobe(501.1, 0.0490, 0.0382)
    y = 0.821 * lobe(568.8, 0.0213, 0.0247) + 0.286 * lobe(530.9, 0.0613, 0.0322)
    z = 1.217 * lobe(437.0, 0.0845, 0.0278) + 0.681 * lobe(459.0, 0.0385, 0.0725)
    power = nm**-5.0 / np.expm1(1.4387769e7 / (nm * kelvin))
    xyz = np.array([(power * curve).sum() for curve in (x, y, z)])
    to_rgb = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]])
    rgb = to_rgb @ xyz
    return rgb / rgb[1]


@pytest.mark.parametrize("kelvin", [2500, 3200, 4000, 5000, 6500, 7500])
def test_a_glowing_body_has_the_color_of_plancks_law(kelvin: float) -> None:
    """From lamp to shade, red and blue against green are within 6 % of Planck's law."""
    assert illuminant(kelvin) == pytest.approx(_planck(kelvin), rel=0.06)


def test_full_balance_leaves_no_cast_and_none_leaves_all() -> None:
    """White balance works between nothing and everything."""
    assert cast_of(Light(kelvin=2800, balance=1.0)) == pytest.approx([1, 1, 1])
    raw = cast_of(Light(kelvin=2800, balance=0.0))
    assert raw / raw[1] == pytest.approx(illuminant(2800))


@pytest.mark.parametrize("contrast", [-0.05, 0.0, 0.12, 0.3])
def test_the_tone_curve_never_turns_back(contrast: float) -> None:
    """More light is never darker; black and white stay where they are."""
    table = tone_table(contrast).astype(int)
    assert np.all(np.diff(table) >= 0)
    assert (table[0], table[-1]) == (0, 255)


def test_conditions_stay_within_the_mix() -> None:
    """Every draw keeps to the ranges that are promised, and a careful teacher's photos are calmer."""
    mixed = [Conditions.sample(seed) for seed in range(300)]
    assert all(0 <= one.view.tilt_deg <= 25 and abs(one.light.exposure_ev) <= 1.3 for one in mixed)
    assert all(0.7 <= one.blur.defocus_px <= 6 and one.blur.motion_px <= 30 for one in mixed)
    assert all(2500 <= one.light.kelvin <= 7500 and 70 <= one.sensor.jpeg_quality <= 95 for one in mixed)
    assert 0.35 < np.mean([one.blur.motion_px > 0 for one in mixed]) < 0.55
    assert 0.3 < np.mean([one.light.shadow is not None for one in mixed]) < 0.5
    calm = [Conditions.sample(seed, Difficulty.GENTLE) for seed in range(100)]
    assert all(one.view.tilt_deg <= 7 and one.blur.motion_px <= 3 and one.light.shadow is None for one in calm)
