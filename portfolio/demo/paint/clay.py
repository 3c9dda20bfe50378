"""Pinch and coil pots, and creatures put together from lumps of clay."""

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np

from portfolio.demo.paint.chance import smooth_1d, smooth_2d
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.palette import color
from portfolio.demo.paint.shape import Plane, Points
from portfolio.demo.paint.solid import Cloud, Seen, finer, finished, grid_surface, see, shade, to_camera

BODIES = {"bisque": (0.90, 0.86, 0.79), "terracotta": (0.70, 0.38, 0.25), "red clay": (0.55, 0.29, 0.20)}
_AROUND, _ALONG, _LEVELS = 700, 400, 160


@dataclass(frozen=True)
class ClayPlan:
    """What a clay work is: "pinch pot", "coil pot" or a creature; its body and, if glazed, its glaze colors."""

    form: str
    body: str
    glaze: tuple[str, ...]


def clay_plan(hand: Hand) -> ClayPlan:
    """What a child of this age makes of clay."""
    rng, child = hand.rng, hand.child
    pots = ("pinch pot", "pinch pot", "coil pot") if hand.age > 7.4 else ("pinch pot",)
    beasts = ("cat", "dinosaur", "turtle", "snail") if hand.age > 6.2 else ("turtle", "snail")
    pool = pots if rng.random() < 0.55 else beasts
    form = pool[int(rng.integers(len(pool)))]
    body = str(rng.choice(np.array(list(BODIES))))
    glazed = rng.random() < 0.62
    glaze = tuple(str(name) for name in rng.permutation(np.array([*child.favorites, "teal"]))[: int(rng.integers(1, 3))]) if glazed else ()
    return ClayPlan(form, body, glaze)


def pot(plan: ClayPlan, hand: Hand, *, long_px: int) -> Seen:
    """A pinch or coil pot seen from above at an angle."""
    rng = hand.rng
    loose = 1.25 - 0.75 * hand.control
    theta = np.linspace(0, math.tau, _AROUND, endpoint=False, dtype=np.float32)[None]
    reach, rise, outside = _profile(plan, hand)
    level = np.clip(rise / rise.max(), 0, 1)
    rim = 1 + _ring(rng, 1, 5, 0.065 * loose, 1, theta)
    r = reach[:, None] * (1 + _shared(_ring(rng, 2, 4, 0.05 * loose, _LEVELS, theta), level))
    z = rise[:, None] * (1 + (rim - 1) * level[:, None] ** 1.5)
    bumps = _shared(_ring(rng, 4, 11, 1.0 * loose, _LEVELS, theta), level)
    if plan.form == "coil pot":
        coils = int(rng.integers(6, 10))
        wave = np.abs(np.sin(level[:, None] * math.pi * coils + _ring(rng, 1, 3, 0.4, 1, theta)))
        bumps = bumps * 0.4 + (wave**0.7 * 3.4 - 2.2) * np.where(outside, 1.0, -0.5)[:, None]
    r = r + bumps * np.clip(reach / 14, 0, 1)[:, None]
    points = np.stack([r * np.cos(theta), r * np.sin(theta), z], axis=2).astype(np.float32)
    depth = 1 - level
    sky = np.where(outside, 1 - 0.42 * depth**3, 1 - 0.72 * np.clip(depth * 1.15, 0, 1) ** 0.8).astype(np.float32)
    tint, gloss = _skin(plan, hand, rise, outside, theta)
    coarse = grid_surface(points, tint, gloss, np.repeat(sky[:, None], _AROUND, axis=1), around=True)
    surface = finer(replace(coarse, normals=_nudged(coarse.normals, clay_bumps(rng, (_ALONG, _AROUND), 0.16))), (2, 2))
    return see([surface], elevation=float(rng.uniform(26, 42)), yaw=float(rng.uniform(0, 360)), long_px=long_px)


