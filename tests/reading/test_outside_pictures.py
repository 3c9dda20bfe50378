"""Pictures that nobody here made: PngSuite, and the odd files that the makers of picture libraries collected."""

import csv
from fnmatch import fnmatch
from pathlib import Path

import numpy as np
import pytest

from portfolio.reading import open_photo, read_photo
from tests.support.outside import outside

EXPECTED = Path(__file__).parents[1] / "pictures" / "expected.csv"
FAMILIES = (
    "pngsuite",
    "exif-samples",
    "libjpeg-turbo-testimages",
    "pillow-tests",
    "pillow-heif-tests",
    "exif-orientation",
)


def expected_of(name: str) -> str:
    with EXPECTED.open(encoding="utf-8", newline="") as lines:
        return next(row["code"] for row in csv.DictReader(lines) if fnmatch(name, row["pattern"]))


def pictures(folder: Path) -> list[Path]:
    return sorted(p for p in folder.rglob("*.*") if p.suffix.lower() not in {".md", ".txt", ".readme"})


@pytest.mark.parametrize("family", FAMILIES)
def test_every_outside_picture_is_read_or_refused_as_expected(family):
    """Each file of the collection is read, or refused with the code that its fault deserves; nothing else happens.

    Sources: PngSuite (Willem van Schaik); ianare/exif-samples; libjpeg-turbo's test images; Pillow's and
    pillow_heif's test images; recurser/exif-orientation-examples.
    """
    folder = outside("images", family)
    files = pictures(folder)
    assert files
    wrong = []
    for path in files:
        name = path.relative_to(folder.parent).as_posix()
        expected = expected_of(name)
        if expected == "LEFT OUT":
            continue
        reading = read_photo(path, file=path.name)
        found = reading.problem.code if reading.problem else ""
        if found != expected:
            wrong.append((name, expected, found))
        assert not reading.cards
        assert reading.problem is None or str(path.parent) not in reading.problem.sentence
    assert wrong == []


def test_all_eight_orientations_come_out_upright():
    """The same picture stored in eight ways looks the same (source: recurser/exif-orientation-examples)."""
    folder = outside("images", "exif-orientation")
    small = []
    for orientation in range(1, 9):
        picture = open_photo(folder / f"Portrait_{orientation}.jpg", file="photo")
        assert picture.facts.orientation == orientation
        assert (picture.facts.width_px, picture.facts.height_px) == (1200, 1800)
        small.append(picture.rgb(4).astype(int))
    for other in small[1:]:
        assert other.shape == small[0].shape
        assert np.abs(other - small[0]).mean() < 3  # each was compressed on its own


def test_a_real_phone_picture_of_200_megapixels_is_let_in():
    """The limits are raised for a phone's largest HEIC (source: pillow_heif tests); it is not decoded here."""
    picture = open_photo(outside("images", "pillow-heif-tests", "heif_special", "200MP.heic"), file="photo")
    assert picture.facts.width_px * picture.facts.height_px == 12240 * 16320
    assert picture.orientation == 1


def test_a_heic_is_not_turned_twice():
    """HEIC pixels arrive upright; what its description says about the turn is history."""
    picture = open_photo(outside("images", "exif-samples", "heic", "IMG_5195.HEIC"), file="photo")
    assert picture.rgb(8).shape[:2] == (-(-picture.facts.height_px // 8), -(-picture.facts.width_px // 8))
