"""Chance that repeats: random generators and smooth noise from words and numbers.

Python's own ``hash`` differs from process to process, so keys go through CRC-32.
"""

import zlib

import cv2
import numpy as np

from portfolio.demo.paint.shape import Bytes, Plane, Points


def chance(*keys: object) -> np.random.Generator:
    """A generator that is the same for the same keys, in every process."""
    text = "|".join(str(key) for key in keys)
    return np.random.default_rng([zlib.crc32(text.encode()), zlib.crc32(text[::-1].encode())])


def smooth_1d(rng: np.random.Generator, count: int, *, cells: float) -> Points:
    """``count`` values of smooth noise, about N(0, .7), that changes over ``count / cells`` values."""
    knots = rng.normal(size=(1, max(4, int(cells) + 3))).astype(np.float32)
    wave = cv2.resize(knots, (max(2, count), 1), interpolation=cv2.INTER_CUBIC)
    return np.asarray(wave[0, :count], dtype=np.float64)


def smooth_2d(rng: np.random.Generator, size: tuple[int, int], *, cell_px: float) -> Plane:
    """Smooth noise of ``size`` (height, width), mean 0, about -1 to 1, that changes over ``cell_px``."""
    height, width = size
    knots = rng.random((int(height / cell_px) + 4, int(width / cell_px) + 4), dtype=np.float32) * 2 - 1
    grown = cv2.resize(knots, None, fx=cell_px, fy=cell_px, interpolation=cv2.INTER_CUBIC) if cell_px >= 1 else knots
    if grown.shape[0] < height or grown.shape[1] < width:
        grown = cv2.resize(grown, (max(width, grown.shape[1]), max(height, grown.shape[0])))
    return np.ascontiguousarray(grown[:height, :width], dtype=np.float32)


def as_bytes(plane: Plane) -> Bytes:
    """A plane of 0-1 as bytes."""
    return np.asarray(cv2.convertScaleAbs(np.maximum(plane, 0), alpha=255), dtype=np.uint8)
