"""Felt markers: transparent dye, darker where strokes overlap and where the tip rested."""

import numpy as np

from portfolio.demo.paint.canvas import Canvas, Clip, Cover
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.marks import Part
from portfolio.demo.paint.palette import color
from portfolio.demo.paint.shape import Plane, Points

LINE_MM, FILL_MM = 2.4, 4.4


class Marker:
    """Draws parts with markers on a canvas."""

    def __init__(self, canvas: Canvas, hand: Hand) -> None:
        self.canvas, self.hand = canvas, hand

    def fill(self, part: Part, clip: Clip) -> None:
        """Color in the shapes of a part."""
        assert part.fill is not None  # the studio only fills parts with a color
        extent = max((float(np.ptp(shape, axis=0).min()) for shape in part.shapes), default=0)
        width = FILL_MM * min(1.0, 0.5 + extent / (FILL_MM * 8))
        rows = [
            row for shape in part.shapes for row in self.hand.coloring(shape, width_mm=width * 0.92, angle=part.angle)
        ]
        cover = self.canvas.rows(rows, width, blur_px=0.7)
        if cover is not None:
            self._stain(cover, color(part.fill, palette="marker"), clip)

    def line(self, part: Part, name: str, clip: Clip) -> None:
        """Draw the outlines and paths of a part, with blobs where the tip rested."""
        strokes = [stroke for shape in part.shapes for stroke in self.hand.outline(shape)]
        strokes += [stroke for path in part.paths for stroke in self.hand.line(path)]
        cover = self.canvas.strokes(strokes, LINE_MM * part.width, blur_px=0.7)
        if cover is not None:
            self._stain(cover, color(name, palette="marker"), clip)

    def _stain(self, cover: Cover, rgb: Points, clip: Clip) -> None:
        rng = self.hand.rng
        amount = cover.amount
        once = np.clip(amount * 2.2, 0, 1)
        again = np.clip((amount - 0.70) * 4.2, 0, 1)
        density: Plane = (once * np.float32(rng.uniform(0.78, 0.9)) + again * np.float32(0.22)).astype(np.float32)
        density *= 1 + (self.canvas.tooth[cover.area].astype(np.float32) - 127) * np.float32(0.10 / 255)
        shown = clip(cover.area)
        if shown is not None:
            density *= shown
        self.canvas.dye(
            cover.area, density * np.float32(1.15), np.clip(rgb * (1 + rng.normal(0, 0.02, 3)), 0.02, 0.985)
        )
