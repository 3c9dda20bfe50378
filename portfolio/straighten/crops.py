"""Cut the work out: a sheet flat and square, a free shape flat with its surround, a solid thing as seen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.model.photo import Crop
from portfolio.straighten.ladder import LEAST_PX, RUNGS
from portfolio.straighten.plane import shrunk
from portfolio.straighten.pose import Array, Pose, carried
from portfolio.straighten.source import Pixels, Source
from portfolio.straighten.srgb import to_srgb

SURROUND: Final = 0.04
"""Table left round a free shape, as a share of its longer side."""
SOLID_SURROUND: Final = 0.08
_FINE_ENOUGH: Final = 0.8
"""The screen-size pixels serve as long as they give this share of the top rung; else the photo is decoded whole."""


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """The work cut out. ``to_photo``: homography from its pixels to the full photo's; ``pixels`` sRGB."""

    pixels: Pixels
    to_photo: Array


def frame_of(crop: Crop, pose: Pose | None) -> tuple[Array, tuple[float, float]]:
    """Four corners in the photo (px, from the top left of the upright work, clockwise) and its width and height.

    Width and height are in millimeters with a pose, else in pixels: only their ratio matters.
    """
    outline = np.array(crop.outline_px, np.float64)
    if crop.shape == "solid" or (crop.shape == "free" and pose is None):
        return _box(outline, turn_of(pose), SOLID_SURROUND if crop.shape == "solid" else SURROUND)
    if crop.shape == "free" and pose is not None:
        flat = carried(outline, np.linalg.inv(pose.to_px))
        corners, size = _box(flat, 0, SURROUND)
        return carried(corners, pose.to_px), size
    corners = outline if pose is None else carried(outline, np.linalg.inv(pose.to_px))
    corners = from_top_left(corners)
    sides = np.linalg.norm(np.roll(corners, -1, axis=0) - corners, axis=1)
    size = float(sides[[0, 2]].mean()), float(sides[[1, 3]].mean())
    return (corners if pose is None else carried(corners, pose.to_px)), size


def from_top_left(corners: Array) -> Array:
    """Four corners clockwise, beginning so that the first side runs to the right as nearly as it can."""
    x, y = corners[:, 0], corners[:, 1]
    if float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)) < 0:
        corners = corners[::-1]
    along = (np.roll(corners, -1, axis=0) - corners)[:, 0]
    return np.roll(corners, -int(np.argmax(along)), axis=0)


def turn_of(pose: Pose | None) -> int:
    """Quarter turns, clockwise, that bring the card's "up" upwards in the photo."""
    if pose is None:
        return 0
    ends = carried(np.array([[70.0, 30.0], [71.0, 30.0]]), pose.to_px)
    direction = ends[1] - ends[0]
    return round(-float(np.degrees(np.arctan2(direction[1], direction[0]))) / 90) % 4


def _box(points: Array, quarter_turns: int, surround: float) -> tuple[Array, tuple[float, float]]:
    """The upright box round points with its surround; its corners begin where the turned box has its top left."""
    low, high = points.min(axis=0), points.max(axis=0)
    margin = surround * float((high - low).max())
    (left, top), (right, bottom) = low - margin, high + margin
    corners = np.array([[left, top], [right, top], [right, bottom], [left, bottom]])
    width, height = float(right - left), float(bottom - top)
    return np.roll(corners, quarter_turns, axis=0), (height, width) if quarter_turns % 2 else (width, height)


def cut_out(source: Source, screen: Pixels, corners_px: Array, *, ratio: float, quarter_turns: int = 0) -> Cut:
    """Cut a quadrilateral out and square it up. ``screen``: the photo at screen size, sRGB. ``ratio``: width/height.

    The photo is decoded whole only when the screen-size pixels would be too coarse for the top rung.
    """
    corners_px = np.roll(corners_px, quarter_turns, axis=0)
    if quarter_turns % 2:
        ratio = 1 / ratio
    native_px = _native_long_px(corners_px)
    shrink = source.shrink_for(LEAST_PX)
    fine = shrink > 1 and native_px / shrink < _FINE_ENOUGH * RUNGS[0]
    if fine:
        shrink = max(1, shrink // 2)
        while shrink > 1 and native_px / shrink < _FINE_ENOUGH * RUNGS[0]:
            shrink //= 2
    long_px = int(np.clip(native_px / shrink, 16, RUNGS[0]))
    width, height = (
        (long_px, max(16, round(long_px / ratio))) if ratio >= 1 else (max(16, round(long_px * ratio)), long_px)
    )
    target = np.array([[0, 0], [width, 0], [width, height], [0, height]], np.float64) - 0.5
    to_photo = np.asarray(
        cv2.getPerspectiveTransform(target.astype(np.float32), corners_px.astype(np.float32)), np.float64
    )
    pixels = source.rgb(shrink) if fine else screen
    flat = cv2.warpPerspective(
        pixels,
        shrunk(shrink) @ to_photo,
        (width, height),
        flags=cv2.INTER_CUBIC | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_REPLICATE,
    )
    done = np.asarray(flat, np.uint8)
    return Cut(to_srgb(done, icc=source.icc, adobe_rgb=source.adobe_rgb) if fine else done, to_photo)


def _native_long_px(corners_px: Array) -> float:
    sides = np.linalg.norm(np.roll(corners_px, -1, axis=0) - corners_px, axis=1)
    return float(max(sides[[0, 2]].max(), sides[[1, 3]].max()))


def places_of(cut: Cut, pose: Pose, step: int) -> NDArray[np.float64]:
    """Millimeters on the table of every ``step``-th pixel of the cut, … × 2."""
    height, width = cut.pixels.shape[:2]
    y, x = np.mgrid[0:height:step, 0:width:step].astype(np.float64)
    points = np.column_stack([x.ravel(), y.ravel()])
    return carried(points, np.linalg.inv(pose.to_px) @ cut.to_photo).reshape(*x.shape, 2)
