"""Gains and gammas from the card's grays, against light that is known."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.cards.geometry import CARD, PAPER_REFLECTANCE, PATCH_REFLECTANCE, PATCHES
from portfolio.straighten.balance import Grays, balance, corrected, evened
from portfolio.straighten.lightfield import LightField
from portfolio.straighten.srgb import LIGHT_OF, pixels_of

TRUE = np.array([*PATCH_REFLECTANCE, PAPER_REFLECTANCE])
casts = st.tuples(*[st.floats(0.45, 1.1)] * 3)


@settings(deadline=None)
@given(casts, st.floats(0.8, 1.25))
def test_a_cast_and_a_tone_curve_are_taken_back(cast, gamma):
    """Any cast of light and any power curve of the camera: gray patches come out gray and in their place."""
    levels = (TRUE[:, None] * np.array(cast)) ** gamma
    color = balance(Grays(levels, clipped=False))
    photo = pixels_of(levels[None].astype(np.float32))
    fixed = LIGHT_OF[corrected(photo, color)][0]
    assert np.abs(fixed[1:] / TRUE[1:, None] - 1).max() < 0.06  # 8 bits are coarse in the dark
    assert np.ptp(corrected(photo, color)[0].astype(int), axis=1).max() <= 6


def test_a_known_light_field_is_taken_out():
    """Half the light, said by the field: the paper is as white as on the card."""
    color = balance(Grays(np.tile(TRUE[:, None], 3), clipped=False))
    paper = pixels_of(np.full((2, 4, 3), 0.41, np.float32))
    field = np.full((2, 4), 0.5, np.float32)
    assert LIGHT_OF[corrected(paper, color, field)].mean() == pytest.approx(0.82, abs=0.01)


def test_a_clipped_card_corrects_nothing():
    """Too bright is said; pixels stay as they are."""
    color = balance(Grays(np.tile(TRUE[:, None] * 1.2, 3), clipped=True))
    assert color.clipped
    assert color.gains == (1.0, 1.0, 1.0)


@pytest.mark.parametrize("levels", [np.zeros(5), TRUE[::-1], TRUE[[0, 2, 1, 3, 4]]])
def test_what_is_not_our_grays_is_not_used(levels):
    """Patches that do not rise from dark to light give no color at all."""
    assert balance(Grays(np.tile(levels[:, None], 3), clipped=False)) is None


def gray_light(color, light):
    """What a gray of true ``light`` looks like in true color, when the photo shows it as it is."""
    return LIGHT_OF[corrected(pixels_of(np.full((1, 1, 3), light, np.float32)), color)].mean()


@pytest.mark.parametrize("veil", [0.02, 0.04])
def test_the_veil_of_a_laminated_card_is_not_taken_off_the_work(veil):
    """A card that mirrors the room all over: a work without that keeps its darks to a quarter and its grays to a
    seventh. A line through the levels as they are would miss by 26-44 % and 18-32 %.
    """
    color = balance(Grays(np.tile(TRUE[:, None] + veil, 3), clipped=False))
    assert gray_light(color, 0.03) == pytest.approx(0.03, rel=0.25)
    assert gray_light(color, 0.1) == pytest.approx(0.1, rel=0.16)
    assert gray_light(color, 0.5) == pytest.approx(0.5, rel=0.05)


def test_inks_tint_does_not_color_the_paper():
    """Grays printed a little reddish or greenish, each otherwise: white stays white, and no channel bends off."""
    tints = np.exp(0.03 * np.array([(1, -1, 0), (-1, 1, 0), (0, 1, -1), (1, 0, -1), (0, 0, 0)]))
    color = balance(Grays(TRUE[:, None] * tints, clipped=False))
    white = corrected(pixels_of(np.full((1, 1, 3), 0.82, np.float32)), color)[0, 0].astype(int)
    assert np.ptp(white) == 0
    assert np.ptp(color.gammas) < 0.01


def test_a_slope_of_light_over_the_card_is_taken_off_its_grays():
    """The patches lie side by side: a light that falls from left to right must not pass for the camera's tone curve."""
    light = LightField(np.array([3.0, 0, 0, 0, 0]), np.array(CARD.center), 1000.0)
    x_mm = np.array([rect.center[0] for rect in PATCHES] + [CARD.center[0]])  # the white is read all along the card
    levels = np.tile((TRUE * np.exp((x_mm - CARD.center[0]) * 0.003))[:, None], 3) * 0.8
    assert np.abs(balance(evened(Grays(levels, clipped=False), light)).gammas[0] - 1) < 0.001
    assert np.abs(balance(Grays(levels, clipped=False)).gammas[0] - 1) > 0.005
