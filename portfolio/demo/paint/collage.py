"""Collage: cut and torn paper, each piece with its own grain, edge and shadow; details in marker or crayon."""

import cv2
import numpy as np

from portfolio.demo.paint.canvas import Area, Canvas
from portfolio.demo.paint.chance import smooth_1d, smooth_2d
from portfolio.demo.paint.dry import STICKS, Dry
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.marker import Marker
from portfolio.demo.paint.marks import Part, Scene
from portfolio.demo.paint.palette import sheet_color
from portfolio.demo.paint.paper import grain
from portfolio.demo.paint.shape import Bytes, Plane, Points, closed_path, limb, resampled
from portfolio.demo.paint.stage import drawn, nothing_hidden

_SKINS = ("skin0", "skin1", "skin2", "skin3", "skin4")
_SPARE = ("yellow", "white", "orange", "sky", "pink", "violet", "green", "red")


def work(scene: Scene, hand: Hand, *, long_px: int) -> Bytes:
    """The finished collage, ``(height, width, 3)`` sRGB."""
    canvas = Canvas(scene.sheet, (scene.width_mm, scene.height_mm), long_px=long_px, tooth="fine", rng=hand.rng)
    table = _Table(canvas, hand, torn=hand.rng.random() < 0.25)
    pen = Marker(canvas, hand) if hand.rng.random() < 0.6 else Dry(canvas, hand, STICKS["crayon"])
    least = 0.022 * min(scene.width_mm, scene.height_mm)
    for thing in drawn(scene, hand).things:
        for part in thing.parts:
            large = [shape for shape in part.shapes if float(np.ptp(shape, axis=0).max()) > least]
            small = [shape for shape in part.shapes if float(np.ptp(shape, axis=0).max()) <= least]
            name = part.fill or part.line or "black"
            table.glue_all(large, name)
            strips = [
                path for path in part.paths if part.width >= 1 and not part.shapes and name not in ("black", "white")
            ]
            table.glue_all([limb(resampled(path, 4), 4.0, 4.0) for path in strips], part.line or "black")
            rest = Part(
                shapes=tuple(small),
                paths=tuple(p for p in part.paths if not any(p is s for s in strips)),
                fill=part.fill,
                line=part.line,
                width=part.width * 0.8,
            )
            if rest.shapes and rest.fill:
                pen.fill(rest, nothing_hidden)
            if rest.line and (rest.shapes or rest.paths):
                pen.line(rest, rest.line if rest.line != scene.sheet else "white", nothing_hidden)
    return canvas.picture()


