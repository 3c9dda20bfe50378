"""Tempera: thick, covering paint with bristle marks, half-mixed color, drips and a little relief."""

import cv2
import numpy as np

from portfolio.demo.paint.canvas import Canvas, Clip, Cover
from portfolio.demo.paint.chance import smooth_2d
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.marks import Part
from portfolio.demo.paint.palette import color, neighbor
from portfolio.demo.paint.paper import directed
from portfolio.demo.paint.shape import Plane, Points, bounds

LINE_MM, FILL_MM = 6.0, 16.0


class Tempera:
    """Paints parts with brushes; remembers the brush that was not washed and the height of the paint."""

    def __init__(self, canvas: Canvas, hand: Hand) -> None:
        self.canvas, self.hand = canvas, hand
        self.relief: Plane = np.zeros((canvas.height, canvas.width), np.float32)
        self._last: Points | None = None

    def fill(self, part: Part, clip: Clip) -> None:
        """Paint the shapes of a part."""
        assert part.fill is not None  # the studio only fills parts with a color
        extent = max((float(np.ptp(shape, axis=0).min()) for shape in part.shapes), default=0)
        width = float(np.clip(extent / 3.2, 4.0, FILL_MM))
        if extent < 11:  # one dab of the brush
            dab = self.canvas.shape_cover(part.shapes, 3)
            if dab is not None:
                soft = Cover(dab.area, np.asarray(cv2.GaussianBlur(dab.amount, (0, 0), 1.4), dtype=np.float32))
                self._brush(soft, color(part.fill, palette="tempera"), None, self.hand.slope(), clip)
            return
        rows = [
            row
            for shape in part.shapes
            for row in self.hand.coloring(
                shape, width_mm=width * (0.8 if extent < 40 else 0.66), angle=part.angle, inset=0.55, twice=extent > 40
            )
        ]
        if not rows:
            return
        cover = self.canvas.rows(rows, width, blur_px=1.2)
        if cover is None:
            return
        if part.hides and extent < 0.6 * self.canvas.height / self.canvas.scale:
            self._edge(part, clip)
        second = part.second or (neighbor(part.fill) if extent > 40 and self.hand.rng.random() < 0.5 else None)
        tint = color(second, palette="tempera") if second else None
        self._brush(cover, color(part.fill, palette="tempera"), tint, rows[0].angle, clip)
        if self.hand.age < 8 and extent > 50 and self.hand.rng.random() < 0.16:
            self._drip(part, clip)

    def line(self, part: Part, name: str, clip: Clip) -> None:
        """Paint the outlines and paths of a part."""
        strokes = [stroke for shape in part.shapes for stroke in self.hand.outline(shape)]
        strokes += [stroke for path in part.paths for stroke in self.hand.line(path)]
        cover = self.canvas.strokes(strokes, LINE_MM * min(part.width, 2.2), blur_px=1.0)
        if cover is not None:
            self._brush(cover, color(name, palette="tempera"), None, float(self.hand.rng.uniform(0, 180)), clip)

    def _edge(self, part: Part, clip: Clip) -> None:
        """The brush goes along the edge of a shape first."""
        assert part.fill is not None  # as in fill
        strokes = [stroke for shape in part.shapes for stroke in self.hand.outline(shape)]
        cover = self.canvas.strokes(strokes, 5.0, blur_px=1.0)
        if cover is not None:
            self._brush(cover, color(part.fill, palette="tempera"), None, float(self.hand.rng.uniform(0, 180)), clip)

    def finish(self) -> None:
        """Light the relief from the upper left."""
        height = cv2.GaussianBlur(self.relief, (0, 0), 0.8)
        slope = cv2.Sobel(height, cv2.CV_32F, 1, 0, ksize=3) + cv2.Sobel(height, cv2.CV_32F, 0, 1, ksize=3)
        light = np.clip(slope * 0.055, -0.16, 0.20)
        light += 1
        self.canvas.planes *= light

    def _brush(self, cover: Cover, rgb: Points, tint: Points | None, angle: float, clip: Clip) -> None:
        rng, canvas, area = self.hand.rng, self.canvas, cover.area
        size = cover.amount.shape[0], cover.amount.shape[1]
        bristle = self._bristles(angle, size)
        tooth = canvas.tooth[area].astype(np.float32) * np.float32(1 / 255) - np.float32(0.5)
        laid = (
            cover.amount * np.float32(1.55) - bristle * np.float32(0.30) - tooth * np.float32(0.12) - np.float32(0.20)
        )
        laid *= np.float32(2.6)
        np.clip(laid, 0, np.float32(0.97), out=laid)
        shown = clip(area)
        if shown is not None:
            laid *= shown
        rgb = self._unwashed(rgb) * (1 + rng.normal(0, 0.03, 3))
        share = self._share(bristle, size) if tint is not None else None
        wet = np.float32(rng.uniform(0.06, 0.16) * (1.25 - 0.5 * self.hand.control))
        shade = bristle * np.float32(0.09) + 1
        for plane, channel, other in zip(canvas.planes, rgb, tint if tint is not None else rgb, strict=True):
            piece = plane[area]
            paint = shade * np.float32(channel)
            if share is not None:
                paint *= np.exp(share * np.float32(np.log(max(other, 0.03) / max(channel, 0.03))))
            below = cv2.blur(piece, (15, 15))
            paint += (below - paint) * wet
            piece += (paint - piece) * laid
        self._raise(area, laid, bristle)
        self._last = rgb

    def _bristles(self, angle: float, size: tuple[int, int]) -> Plane:
        rng = self.hand.rng
        one = directed("bristle", angle, size, rng=rng).astype(np.float32)
        if min(size) > 160:
            two = directed("bristle", angle + rng.choice([-30, 30, 45]), size, rng=rng).astype(np.float32)
            mix = np.clip(smooth_2d(rng, size, cell_px=130) * 3 + 0.5, 0, 1)
            one += (two - one) * mix
        return np.asarray(one * np.float32(1 / 255) - np.float32(0.5), dtype=np.float32)

    def _share(self, bristle: Plane, size: tuple[int, int]) -> Plane:
        low = smooth_2d(self.hand.rng, size, cell_px=max(40, size[1] / 4))
        share = low * np.float32(0.55) + bristle * np.float32(0.6) + np.float32(0.12)
        return np.asarray(np.clip(share, 0, 0.8), dtype=np.float32)

    def _unwashed(self, rgb: Points) -> Points:
        if self._last is None or self.hand.rng.random() > 0.40 - 0.3 * self.hand.control:
            return rgb
        return np.exp(0.86 * np.log(np.maximum(rgb, 0.03)) + 0.14 * np.log(np.maximum(self._last, 0.03)))

    def _raise(self, area: tuple[slice, slice], laid: Plane, bristle: Plane) -> None:
        edge = laid - cv2.blur(laid, (9, 9))
        piece = self.relief[area]
        piece *= 1 - laid
        piece += laid * (bristle * np.float32(0.9) + np.float32(0.35))
        piece += np.abs(edge) * np.float32(0.5) * laid

    def _drip(self, part: Part, clip: Clip) -> None:
        rng = self.hand.rng
        left, top, right, bottom = bounds(part.shapes)
        for _ in range(int(rng.integers(1, 4))):
            x = rng.uniform(left + (right - left) * 0.15, right - (right - left) * 0.15)
            start = top + (bottom - top) * rng.uniform(0.75, 0.95)
            path = np.stack([np.full(8, x), np.linspace(start, start + rng.uniform(10, 40), 8)], axis=1)
            name = part.fill or "gray"
            self.line(Part(paths=(path,), line=name, width=float(rng.uniform(0.3, 0.45))), name, clip)
