"""What a document camera shows, for the camera station's tests."""

from __future__ import annotations

import io

import cv2
import numpy as np
from PIL import Image

from portfolio.demo.camera.conditions import Difficulty
from portfolio.demo.camera.mix import sample_shot

WIDE, HIGH = 960, 720


def picture_of(number: int) -> np.ndarray:
    """A work with its card as a document camera shows it (RGB)."""
    shot = sample_shot(500 + number, difficulty=Difficulty.GENTLE, number=number, width_px=1920, height_px=1440)
    return cv2.resize(np.asarray(Image.open(io.BytesIO(shot.jpeg)).convert("RGB")), (WIDE, HIGH), interpolation=3)


def jpeg_of(pixels: np.ndarray) -> bytes:
    """The picture as a camera sends it."""
    out = io.BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=95)
    return out.getvalue()


def gray_of(pixels: np.ndarray) -> bytes:
    """A frame of the live video: brightness, one byte a pixel."""
    return cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY).tobytes()
