"""A JPEG's frame header, against Pillow's own view."""

from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from portfolio.reading.jpeg import frame_of


def jpeg(size=(40, 30), **how) -> bytes:
    out = BytesIO()
    Image.new("RGB", size, (90, 120, 60)).save(out, "JPEG", **how)
    return out.getvalue()


@pytest.mark.parametrize("progressive", [False, True])
def test_size_and_kind_are_read_from_the_header(progressive):
    """Width, height, depth and progressive are those that the encoder wrote, whatever stands before the frame."""
    frame = frame_of(jpeg(progressive=progressive, comment=b"\xff\xc2 not a frame", icc_profile=b"x" * 70_000))
    assert (frame.width_px, frame.height_px, frame.bits, frame.progressive) == (40, 30, 8, progressive)


@given(st.binary(max_size=300), st.integers(0, 400))
def test_broken_headers_never_raise(junk, cut):
    """Junk and files cut anywhere give a frame or nothing."""
    frame_of(b"\xff\xd8" + junk)
    frame_of(jpeg()[:cut])
