"""Works on a flat sheet with sticks, markers and brushes: a scene is drawn by a hand, part by part, in a medium."""

from collections.abc import Callable
from dataclasses import replace
from typing import Protocol

import numpy as np

from portfolio.demo.paint.canvas import Canvas, Clip
from portfolio.demo.paint.dry import STICKS, Dry
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.marker import Marker
from portfolio.demo.paint.marks import Part, Scene
from portfolio.demo.paint.shape import Bytes
from portfolio.demo.paint.stage import Stage, drawn
from portfolio.demo.paint.tempera import Tempera
from portfolio.demo.paint.watercolor import Watercolor


class Painter(Protocol):
    """What every medium can do with a part."""

    def fill(self, part: Part, clip: Clip) -> None:
        """Color in the shapes of the part."""

    def line(self, part: Part, name: str, clip: Clip) -> None:
        """Draw its outlines and paths in a color."""


def work(scene: Scene, hand: Hand, *, medium: str, long_px: int) -> Bytes:
    """The finished sheet, ``(height, width, 3)`` sRGB;
    refuses media that are not flat drawing or painting with KeyError.
    """
    tooth = {"watercolor": "rough", "mixed media": "rough", "colored pencil": "fine", "pencil": "fine"}.get(
        medium, "tooth"
    )
    canvas = Canvas(scene.sheet, (scene.width_mm, scene.height_mm), long_px=long_px, tooth=tooth, rng=hand.rng)
    painter = _painter(medium, canvas, hand)
    rng = hand.rng
    halo = -0.8 if medium in ("tempera", "oil pastel") else max(0.2, 1.1 - hand.child.neat) * float(rng.uniform(0.3, 1))
    stage = Stage(drawn(scene, hand), canvas, hand, halo_mm=halo, opaque=medium == "tempera")
    outlines = medium != "tempera" or hand.age < 6 or rng.random() < 0.45
    for placed in stage:
        part = placed.part
        if part.fill is not None and part.shapes:
            painter.fill(part, placed.shown)
        if part.line is not None and (part.paths or outlines or part.fill is None):
            painter.line(part, part.line, placed.shown)
    if isinstance(painter, Tempera):
        painter.finish()
    if medium in STICKS and rng.random() < 0.05:
        _fold(canvas, rng)
    return canvas.picture()


class Mixed:
    """Mixed media: washes of watercolor, and lines and small shapes in oil pastel or marker that stand on them."""

    def __init__(self, canvas: Canvas, hand: Hand) -> None:
        self._wash = Watercolor(canvas, hand)
        pastel = replace(STICKS["oil pastel"], line_mm=3.6, fill_mm=5.0)
        self._pen: Painter = Dry(canvas, hand, pastel) if hand.rng.random() < 0.7 else Marker(canvas, hand)

    def fill(self, part: Part, clip: Clip) -> None:
        """Wash large shapes, color in small ones."""
        large = max(float(np.ptp(shape, axis=0).max()) for shape in part.shapes) > 24
        (self._wash if large else self._pen).fill(part, clip)

    def line(self, part: Part, name: str, clip: Clip) -> None:
        """Draw outlines and paths with the stick or pen."""
        self._pen.line(part, name, clip)


def _painter(medium: str, canvas: Canvas, hand: Hand) -> Painter:
    if medium in STICKS:
        return Dry(canvas, hand, STICKS[medium])
    makers: dict[str, Callable[[Canvas, Hand], Painter]] = {
        "marker": Marker,
        "tempera": Tempera,
        "watercolor": Watercolor,
        "mixed media": Mixed,
    }
    return makers[medium](canvas, hand)


def _fold(canvas: Canvas, rng: np.random.Generator) -> None:
    """A crease across the sheet: a dark line, a light shoulder, a shade that fades over 7 mm."""
    at = (
        canvas.width / 2
        + rng.normal(0, canvas.width * 0.02)
        + np.linspace(-1, 1, canvas.height)[:, None] * rng.normal(0, 6)
    )
    away = np.arange(canvas.width)[None] - at
    shade = (
        -0.14 * np.exp(-((away / 1.3) ** 2))
        + 0.05 * np.exp(-(((away - 3) / 2) ** 2))
        - 0.06 * np.exp(-np.maximum(away, 0) / (7 * canvas.scale)) * (away > 0)
    )
    canvas.planes *= (1 + shade).astype(np.float32)
