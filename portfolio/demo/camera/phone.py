"""What a phone makes of its picture: local tone mapping, stronger colors, sharpened edges with halos."""

from __future__ import annotations

from typing import Final

import cv2
import numpy as np

from portfolio.demo.camera.conditions import Phone
from portfolio.demo.camera.raster import Bytes, Float

_REFERENCE_PX: Final = 4032
_COARSE: Final = 16
_AREA: Final = 0.03
"""Size of what counts as a large area, as a share of the photo's long side."""
_LEAST_GAIN, _MOST_GAIN = 0.6, 1.8


def finished(picture: Bytes, phone: Phone) -> Bytes:
    """The developed picture (height × width × 3, sRGB) as the phone would write it."""
    light, red, blue = cv2.split(cv2.cvtColor(picture, cv2.COLOR_RGB2YCrCb))
    gain = _local_gain(np.asarray(light, np.uint8), phone)
    toned = _sharpened(np.asarray(light * gain, np.float32), phone)
    strength = gain * np.float32(phone.saturation)
    colors = [(np.asarray(color, np.float32) - 128) * strength + 128 for color in (red, blue)]
    layers = [np.clip(np.rint(layer), 0, 255).astype(np.uint8) for layer in (toned, *colors)]
    return np.asarray(cv2.cvtColor(cv2.merge(layers), cv2.COLOR_YCrCb2RGB), np.uint8)


def _local_gain(light: Bytes, phone: Phone) -> Float:
    """Large dark areas are lifted and large bright ones lowered, towards the photo's own middle."""
    height, width = light.shape
    size = max(4, width // _COARSE), max(4, height // _COARSE)
    small = np.asarray(cv2.resize(light, size, interpolation=cv2.INTER_AREA), np.float32) / 255
    area = np.asarray(cv2.GaussianBlur(small, (0, 0), max(1.0, _AREA * max(size))), np.float32) + 0.02
    gain = np.clip((area / np.exp(np.log(area).mean())) ** -phone.local_tone, _LEAST_GAIN, _MOST_GAIN)
    return np.asarray(cv2.resize(gain, (width, height), interpolation=cv2.INTER_LINEAR), np.float32)


def _sharpened(light: Float, phone: Phone) -> Float:
    """Unsharp mask: the overdone edges are the halos of phone pictures."""
    if phone.sharpening <= 0:
        return light
    radius = max(0.5, phone.radius_px * max(light.shape) / _REFERENCE_PX)
    soft = cv2.GaussianBlur(light, (0, 0), radius)
    return np.asarray(cv2.addWeighted(light, 1 + phone.sharpening, soft, -phone.sharpening, 0), np.float32)
