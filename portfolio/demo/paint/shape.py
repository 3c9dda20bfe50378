"""Plain geometry in millimeters, y downward: polygons and paths as ``(n, 2)`` arrays."""

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

Points = npt.NDArray[np.float64]
Plane = npt.NDArray[np.float32]
Bytes = npt.NDArray[np.uint8]


def points(*pairs: tuple[float, float]) -> Points:
    """An ``(n, 2)`` array from pairs."""
    return np.array(pairs, dtype=np.float64)


def ellipse(
    x: float, y: float, rx: float, ry: float | None = None, *, turn: float = 0.0, start: float = -90.0
) -> Points:
    """A closed ellipse about (x, y); ``turn`` in degrees."""
    ry = rx if ry is None else ry
    count = int(np.clip(10 + 1.2 * (rx + ry), 12, 72))
    angle = np.radians(start) + np.linspace(0, 2 * math.pi, count, endpoint=False)
    return turned(np.stack([x + rx * np.cos(angle), y + ry * np.sin(angle)], axis=1), turn, about=(x, y))


def box(x0: float, y0: float, x1: float, y1: float) -> Points:
    """A closed rectangle."""
    return points((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def arc(x: float, y: float, rx: float, ry: float, *, start: float, end: float) -> Points:
    """An open piece of an ellipse between two angles in degrees (0 = right, 90 = down)."""
    angle = np.radians(np.linspace(start, end, max(6, int(abs(end - start) / 9))))
    return np.stack([x + rx * np.cos(angle), y + ry * np.sin(angle)], axis=1)


def band(x: float, y: float, outer: float, inner: float, *, flat: float = 1.0) -> Points:
    """A half ring, open downward, as a closed polygon (a stripe of a rainbow)."""
    return np.concatenate(
        [
            arc(x, y, outer, outer * flat, start=180, end=360),
            arc(x, y, inner, inner * flat, start=360, end=180),
        ]
    )


def star(x: float, y: float, radius: float, *, tips: int = 5, inner: float = 0.45, turn: float = 0.0) -> Points:
    """A closed star with ``tips`` points."""
    angle = np.radians(turn - 90) + np.arange(tips * 2) * math.pi / tips
    reach = np.where(np.arange(tips * 2) % 2 == 0, radius, radius * inner)
    return np.stack([x + reach * np.cos(angle), y + reach * np.sin(angle)], axis=1)


def heart(x: float, y: float, size: float, *, turn: float = 0.0) -> Points:
    """A closed heart, ``size`` wide."""
    t = np.linspace(0, 2 * math.pi, 40, endpoint=False)
    hx = 16 * np.sin(t) ** 3
    hy = -(13 * np.cos(t) - 5 * np.cos(2 * t) - 2 * np.cos(3 * t) - np.cos(4 * t))
    return turned(np.stack([x + hx * size / 32, y + hy * size / 32], axis=1), turn, about=(x, y))


def puff(x: float, y: float, rx: float, ry: float, *, bumps: int = 8, depth: float = 0.2) -> Points:
    """A closed cloud or tree crown: an ellipse with round bumps."""
    t = np.linspace(0, 2 * math.pi, bumps * 7, endpoint=False)
    reach = 1 - depth + depth * 1.6 * np.abs(np.sin(t * bumps / 2))
    return np.stack([x + rx * reach * np.cos(t), y + ry * reach * np.sin(t)], axis=1)


def spiral(x: float, y: float, radius: float, *, turns: float = 2.6, inner: float = 0.06) -> Points:
    """An open spiral from the middle outward."""
    t = np.linspace(0, 1, int(turns * 30))
    reach = radius * (inner + (1 - inner) * t)
    return np.stack([x + reach * np.cos(t * turns * 2 * math.pi), y + reach * np.sin(t * turns * 2 * math.pi)], axis=1)


def turned(shape: Points, degrees: float, *, about: tuple[float, float]) -> Points:
    """The shape turned about a point."""
    if degrees == 0:
        return shape
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    center = np.array(about)
    return np.asarray((shape - center) @ np.array([[c, s], [-s, c]]) + center, dtype=np.float64)


def mirrored(shape: Points, x: float) -> Points:
    """The shape mirrored at the upright line through ``x``."""
    return np.stack([2 * x - shape[:, 0], shape[:, 1]], axis=1)


def curve(*pairs: tuple[float, float], closed: bool = False, per_span: int = 7) -> Points:
    """A smooth curve through the given points (Catmull-Rom)."""
    knots = np.array(pairs, dtype=np.float64)
    if closed:
        around = np.concatenate([knots[-1:], knots, knots[:2]])
    else:
        around = np.concatenate([2 * knots[:1] - knots[1:2], knots, 2 * knots[-1:] - knots[-2:-1]])
    t = np.linspace(0, 1, per_span, endpoint=False)[:, None, None]
    a, b, c, d = around[:-3], around[1:-2], around[2:-1], around[3:]
    spans = 0.5 * (2 * b + (c - a) * t + (2 * a - 5 * b + 4 * c - d) * t**2 + (3 * b - a - 3 * c + d) * t**3)
    flat = spans.transpose(1, 0, 2).reshape(-1, 2)
    return flat if closed else np.concatenate([flat, knots[-1:]])


def limb(path: Points, start: float, end: float) -> Points:
    """A closed limb: the open path widened from ``start`` to ``end`` millimeters."""
    way = np.gradient(path, axis=0)
    side = np.stack([-way[:, 1], way[:, 0]], axis=1)
    side /= np.maximum(np.linalg.norm(side, axis=1, keepdims=True), 1e-6)
    half = np.linspace(start, end, len(path))[:, None] / 2
    return np.concatenate([path + side * half, (path - side * half)[::-1]])


def length(path: Points) -> float:
    """The length of an open path."""
    return float(np.linalg.norm(np.diff(path, axis=0), axis=1).sum())


def closed_path(shape: Points) -> Points:
    """The polygon with its first point repeated at the end."""
    return np.concatenate([shape, shape[:1]])


def resampled(path: Points, step_mm: float, *, most: int = 420) -> Points:
    """The open path with points about ``step_mm`` apart."""
    gaps = np.linalg.norm(np.diff(path, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(gaps)])
    count = int(np.clip(along[-1] / step_mm, 3, most)) + 1
    at = np.linspace(0, along[-1], count)
    return np.stack([np.interp(at, along, path[:, 0]), np.interp(at, along, path[:, 1])], axis=1)


def half_plane(shape: Points, point: Points, normal: Points) -> Points:
    """The part of the polygon on the side of ``normal`` (Sutherland and Hodgman 1974); may be empty."""
    side = (shape - point) @ normal
    ahead = np.roll(shape, -1, axis=0)
    side_ahead = np.roll(side, -1)
    kept: list[Points] = []
    for here, there, s, t in zip(shape, ahead, side, side_ahead, strict=True):
        if s >= 0:
            kept.append(here)
        if (s >= 0) != (t >= 0):
            kept.append(here + (there - here) * (s / (s - t)))
    return np.array(kept) if len(kept) >= 3 else np.empty((0, 2))


def bounds(shapes: Sequence[Points]) -> tuple[float, float, float, float]:
    """Left, top, right, bottom of all shapes together."""
    every = np.concatenate(list(shapes))
    left, top = every.min(axis=0)
    right, bottom = every.max(axis=0)
    return float(left), float(top), float(right), float(bottom)
