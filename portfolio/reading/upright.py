"""Turn pixels upright by the eight EXIF orientations (CIPA DC-008, tag 0x0112)."""

from __future__ import annotations

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

BACK: Final = {1: 1, 2: 2, 3: 3, 4: 4, 5: 5, 6: 8, 7: 7, 8: 6}
"""Orientation → the one that undoes it."""


def upright(pixels: NDArray[np.uint8], orientation: int) -> NDArray[np.uint8]:
    """``pixels`` (H × W or H × W × 3) as they should be seen; the same array for orientation 1."""
    match orientation:
        case 2:
            turned = cv2.flip(pixels, 1)
        case 3:
            turned = cv2.rotate(pixels, cv2.ROTATE_180)
        case 4:
            turned = cv2.flip(pixels, 0)
        case 5:
            turned = cv2.transpose(pixels)
        case 6:
            turned = cv2.rotate(pixels, cv2.ROTATE_90_CLOCKWISE)
        case 7:
            turned = cv2.rotate(cv2.transpose(pixels), cv2.ROTATE_180)
        case 8:
            turned = cv2.rotate(pixels, cv2.ROTATE_90_COUNTERCLOCKWISE)
        case _:
            return pixels
    return np.asarray(turned, np.uint8)
