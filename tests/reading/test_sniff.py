"""The first bytes decide what a file is."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.reading.sniff import sniff


@pytest.mark.parametrize(
    ("head", "format_word"),
    [
        (b"\xff\xd8\xff\xe0\0\x10JFIF", "JPEG"),
        (b"\x89PNG\r\n\x1a\n\0\0", "PNG"),
        (b"RIFF\0\0\0\0WEBPVP8 ", "WEBP"),
        (b"GIF89a\1\0\1\0", "GIF"),
        (b"II*\0\x08\0\0\0", "TIFF"),
        (b"MM\0*\0\0\0\x08", "TIFF"),
        (b"BM\x36\0\0\0", "BMP"),
        (b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", "HEIF"),
        (b"\0\0\0\x18ftypmif1\0\0\0\0mif1heic", "HEIF"),
        (b"\0\0\0\x1cftypmif1\0\0\0\0mif1avifmiaf", "AVIF"),
        (b"\0\0\0\x1cftypavif\0\0\0\0avifmif1miaf", "AVIF"),
    ],
)
def test_a_picture_is_known_by_its_first_bytes(head, format_word):
    """Each kind that is read here has its word."""
    assert sniff(head).format == format_word


@pytest.mark.parametrize(
    ("head", "found", "is_picture"),
    [
        (b"%PDF-1.7\n", "PDF", False),
        (b"<svg xmlns=", "drawing", False),
        (b"<!DOCTYPE html>", "web page", False),
        (b"Dear parents,\r\n", "text", False),
        (b"\0\0\0\x18ftypmp42\0\0\0\0", "video", False),
        (b"\0\0\0\x18ftypqt  \0\0\0\0", "video", False),
        (b"\0\0\0\x18ftypcrx \0\0\0\0", "raw", True),
        (b"8BPS\0\1", "layered", True),
        (b"\0\0\1\0\1\0", "icon", True),
        (b"RIFF\0\0\0\0WAVEfmt ", "sound", False),
        (b"\x01\x02\x03\x04", "no kind", False),
    ],
)
def test_other_files_are_named_in_plain_words(head, found, is_picture):
    """What is not read is said in words a teacher knows."""
    kind = sniff(head)
    assert kind.format is None
    assert found in kind.found
    assert kind.is_picture is is_picture


@given(st.binary(max_size=64))
def test_any_bytes_get_an_answer(head):
    """No beginning of a file is too odd."""
    assert sniff(head).found
