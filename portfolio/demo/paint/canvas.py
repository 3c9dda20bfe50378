"""A sheet being worked on: strokes become coverage, coverage becomes pigment.

The picture is kept as three float planes. Strokes go to three byte planes in turn, so that overlaps darken without
one buffer a stroke.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import cv2
import numpy as np

from portfolio.demo.paint.hand import Rows, Stroke
from portfolio.demo.paint.paper import grain, sheet
from portfolio.demo.paint.shape import Bytes, Plane, Points

Area = tuple[slice, slice]
Clip = Callable[[Area], Plane | None]  # what of a mark may show in an area, 0-1; None: all of it
_SHIFT = 4


@dataclass(frozen=True)
class Cover:
    """Coverage 0-1 of one mark in a piece of the sheet."""

    area: Area
    amount: Plane


class Canvas:
    """A sheet of paper at a scale (pixels per millimeter)."""

    def __init__(
        self, paper: str, size_mm: tuple[float, float], *, long_px: int, tooth: str, rng: np.random.Generator
    ) -> None:
        self.scale = long_px / max(size_mm)
        self.width, self.height = (max(8, round(side * self.scale)) for side in size_mm)
        self.rng = rng
        self.paper = paper
        self.planes = sheet(paper, (self.height, self.width), rng=rng)
        self.tooth = grain(tooth, (self.height, self.width), rng=rng)
        self._wet = [np.zeros((self.height, self.width), np.uint8) for _ in range(3)]

    def area(self, low: Points, high: Points, margin_mm: float) -> Area | None:
        """The pixels of a box in millimeters with a margin; None when off the sheet."""
        x0, y0 = np.maximum(np.floor((low - margin_mm) * self.scale), 0).astype(int)
        x1, y1 = np.ceil((high + margin_mm) * self.scale).astype(int)
        x1, y1 = min(int(x1), self.width), min(int(y1), self.height)
        return (slice(int(y0), y1), slice(int(x0), x1)) if x1 - x0 > 1 and y1 - y0 > 1 else None

    def pixels(self, path: Points) -> Points:
        """Points in sixteenths of a pixel, for the drawing calls."""
        return np.asarray(np.clip(path * self.scale * (1 << _SHIFT), -(1 << 20), 1 << 20), dtype=np.int32)

    def rows(self, rows: Sequence[Rows], width_mm: float, *, blur_px: float = 0) -> Cover | None:
        """Coverage of coloring in."""
        paths = np.concatenate([row.paths for row in rows]) if rows else np.empty((0, 4, 2))
        if not len(paths):
            return None
        pressure = np.concatenate([row.pressure for row in rows])
        flat = paths.reshape(-1, 2)
        area = self.area(flat.min(axis=0), flat.max(axis=0), width_mm)
        if area is None:
            return None
        width = max(1, round(width_mm * self.scale))
        for index, (path, push) in enumerate(zip(self.pixels(paths), (pressure * 255).tolist(), strict=True)):
            cv2.polylines(self._wet[index % 3], [path], False, push, width, cv2.LINE_AA, _SHIFT)
        return self._lift(area, blur_px)

    def strokes(self, strokes: Sequence[Stroke], width_mm: float, *, blur_px: float = 0) -> Cover | None:
        """Coverage of drawn lines; the width follows the pressure a little."""
        if not strokes:
            return None
        every = np.concatenate([stroke.path for stroke in strokes])
        area = self.area(every.min(axis=0), every.max(axis=0), width_mm)
        if area is None:
            return None
        for index, stroke in enumerate(strokes):
            path, step = self.pixels(stroke.path), 5
            push = stroke.pressure.tolist()
            for start in range(0, len(path) - 1, step):
                now = push[min(start + step // 2, len(push) - 1)]
                width = max(1, round(width_mm * self.scale * (0.80 + 0.24 * now)))
                cv2.polylines(
                    self._wet[index % 3], [path[start : start + step + 1]], False, now * 255, width, cv2.LINE_AA, _SHIFT
                )
        return self._lift(area, blur_px)

    def _lift(self, area: Area, blur_px: float) -> Cover:
        rest: Plane | None = None
        for plane in self._wet:
            piece = plane[area]
            kept = piece.astype(np.float32)
            kept *= -0.8 / 255
            kept += 1
            rest = kept if rest is None else np.multiply(rest, kept, out=rest)
            piece[:] = 0
        assert rest is not None  # three planes, always
        amount = np.subtract(1, rest, out=rest)
        if blur_px > 0.3:
            amount = np.asarray(cv2.GaussianBlur(amount, (0, 0), blur_px), dtype=np.float32)
        return Cover(area, amount)

    def mask(self, shapes: Sequence[Points]) -> Bytes:
        """The filled shapes as a mask of the whole sheet."""
        made = np.zeros((self.height, self.width), np.uint8)
        for shape in shapes:
            cv2.fillPoly(made, [self.pixels(shape)], 255, cv2.LINE_AA, _SHIFT)
        return made

    def shape_cover(self, shapes: Sequence[Points], margin_mm: float) -> Cover | None:
        """The filled shapes as coverage, with room for what runs over."""
        every = np.concatenate(list(shapes))
        area = self.area(every.min(axis=0), every.max(axis=0), margin_mm)
        if area is None:
            return None
        for shape in shapes:
            cv2.fillPoly(self._wet[0], [self.pixels(shape)], 255, cv2.LINE_AA, _SHIFT)
        amount = self._wet[0][area].astype(np.float32)
        amount *= 1 / 255
        self._wet[0][area] = 0
        return Cover(area, amount)

    def glaze(self, area: Area, amount: Plane, rgb: Points, *, opacity: float) -> None:
        """Lay a color: partly covering (``opacity``), partly filtering what lies below."""
        for plane, channel in zip(self.planes, rgb.tolist(), strict=True):
            piece = plane[area]
            kept = amount * np.float32(-(1 - (1 - opacity) * channel))
            kept += 1
            piece *= kept
            piece += amount * np.float32(opacity * channel)

    def dye(self, area: Area, density: Plane, rgb: Points) -> None:
        """Stain: each channel is dimmed by the density times the dye's absorbance."""
        for plane, channel in zip(self.planes, rgb.tolist(), strict=True):
            plane[area] *= np.exp(density * np.float32(np.log(max(channel, 0.02))))

    def picture(self) -> Bytes:
        """The sheet as ``(height, width, 3)`` bytes, sRGB."""
        made = np.empty((self.height, self.width, 3), np.uint8)
        for channel, plane in enumerate(self.planes):
            np.clip(plane * 255 + 0.5, 0, 255, out=plane)
            made[:, :, channel] = plane
        return made
