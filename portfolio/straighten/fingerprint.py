"""A 64-bit perceptual hash. It tells "the same work again" from "another work", but only on rectified crops: whole
photos of one work on two tables are as far apart as photos of two works (measured).
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

_SIDE_PX = 32
_WAVES = 8


def fingerprint(pixels: NDArray[np.uint8]) -> int:
    """The sign of the 64 lowest cosine terms against their median, of the picture shrunk to 32 × 32 gray."""
    gray = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    small = cv2.resize(gray, (_SIDE_PX, _SIDE_PX), interpolation=cv2.INTER_AREA).astype(np.float32)
    low = cv2.dct(small)[:_WAVES, :_WAVES].flatten()
    bits = low > np.median(low[1:])
    return int.from_bytes(np.packbits(bits).tobytes(), "big")


def distance(one: int, other: int) -> int:
    """Number of differing bits: up to 10 is the same work again, 19 and more another work (measured)."""
    return (one ^ other).bit_count()
