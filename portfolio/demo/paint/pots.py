"""Pinch and coil pots: a wall of clay that goes up outside, over the rim and down inside."""

import math
from dataclasses import replace

import numpy as np

from portfolio.demo.paint.chance import smooth_1d
from portfolio.demo.paint.clay import BODIES, ClayPlan, clay_bumps
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.palette import color
from portfolio.demo.paint.shape import Plane
from portfolio.demo.paint.solid import Cloud, Seen, finer, grid_surface, see

_AROUND, _ALONG, _LEVELS = 640, 350, 160


def pot(plan: ClayPlan, hand: Hand, *, long_px: int) -> Seen:
    """A pinch or coil pot seen from above at an angle."""
    rng = hand.rng
    loose = 1.25 - 0.75 * hand.control
    theta = np.linspace(0, math.tau, _AROUND, endpoint=False, dtype=np.float32)[None]
    reach, rise, outside = _profile(plan, hand)
    level = np.clip(rise / rise.max(), 0, 1)
    rim = 1 + _ring(rng, 1, 5, size=0.065 * loose, theta=theta)
    r = reach[:, None] * (1 + _shared(_ring(rng, 2, 4, size=0.05 * loose, theta=theta, rows=_LEVELS), level))
    z = rise[:, None] * (1 + (rim - 1) * level[:, None] ** 1.5)
    bumps = _shared(_ring(rng, 4, 11, size=1.0 * loose, theta=theta, rows=_LEVELS), level)
    if plan.form == "coil pot":
        coils = int(rng.integers(6, 10))
        wave = np.abs(np.sin(level[:, None] * math.pi * coils + _ring(rng, 1, 3, size=0.4, theta=theta)))
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
    inner_at = np.interp(1 - np.minimum(s / 0.62, 1) * (1 - floor), t, outer) - wall
    inner = np.where(s < 0.62, inner_at, inner_at * np.clip((1 - s) / 0.38, 0, 1))
    inner_z = high * np.where(
        s < 0.62, 1 - s / 0.62 * (1 - floor), floor * (1 - 0.25 * np.clip((s - 0.62) / 0.38, 0, 1) ** 0.5)
    )
    reach = np.concatenate([outer, lip, inner]).astype(np.float32)
    rise = np.concatenate([t * high, high + wall / 2 * np.sin(turn), inner_z]).astype(np.float32)
    outside = np.arange(_ALONG) < up + over // 2
    return reach, rise, outside


def _ring(rng: np.random.Generator, low: int, high: int, *, size: float, theta: Plane, rows: int = 1) -> Plane:
    """Noise around the pot that ends where it began; changes slowly along the wall."""
    total = np.zeros((rows, theta.shape[1]), np.float32)
    for wave in range(low, high + 1):
        amount = np.full(1, rng.normal()) if rows == 1 else smooth_1d(rng, rows, cells=2.6)
        turn = (
            np.full(1, rng.uniform(0, math.tau))
            if rows == 1
            else rng.uniform(0, math.tau) + smooth_1d(rng, rows, cells=2) * 0.6
        )
        total += (amount[:, None] * np.cos(wave * theta + turn[:, None])).astype(np.float32)
    return total * np.float32(size / math.sqrt(high - low + 1))


def _shared(noise: Plane, level: Plane) -> Plane:
    """Noise by height, for every point of the wall: dents go through, so that both faces share them."""
    at = level * (_LEVELS - 1)
    low = np.minimum(at.astype(int), _LEVELS - 2)
    part = (at - low)[:, None]
    return np.asarray(noise[low] * (1 - part) + noise[low + 1] * part, dtype=np.float32)


def _skin(
    plan: ClayPlan, hand: Hand, rise: Plane, outside: "np.ndarray[tuple[int, ...], np.dtype[np.bool_]]", theta: Plane
) -> tuple[Cloud, Plane]:
    """Color and gloss: bare clay, glaze that runs and stops above the foot, a painted or scratched zigzag."""
    rng = hand.rng
    size = (_ALONG, _AROUND)
    tone = 1 + clay_bumps(rng, size, 0.05)
    tint = np.stack([tone * np.float32(c) for c in BODIES[plan.body]], axis=2).astype(np.float32)
    gloss = np.full(size, 0.06, np.float32)
    level = rise[:, None] / rise.max()
    for index, name in enumerate(plan.glaze):
        edge = (0.14 if index == 0 else 0.55) + _ring(rng, 1, 9, size=0.035, theta=theta)
        covered = np.clip((level - edge) * 40, 0, 1)
        covered = np.where(
            outside[:, None] | (index == 0), covered if index else np.where(outside[:, None], covered, 1), 0
        )
        glaze = color(name, palette="pan" if plan.body == "bisque" else "tempera")
        pool = 1 - 0.25 * np.clip(1 - np.abs(level - edge) * 9, 0, 1) + clay_bumps(rng, size, 0.06)
        for channel in range(3):
            tint[:, :, channel] += (
                (pool * np.float32(glaze[channel]) * (0.85 + 0.15 * BODIES[plan.body][channel]) - tint[:, :, channel])
                * covered
                * np.float32(0.92)
            )
        gloss = np.maximum(gloss, covered.astype(np.float32) * np.float32(0.8))
    if rng.random() < 0.5 and hand.age > 6.3:
        teeth = int(rng.integers(7, 15))
        zig = 0.55 + 0.09 * (2 / math.pi) * np.arcsin(np.sin(theta * teeth)) + _ring(rng, 1, 6, size=0.02, theta=theta)
        line = np.clip(1.5 - np.abs(level - zig) * 55, 0, 1) * outside[:, None]
        mark = (
            np.array([0.25, 0.16, 0.12])
            if not plan.glaze and rng.random() < 0.5
            else color(hand.child.favorites[1], palette="tempera")
        )
        tint += (mark.astype(np.float32) - tint) * line[:, :, None].astype(np.float32) * np.float32(0.75)
    return np.clip(tint, 0.02, 0.98), gloss


def _nudged(normals: Cloud, bumps: Plane) -> Cloud:
    moved = normals.copy()
    moved[:, :, 2] += bumps
    moved[:, :, 0] += np.roll(bumps, 7, axis=1)
    return np.asarray(moved / np.maximum(np.linalg.norm(moved, axis=2, keepdims=True), 1e-6), dtype=np.float32)
