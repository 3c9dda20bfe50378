"""The three pictures made of every work: 2016, 672 and 336 px on the long side, JPEG, written fresh.

2016 is half of 4032 and a quarter of 8064, the sides of common phone photos: the decoder then shrinks exactly
(asking for 2048 decodes the whole photo and costs three times as much); 2016 / 672 / 336 stand in whole ratios.
Fresh means: from bare pixels, so that no EXIF, place, profile or comment of the original can follow.
"""

from __future__ import annotations

from io import BytesIO
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image

from portfolio.model.photo import Derivative

Pixels = NDArray[np.uint8]

RUNGS: Final = (2016, 672, 336)
"""Long sides in pixels, largest first. A picture is never enlarged: it may be smaller than its rung."""
LEAST_PX: Final = 1920
"""Decode at the smallest exact scale that leaves at least this: close enough to the top rung not to matter."""
QUALITY: Final = 85


def ladder(pixels: Pixels) -> tuple[Derivative, ...]:
    """One picture for each rung, each made of the one above it. ``pixels``: H × W × 3, sRGB."""
    made, step = [], pixels
    for rung in RUNGS:
        step = fit(step, rung)
        made.append(Derivative(rung, step.shape[1], step.shape[0], jpeg_of(step)))
    return tuple(made)


def fit(pixels: Pixels, long_px: int) -> Pixels:
    """Shrink by area so that the long side is ``long_px``; a smaller picture stays as it is."""
    height, width = pixels.shape[:2]
    share = long_px / max(height, width)
    if share >= 1:
        return pixels
    size = max(1, round(width * share)), max(1, round(height * share))
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8)


def jpeg_of(pixels: Pixels) -> bytes:
    """A JPEG of bare pixels: no metadata to take along, sRGB understood."""
    out = BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
