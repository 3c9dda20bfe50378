"""A stand-in for a photo whose original is still on its way: a small picture of it, and how the original begins.

The small picture (upright, sRGB, made by the browser) gives the pixels; the beginning of the original says what the
file itself says: size, time, camera. Opened, it has the original's own size in pixels, so that everything found in it
lies where it lies in the original. It is one file: a mark, the length of the beginning, the beginning, the picture.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from portfolio.reading.jpeg import frame_of

BEGINNING_BYTES: Final = 256 << 10
"""So much of an original is sent ahead: a JPEG says there what it is, and when it was taken."""
LOOK_BYTES: Final = 2_000_000
"""A small picture of 1600 pixels weighs a quarter of that."""
LOOK_PX: Final = 4096
_MARK: Final = b"\x89stand-in 1\r\n"
_LENGTH_BYTES: Final = 4
_RATIO_OFF: Final = 0.02
"""A long side of 1600 pixels rounds a ratio by less than a thousandth."""


@dataclass(frozen=True, slots=True)
class StandIn:
    """The two parts of a stand-in, as bytes."""

    beginning: bytes
    look: bytes

    @property
    def as_bytes(self) -> bytes:
        """The file."""
        return _MARK + len(self.beginning).to_bytes(_LENGTH_BYTES, "big") + self.beginning + self.look


def stand_in_of(beginning: bytes, look: bytes) -> StandIn | None:
    """The stand-in for a JPEG, or ``None`` where these parts cannot stand for one: then the original is waited for."""
    if len(beginning) > BEGINNING_BYTES or len(look) > LOOK_BYTES:
        return None
    original, small = _size(beginning), _size(look)
    if original is None or small is None or max(small) > LOOK_PX or max(small) > max(original):
        return None
    return StandIn(beginning, look) if fits(original, small) or fits(original[::-1], small) else None


def _size(jpeg: bytes) -> tuple[int, int] | None:
    frame = frame_of(jpeg) if jpeg.startswith(b"\xff\xd8\xff") else None
    return (frame.width_px, frame.height_px) if frame is not None and frame.width_px and frame.height_px else None


def fits(original: tuple[int, int], small: tuple[int, int]) -> bool:
    """Whether a small picture has the shape of the original, both as width and height of the upright picture."""
    return abs((small[0] / small[1]) / (original[0] / original[1]) - 1) < _RATIO_OFF


def stand_in_from(data: bytes) -> StandIn | None:
    """The stand-in that a file holds; ``None`` for every other file."""
    if not data.startswith(_MARK):
        return None
    at = len(_MARK) + _LENGTH_BYTES
    end = at + int.from_bytes(data[len(_MARK) : at], "big")
    return StandIn(data[at:end], data[end:])
