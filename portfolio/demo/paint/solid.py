"""Things in space: surfaces of points seen by a camera from above, shaded by a light that is fixed in the camera's
frame.

Axes of a model: x right, y away, z up, millimeters. Axes of the camera: x right, y up, z toward the eye.
"""

import math
from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

from portfolio.demo.paint.chance import as_bytes, smooth_2d
from portfolio.demo.paint.shape import Bytes, Plane

Cloud = npt.NDArray[np.float32]  # (..., 3)
LIGHT = np.array([-0.46, 0.62, 0.64], dtype=np.float32) / np.float32(math.sqrt(0.46**2 + 0.62**2 + 0.64**2))
_HALF = (LIGHT + np.array([0, 0, 1], np.float32)) / np.float32(np.linalg.norm(LIGHT + np.array([0, 0, 1], np.float32)))


@dataclass(frozen=True)
class Surface:
    """A grid of points with normals, color, gloss and how open each point is to the sky; leading axes alike."""

    points: Cloud
    normals: Cloud
    color: Cloud
    gloss: Plane
    open_sky: Plane
    two_sided: bool = False


@dataclass(frozen=True)
class Seen:
    """A picture of a solid thing: sRGB bytes, mask, size of the picture in millimeters."""

    picture: Bytes
    alpha: Bytes
    width_mm: float
    height_mm: float


def grid_surface(
    points: Cloud, color: Cloud, gloss: Plane, open_sky: Plane, *, around: bool, two_sided: bool = False
) -> Surface:
    """A surface from a grid ``(rows, columns, 3)``; ``around`` says that the last column meets the first."""
    if around:
        padded = np.concatenate([points[:, -2:], points, points[:, :2]], axis=1)
        along_u, along_v = np.gradient(padded, axis=1)[:, 2:-2], np.gradient(padded, axis=0)[:, 2:-2]
    else:
        along_u, along_v = np.gradient(points, axis=1), np.gradient(points, axis=0)
    normals = np.cross(along_u, along_v).astype(np.float32)
    normals /= np.maximum(np.linalg.norm(normals, axis=2, keepdims=True), 1e-6)
    return Surface(points, normals, color, gloss, open_sky, two_sided)


def finer(coarse: Surface, times: tuple[int, int]) -> Surface:
    """The surface with more points (rows, columns); the last column still meets the first."""

    def grown(values: Plane | Cloud) -> Cloud:
        closed = np.concatenate([values, values[:, :1]], axis=1)
        rows, columns = (values.shape[0] - 1) * times[0] + 1, values.shape[1] * times[1]
        x, y = np.meshgrid(
            np.arange(columns, dtype=np.float32) / times[1], np.arange(rows, dtype=np.float32) / times[0]
        )
        return np.asarray(cv2.remap(closed, x, y, cv2.INTER_LINEAR), dtype=np.float32)

    normals = grown(coarse.normals)
    normals /= np.maximum(np.linalg.norm(normals, axis=2, keepdims=True), 1e-6)
    return Surface(
        grown(coarse.points),
        normals,
        grown(coarse.color),
        grown(coarse.gloss),
        grown(coarse.open_sky),
        coarse.two_sided,
    )


def to_camera(cloud: Cloud, *, elevation: float, yaw: float) -> Cloud:
    """Points or normals of the model in the camera's axes; angles in degrees."""
    e, a = math.radians(elevation), math.radians(yaw)
    turn = np.array([[math.cos(a), -math.sin(a), 0], [math.sin(a), math.cos(a), 0], [0, 0, 1]])
    tilt = np.array([[1, 0, 0], [0, math.sin(e), math.cos(e)], [0, -math.cos(e), math.sin(e)]])
    return np.asarray(cloud @ (tilt @ turn).T.astype(np.float32), dtype=np.float32)


