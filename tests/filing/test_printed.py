"""Cards printed "to fit the page" make every size wrong by one factor: the sheets of a batch show it."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.filing.hints import batch_hints
from portfolio.filing.printed import printed_scale
from portfolio.model.filing import PhotoQuality, PrintedScale
from portfolio.straighten.sizes import SHEETS_MM


def _sizes(scale: float, *, count: int = 20, cut: int = 0, seed: int = 1) -> list[tuple[float, float]]:
    """Sheets as measured with cards printed at ``scale``, each side right within 0.5 %; ``cut``: papers of any size."""
    chance = random.Random(seed)
    found = []
    for _ in range(count):
        short, long = SHEETS_MM[chance.choice(["9 × 12 in", "12 × 18 in", "Letter", "A4"])]
        sides = [short / scale * chance.uniform(0.995, 1.005), long / scale * chance.uniform(0.995, 1.005)]
        chance.shuffle(sides)
        found.append((sides[0], sides[1]))
    found += [(chance.uniform(100, 300), chance.uniform(100, 400)) for _ in range(cut)]
    return found


@pytest.mark.parametrize("scale", [0.94, 0.95, 0.97, 1.04])
def test_a_common_factor_is_found(scale):
    """The scale comes out within half a percent, also with some cut papers among the sheets."""
    found = printed_scale(_sizes(scale, cut=5), sheets_mm=SHEETS_MM)
    assert found is not None
    assert found.scale == pytest.approx(scale, abs=0.005)
    assert found.of == 25


@pytest.mark.parametrize("sizes", [_sizes(1.0), _sizes(1.0, cut=8), _sizes(0.95, count=4), _sizes(0.99), []])
def test_right_cards_and_too_few_sheets_say_nothing(sizes):
    """Sheets of their right size, four sheets only, one percent: no word about the scale."""
    assert printed_scale(sizes, sheets_mm=SHEETS_MM) is None


@given(st.integers(0, 5_000), st.integers(5, 40))
def test_papers_cut_by_chance_are_no_scale(seed, count):
    """Papers of any size share no factor."""
    chance = random.Random(seed)
    sizes = [(chance.uniform(100, 450), chance.uniform(100, 600)) for _ in range(count)]
    assert printed_scale(sizes, sheets_mm=SHEETS_MM) is None


def test_each_hint_is_said_once_and_says_what_to_do():
    """Too bright, too light, off scale: three sentences whatever the number of photos."""
    photos = [PhotoQuality(place, clipped=place < 3, table_near_white=True) for place in range(1, 11)]
    hints = batch_hints(photos, PrintedScale(0.95, 8, 10))
    assert [one.code for one in hints] == ["card-too-bright", "table-too-light", "card-scale"]
    assert "photos 1 and 2" in hints[0].sentence
    assert "less light" in hints[0].sentence
    assert "In 10 photos" in hints[1].sentence
    assert "dark cloth" in hints[1].sentence
    assert "5 % too large" in hints[2].sentence
    assert "95 %" in hints[2].sentence
    assert "100 mm line" in hints[2].sentence


def test_one_pale_corner_is_not_the_table():
    """One of ten photos: nothing is said about the table."""
    photos = [PhotoQuality(place, table_near_white=place == 1) for place in range(1, 11)]
    assert batch_hints(photos, None) == ()
