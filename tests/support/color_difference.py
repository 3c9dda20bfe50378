"""CIEDE2000, written from Sharma, Wu and Dalal 2005; checked against their 34 pairs in ``tests/straighten``."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def lab_of(pixels: NDArray[np.uint8]) -> Array:
    """8-bit sRGB colors (N × 3) as CIE L*a*b*, D65."""
    values = np.asarray(pixels, np.float32).reshape(1, -1, 3) / np.float32(255)
    return np.asarray(cv2.cvtColor(values, cv2.COLOR_RGB2LAB), np.float64).reshape(-1, 3)


def ciede2000(one: Array, other: Array) -> Array:
    """Color difference of L*a*b* colors (N × 3 each)."""
    light1, a1, b1 = np.asarray(one, np.float64).T
    light2, a2, b2 = np.asarray(other, np.float64).T
    mean = (np.hypot(a1, b1) + np.hypot(a2, b2)) / 2
    stretch = 1.5 - 0.5 * np.sqrt(mean**7 / (mean**7 + 25.0**7))
    a1, a2 = a1 * stretch, a2 * stretch
    chroma1, chroma2 = np.hypot(a1, b1), np.hypot(a2, b2)
    hue1, hue2 = np.degrees(np.arctan2(b1, a1)) % 360, np.degrees(np.arctan2(b2, a2)) % 360
    gray = chroma1 * chroma2 == 0
    turn = np.where(gray, 0.0, (hue2 - hue1 + 180) % 360 - 180)
    turn = np.where(~gray & (hue2 - hue1 == 180), 180.0, turn)  # the formula keeps +180 as it is
    hue_gap = 2 * np.sqrt(chroma1 * chroma2) * np.sin(np.radians(turn / 2))
    light, chroma, total = (light1 + light2) / 2, (chroma1 + chroma2) / 2, hue1 + hue2
    near = np.abs(hue1 - hue2) <= 180
    hue = np.where(gray, total, np.where(near, total / 2, np.where(total < 360, total / 2 + 180, total / 2 - 180)))

    def wave(times: int, shift: int) -> Array:
        return np.asarray(np.cos(np.radians(times * hue + shift)), np.float64)

    shape = 1 - 0.17 * wave(1, -30) + 0.24 * wave(2, 0) + 0.32 * wave(3, 6) - 0.20 * wave(4, -63)
    by_light = (light2 - light1) / (1 + 0.015 * (light - 50) ** 2 / np.sqrt(20 + (light - 50) ** 2))
    by_chroma = (chroma2 - chroma1) / (1 + 0.045 * chroma)
    by_hue = hue_gap / (1 + 0.015 * chroma * shape)
    rotation = -2 * np.sqrt(chroma**7 / (chroma**7 + 25.0**7))
    rotation = rotation * np.sin(np.radians(60 * np.exp(-(((hue - 275) / 25) ** 2))))
    return np.asarray(np.sqrt(by_light**2 + by_chroma**2 + by_hue**2 + rotation * by_chroma * by_hue), np.float64)
