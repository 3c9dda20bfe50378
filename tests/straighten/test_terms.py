"""Color words of a work."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.straighten.terms import TERMS, color_shares, name_colors
from tests.support.color_difference import lab_of

CLEAR = {
    "red": ["#e50000", "#b01020", "#cc2222"],
    "orange": ["#f97306", "#ff8c1a"],
    "yellow": ["#ffff14", "#f5d020"],
    "green": ["#15b01a", "#0a6e2a", "#8bd03a"],
    "blue": ["#0343df", "#75bbfd", "#14326e"],
    "purple": ["#7e1e9c", "#5a3a8a"],
    "pink": ["#ff81c0", "#f4b6c8"],
    "brown": ["#653700", "#7a4a2a"],
    "black": ["#000000", "#151515"],
    "white": ["#ffffff", "#f4f3ef"],
    "gray": ["#929591", "#5c5c5c"],
}
"""Colors that hardly anybody would name otherwise (the first of each after the color survey of xkcd, 2010)."""


@pytest.mark.parametrize(("term", "code"), [(term, code) for term, codes in CLEAR.items() for code in codes])
def test_clear_colors_have_their_word(term, code):
    """A clear color is named as nearly everybody names it."""
    pixel = np.array([[int(code[at : at + 2], 16) for at in (1, 3, 5)]], np.uint8)
    assert TERMS[name_colors(lab_of(pixel))[0]] == term


def test_shares_are_of_the_sheet_without_its_paper():
    """A quarter red and an eighth blue on shaded cream paper: 25 and 12 percent, and no white."""
    shade = np.linspace(1.0, 0.82, 640)[None, :, None]
    sheet = (np.full((480, 640, 3), (250, 244, 225)) * shade).astype(np.uint8)
    sheet[:240, :320] = (200, 30, 30)
    sheet[240:, 480:] = (30, 60, 190)
    shares = color_shares(sheet)
    assert shares == {"red": pytest.approx(25, abs=2), "blue": pytest.approx(12, abs=2)}


def test_colored_paper_counts():
    """A drawing on black paper is mostly black."""
    sheet = np.full((90, 120, 3), 24, np.uint8)
    sheet[:30, :30] = (250, 220, 40)
    shares = color_shares(sheet)
    assert shares["black"] > 85
    assert shares["yellow"] > 4


def test_only_the_work_itself_counts():
    """Table inside the cut of a free shape does not count."""
    cut = np.full((100, 100, 3), (20, 120, 40), np.uint8)
    mask = np.zeros((100, 100), np.bool_)
    mask[30:70, 30:70] = True
    cut[mask] = (200, 30, 30)
    assert color_shares(cut, mask)["red"] >= 98  # pixels on the edge are mixed


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**31))
def test_shares_never_pass_the_whole(seed):
    """Whatever the picture: known words, whole percents, never more than all of it (but for rounding)."""
    rng = np.random.default_rng(seed)
    shares = color_shares(rng.integers(0, 256, (8, 9, 3), np.uint8))
    assert set(shares) <= set(TERMS)
    assert sum(shares.values()) <= 100 + len(shares) / 2
