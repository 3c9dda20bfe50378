"""Cards in one frame of live video: brightness only, as the page at the camera sends it a few times a second.

The frame comes as bare brightness values, not as a picture file: nothing has to be decoded, so nothing can be hostile.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from portfolio.model.cards import CardSeen
from portfolio.reading.cards import find_cards

FRAME_MAX_PX: Final = 1024
"""Longest side of a frame; a card that this does not show is too small to trust."""


@dataclass(frozen=True, slots=True)
class Frame:
    """H × W brightness of one frame; it is looked at as it is, never shrunk."""

    pixels: NDArray[np.uint8]

    def shrink_for(self, least_px: int) -> int:  # noqa: ARG002  a frame is small already
        """Never shrunk."""
        return 1

    def gray(self, shrink: int = 1) -> NDArray[np.uint8]:  # noqa: ARG002  as above
        """The brightness itself."""
        return self.pixels


def frame_of(data: bytes, *, width_px: int) -> Frame | None:
    """The frame in these bytes, one a pixel, row by row; ``None`` when they are no frame of this width."""
    height_px, rest = divmod(len(data), width_px)
    if rest or not 0 < height_px <= FRAME_MAX_PX or width_px > FRAME_MAX_PX:
        return None
    return Frame(np.frombuffer(data, np.uint8).reshape(height_px, width_px))


def read_frame(frame: Frame) -> tuple[CardSeen, ...]:
    """All cards in the frame, left to right; corners are its pixels. The next frame comes before a shake is undone."""
    return find_cards(frame, undo_shake=False)
