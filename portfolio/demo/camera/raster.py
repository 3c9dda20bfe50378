"""Pictures in linear light: decoding, and warping a texture into the photo strip by strip.

Maps from photo to texture are smooth, so they are worked out exactly on a grid of nodes and interpolated between: with
nodes every 8 pixels the error stays below a hundredth of a pixel, and a 12-megapixel map never stands in memory whole.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple, TypeVar

import cv2
import numpy as np
from numpy.typing import NDArray

Float = NDArray[np.float32]
Bytes = NDArray[np.uint8]
Texture = TypeVar("Texture", Float, Bytes)
STRIDE: Final = 8
_STRIP: Final = 16 * STRIDE


def _decoded() -> Float:
    code = np.arange(256) / 255.0
    return np.where(code <= 0.04045, code / 12.92, np.power((code + 0.055) / 1.055, 2.4)).astype(np.float32)


LINEAR: Final = _decoded()
"""8-bit sRGB to linear light (IEC 61966-2-1)."""


def linear_of(picture: Bytes) -> Float:
    """8-bit sRGB picture (height × width × 3) as linear light."""
    return np.asarray(cv2.LUT(picture, LINEAR), dtype=np.float32)


class Box(NamedTuple):
    """A rectangle of the photo in whole pixels."""

    left: int
    top: int
    width: int
    height: int


def nodes_of(box: Box) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Pixel coordinates of the nodes over a box, one node beyond it on every side."""
    steps_x, steps_y = -(-box.width // STRIDE) + 2, -(-box.height // STRIDE) + 2
    start = STRIDE / 2 - 0.5 - STRIDE
    x, y = np.meshgrid(
        box.left + start + STRIDE * np.arange(steps_x, dtype=np.float64),
        box.top + start + STRIDE * np.arange(steps_y, dtype=np.float64),
    )
    return x, y


def strips(box: Box, *layers: NDArray[np.floating]) -> Iterator[tuple[slice, tuple[Float, ...]]]:
    """Node values (see ``nodes_of``) as full-size rows: slices of the box's rows, with the interpolated layers."""
    coarse = [np.ascontiguousarray(layer, dtype=np.float32) for layer in layers]
    for top in range(0, box.height, _STRIP):
        bottom = min(top + _STRIP, box.height)
        first, last = top // STRIDE, -(-bottom // STRIDE) + 2
        fine = tuple(_enlarged(layer[first:last], bottom - top, box.width) for layer in coarse)
        yield slice(top, bottom), fine


def _enlarged(nodes: Float, height: int, width: int) -> Float:
    size = (nodes.shape[1] * STRIDE, nodes.shape[0] * STRIDE)
    big = cv2.resize(nodes, size, interpolation=cv2.INTER_LINEAR)
    return np.asarray(big[STRIDE : STRIDE + height, STRIDE : STRIDE + width], dtype=np.float32)


def sampled(texture: Texture, x: Float, y: Float, *, outside: int = cv2.BORDER_CONSTANT) -> Texture:
    """A texture read at (x, y), between its pixels."""
    seen = cv2.remap(texture, x, y, cv2.INTER_LINEAR, borderMode=outside, borderValue=0)
    return np.asarray(seen, dtype=texture.dtype)
