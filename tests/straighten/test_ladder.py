"""Pictures for the screen: their sizes, and that nothing of the original's description can follow them."""

from io import BytesIO

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from portfolio.reading import open_photo
from portfolio.straighten import straighten
from portfolio.straighten.ladder import RUNGS, fit, ladder

ALLOWED = {0xD8, 0xE0, 0xDB, 0xC0, 0xC4, 0xDA, 0xDD, 0xD9}
"""SOI, APP0, DQT, SOF0, DHT, SOS, DRI, EOI: what a picture needs to be seen, and nothing that tells."""


def markers(jpeg: bytes) -> list[int]:
    """All markers of a JPEG in order, entropy-coded data skipped (ITU-T T.81, B.1.1)."""
    found, at = [], 0
    while at < len(jpeg) - 1:
        if jpeg[at] != 0xFF or jpeg[at + 1] in (0x00, 0xFF, *range(0xD0, 0xD8)):
            at += 1
            continue
        found.append(jpeg[at + 1])
        bare = jpeg[at + 1] in (0xD8, 0xD9)
        at += 2 if bare else 2 + int.from_bytes(jpeg[at + 2 : at + 4], "big")
    return found


def told_photo() -> bytes:
    """A photo that says everything about itself: place, owner, comment, profile."""
    exif = Image.Exif()
    exif[0x010F], exif[0x013B], exif[0x8825] = "SECRETCAM", "SECRETOWNER", {1: "N", 2: (52.0, 30.0, 0.0)}
    out = BytesIO()
    noise = np.random.default_rng(1).integers(0, 255, (300, 400, 3), np.uint8)
    Image.fromarray(noise).save(out, "JPEG", exif=exif.tobytes(), comment=b"SECRETNOTE", icc_profile=b"SECRETICC" * 20)
    return out.getvalue()


def test_nothing_of_the_original_follows():
    """Only the markers a picture needs: no EXIF, no place, no comment, no profile."""
    made = straighten(open_photo(told_photo(), file="photo"))
    assert len(made.derivatives) == len(RUNGS)
    for one in made.derivatives:
        assert set(markers(one.jpeg)) <= ALLOWED
        assert b"SECRET" not in one.jpeg
        assert b"Exif" not in one.jpeg
        assert Image.open(BytesIO(one.jpeg)).getexif() == {}


def test_the_rungs_of_a_phone_photo_stand_in_whole_ratios():
    """2016 → 672 → 336, each with the photo's proportions."""
    made = ladder(np.zeros((1512, 2016, 3), np.uint8))
    assert [(one.long_side_px, one.width_px, one.height_px) for one in made] == [
        (2016, 2016, 1512),
        (672, 672, 504),
        (336, 336, 252),
    ]


@settings(deadline=None, max_examples=30)
@given(st.integers(1, 900), st.integers(1, 900))
def test_no_picture_is_ever_enlarged(width, height):
    """Small pictures keep their size on the upper rungs; every picture says its true size."""
    for one in ladder(np.zeros((height, width, 3), np.uint8)):
        assert max(one.width_px, one.height_px) == min(max(width, height), one.long_side_px)
        assert Image.open(BytesIO(one.jpeg)).size == (one.width_px, one.height_px)


@pytest.mark.parametrize("value", [0, 77, 255])
def test_shrinking_keeps_plain_colors(value):
    """A plain picture stays the same color at any size."""
    assert np.all(fit(np.full((301, 517, 3), value, np.uint8), 100) == value)
