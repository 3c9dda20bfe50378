"""The color difference that the measurements use, against published values."""

import csv
import json

import numpy as np

from tests.support.color_difference import ciede2000, lab_of
from tests.support.outside import outside

COLUMNS = ("L1", "a1", "b1", "L2", "a2", "b2", "dE00")


def test_the_34_pairs_of_the_paper():
    """All 34 pairs agree to the paper's four decimals, both ways round (Sharma, Wu, Dalal 2005)."""
    with outside("facts", "ciede2000_34.csv").open(encoding="utf-8", newline="") as lines:
        rows = np.array([[float(row[key]) for key in COLUMNS] for row in csv.DictReader(lines)])
    assert len(rows) == 34
    assert np.abs(ciede2000(rows[:, :3], rows[:, 3:6]) - rows[:, 6]).max() < 1e-4
    assert np.abs(ciede2000(rows[:, 3:6], rows[:, :3]) - rows[:, 6]).max() < 1e-4


def test_lab_of_known_colors():
    """CIE L*a*b* of eight sRGB colors, computed from IEC 61966-2-1's matrix."""
    known = json.loads(outside("facts", "computed.json").read_text(encoding="utf-8"))["lab"]
    colors = np.array([[int(part) for part in key.strip("()").split(",")] for key in known], np.uint8)
    assert np.abs(lab_of(colors) - np.array(list(known.values()))).max() < 0.25  # OpenCV rounds its matrix to 3 digits
