"""Dry media: crayon, oil pastel, colored pencil, chalk, pencil. Pigment catches on the tooth of the paper."""

from dataclasses import dataclass

import cv2
import numpy as np

from portfolio.demo.paint.canvas import Canvas, Clip, Cover
from portfolio.demo.paint.chance import smooth_2d
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.marks import Part
from portfolio.demo.paint.palette import color, neighbor
from portfolio.demo.paint.paper import directed
from portfolio.demo.paint.shape import Points


@dataclass(frozen=True)
class Stick:
    """How a stick marks: widths in millimeters, opacity, softness of the grain, gain and most coverage, blur in
    pixels.
    """

    line_mm: float
    fill_mm: float
    opacity: float
    soft: float
    gain: float
    most: float
    blur: float
    streak: float
    palette: str = "wax"
    drag: float = 0.0
    haze: float = 0.0
    line_push: float = 1.0  # lines are pressed harder than coloring in


STICKS = {
    "crayon": Stick(3.0, 3.7, 0.60, 0.40, 1.17, 0.95, 0.9, 0.34),
    "oil pastel": Stick(4.6, 7.5, 0.88, 0.22, 1.42, 0.98, 1.1, 0.4, drag=0.07),
    "colored pencil": Stick(1.0, 1.35, 0.34, 0.95, 1.02, 0.86, 0.6, 0.1, line_push=1.5),
    "chalk": Stick(4.6, 9.0, 0.94, 0.62, 1.36, 0.93, 1.8, 0.30, palette="chalk", haze=0.34),
    "pencil": Stick(0.8, 1.3, 0.30, 0.95, 0.95, 0.80, 0.6, 0.1, palette="graphite", line_push=1.7),
}


class Dry:
    """Draws parts with a stick on a canvas."""

    def __init__(self, canvas: Canvas, hand: Hand, stick: Stick) -> None:
        self.canvas, self.hand, self.stick = canvas, hand, stick

    def fill(self, part: Part, clip: Clip) -> None:
        """Color in the shapes of a part; older hands lay a second color over part of it."""
        assert part.fill is not None  # the studio only fills parts with a color
        small = min(1.0, 0.55 + 0.45 * _extent(part) / (self.stick.fill_mm * 5))
        width = self.stick.fill_mm * small
        if _extent(part) < (1.9 if self.stick.fill_mm > 5 else 1.2) * width:  # a dab
            dab = self.canvas.shape_cover(part.shapes, 2)
            if dab is not None:
                soft = np.asarray(
                    cv2.GaussianBlur(dab.amount, (0, 0), self.stick.blur + 0.6) * np.float32(0.85), dtype=np.float32
                )
                self._rub(Cover(dab.area, soft), color(part.fill, palette=self.stick.palette), None, clip)
            return
        step = width * (0.86 if self.stick.palette == "chalk" else 1.0)
        rows = [row for shape in part.shapes for row in self.hand.coloring(shape, width_mm=step, angle=part.angle)]
        cover = self.canvas.rows(rows, width, blur_px=self.stick.blur)
        if cover is None:
            return
        angle = rows[0].angle
        self._rub(cover, color(part.fill, palette=self.stick.palette), angle, clip)
        if _extent(part) > 22 and self.hand.mixes and self.hand.rng.random() < (0.75 if part.second else 0.4):
            self._second(part, width, angle, clip)

    def line(self, part: Part, name: str, clip: Clip) -> None:
        """Draw the outlines and paths of a part."""
        strokes = [stroke for shape in part.shapes for stroke in self.hand.outline(shape)]
        strokes += [stroke for path in part.paths for stroke in self.hand.line(path)]
        cover = self.canvas.strokes(strokes, self.stick.line_mm * part.width, blur_px=self.stick.blur * 0.8)
        if cover is not None:
            cover = Cover(cover.area, np.minimum(cover.amount * np.float32(self.stick.line_push), 1))
            self._rub(cover, color(name, palette=self.stick.palette), None, clip)

    def _second(self, part: Part, stroke_mm: float, angle: float, clip: Clip) -> None:
        """A lighter layer at another angle that fades in across the shape."""
        rng = self.hand.rng
        rows = [
            row
            for shape in part.shapes
            for row in self.hand.coloring(shape, width_mm=stroke_mm * 1.5, angle=angle + 25, twice=False)
        ]
        cover = self.canvas.rows(rows, stroke_mm, blur_px=self.stick.blur)
        if cover is None:
            return
        height, width = cover.amount.shape
        across = np.linspace(-1, 1, width, dtype=np.float32)[None] * rng.choice([-1, 1]) * rng.uniform(0.4, 1)
        down = np.linspace(-1, 1, height, dtype=np.float32)[:, None] * rng.uniform(0.2, 1)
        ramp = across + down + smooth_2d(rng, (height, width), cell_px=max(12, width / 5)) * 0.4
        amount = cover.amount * np.clip(ramp * 0.9, 0, 1) * np.float32(0.66)
        base = part.fill or "gray"
        name = part.second or (neighbor(base) if rng.random() < 0.55 else f"dark {base.split()[-1]}")
        self._rub(Cover(cover.area, amount), color(name, palette=self.stick.palette), angle + 25, clip)

    def _rub(self, cover: Cover, rgb: Points, angle: float | None, clip: Clip) -> None:
        stick, amount, rng = self.stick, cover.amount, self.hand.rng
        shown = clip(cover.area)
        if shown is not None:
            amount = amount * shown
        catch = self.canvas.tooth[cover.area].astype(np.float32)
        if angle is not None and stick.streak > 0.15:
            along = directed("streak", angle, (catch.shape[0], catch.shape[1]), rng=rng)
            catch = np.asarray(cv2.addWeighted(catch, 1 - stick.streak, along.astype(np.float32), stick.streak, 0))
        catch *= np.float32((1 - stick.soft / 2) / 255)
        laid = amount * np.float32(stick.gain) - catch
        laid += np.float32(0.12 * stick.soft)
        laid *= np.float32(1 / stick.soft)
        np.clip(laid, 0, 1, out=laid)
        laid *= np.minimum(amount * 4, 1)
        laid *= np.float32(stick.most)
        rgb = np.clip(rgb * (1 + rng.normal(0, 0.03, 1 if stick.palette == "graphite" else 3)), 0.02, 0.98)
        if stick.drag:
            below = [float(plane[cover.area][::7, ::7].mean()) for plane in self.canvas.planes]
            rgb = rgb * (1 - stick.drag) + np.array(below) * stick.drag
        if stick.haze and laid.shape[0] > 12 and laid.shape[1] > 12:
            dust = cv2.blur(cv2.resize(laid, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA), (9, 9))
            dust = cv2.resize(dust, (laid.shape[1], laid.shape[0]))
            laid = np.maximum(laid, dust * np.float32(stick.haze))
        self.canvas.glaze(cover.area, laid, rgb, opacity=stick.opacity)


def _extent(part: Part) -> float:
    return max((float(np.ptp(shape, axis=0).min()) for shape in part.shapes), default=0)
