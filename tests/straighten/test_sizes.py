"""Standard sheets are named only when the size fits."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.straighten.sizes import SHEETS_MM, TOLERANCE, sheet_name


@pytest.mark.parametrize(
    ("size", "name"),
    [
        ((228.6, 304.8), "9 × 12 in"),
        ((457.2, 304.8), "12 × 18 in"),
        ((457.2, 609.6), "18 × 24 in"),
        ((210, 297), "A4"),
        ((420, 297), "A3"),
        ((216, 279), "Letter"),
        ((250, 250), None),
        ((228.6, 330), None),
    ],
)
def test_common_sheets(size, name):
    """School drawing papers in inches and the A series (ISO 216), either way round."""
    assert sheet_name(*size) == name


@given(st.sampled_from(list(SHEETS_MM)), st.floats(-0.014, 0.014), st.floats(-0.014, 0.014))
def test_two_percent_of_noise_never_names_another_sheet(name, wide, tall):
    """Within the tolerance a sheet is named as itself or not at all."""
    short, long = SHEETS_MM[name]
    assert sheet_name(long * (1 + tall), short * (1 + wide)) == name


def test_no_two_sheets_can_be_mixed_up():
    """The tolerance keeps every pair of sheets apart."""
    for one, (short, long) in SHEETS_MM.items():
        for other, (short_2, long_2) in SHEETS_MM.items():
            if one != other:
                assert abs(short / short_2 - 1) > 2 * TOLERANCE or abs(long / long_2 - 1) > 2 * TOLERANCE
