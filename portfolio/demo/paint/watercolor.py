"""Watercolor: transparent washes that gather at their rims, granulate, bloom and run into each other."""

import cv2
import numpy as np

from portfolio.demo.paint.canvas import Area, Canvas, Clip, Cover
from portfolio.demo.paint.chance import smooth_2d
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.marks import Part
from portfolio.demo.paint.palette import color, neighbor
from portfolio.demo.paint.shape import Plane, Points

LINE_MM = 3.2


class Watercolor:
    """Paints parts with washes on a canvas."""

    def __init__(self, canvas: Canvas, hand: Hand) -> None:
        self.canvas, self.hand = canvas, hand
        self.wet = float(hand.rng.uniform(0.15, 0.8))

    def fill(self, part: Part, clip: Clip) -> None:
        """Wash the shapes of a part."""
        assert part.fill is not None  # the studio only fills parts with a color
        cover = self.canvas.shape_cover(part.shapes, 6)
        if cover is None:
            return
        extent_mm = max(float(np.ptp(shape, axis=0).min()) for shape in part.shapes)
        mask = self._flowed(cover.amount, min(1.0, extent_mm / 40))
        shown = clip(cover.area)
        if shown is not None:  # grounds leave a little of their wetness in what they touch
            mask = (
                mask * (shown * np.float32(0.85) + np.float32(0.15))
                if extent_mm > 60 and self.wet > 0.6
                else mask * shown
            )
        density = self._gathered(mask, extent_mm)
        second = part.second or (neighbor(part.fill) if extent_mm > 25 and self.hand.rng.random() < 0.35 else None)
        tint = color(second, palette="pan") if second else None
        self._stain(Cover(cover.area, density), color(part.fill, palette="pan"), tint)

    def line(self, part: Part, name: str, clip: Clip) -> None:
        """Draw outlines and paths with a small brush."""
        strokes = [stroke for shape in part.shapes for stroke in self.hand.outline(shape)]
        strokes += [stroke for path in part.paths for stroke in self.hand.line(path)]
        cover = self.canvas.strokes(
            strokes, LINE_MM * (1.05 - 0.35 * self.hand.control) * min(part.width, 2.5), blur_px=0.8
        )
        if cover is None:
            return
        mask = np.clip(cover.amount * 2.0, 0, 1)
        rim = np.clip(mask - cv2.blur(mask, (5, 5)), 0, 1)
        density = mask * np.float32(0.75) + rim * np.float32(0.8)
        density *= 1 + smooth_2d(self.hand.rng, (mask.shape[0], mask.shape[1]), cell_px=30) * np.float32(0.35)
        shown = clip(cover.area)
        if shown is not None:
            density *= shown
        self._stain(Cover(cover.area, density.astype(np.float32)), color(name, palette="pan"), None)

    def _flowed(self, mask: Plane, share: float) -> Plane:
        """The edge of the wash wanders and, when very wet, softens."""
        height, width = mask.shape
        move = (0.5 + 2.4 * self.wet) * self.canvas.scale * share
        x, y = np.meshgrid(np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32))
        cell = max(6.0, 4.5 * self.canvas.scale)
        x += smooth_2d(self.hand.rng, (height, width), cell_px=cell) * np.float32(move)
        y += smooth_2d(self.hand.rng, (height, width), cell_px=cell) * np.float32(move)
        flowed = cv2.remap(mask, x, y, cv2.INTER_LINEAR)
        if self.wet > 0.55:
            flowed = cv2.GaussianBlur(flowed, (0, 0), max(0.8, self.wet * 2.2 * share))
        return np.asarray(flowed, dtype=np.float32)

    def _gathered(self, mask: Plane, extent_mm: float) -> Plane:
        scale, rng, size = self.canvas.scale, self.hand.rng, (mask.shape[0], mask.shape[1])
        low = smooth_2d(rng, size, cell_px=max(8, min(28 * scale, size[1] / 3)))
        density = mask * (np.float32(0.62) + low * np.float32(0.20))
        density += np.clip(mask - _soft(mask, 1.1 * scale), 0, 1) * mask * np.float32(1.5)
        density += np.clip(mask - _soft(mask, 5 * scale), 0, 1) * mask * np.float32(0.35)
        if extent_mm > 30:
            for _ in range(int(rng.integers(0, 3))):
                density *= self._bloom(size)
        return np.asarray(density, dtype=np.float32)

    def _bloom(self, size: tuple[int, int]) -> Plane:
        """A drop of water pushed the pigment outward to a thin rim."""
        rng, height, width = self.hand.rng, *size
        r = rng.uniform(4, 13) * self.canvas.scale
        y, x = np.ogrid[:height, :width]
        away = np.hypot(x - rng.uniform(0, width), y - rng.uniform(0, height)).astype(np.float32) / np.float32(r)
        away *= 1 + smooth_2d(rng, size, cell_px=max(4, r / 2.2)) * np.float32(0.22)
        inside = np.clip((1.0 - away) * 6, 0, 1) * np.float32(-0.42)
        return np.asarray(1 + inside + 0.5 * np.exp(-(((away - 1) / 0.08) ** 2)), dtype=np.float32)

    def _stain(self, cover: Cover, rgb: Points, tint: Points | None) -> None:
        area: Area = cover.area
        density = (
            cover.amount
            * (1 + (self.canvas.tooth[area].astype(np.float32) - 127) * np.float32(0.30 / 255))
            * np.float32(1.25)
        )
        rgb = np.clip(rgb * (1 + self.hand.rng.normal(0, 0.03, 3)), 0.03, 0.985)
        if tint is None:
            self.canvas.dye(area, density, rgb)
            return
        size = (density.shape[0], density.shape[1])
        share = np.clip(
            smooth_2d(self.hand.rng, size, cell_px=max(30, size[1] / 3)) * np.float32(0.7) + np.float32(0.35), 0, 1
        )
        self.canvas.dye(area, density * (1 - share), rgb)
        self.canvas.dye(area, density * share, tint)


def _soft(mask: Plane, sigma: float) -> Plane:
    if sigma < 4:
        return np.asarray(cv2.GaussianBlur(mask, (0, 0), max(0.5, sigma)), dtype=np.float32)
    small = cv2.resize(mask, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA) if min(mask.shape) > 16 else mask
    small = cv2.GaussianBlur(small, (0, 0), sigma / 4)
    return np.asarray(
        cv2.resize(small, (mask.shape[1], mask.shape[0]), interpolation=cv2.INTER_LINEAR), dtype=np.float32
    )
