"""Weaving: yarn on a cardboard loom, or paper strips for the youngest."""

import cv2
import numpy as np

from portfolio.demo.paint.canvas import Canvas
from portfolio.demo.paint.chance import smooth_1d
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.palette import color, sheet_color
from portfolio.demo.paint.paper import grain
from portfolio.demo.paint.shape import Bytes, Plane, Points

YARN_FROM_AGE = 7.0


def weaving(size_mm: tuple[float, float], hand: Hand, *, colors: tuple[str, ...], sheet: str, long_px: int) -> Bytes:
    """A weaving, ``(height, width, 3)`` sRGB: yarn from about seven, paper before."""
    canvas = Canvas(
        "kraft" if hand.age >= YARN_FROM_AGE else sheet, size_mm, long_px=long_px, tooth="fine", rng=hand.rng
    )
    if hand.age >= YARN_FROM_AGE:
        _yarn(canvas, hand, colors)
    else:
        _paper(canvas, hand, colors)
    return canvas.picture()


def _yarn(canvas: Canvas, hand: Hand, colors: tuple[str, ...]) -> None:
    rng, scale = hand.rng, canvas.scale
    warps = int(rng.integers(10, 17))
    left, right = canvas.width * 0.13, canvas.width * 0.87
    top, bottom = canvas.height * 0.07, canvas.height * 0.93
    gap = (right - left) / (warps - 1)
    lines = left + gap * np.arange(warps)
    for x in lines:
        _thread(
            canvas,
            np.array([[x, top - 8], [x + rng.normal(0, 1), bottom + 8]]),
            1.1 * scale,
            np.array([0.93, 0.91, 0.86]),
        )
    y, end = bottom - 6, top + (bottom - top) * float(rng.uniform(0.02, 0.4)) * (1.3 - hand.control)
    row, left_in_color, name = 0, 0, 0
    pull = smooth_1d(rng, 400, cells=14) * canvas.width * 0.022 * (1.3 - hand.control)
    while y > end:
        if left_in_color == 0:
            left_in_color, name = int(rng.integers(2, 10)), int(rng.integers(len(colors)))
            if rng.random() < 0.4:
                side = left - 4 if rng.random() < 0.5 else right + 4
                out = np.sign(side - canvas.width / 2) * scale * 14
                tail = np.array([[side, y], [side + out * 0.6, y + 6 * scale * 0.4], [side + out, y + scale * 10]])
                _thread(canvas, tail, 2.2 * scale, color(colors[name], palette="wax"))
        high = scale * float(rng.uniform(2.6, 3.8))
        ends = (left - gap * 0.4 + abs(pull[row % 400]), right + gap * 0.4 - abs(pull[(row + 57) % 400]))
        _row(canvas, rng, y=y, high=high, ends=ends, warp=(left, gap, row % 2), rgb=color(colors[name], palette="wax"))
        y -= high * 0.93
        row += 1
        left_in_color -= 1


def _row(
    canvas: Canvas,
    rng: np.random.Generator,
    *,
    y: float,
    high: float,
    ends: tuple[float, float],
    warp: tuple[float, float, int],
    rgb: Points,
) -> None:
    """One weft thread: over and under the warp (first thread, gap, parity), round, twisted; all in pixels."""
    first, gap, parity = warp
    x0, x1 = int(max(0, ends[0])), int(min(canvas.width, ends[1]))
    y0, y1 = int(max(0, y - high)), int(min(canvas.height, y + high))
    if x1 - x0 < 4 or y1 - y0 < 2:
        return
    x = np.arange(x0, x1, dtype=np.float32)[None]
    over = np.cos(np.pi * ((x - first) / gap + parity))
    middle = y + (smooth_1d(rng, x1 - x0, cells=(x1 - x0) / 60) * high * 0.10)[None] + over * high * 0.05
    t = (np.arange(y0, y1, dtype=np.float32)[:, None] - middle) / (high * 0.53)
    round_ = np.sqrt(np.clip(1 - t**2, 0, 1))
    mask = np.clip((1 - np.abs(t)) * high * 0.6, 0, 1)
    near = np.abs(((x - first) / gap + 0.5) % 1 - 0.5) * gap
    mask = mask * (1 - np.clip(1.6 - near / (canvas.scale * 0.7), 0, 1) * (over < 0))
    twist = 0.5 + 0.5 * np.sin(x / (high * 0.34) + t * 2.4)
    light = (0.50 + 0.42 * round_ - 0.10 * t) * (0.86 + 0.14 * twist) * (0.90 + 0.12 * over)
    light *= 1 + (canvas.tooth[y0:y1, x0:x1].astype(np.float32) / 255 - 0.5) * 0.16
    shade = np.clip(1 - np.abs(t + 0.15) * 0.75, 0, 1) * 0.25
    for plane, channel in zip(canvas.planes, rgb, strict=True):
        piece = plane[y0:y1, x0:x1]
        piece *= (1 - shade * (1 - mask)).astype(np.float32)
        piece += ((light * np.float32(channel) + 0.03 * twist) - piece) * mask