def _profile(plan: ClayPlan, hand: Hand) -> tuple[Plane, Plane, "np.ndarray[tuple[int, ...], np.dtype[np.bool_]]"]:
    """Radius and height along the wall: up outside, over the rim, down inside."""
    rng = hand.rng
    wide, high = float(rng.uniform(38, 56)), float(rng.uniform(38, 62)) * (1.35 if plan.form == "coil pot" else 1)
    wall = float(rng.uniform(5, 8)) * (1.2 - 0.4 * hand.control)
    flare, belly = float(rng.uniform(-0.08, 0.22)), float(rng.uniform(0.05, 0.32))
    up, over = int(_ALONG * 0.48), int(_ALONG * 0.08)
    down = _ALONG - up - over
    t = np.linspace(0, 1, up, dtype=np.float32)
    outer = wide * (0.62 + 0.38 * np.minimum(t * 3.2, 1) ** 0.6 + belly * np.sin(t * math.pi) * 0.6 + flare * t)
    turn = np.linspace(0, math.pi, over + 2, dtype=np.float32)[1:-1]
    lip = outer[-1] - wall / 2 + wall / 2 * np.cos(turn)
    s = np.linspace(0, 1, down, dtype=np.float32)
    floor = 0.13
    inner_at = np.interp(1 - np.minimum(s / 0.75, 1) * (1 - floor), t, outer) - wall
    inner = np.where(s < 0.75, inner_at, inner_at * np.clip((1 - s) / 0.25, 0, 1) ** 0.7)
    inner_z = high * np.where(s < 0.75, 1 - s / 0.75 * (1 - floor), floor * (1 - 0.25 * np.clip((s - 0.75) / 0.25, 0, 1) ** 0.5))
    reach = np.concatenate([outer, lip, inner]).astype(np.float32)
    rise = np.concatenate([t * high, high + wall / 2 * np.sin(turn), inner_z]).astype(np.float32)
    outside = np.arange(_ALONG) < up + over // 2
    return reach, rise, outside


def _ring(rng: np.random.Generator, low: int, high: int, size: float, rows: int, theta: Plane) -> Plane:
    """Noise around the pot that ends where it began; changes slowly along the wall."""
    total = np.zeros((rows, theta.shape[1]), np.float32)
    for wave in range(low, high + 1):
        amount = np.full(1, rng.normal()) if rows == 1 else smooth_1d(rng, rows, cells=2.6)
        turn = np.full(1, rng.uniform(0, math.tau)) if rows == 1 else rng.uniform(0, math.tau) + smooth_1d(rng, rows, cells=2) * 0.6
        total += (amount[:, None] * np.cos(wave * theta + turn[:, None])).astype(np.float32)
    return total * np.float32(size / math.sqrt(high - low + 1))


def _shared(noise: Plane, level: Plane) -> Plane:
    """Noise by height, for every point of the wall: dents go through, so that both faces share them."""
    at = level * (_LEVELS - 1)
    low = np.minimum(at.astype(int), _LEVELS - 2)
    part = (at - low)[:, None]
    return np.asarray(noise[low] * (1 - part) + noise[low + 1] * part, dtype=np.float32)


def _skin(plan: ClayPlan, hand: Hand, rise: Plane, outside: "np.ndarray[tuple[int, ...], np.dtype[np.bool_]]", theta: Plane) -> tuple[Cloud, Plane]:
    """Color and gloss: bare clay, glaze that runs and stops above the foot, a painted or scratched zigzag."""
    rng = hand.rng
    size = (_ALONG, _AROUND)
    tone = 1 + clay_bumps(rng, size, 0.05)
    tint = np.stack([tone * np.float32(c) for c in BODIES[plan.body]], axis=2).astype(np.float32)
    gloss = np.full(size, 0.06, np.float32)
    level = rise[:, None] / rise.max()
    for index, name in enumerate(plan.glaze):
        edge = (0.14 if index == 0 else 0.55) + _ring(rng, 1, 9, 0.035, 1, theta)
        covered = np.clip((level - edge) * 40, 0, 1)
        covered = np.where(outside[:, None] | (index == 0), covered if index else np.where(outside[:, None], covered, 1), 0)
        glaze = color(name, palette="pan" if plan.body == "bisque" else "tempera")
        pool = 1 - 0.25 * np.clip(1 - np.abs(level - edge) * 9, 0, 1) + clay_bumps(rng, size, 0.06)
        for channel in range(3):
            tint[:, :, channel] += (pool * np.float32(glaze[channel]) * (0.85 + 0.15 * BODIES[plan.body][channel]) - tint[:, :, channel]) * covered * np.float32(0.92)
        gloss = np.maximum(gloss, covered.astype(np.float32) * np.float32(0.8))
    if rng.random() < 0.5 and hand.age > 6.3:
        teeth = int(rng.integers(7, 15))
        zig = 0.55 + 0.09 * (2 / math.pi) * np.arcsin(np.sin(theta * teeth)) + _ring(rng, 1, 6, 0.02, 1, theta)
        line = np.clip(1.5 - np.abs(level - zig) * 55, 0, 1) * outside[:, None]
        mark = np.array([0.25, 0.16, 0.12]) if not plan.glaze and rng.random() < 0.5 else color(hand.child.favorites[1], palette="tempera")
        tint += (mark.astype(np.float32) - tint) * line[:, :, None].astype(np.float32) * np.float32(0.75)
    return np.clip(tint, 0.02, 0.98), gloss


