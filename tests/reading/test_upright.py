"""Turning pixels upright, against Pillow's own turning."""

import numpy as np
import pytest
from PIL import Image, ImageOps

from portfolio.reading.upright import BACK, upright

PIXELS = np.arange(5 * 7 * 3, dtype=np.uint8).reshape(5, 7, 3)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_all_turns_agree_with_pillow(orientation):
    """Every EXIF orientation moves every pixel where Pillow's ``exif_transpose`` moves it."""
    image = Image.fromarray(PIXELS)
    image.getexif()[0x0112] = orientation
    assert np.array_equal(upright(PIXELS, orientation), np.asarray(ImageOps.exif_transpose(image)))


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_turn_has_its_way_back(orientation):
    """Turned and turned back, nothing has changed."""
    assert np.array_equal(upright(upright(PIXELS, orientation), BACK[orientation]), PIXELS)
