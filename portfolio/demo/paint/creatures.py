"""Creatures put together from lumps of clay."""

import math
from dataclasses import dataclass

import cv2
import numpy as np

from portfolio.demo.paint.chance import smooth_2d
from portfolio.demo.paint.clay import BODIES, ClayPlan
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.palette import color
from portfolio.demo.paint.shape import Points
from portfolio.demo.paint.solid import Seen, finished, shade, to_camera


@dataclass(frozen=True)
class Lump:
    """An ellipsoid of clay:
    middle and half axes in millimeters (model axes), a lean in degrees in the x-z plane, a color.
    """

    middle: tuple[float, float, float]
    half: tuple[float, float, float]
    color: Points
    lean: float = 0.0


def creature(plan: ClayPlan, hand: Hand, *, long_px: int) -> Seen:
    """An animal put together from lumps, seen a little from above."""
    rng = hand.rng
    main = color(plan.glaze[0], palette="tempera") if plan.glaze else np.array(BODIES[plan.body])
    other = color(plan.glaze[1], palette="tempera") if len(plan.glaze) > 1 else main * 0.72
    lumps = _LUMPS[plan.form](rng, main, other)
    loose = 0.10 * (1.2 - hand.control)
    lumps = [
        Lump(
            (
                lump.middle[0] + float(rng.normal(0, 12 * loose)),
                lump.middle[1] + float(rng.normal(0, 8 * loose)),
                lump.middle[2],
            ),
            (
                lump.half[0] * float(1 + rng.normal(0, loose)),
                lump.half[1] * float(1 + rng.normal(0, loose)),
                lump.half[2] * float(1 + rng.normal(0, loose)),
            ),
            lump.color,
            lump.lean + float(rng.normal(0, 60 * loose)),
        )
        for lump in lumps
    ]
    return _lumps_seen(
        lumps,
        hand,
        gloss=0.75 if plan.glaze else 0.07,
        long_px=long_px,
        yaw=float(rng.uniform(-38, 38)),
        elevation=float(rng.uniform(16, 32)),
    )


def _lumps_seen(lumps: list[Lump], hand: Hand, *, gloss: float, long_px: int, yaw: float, elevation: float) -> Seen:
    """Each lump is solved exactly per pixel; where two meet they blend as pressed clay does."""
    turn = to_camera(np.eye(3, dtype=np.float32), elevation=elevation, yaw=yaw).T.astype(np.float64)
    placed = [(turn @ np.array(lump.middle), _matrix(lump, turn), lump) for lump in lumps]
    spans = [np.sqrt(np.diag(np.linalg.inv(matrix))) for _, matrix, _ in placed]
    low = np.min([c - s for (c, _, _), s in zip(placed, spans, strict=True)], axis=0)[:2] - 2
    high = np.max([c + s for (c, _, _), s in zip(placed, spans, strict=True)], axis=0)[:2] + 2
    view = _View(low, high, long_px)
    for (middle, matrix, lump), span in zip(placed, spans, strict=True):
        view.press(middle, matrix, span=span, rgb=lump.color)
    return view.lit(hand, gloss)


def _matrix(lump: Lump, turn: Points) -> Points:
    a = math.radians(lump.lean)
    lean = np.array([[math.cos(a), 0, -math.sin(a)], [0, 1, 0], [math.sin(a), 0, math.cos(a)]])
    frame = turn @ lean
    return np.asarray(frame @ np.diag(1 / np.array(lump.half) ** 2) @ frame.T)


