"""What speaks for a rectangle being the sheet."""

from dataclasses import replace

import numpy as np

from portfolio.straighten.evidence import Candidate
from portfolio.straighten.outline import SURE
from portfolio.straighten.sides import Fitted

CORNERS = np.array([[0.0, 0.0], [304.8, 0.0], [304.8, 228.6], [0.0, 228.6]])
EDGES = tuple(np.zeros((9, 2)) for _ in range(4))
FIT = Fitted(CORNERS, np.ones(4), np.zeros((4, 2)), EDGES, rough_mm=0.1)
SHEET = Candidate(
    FIT,
    outside=np.ones(4),
    within=np.ones(4),
    agrees=0.99,
    sheet="9 × 12 in",
    inside=True,
    size_mm=(304.8, 228.6),
)


def test_a_clear_sheet_is_sure():
    """Four clear sides that end at their corners, table outside, paper inside, a usual size."""
    assert SHEET.likely > SURE


def test_a_clear_sheet_of_no_usual_size_is_still_sure():
    """Children cut paper: a usual size helps, but is not needed."""
    assert replace(SHEET, sheet=None).likely > SURE


def test_each_lack_is_held_against_it_and_said():
    """Whatever is worst is what the teacher is told."""
    lacking = {
        "one side of the sheet": replace(SHEET, fitted=replace(FIT, supports=np.array([1, 1, 0.2, 1.0]))),
        "beyond the corners": replace(SHEET, fitted=replace(FIT, beyond=np.full((4, 2), 0.9))),
        "round the sheet": replace(SHEET, outside=np.array([1, 0.1, 1, 1.0])),
        "color of the table": replace(SHEET, within=np.zeros(4)),
        "do not agree": replace(SHEET, agrees=0.2),
        "no usual size": replace(SHEET, sheet=None),
        "very small": replace(SHEET, fitted=replace(FIT, corners_mm=CORNERS / 5)),
    }
    for said, candidate in lacking.items():
        assert candidate.likely < SHEET.likely
        assert said in candidate.doubt


def test_white_paper_on_a_white_table_can_be_sure():
    """No color tells it from the table, but its sides and its size do."""
    white = replace(SHEET, within=np.zeros(4), agrees=0.95)
    assert white.likely > SURE


def test_a_grid_on_a_mat_is_never_sure():
    """A rectangle of grid lines looks the same inside and outside, and its lines go on."""
    mat = replace(SHEET, within=np.zeros(4), agrees=0.3, fitted=replace(FIT, beyond=np.ones((4, 2))))
    assert mat.likely < 0
