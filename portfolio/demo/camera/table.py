"""What the works lie on: wood, felt, white board, a cutting mat with its grid, kraft paper, a table full of things."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.cards.draw import srgb_of
from portfolio.demo.camera.chance import stream
from portfolio.demo.camera.conditions import Difficulty
from portfolio.demo.camera.scene import Table, TableKind

Canvas = NDArray[np.float32]
Paint = Callable[["_Ground"], Canvas]

_TONES: Final = {
    TableKind.WOOD: ((0.46, 0.27, 0.13), (0.60, 0.42, 0.24), (0.26, 0.13, 0.06), (0.55, 0.40, 0.28)),
    TableKind.FELT: ((0.016, 0.017, 0.02), (0.018, 0.03, 0.075), (0.06, 0.062, 0.065), (0.02, 0.055, 0.035)),
    TableKind.WHITE: ((0.80, 0.80, 0.79), (0.72, 0.72, 0.70), (0.85, 0.85, 0.86)),
    TableKind.MAT: ((0.035, 0.12, 0.085), (0.03, 0.06, 0.13), (0.05, 0.05, 0.055)),
    TableKind.KRAFT: ((0.46, 0.30, 0.15), (0.38, 0.25, 0.13)),
    TableKind.CLUTTER: ((0.55, 0.40, 0.25), (0.42, 0.44, 0.46), (0.65, 0.62, 0.56), (0.20, 0.24, 0.30)),
}
_THINGS: Final = (
    (200, 40, 40),
    (40, 90, 190),
    (240, 200, 40),
    (50, 140, 70),
    (240, 130, 40),
    (110, 60, 130),
    (30, 30, 30),
)


def sample_table(seed: int, difficulty: Difficulty) -> Table:
    """Draw a table; a careful teacher has a dark cloth."""
    chance = stream(seed, "table")
    gentle = difficulty is Difficulty.GENTLE
    kind = TableKind.FELT if gentle else list(TableKind)[int(chance.integers(len(TableKind)))]
    return table_of(kind, seed)


def table_of(kind: TableKind, seed: int) -> Table:
    """A table of a kind, in one of its usual colors."""
    chance = stream(seed, f"table {kind.value}")
    tones = _TONES[kind]
    tone = np.array(tones[int(chance.integers(len(tones)))]) * np.exp(chance.normal(0, 0.08))
    red, green, blue = np.minimum(tone, 0.88).tolist()
    return Table(kind, seed, (red, green, blue))


class _Ground:
    """A canvas in the making: its size, scale and chance."""

    def __init__(
        self, table: Table, origin_mm: tuple[float, float], size_px: tuple[int, int], px_per_mm: float
    ) -> None:
        self.table = table
        self.origin_mm = origin_mm
        self.height, self.width = size_px
        self.scale = px_per_mm
        self.chance = stream(table.seed, "ground")

    def clouds(self, cell_x_mm: float, cell_y_mm: float) -> Canvas:
        """Smooth noise, about -1 to 1, with cells of the given size."""
        cells = (
            max(2, round(self.height / self.scale / cell_y_mm) + 1),
            max(2, round(self.width / self.scale / cell_x_mm) + 1),
        )
        noise = self.chance.uniform(-1, 1, cells).astype(np.float32)
        return np.asarray(
            cv2.resize(noise, (self.width, self.height), interpolation=cv2.INTER_LINEAR), dtype=np.float32
        )

    def grain(self, amount: float) -> Canvas:
        """White noise from a tile of 256 × 256; a repeat is not seen in it."""
        tile = self.chance.normal(0, amount, (256, 256)).astype(np.float32)
        times = (-(-self.height // 256), -(-self.width // 256))
        return np.tile(tile, times)[: self.height, : self.width]


def _wood(ground: _Ground) -> Canvas:
    rings = ground.clouds(420, 34) * 9 + ground.clouds(900, 120) * 6
    return np.asarray(0.16 * np.sin(rings) + 0.09 * ground.clouds(60, 1.6) + ground.grain(0.03), dtype=np.float32)


def _felt(ground: _Ground) -> Canvas:
    return 0.10 * ground.clouds(90, 70) + 0.12 * ground.clouds(2.5, 2.5) + ground.grain(0.16)


def _white(ground: _Ground) -> Canvas:
    return 0.012 * ground.clouds(200, 200) + ground.grain(0.008)


def _mat(ground: _Ground) -> Canvas:
    shade = 0.05 * ground.clouds(150, 150) + ground.grain(0.03)
    for step_mm, half_mm, light in ((10.0, 0.2, 1.1), (50.0, 0.35, 1.8)):
        for axis, count in ((0, ground.height), (1, ground.width)):
            at_mm = np.arange(count) / ground.scale + ground.origin_mm[1 - axis]
            off_mm = np.abs((at_mm + step_mm / 2) % step_mm - step_mm / 2)
            line = np.clip((half_mm - off_mm) * ground.scale + 0.5, 0, 1).astype(np.float32) * light
            np.maximum(shade, np.expand_dims(line, 1 - axis), out=shade)
    return shade


def _kraft(ground: _Ground) -> Canvas:
    return 0.07 * ground.clouds(25, 0.9) + 0.05 * ground.clouds(120, 120) + ground.grain(0.06)


_PAINTS: Final[dict[TableKind, Paint]] = {
    TableKind.WOOD: _wood,
    TableKind.FELT: _felt,
    TableKind.WHITE: _white,
    TableKind.MAT: _mat,
    TableKind.KRAFT: _kraft,
    TableKind.CLUTTER: lambda ground: 0.04 * ground.clouds(160, 90) + ground.grain(0.02),
}


def canvas_of(
    table: Table, origin_mm: tuple[float, float], *, size_mm: tuple[float, float], px_per_mm: float
) -> NDArray[np.uint8]:
    """The table from ``origin_mm`` (its left and top edge), as 8-bit sRGB at the scale asked for."""
    size_px = (max(8, round(size_mm[1] * px_per_mm)), max(8, round(size_mm[0] * px_per_mm)))
    ground = _Ground(table, origin_mm, size_px, px_per_mm)
    shade = _PAINTS[table.kind](ground)
    index = np.clip((shade + 1.0) * 85, 0, 255).astype(np.uint8)
    steps = np.maximum(1 + (np.arange(256, dtype=np.float32) / 85 - 1), 0.05)
    palette = srgb_of(steps[:, None] * np.array(table.reflectance, dtype=np.float32))
    canvas = np.asarray(cv2.LUT(cv2.merge([index] * 3), palette[None]), dtype=np.uint8)
    if table.kind is TableKind.CLUTTER:
        _strew(canvas, ground)
    return canvas


def _strew(canvas: NDArray[np.uint8], ground: _Ground) -> None:
    """Pencils, crayons, erasers and scraps of paper, each with a little shadow."""
    area_mm2 = canvas.shape[0] * canvas.shape[1] / ground.scale**2
    for _ in range(int(np.clip(area_mm2 / 14000, 8, 90))):
        length, width, color = _thing(ground.chance)
        middle = ground.chance.uniform((0, 0), (canvas.shape[1], canvas.shape[0]))
        turn = ground.chance.uniform(0, np.pi)
        box = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * (length / 2, width / 2) * ground.scale
        spun = box @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]]) + middle
        _polygon(
            canvas, spun + 1.2 * ground.scale, tuple(int(x) for x in np.median(canvas[::50, ::50], axis=(0, 1)) * 0.7)
        )
        _polygon(canvas, spun, color)


def _thing(chance: np.random.Generator) -> tuple[float, float, tuple[int, ...]]:
    """Length, width (mm) and color of one thing."""
    color = _THINGS[int(chance.integers(len(_THINGS)))]
    kind = chance.random()
    if kind < 0.45:
        return float(chance.uniform(90, 180)), float(chance.uniform(6, 9)), color
    if kind < 0.75:
        return float(chance.uniform(45, 90)), float(chance.uniform(8, 12)), color
    paper = tuple(int(x) for x in 255 - chance.integers(8, 90, 3) * chance.random())
    return float(chance.uniform(30, 110)), float(chance.uniform(25, 80)), paper


def _polygon(canvas: NDArray[np.uint8], points: NDArray[np.float64], color: tuple[int, ...]) -> None:
    fixed = np.rint(points * 16).astype(np.int32)
    cv2.fillConvexPoly(canvas, fixed, color, lineType=cv2.LINE_AA, shift=4)
