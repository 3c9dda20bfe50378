"""A hidden part is covered where it lies in the work's picture, whichever way the crop was turned or drawn."""

from __future__ import annotations

import io

import numpy as np
import pytest
from PIL import Image, ImageDraw

from portfolio.model.photo import Crop
from portfolio.model.showing import MarkedPicture
from portfolio.publish.pictures import fresh_jpeg
from portfolio.publish.regions import regions_in_picture
from portfolio.reading import open_photo
from portfolio.straighten import straighten_with

SHEET = ((150.0, 90.0), (1080.0, 140.0), (1010.0, 830.0), (120.0, 760.0))
FACE = ((260.0, 200.0), (420.0, 200.0), (420.0, 330.0), (260.0, 330.0))


@pytest.mark.parametrize("turns", range(4))
@pytest.mark.parametrize("order", ["clockwise", "against", "from the third"])
def test_the_part_is_covered_however_the_crop_is_turned(turns: int, order: str) -> None:
    """A red patch in a gray photo, hidden: not one red pixel is left, and most of the picture is still there."""
    outline = {"clockwise": SHEET, "against": SHEET[::-1], "from the third": SHEET[2:] + SHEET[:2]}[order]
    photo = Image.new("RGB", (1200, 900), (150, 150, 150))
    ImageDraw.Draw(photo).rectangle((270, 210, 410, 320), fill=(230, 20, 20))
    out = io.BytesIO()
    photo.save(out, "JPEG", quality=95)
    source = open_photo(out.getvalue(), file="photo.jpg")
    made = straighten_with(source, Crop(outline, sure=True, shape="sheet", by_hand=True), turns)
    jpeg = made.derivatives[0].jpeg
    assert _red_share(jpeg) > 0.01
    marked = MarkedPicture((FACE,), (1200, 900), outline, "sheet", turns)
    regions = regions_in_picture(marked)
    assert regions is not None
    covered = fresh_jpeg(jpeg, regions)
    assert _red_share(covered) == 0
    assert _gray_share(covered) > 0.9


def test_a_sheet_that_lies_on_its_corner_is_not_guessed_at() -> None:
    """Turned by 45 degrees two sides run alike: where the part lies cannot be told, so the picture is not shown."""
    diamond = ((600.0, 100.0), (950.0, 450.0), (600.0, 800.0), (250.0, 450.0))
    assert regions_in_picture(MarkedPicture((FACE,), (1200, 900), diamond)) is None


def _red_share(jpeg: bytes) -> float:
    red, green, _ = np.moveaxis(np.asarray(Image.open(io.BytesIO(jpeg)).convert("RGB")).astype(int), 2, 0)
    return float(np.mean((red > 180) & (green < 90)))


def _gray_share(jpeg: bytes) -> float:
    return float(np.mean(np.abs(np.asarray(Image.open(io.BytesIO(jpeg)).convert("L")).astype(int) - 150) < 20))