def clay_bumps(rng: np.random.Generator, size: tuple[int, int], amount: float) -> Plane:
    """Finger-made unevenness that closes around the last axis."""
    noise = smooth_2d(rng, (size[0], size[1] // 2 + 1), cell_px=18) * 0.65 + smooth_2d(rng, (size[0], size[1] // 2 + 1), cell_px=6) * 0.35
    return np.asarray(np.concatenate([noise, noise[:, ::-1]], axis=1)[:, : size[1]] * np.float32(amount), dtype=np.float32)


def _nudged(normals: Cloud, bumps: Plane) -> Cloud:
    moved = normals.copy()
    moved[:, :, 2] += bumps
    moved[:, :, 0] += np.roll(bumps, 7, axis=1)
    return np.asarray(moved / np.maximum(np.linalg.norm(moved, axis=2, keepdims=True), 1e-6), dtype=np.float32)


@dataclass(frozen=True)
class Lump:
    """An ellipsoid of clay: middle and half axes in millimeters (model axes), a lean in degrees in the x-z plane, a color."""

    middle: tuple[float, float, float]
    half: tuple[float, float, float]
    color: Points
    lean: float = 0.0


def creature(plan: ClayPlan, hand: Hand, *, long_px: int) -> Seen:
    """An animal put together from lumps, seen a little from above."""
    rng = hand.rng
    main = color(plan.glaze[0], palette="tempera") if plan.glaze else np.array(BODIES[plan.body])
    other = color(plan.glaze[1], palette="tempera") if len(plan.glaze) > 1 else main * 0.72
    lumps = _LUMPS[plan.form](hand, main, other)
    loose = 0.10 * (1.2 - hand.control)
    lumps = [Lump((lump.middle[0] + float(rng.normal(0, 12 * loose)), lump.middle[1] + float(rng.normal(0, 8 * loose)), lump.middle[2]),
                  (lump.half[0] * float(1 + rng.normal(0, loose)), lump.half[1] * float(1 + rng.normal(0, loose)), lump.half[2] * float(1 + rng.normal(0, loose))),
                  lump.color, lump.lean + float(rng.normal(0, 60 * loose))) for lump in lumps]  # fmt: skip
    return _lumps_seen(lumps, hand, gloss=0.75 if plan.glaze else 0.07, long_px=long_px, yaw=float(rng.uniform(-38, 38)), elevation=float(rng.uniform(16, 32)))


def _lumps_seen(lumps: list[Lump], hand: Hand, *, gloss: float, long_px: int, yaw: float, elevation: float) -> Seen:
    """Each lump is solved exactly per pixel; where two meet they blend as pressed clay does."""
    turn = to_camera(np.eye(3, dtype=np.float32), elevation=elevation, yaw=yaw).T.astype(np.float64)
    placed = [(turn @ np.array(lump.middle), _matrix(lump, turn), lump) for lump in lumps]
    spans = [np.sqrt(np.diag(np.linalg.inv(matrix))) for _, matrix, _ in placed]
    low = np.min([c - s for (c, _, _), s in zip(placed, spans, strict=True)], axis=0)[:2] - 2
    high = np.max([c + s for (c, _, _), s in zip(placed, spans, strict=True)], axis=0)[:2] + 2
    wide, tall = (high - low).tolist()
    scale = long_px * 0.66 / max(wide, tall)
    size = (math.ceil(tall * scale), math.ceil(wide * scale))
    depth = np.full(size, -1e4, np.float32)
    normal, tint = np.zeros((*size, 3), np.float32), np.zeros((*size, 3), np.float32)
    for (middle, matrix, lump), span in zip(placed, spans, strict=True):
        x0, x1 = int(max(0, (middle[0] - span[0] - low[0]) * scale)), int(min(size[1], (middle[0] + span[0] - low[0]) * scale + 2))
        y0, y1 = int(max(0, (high[1] - middle[1] - span[1]) * scale)), int(min(size[0], (high[1] - middle[1] + span[1]) * scale + 2))
        px = ((np.arange(x0, x1) + 0.5) / scale + low[0] - middle[0])[None]
        py = (high[1] - (np.arange(y0, y1) + 0.5) / scale - middle[1])[:, None]
        _press(depth[y0:y1, x0:x1], normal[y0:y1, x0:x1], tint[y0:y1, x0:x1], px, py, float(middle[2]), matrix, lump.color)
    there = depth > -1e3
    return _lumps_shaded(depth, normal, tint, there, hand, gloss, scale, long_px, (wide, tall))


def _matrix(lump: Lump, turn: Points) -> Points:
    a = math.radians(lump.lean)
    lean = np.array([[math.cos(a), 0, -math.sin(a)], [0, 1, 0], [math.sin(a), 0, math.cos(a)]])
    frame = turn @ lean
    return np.asarray(frame @ np.diag(1 / np.array(lump.half) ** 2) @ frame.T)


def _press(depth: Plane, normal: Cloud, tint: Cloud, px: Points, py: Points, mid: float, m: Points, rgb: Points) -> None:
    b = m[0, 2] * px + m[1, 2] * py
    c = m[0, 0] * px**2 + 2 * m[0, 1] * px * py + m[1, 1] * py**2 - 1
    inside = b**2 - m[2, 2] * c
    z = (-b + np.sqrt(np.maximum(inside, 0))) / m[2, 2]
    n = np.stack([m[0, 0] * px + m[0, 1] * py + m[0, 2] * z, m[1, 0] * px + m[1, 1] * py + m[1, 2] * z, m[2, 0] * px + m[2, 1] * py + m[2, 2] * z], axis=2)
    n /= np.maximum(np.linalg.norm(n, axis=2, keepdims=True), 1e-9)
    share = np.where(inside > 0, np.clip(0.5 + (z + mid - depth) / 7.0, 0, 1), 0).astype(np.float32)
    depth += share * (np.where(inside > 0, z + mid, 0).astype(np.float32) - depth)
    normal += share[:, :, None] * (n.astype(np.float32) - normal)
    hard = (share > 0.5)[:, :, None]
    tint += hard * (rgb.astype(np.float32) - tint)


def _lumps_shaded(depth: Plane, normal: Cloud, tint: Cloud, there: "np.ndarray[tuple[int, ...], np.dtype[np.bool_]]", hand: Hand, gloss: float, scale: float, long_px: int, size_mm: tuple[float, float]) -> Seen:
    size = (depth.shape[0], depth.shape[1])
    filled = np.where(there, depth, float(depth[there].min()))
    deep = cv2.GaussianBlur(filled, (0, 0), 3.5 * scale) - filled
    hollow = np.clip(deep * 0.055, 0, 0.6)
    tint *= (1 - np.clip(deep * 0.05, -0.16, 0.12))[:, :, None]  # glaze breaks lighter on what stands out
    floor = np.linspace(0, 1, size[0], dtype=np.float32)[:, None] ** 4 * np.float32(0.35)
    sky = np.clip(1 - hollow - floor, 0.15, 1).astype(np.float32)
    bumps = smooth_2d(hand.rng, size, cell_px=max(4, 3.4 * scale)) * np.float32(0.22) + smooth_2d(hand.rng, size, cell_px=max(2, 0.7 * scale)) * np.float32(0.07)
    normal[:, :, 0] += bumps
    normal[:, :, 1] += np.roll(bumps, 11, axis=0)
    normal /= np.maximum(np.linalg.norm(normal, axis=2, keepdims=True), 1e-6)
    tint *= (1 + smooth_2d(hand.rng, size, cell_px=max(4, 5 * scale)) * np.float32(0.06))[:, :, None]
    flat = np.zeros((*size, 3), np.float32)
    shine = np.full(int(there.sum()), gloss, np.float32)
    flat[there] = shade(normal[there], tint[there], shine, sky[there])
    return finished(flat, there, long_px=long_px, size_mm=size_mm)


def _eyes(x: float, y: float, z: float, r: float) -> list[Lump]:
    dark = np.array([0.08, 0.07, 0.08])
    return [Lump((x, s * y, z), (r, r, r), dark) for s in (-1, 1)]


def _cat(hand: Hand, main: Points, other: Points) -> list[Lump]:
    legs = [Lump((x, s * 13, 12), (8, 8, 15), main) for x in (-22, 20) for s in (-1, 1)]
    tail = [Lump((-36 - 4 * i, 0, 34 + 5 * i), (5, 5, 6), main) for i in range(5)]
    ears = [Lump((41, s * 12, 66), (5, 3.5, 8), other) for s in (-1, 1)]
    spots = [Lump((float(hand.rng.uniform(-24, 14)), float(hand.rng.uniform(-12, 12)), 48), (5, 5, 4), other) for _ in range(3)]
    return [*legs, *tail, Lump((0, 0, 32), (36, 20, 19), main), *spots, Lump((38, 0, 50), (17, 17, 16), main), *ears, Lump((54, 0, 46), (5, 6, 4), other), *_eyes(50, 8, 54, 2.6)]


def _dinosaur(hand: Hand, main: Points, other: Points) -> list[Lump]:
    legs = [Lump((x, s * 12, 12), (9, 8, 14), main) for x in (-16, 18) for s in (-1, 1)]
    neck = [Lump((30 + 4.5 * i, 0, 42 + 9 * i), (10 - i * 0.6, 9 - i * 0.5, 9), main) for i in range(5)]
    tail = [Lump((-34 - 9 * i, 0, 26 - 4 * i), (11 - 1.6 * i, 9 - 1.3 * i, 8.5 - 1.2 * i), main) for i in range(5)]
    plates = [Lump((-30 + 12 * i, 0, 46 + (6 if 0 < i < 5 else 0)), (5, 2.6, 8), other) for i in range(6)]
    return [*legs, *tail, Lump((0, 0, 32), (36, 18, 20), main), *plates, *neck, Lump((58, 0, 84), (14, 9.5, 9), main), *_eyes(62, 8, 88, 2.2)]


def _turtle(hand: Hand, main: Points, other: Points) -> list[Lump]:
    legs = [Lump((x, s * 24, 8), (10, 8, 8), other) for x in (-20, 20) for s in (-1, 1)]
    angles = [i * math.tau / 6 + float(hand.rng.normal(0, 0.1)) for i in range(6)]
    bumps = [Lump((20 * math.cos(t), 18 * math.sin(t), 31), (7, 7, 4), other) for t in angles] + [Lump((0, 0, 38), (8, 8, 4), other)]
    return [*legs, Lump((-38, 0, 10), (9, 4, 4), other), Lump((0, 0, 17), (36, 31, 20), main), *bumps, Lump((42, 0, 20), (13, 11, 11), other), *_eyes(50, 7, 24, 2.2)]


def _snail(hand: Hand, main: Points, other: Points) -> list[Lump]:
    foot = [Lump((-34 + 12 * i, 0, 8), (24, 12 - abs(i - 3), 8), main) for i in range(6)]
    coil = [Lump((-4 + r * math.cos(t), 0, 36 + r * math.sin(t)), (7.5 - i * 0.06, 9, 7.5 - i * 0.06), other) for i in range(52) for t, r in ((i * 0.22, 22 - i * 0.41),)]
    horns = [Lump((46 + 2 * i, s * (5 + i), 34 + 4 * i), (2.6, 2.6, 3.4), main) for i in range(3) for s in (-1, 1)]
    return [*foot, Lump((36, 0, 18), (10, 9, 12), main), Lump((42, 0, 27), (10, 9, 9), main), *horns, *coil, *_eyes(48, 6, 28, 1.8)]


_LUMPS = {"cat": _cat, "dinosaur": _dinosaur, "turtle": _turtle, "snail": _snail}