def _thread(canvas: Canvas, path: Points, width_px: float, rgb: Points) -> None:
    mask = np.zeros((canvas.height, canvas.width), np.uint8)
    cv2.polylines(mask, [np.asarray(path * 16, dtype=np.int32)], False, 255, max(1, round(width_px)), cv2.LINE_AA, 4)
    x, y, w, h = cv2.boundingRect(np.asarray(path, dtype=np.int32))
    pad = int(width_px * 2 + 3)
    area = (slice(max(0, y - pad), y + h + pad), slice(max(0, x - pad), x + w + pad))
    soft: Plane = mask[area].astype(np.float32) * np.float32(1 / 255)
    shadow = np.roll(np.roll(cv2.blur(soft, (5, 5)), 3, axis=0), 3, axis=1)
    light = (
        0.8
        + 0.3 * cv2.GaussianBlur(soft, (0, 0), max(0.8, width_px / 4))
        + (canvas.tooth[area].astype(np.float32) / 255 - 0.5) * 0.2
    )
    for plane, channel in zip(canvas.planes, rgb, strict=True):
        piece = plane[area]
        piece *= 1 - shadow * np.float32(0.3)
        piece += (light * np.float32(channel) - piece) * soft


def _paper(canvas: Canvas, hand: Hand, colors: tuple[str, ...]) -> None:
    """Paper strips through slits of a sheet, with the crossings a young child gets wrong."""
    rng = hand.rng
    across, down = int(rng.integers(6, 9)), int(rng.integers(8, 13))
    left, top = canvas.width * 0.06, canvas.height * 0.06
    wide, high = (canvas.width - 2 * left) / across, (canvas.height - 2 * top) / down
    wrong = 0.14 * (1.2 - hand.control)
    for j in range(down):
        rgb = sheet_color(colors[j % len(colors)]) * (1 + rng.normal(0, 0.02, 3))
        lean, inset = float(rng.normal(0, 2.5)), float(rng.uniform(0.02, 0.14)) * high
        for i in range(across):
            if ((i + j) % 2 == 0) != (rng.random() < wrong):
                x0, y0 = left + wide * i + rng.normal(0, 1), top + high * j + inset + lean * (i / across - 0.5)
                _patch(canvas, rng, (x0, y0, x0 + wide, y0 + high - inset), rgb)


def _patch(canvas: Canvas, rng: np.random.Generator, box: tuple[float, float, float, float], rgb: Points) -> None:
    x0, y0, x1, y1 = (int(v) for v in box)
    size = (y1 - y0, x1 - x0)
    tone = 1 + (grain("fine", size, rng=rng).astype(np.float32) / 255 - 0.5) * np.float32(0.05)
    dip = 1.3 * canvas.scale
    x = np.arange(size[1], dtype=np.float32)[None]
    tone *= 1 - 0.26 * np.exp(-x / dip) - 0.26 * np.exp(-(size[1] - 1 - x) / dip)
    below = (slice(y1, min(canvas.height, y1 + 5)), slice(x0, x1))
    canvas.planes[(slice(None), *below)] *= np.float32(0.82)
    for plane, channel in zip(canvas.planes, rgb, strict=True):
        plane[y0:y1, x0:x1] = tone * np.float32(channel)