class _Table:
    """Where pieces are cut, patterned and glued down."""

    def __init__(self, canvas: Canvas, hand: Hand, *, torn: bool) -> None:
        self.canvas, self.hand, self.torn = canvas, hand, torn
        self._papers: dict[str, str] = {}

    def glue_all(self, shapes: list[Points], name: str) -> None:
        """Glue pieces of one color; they share a pattern."""
        rng = self.hand.rng
        pattern = str(rng.choice(np.array(["plain", "stripes", "dots", "news"]), p=[0.86, 0.06, 0.05, 0.03]))
        for shape in shapes:
            self._glue(
                self._cut(shape), self._visible(name), pattern if float(np.ptp(shape, axis=0).min()) > 18 else "plain"
            )

    def _visible(self, name: str) -> Points:
        """The paper for a color name; one that would not show on this ground is exchanged, alike in the whole work."""
        if name not in self._papers:
            under = sheet_color(self.canvas.paper)
            near = float(np.abs(sheet_color(name) - under).sum()) < 0.42
            spare = _SKINS if name.startswith("skin") else _SPARE
            other = [c for c in spare if float(np.abs(sheet_color(c) - under).sum()) > 0.6]
            self._papers[name] = other[int(self.hand.rng.integers(len(other)))] if near and other else name
        return sheet_color(self._papers[name])

    def _cut(self, shape: Points) -> Points:
        """Scissors cut in straight-ish facets, longer when young."""
        if self.torn:
            return shape
        step = min(7.5 - 3.0 * self.hand.control, 0.3 * float(np.ptp(shape, axis=0).max()))
        cut = resampled(closed_path(shape), step)[:-1]
        return cut + self.hand.rng.normal(0, 0.5 * (1.1 - self.hand.control), cut.shape) if len(cut) > 4 else shape

    def _glue(self, shape: Points, rgb: Points, pattern: str) -> None:
        canvas, rng = self.canvas, self.hand.rng
        cover = canvas.shape_cover([shape], 4)
        if cover is None:
            return
        mask, core = self._edge(cover.amount)
        self._shadows(cover.area, mask)
        size = (mask.shape[0], mask.shape[1])
        tone = 1 + (grain("fine", size, rng=rng).astype(np.float32) / 255 - 0.5) * np.float32(0.05)
        light = mask - np.roll(np.roll(mask, 1, axis=0), 1, axis=1)
        tone += light * np.float32(0.10)
        other = _pattern(pattern, size, canvas.scale, rng)
        rgb = np.clip(rgb * (1 + rng.normal(0, 0.025, 3)), 0, 1)
        for plane, channel in zip(canvas.planes, rgb, strict=True):
            piece = plane[cover.area]
            paint = tone * np.float32(channel)
            if other is not None:
                paint = paint + other * (
                    np.float32(0.62 if pattern == "news" else 0.94 if channel < 0.7 else 0.4) - paint
                ) * np.float32(0.8)
            if core is not None:
                paint = paint * core + np.float32(0.93) * (1 - core)
            piece += (paint - piece) * mask

    def _edge(self, amount: Plane) -> tuple[Plane, Plane | None]:
        if not self.torn:
            return amount, None
        size = (amount.shape[0], amount.shape[1])
        soft = cv2.blur(amount, (9, 9)) + smooth_2d(self.hand.rng, size, cell_px=3.2) * np.float32(0.16)
        soft += smooth_2d(self.hand.rng, size, cell_px=14) * np.float32(0.18)
        mask = np.clip((soft - 0.34) * 8, 0, 1).astype(np.float32)
        core = np.clip((soft - 0.58) * 7, 0, 1).astype(np.float32)
        return mask, core

    def _shadows(self, area: Area, mask: Plane) -> None:
        scale = self.canvas.scale
        lift = float(self.hand.rng.uniform(0.5, 1.3))
        shade = 1 - _shifted(mask, 0.35 * scale, 0.45 * scale, 0.35 * scale) * np.float32(0.30)
        shade *= 1 - _shifted(mask, 1.0 * scale * lift, 1.3 * scale * lift, 1.4 * scale) * np.float32(0.22 * lift)
        self.canvas.planes[(slice(None), *area)] *= shade


def _shifted(mask: Plane, dx: float, dy: float, sigma: float) -> Plane:
    moved = cv2.warpAffine(mask, np.array([[1, 0, dx], [0, 1, dy]], dtype=np.float32), (mask.shape[1], mask.shape[0]))
    return np.asarray(cv2.GaussianBlur(moved, (0, 0), max(0.5, sigma)), dtype=np.float32)


def _pattern(name: str, size: tuple[int, int], scale: float, rng: np.random.Generator) -> Plane | None:
    """Printed paper: stripes, dots, or the gray bars of a newspaper (no letters)."""
    height, width = size
    y, x = np.mgrid[:height, :width].astype(np.float32) / np.float32(scale)
    if name == "stripes":
        inked = np.mod(y + x * np.float32(rng.uniform(-0.3, 0.3)), 6.0) < 2.2
    elif name == "dots":
        inked = np.hypot(np.mod(x, 7.0) - 3.5, np.mod(y, 7.0) - 3.5) < 1.5
    elif name == "news":
        line = np.mod(y, 2.6) < 1.1
        words = smooth_1d(rng, width, cells=width / (3.2 * scale))[None] + np.sin(np.floor(y / 2.6) * 12.9)
        inked = line & (words > -0.5) & (np.mod(x, 42) > 3)
    else:
        return None
    return np.asarray(inked, dtype=np.float32)