def see(surfaces: list[Surface], *, elevation: float, yaw: float, long_px: int) -> Seen:
    """The surfaces seen by a parallel camera, nearest point in each pixel; drawn at two thirds and enlarged."""
    places = np.concatenate([to_camera(s.points.reshape(-1, 3), elevation=elevation, yaw=yaw) for s in surfaces])
    normals = np.concatenate([to_camera(s.normals.reshape(-1, 3), elevation=elevation, yaw=yaw) for s in surfaces])
    sided = np.concatenate([np.full(s.gloss.size, s.two_sided) for s in surfaces])
    normals = np.where((sided & (normals[:, 2] < 0))[:, None], -normals, normals)
    columns = np.ascontiguousarray(places.T)  # least and most along rows of three is ten times slower
    low, high = columns.min(axis=1), columns.max(axis=1)
    margin = 0.02 * float((high - low)[:2].max())
    wide, tall = float(high[0] - low[0]) + 2 * margin, float(high[1] - low[1]) + 2 * margin
    scale = long_px * 0.66 / max(wide, tall)
    size = (math.ceil(tall * scale), math.ceil(wide * scale))
    x = (columns[0] - low[0] + margin) * np.float32(scale)
    y = (high[1] + margin - columns[1]) * np.float32(scale)
    facing = np.flatnonzero(normals[:, 2] > -0.05)  # the far side of a closed wall is never seen
    near = ((columns[2][facing] - low[2]) * (65535 / max(float(high[2] - low[2]), 1e-6))).astype(np.uint16)
    order = facing[np.argsort(near, kind="stable")]
    front = _front(x[order], y[order], size)
    there = front >= 0
    which = order[front[there].astype(np.int64)]
    color = np.concatenate([s.color.reshape(-1, 3) for s in surfaces])[which]
    gloss = np.concatenate([s.gloss.ravel() for s in surfaces])[which]
    sky = np.concatenate([s.open_sky.ravel() for s in surfaces])[which]
    flat = np.zeros((*size, 3), np.float32)
    smooth = np.zeros((*size, 3), np.float32)
    smooth[there] = normals[which]
    weight = cv2.blur(there.astype(np.float32), (3, 3)) + 1e-6
    smooth = (
        cv2.blur(smooth, (3, 3)) / weight[:, :, None]
    )  # neighbors in the picture come from different rows of the grid
    smooth /= np.maximum(np.linalg.norm(smooth, axis=2, keepdims=True), 1e-6)
    flat[there] = shade(smooth[there], color, gloss, sky)
    return finished(flat, there, long_px=long_px, size_mm=(wide, tall))


def _front(x: Plane, y: Plane, size: tuple[int, int]) -> Plane:
    """The rank of the nearest point in each pixel, -1 where none:
    each point is written to the four pixels around it.
    """
    height, width = size
    left, top = x.astype(np.int32), y.astype(np.int32)
    rank = np.arange(len(x), dtype=np.float32)
    best = np.full(size, -1, np.float32)
    for dy in (0, 1):
        for dx in (0, 1):
            one = np.full(size, -1, np.float32)
            one[np.clip(top + dy, 0, height - 1), np.clip(left + dx, 0, width - 1)] = (
                rank  # later writes win: the nearest
            )
            np.maximum(best, one, out=best)
    closed = cv2.morphologyEx(best, cv2.MORPH_CLOSE, np.ones((3, 3), np.uint8))
    return np.where(best < 0, closed, best).astype(np.float32)


def shade(normals: Cloud, color: Cloud, gloss: Plane, open_sky: Plane) -> Cloud:
    """Wrapped diffuse light, sky light dimmed in hollows, gloss of two sharpnesses; sRGB 0-1 per point ``(n, 3)``."""
    lit = normals @ LIGHT
    diffuse = np.clip((lit + 0.28) / 1.28, 0, 1) * (0.35 + 0.65 * open_sky)
    sky = (0.5 + 0.5 * normals[:, 1]) * open_sky
    total = (0.58 * diffuse + 0.36 * sky + 0.20 * (0.4 + 0.6 * open_sky))[:, None] * color
    shine = np.clip(normals @ _HALF, 0, 1)
    glint = gloss * open_sky * (0.75 * shine**90 + 0.13 * shine**14)
    return np.asarray(np.clip(total + glint[:, None], 0, 1) ** 0.9, dtype=np.float32)


def finished(flat: Cloud, there: npt.NDArray[np.bool_], *, long_px: int, size_mm: tuple[float, float]) -> Seen:
    """Enlarge a shaded picture to ``long_px`` and give it a mask;
    color is carried past the edge so that it does not fringe.
    """
    mask = there.astype(np.float32)
    weight = cv2.GaussianBlur(mask, (0, 0), 4) + 1e-4
    spread = cv2.GaussianBlur(flat * mask[:, :, None], (0, 0), 4) / weight[:, :, None]
    flat = np.where(there[:, :, None], flat, np.clip(spread, 0, 1)).astype(np.float32)
    factor = long_px / max(flat.shape[:2])
    target = (max(2, round(flat.shape[1] * factor)), max(2, round(flat.shape[0] * factor)))
    target = (long_px, target[1]) if target[0] >= target[1] else (target[0], long_px)
    picture = cv2.resize(flat, target, interpolation=cv2.INTER_CUBIC)
    alpha = cv2.resize(cv2.GaussianBlur(mask, (0, 0), 0.8), target, interpolation=cv2.INTER_CUBIC)
    return Seen(
        as_bytes(np.asarray(picture, dtype=np.float32)),
        as_bytes(np.clip((np.asarray(alpha, np.float32) - 0.3) * 2.5, 0, 1)),
        *size_mm,
    )


def clay_grain(rng: np.random.Generator, size: tuple[int, int], *, rough: float) -> Plane:
    """Small unevenness of a clay surface, about -1 to 1."""
    return smooth_2d(rng, size, cell_px=6) * np.float32(0.5 * rough) + smooth_2d(rng, size, cell_px=26) * np.float32(
        0.5
    )
