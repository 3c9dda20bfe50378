"""Gains and gammas from the card's grays, against light that is known."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.cards.geometry import PAPER_REFLECTANCE, PATCH_REFLECTANCE
from portfolio.straighten.balance import Grays, balance, corrected
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
