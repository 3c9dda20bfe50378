"""A camera's picture gets its time before it becomes an original.

A browser's picture of a video frame says nothing about when it was taken; without a time a photo has no order and no
lesson. So an EXIF block with the school's wall time is put in front of it. Not a byte of the picture itself changes,
and a picture that brings a description of its own is left alone.
"""

from __future__ import annotations

from datetime import datetime
from typing import Final

from PIL import Image

MAKER: Final = "Portfolio"
MODEL: Final = "Camera station"

_START: Final = b"\xff\xd8"
_APP0, _APP1 = 0xE0, 0xE1
_MAKE, _MODEL, _EXIF_PART = 0x010F, 0x0110, 0x8769
_ORIGINAL, _ORIGINAL_PART, _ORIGINAL_OFFSET = 0x9003, 0x9291, 0x9011


def stamped(jpeg: bytes, taken: datetime) -> bytes:
    """The JPEG with the time it was taken (timezone-aware, in the school's wall time, to the millisecond).

    Anything that is no JPEG, or has an EXIF block already, comes back as it is.
    """
    if not jpeg.startswith(_START):
        return jpeg
    place, described = _after_app0(jpeg)
    if described:
        return jpeg
    block = _block(taken)
    segment = bytes((0xFF, _APP1)) + (len(block) + 2).to_bytes(2, "big") + block
    return jpeg[:place] + segment + jpeg[place:]


def _after_app0(jpeg: bytes) -> tuple[int, bool]:
    """Where the block belongs (behind a leading JFIF header), and whether there is one already."""
    place, header_end = len(_START), len(_START)
    while jpeg[place : place + 1] == b"\xff" and len(jpeg) >= place + 4 and _APP0 <= jpeg[place + 1] <= 0xEF:
        if jpeg[place + 1] == _APP1 and jpeg[place + 4 : place + 8] == b"Exif":
            return place, True
        first = place == len(_START)
        place += 2 + int.from_bytes(jpeg[place + 2 : place + 4], "big")
        if first and jpeg[len(_START) + 1] == _APP0:
            header_end = place
    return header_end, False


def _block(taken: datetime) -> bytes:
    exif = Image.Exif()
    exif[_MAKE], exif[_MODEL] = MAKER, MODEL
    inner = exif.get_ifd(_EXIF_PART)
    inner[_ORIGINAL] = f"{taken:%Y:%m:%d %H:%M:%S}"
    inner[_ORIGINAL_PART] = f"{taken.microsecond // 1000:03d}"
    offset = f"{taken:%z}"
    if offset:
        inner[_ORIGINAL_OFFSET] = f"{offset[:3]}:{offset[3:5]}"
    return exif.tobytes()
