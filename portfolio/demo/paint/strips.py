"""Paper sculpture: strips bent into arches, loops, stairs and spirals and glued to a base."""

import math

import cv2
import numpy as np

from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.palette import sheet_color
from portfolio.demo.paint.shape import Plane
from portfolio.demo.paint.solid import Cloud, Seen, Surface, grid_surface, see

_LONG, _WIDE = 460, 64


def sculpture(hand: Hand, *, base: str, strips: tuple[str, ...], long_px: int) -> Seen:
    """Paper strips on a base of construction paper, seen from above at an angle."""
    rng = hand.rng
    half_w, half_h = 115.0, 80.0
    made = [_strip(hand, name, half_w, half_h) for name in strips]
    ground = _base(hand, base, half_w, half_h, made)
    return see([ground, *made], elevation=float(rng.uniform(34, 46)), yaw=float(rng.uniform(-28, 28)), long_px=long_px)


def _strip(hand: Hand, name: str, half_w: float, half_h: float) -> Surface:
    rng = hand.rng
    width = float(rng.uniform(11, 22))
    t = np.linspace(0, 1, _LONG, dtype=np.float32)
    x, z, shift = _bend(str(rng.choice(np.array(["arch", "arch", "loop", "stairs", "spiral"]))), t, rng)
    across = np.linspace(-0.5, 0.5, _WIDE, dtype=np.float32)[None] * width
    flat_x = np.repeat(x[:, None], _WIDE, axis=1)
    flat_y = across + shift[:, None] + (x * rng.normal(0, 0.08))[:, None]
    turn = rng.uniform(0, math.tau)
    px, py = rng.uniform(-half_w * 0.5, half_w * 0.5), rng.uniform(-half_h * 0.45, half_h * 0.45)
    c, s = math.cos(turn), math.sin(turn)
    points = np.stack(
        [flat_x * c - flat_y * s + px, flat_x * s + flat_y * c + py, np.repeat(z[:, None], _WIDE, axis=1) + 0.6], axis=2
    ).astype(np.float32)
    size = (_LONG, _WIDE)
    tint = np.broadcast_to(sheet_color(name).astype(np.float32) * np.float32(1.02), (*size, 3)).copy()
    sky = np.clip(0.62 + points[:, :, 2] / 70, 0.6, 1).astype(np.float32)
    return grid_surface(points, tint, np.full(size, 0.04, np.float32), sky, around=False, two_sided=True)


def _bend(form: str, t: Plane, rng: np.random.Generator) -> tuple[Plane, Plane, Plane]:
    """The strip's middle line: along, up, sideways (millimeters)."""
    span, none = float(rng.uniform(45, 90)), np.zeros_like(t)
    if form == "loop":
        r = span * 0.28
        return r * np.sin(t * math.tau), r * (1 - np.cos(t * math.tau)), none
    if form == "stairs":
        steps = int(rng.integers(4, 7))
        zig = np.abs(((t * steps) % 2) - 1)
        return t * span, (1 - zig) * span * 0.18 + t * span * 0.25, none
    if form == "spiral":
        turns = float(rng.uniform(2, 3.2))
        return (
            span * 0.2 * np.sin(t * turns * math.tau),
            span * 0.2 * (1 - np.cos(t * turns * math.tau)),
            t * span * 0.8,
        )
    high = float(rng.uniform(0.35, 0.75)) * span
    return t * span - span / 2, np.sin(t * math.pi) * high, none


def _base(hand: Hand, name: str, half_w: float, half_h: float, strips: list[Surface]) -> Surface:
    columns, rows = 900, 640
    x, y = np.meshgrid(
        np.linspace(-half_w, half_w, columns, dtype=np.float32), np.linspace(-half_h, half_h, rows, dtype=np.float32)
    )
    curl = (np.abs(x / half_w) ** 6 * np.abs(y / half_h) ** 6) * np.float32(hand.rng.uniform(0, 9))
    points = np.stack([x, y, curl], axis=2)
    shadow = np.zeros((rows, columns), np.float32)
    for strip in strips:
        cloud = strip.points.reshape(-1, 3)
        col = ((cloud[:, 0] + cloud[:, 2] * 0.55 + half_w) / (2 * half_w) * columns).astype(int)
        row = ((cloud[:, 1] - cloud[:, 2] * 0.35 + half_h) / (2 * half_h) * rows).astype(int)
        ok = (col >= 0) & (col < columns) & (row >= 0) & (row < rows)
        shadow[row[ok], col[ok]] = 1
    soft = cv2.GaussianBlur(cv2.morphologyEx(shadow, cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8)), (0, 0), 4.5)
    tint: Cloud = np.broadcast_to(sheet_color(name).astype(np.float32), (rows, columns, 3)) * (
        1 - 0.45 * soft[:, :, None]
    )
    return grid_surface(
        points,
        tint.astype(np.float32),
        np.zeros((rows, columns), np.float32),
        np.ones((rows, columns), np.float32),
        around=False,
        two_sided=True,
    )
