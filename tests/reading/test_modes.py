"""Odd color modes keep the paper's white."""

from io import BytesIO

import numpy as np
import pytest
from PIL import Image

from portfolio.reading import open_photo


def saved(image: Image.Image, kind: str, **how) -> bytes:
    out = BytesIO()
    image.save(out, kind, **how)
    return out.getvalue()


def rgb_of(data: bytes) -> np.ndarray:
    return open_photo(data, file="photo").rgb()


def test_16_bit_gray_is_scaled_not_clipped():
    """Half gray in 16 bits is half gray in 8 (python-pillow/Pillow#2574: ``convert`` gives white)."""
    deep = Image.fromarray(np.full((8, 8), 32896, np.uint16))
    assert np.abs(rgb_of(saved(deep, "PNG")).astype(int) - 128).max() <= 1


@pytest.mark.parametrize(("value", "expected"), [(0.5, 128), (128.0, 128), (1.0, 255)])
def test_floating_gray_is_scaled_by_its_range(value, expected):
    """0-1 and 0-255 are both told apart from the values."""
    image = Image.fromarray(np.full((8, 8), value, np.float32))
    assert np.abs(rgb_of(saved(image, "TIFF")).astype(int) - expected).max() <= 1


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_transparency_lies_on_white(kind):
    """A cut-out with nothing round it has white round it, not black."""
    layered = Image.new("RGBA", (8, 8), (0, 0, 0, 0))
    data = saved(layered, kind, **({"lossless": True} if kind == "WEBP" else {}))
    assert rgb_of(data).min() == 255


def test_palette_with_a_transparent_color():
    """The transparent entry of a palette becomes white, the others keep their color."""
    image = Image.new("P", (2, 1))
    image.putpalette([200, 10, 10, 0, 0, 0])
    image.putpixel((1, 0), 1)
    pixels = rgb_of(saved(image, "PNG", transparency=1))
    assert pixels.tolist() == [[[200, 10, 10], [255, 255, 255]]]


def test_one_bit_and_gray_with_alpha():
    """1-bit and gray-with-alpha pictures come out as RGB."""
    assert rgb_of(saved(Image.new("1", (4, 4), 1), "PNG")).min() == 255
    assert rgb_of(saved(Image.new("LA", (4, 4), (0, 0)), "PNG")).min() == 255


def test_cmyk_is_not_turned_inside_out():
    """White paper in a CMYK JPEG stays white and ink stays dark."""
    image = Image.new("CMYK", (16, 16), (0, 0, 0, 0))
    image.paste((0, 0, 0, 255), (0, 0, 8, 16))
    pixels = rgb_of(saved(image, "JPEG"))
    assert pixels[8, 12].min() > 245
    assert pixels[8, 3].max() < 12


def test_the_first_picture_of_an_animation_counts():
    """An animated GIF gives its first picture and a note."""
    frames = [Image.new("RGB", (8, 8), color) for color in ((250, 0, 0), (0, 250, 0), (0, 0, 250))]
    picture = open_photo(saved(frames[0], "GIF", save_all=True, append_images=frames[1:]), file="photo")
    assert picture.rgb()[0, 0].tolist() == [250, 0, 0]
    assert picture.facts.notes == ("first of 3 pictures in the file",)