class _View:
    """What the camera sees so far: depth toward the eye, normal and color of each pixel; drawn at two thirds."""

    def __init__(self, low: Points, high: Points, long_px: int) -> None:
        self._low, self._high, self._long_px = low, high, long_px
        self._wide, self._tall = (high - low).tolist()
        self._scale = long_px * 0.66 / max(self._wide, self._tall)
        size = (math.ceil(self._tall * self._scale), math.ceil(self._wide * self._scale))
        self._depth = np.full(size, -1e4, np.float32)
        self._normal, self._tint = np.zeros((*size, 3), np.float32), np.zeros((*size, 3), np.float32)

    def press(self, middle: Points, m: Points, *, span: Points, rgb: Points) -> None:
        """Add an ellipsoid ``p' m p = 1`` about ``middle``; ``span`` is its half size along each axis."""
        scale = self._scale
        height, width = self._depth.shape
        left, top = middle[0] - span[0] - self._low[0], self._high[1] - middle[1] - span[1]
        x0, x1 = int(max(0, left * scale)), int(min(width, (left + 2 * span[0]) * scale + 2))
        y0, y1 = int(max(0, top * scale)), int(min(height, (top + 2 * span[1]) * scale + 2))
        px = ((np.arange(x0, x1) + 0.5) / scale + self._low[0] - middle[0])[None]
        py = (self._high[1] - (np.arange(y0, y1) + 0.5) / scale - middle[1])[:, None]
        b = m[0, 2] * px + m[1, 2] * py
        inside = b**2 - m[2, 2] * (m[0, 0] * px**2 + 2 * m[0, 1] * px * py + m[1, 1] * py**2 - 1)
        z = (-b + np.sqrt(np.maximum(inside, 0))) / m[2, 2]
        n = np.stack([m[i, 0] * px + m[i, 1] * py + m[i, 2] * z for i in range(3)], axis=2)
        n /= np.maximum(np.linalg.norm(n, axis=2, keepdims=True), 1e-9)
        depth, area = self._depth[y0:y1, x0:x1], (slice(y0, y1), slice(x0, x1))
        away = np.where(inside > 0, z + middle[2], -1e4)
        share = np.where(inside > 0, np.clip(0.5 + (away - depth) / 7.0, 0, 1), 0).astype(np.float32)
        depth += share * (away.astype(np.float32) - depth)
        self._normal[area] += share[:, :, None] * (n.astype(np.float32) - self._normal[area])
        self._tint[area] += (share > 0.5)[:, :, None] * (rgb.astype(np.float32) - self._tint[area])

    def lit(self, hand: Hand, gloss: float) -> Seen:
        """The finished picture: hollows dimmed, finger marks, glaze lighter on what stands out."""
        size, scale, there = (self._depth.shape[0], self._depth.shape[1]), self._scale, self._depth > -1e3
        filled = np.where(there, self._depth, float(self._depth[there].min()))
        deep = cv2.GaussianBlur(filled, (0, 0), 3.5 * scale) - filled
        floor = np.linspace(0, 1, size[0], dtype=np.float32)[:, None] ** 4 * np.float32(0.35)
        sky = np.clip(1 - np.clip(deep * 0.055, 0, 0.6) - floor, 0.15, 1).astype(np.float32)
        bumps = smooth_2d(hand.rng, size, cell_px=max(4, 3.4 * scale)) * np.float32(0.22)
        bumps += smooth_2d(hand.rng, size, cell_px=max(2, 0.7 * scale)) * np.float32(0.07)
        normal = self._normal.copy()
        normal[:, :, 0] += bumps
        normal[:, :, 1] += np.roll(bumps, 11, axis=0)
        normal /= np.maximum(np.linalg.norm(normal, axis=2, keepdims=True), 1e-6)
        tone = 1 + smooth_2d(hand.rng, size, cell_px=max(4, 5 * scale)) * np.float32(0.06)
        tint = self._tint * (tone * (1 - np.clip(deep * 0.05, -0.16, 0.12)))[:, :, None]
        flat = np.zeros((*size, 3), np.float32)
        shine = np.full(int(there.sum()), gloss, np.float32)
        flat[there] = shade(normal[there], tint[there].astype(np.float32), shine, sky[there])
        return finished(flat, there, long_px=self._long_px, size_mm=(self._wide, self._tall))


def _eyes(x: float, y: float, z: float, r: float) -> list[Lump]:
    dark = np.array([0.08, 0.07, 0.08])
    return [Lump((x, s * y, z), (r, r, r), dark) for s in (-1, 1)]


def _cat(rng: np.random.Generator, main: Points, other: Points) -> list[Lump]:
    legs = [Lump((x, s * 13, 12), (8, 8, 15), main) for x in (-22, 20) for s in (-1, 1)]
    tail = [Lump((-36 - 4 * i, 0, 34 + 5 * i), (5, 5, 6), main) for i in range(5)]
    ears = [Lump((41, s * 12, 66), (5, 3.5, 8), other) for s in (-1, 1)]
    spots = [Lump((float(rng.uniform(-24, 14)), float(rng.uniform(-12, 12)), 48), (5, 5, 4), other) for _ in range(3)]
    return [
        *legs,
        *tail,
        Lump((0, 0, 32), (36, 20, 19), main),
        *spots,
        Lump((38, 0, 50), (17, 17, 16), main),
        *ears,
        Lump((54, 0, 46), (5, 6, 4), other),
        *_eyes(50, 8, 54, 2.6),
    ]


def _dinosaur(_rng: np.random.Generator, main: Points, other: Points) -> list[Lump]:
    legs = [Lump((x, s * 12, 12), (9, 8, 14), main) for x in (-16, 18) for s in (-1, 1)]
    neck = [Lump((30 + 4.5 * i, 0, 42 + 9 * i), (10 - i * 0.6, 9 - i * 0.5, 9), main) for i in range(5)]
    tail = [Lump((-34 - 9 * i, 0, 26 - 4 * i), (11 - 1.6 * i, 9 - 1.3 * i, 8.5 - 1.2 * i), main) for i in range(5)]
    plates = [Lump((-30 + 12 * i, 0, 46 + (6 if 0 < i < 5 else 0)), (5, 2.6, 8), other) for i in range(6)]
    return [
        *legs,
        *tail,
        Lump((0, 0, 32), (36, 18, 20), main),
        *plates,
        *neck,
        Lump((58, 0, 84), (14, 9.5, 9), main),
        *_eyes(62, 8, 88, 2.2),
    ]


def _turtle(rng: np.random.Generator, main: Points, other: Points) -> list[Lump]:
    legs = [Lump((x, s * 24, 8), (10, 8, 8), other) for x in (-20, 20) for s in (-1, 1)]
    angles = [i * math.tau / 6 + float(rng.normal(0, 0.1)) for i in range(6)]
    bumps = [Lump((20 * math.cos(t), 18 * math.sin(t), 31), (7, 7, 4), other) for t in angles] + [
        Lump((0, 0, 38), (8, 8, 4), other)
    ]
    return [
        *legs,
        Lump((-38, 0, 10), (9, 4, 4), other),
        Lump((0, 0, 17), (36, 31, 20), main),
        *bumps,
        Lump((42, 0, 20), (13, 11, 11), other),
        *_eyes(50, 7, 24, 2.2),
    ]


def _snail(_rng: np.random.Generator, main: Points, other: Points) -> list[Lump]:
    foot = [Lump((-34 + 12 * i, 0, 8), (24, 12 - abs(i - 3), 8), main) for i in range(6)]
    coil = [
        Lump((-4 + r * math.cos(t), 0, 36 + r * math.sin(t)), (7.5 - i * 0.06, 9, 7.5 - i * 0.06), other)
        for i in range(52)
        for t, r in ((i * 0.22, 22 - i * 0.41),)
    ]
    horns = [Lump((46 + 2 * i, s * (5 + i), 34 + 4 * i), (2.6, 2.6, 3.4), main) for i in range(3) for s in (-1, 1)]
    return [
        *foot,
        Lump((36, 0, 18), (10, 9, 12), main),
        Lump((42, 0, 27), (10, 9, 9), main),
        *horns,
        *coil,
        *_eyes(48, 6, 28, 1.8),
    ]


_LUMPS = {"cat": _cat, "dinosaur": _dinosaur, "turtle": _turtle, "snail": _snail}
