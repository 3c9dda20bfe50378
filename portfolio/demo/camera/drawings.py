"""Simple works to photograph in tests and measurements: no likeness to a child's hand is claimed.

Each is 8-bit sRGB straight from above; free outlines carry an alpha channel. The same seed gives the same picture.
"""

from __future__ import annotations

from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.demo.camera.chance import stream
from portfolio.demo.camera.scene import Shape, WorkLaid

Picture = NDArray[np.uint8]
SHEETS_MM: Final = ((305.0, 229.0), (457.0, 305.0), (610.0, 457.0), (297.0, 210.0), (420.0, 297.0))
"""9 × 12, 12 × 18 and 18 × 24 inches, A4 and A3, long side first."""
_PAPERS: Final = ((246, 244, 238), (240, 237, 228), (231, 213, 170), (44, 43, 46), (58, 92, 150), (176, 60, 52))
_COLORS: Final = (
    (200, 40, 40), (240, 130, 40), (245, 205, 50), (60, 150, 70), (40, 90, 190), (110, 60, 140), (120, 75, 45),
    (35, 35, 40), (240, 160, 180), (90, 190, 210),
)  # fmt: skip


def drawing(
    seed: int, width_mm: float, height_mm: float, *, px_per_mm: float = 4.0, paper: int | None = None
) -> Picture:
    """A sheet with a ground line, a house, sun, figures and scribbles in thick lines (height × width × 3)."""
    chance = stream(seed, "drawing")
    size = (round(height_mm * px_per_mm), round(width_mm * px_per_mm))
    ground = _PAPERS[int(chance.choice(6, p=(0.4, 0.2, 0.15, 0.1, 0.08, 0.07))) if paper is None else paper]
    sheet = np.empty((*size, 3), dtype=np.uint8)
    sheet[:] = ground
    pen = _Pen(sheet, chance, px_per_mm)
    pen.ground_line()
    for _ in range(int(chance.integers(4, 9))):
        (pen.sun, pen.house, pen.figure, pen.scribble, pen.flower)[int(chance.integers(5))]()
    tooth = chance.normal(0, 3.0, size).astype(np.float32)[..., None]
    return np.asarray(np.clip(sheet + tooth, 0, 255), dtype=np.uint8)


class _Pen:
    """Draws things of a few lines at chance places of a sheet."""

    def __init__(self, sheet: Picture, chance: np.random.Generator, scale: float) -> None:
        self.sheet, self.chance, self.scale = sheet, chance, scale
        self.side = min(sheet.shape[:2])

    def _color(self) -> tuple[int, ...]:
        return _COLORS[int(self.chance.integers(len(_COLORS)))]

    def _spot(self) -> tuple[np.ndarray, float]:
        radius = self.side * float(self.chance.uniform(0.06, 0.16))
        low, high = radius * 1.3, np.array(self.sheet.shape[1::-1]) - radius * 1.3
        return self.chance.uniform((low, low), high), radius

    def line(self, points: np.ndarray, *, color: tuple[int, ...] | None = None, closed: bool = False) -> None:
        shaken = points + self.chance.normal(0, 0.6 * self.scale, points.shape)
        width = max(1, round(self.scale * float(self.chance.uniform(1.5, 4.0))))
        fixed = np.rint(shaken * 16).astype(np.int32)
        cv2.polylines(self.sheet, [fixed], closed, color or self._color(), width, cv2.LINE_AA, 4)

    def fill(self, points: np.ndarray) -> None:
        cv2.fillPoly(self.sheet, [np.rint(points * 16).astype(np.int32)], self._color(), cv2.LINE_AA, 4)

    def ring(self, middle: np.ndarray, radius: float, count: int = 24) -> np.ndarray:
        turn = np.linspace(0, 2 * np.pi, count, endpoint=False)
        return middle + radius * np.column_stack([np.cos(turn), np.sin(turn)])

    def ground_line(self) -> None:
        height, width = self.sheet.shape[:2]
        x = np.linspace(0.02 * width, 0.98 * width, 20)
        self.line(np.column_stack([x, np.full(20, height * self.chance.uniform(0.75, 0.92))]))

    def sun(self) -> None:
        middle, radius = self._spot()
        color = self._color()
        self.fill(self.ring(middle, radius * 0.6))
        for ray in self.ring(np.zeros(2), 1.0, 11):
            self.line(np.array([middle + ray * radius * 0.75, middle + ray * radius * 1.2]), color=color)

    def house(self) -> None:
        middle, r = self._spot()
        box = np.array([[-1, -0.2], [1, -0.2], [1, 1], [-1, 1]]) * r + middle
        self.fill(box)
        self.line(box, closed=True)
        self.line(np.array([[-1.1, -0.2], [0, -1.1], [1.1, -0.2]]) * r + middle, closed=True)

    def figure(self) -> None:
        middle, r = self._spot()
        color = self._color()
        self.line(self.ring(middle - (0, 0.7 * r), 0.3 * r), color=color, closed=True)
        for limb in ([[0, -0.4], [0, 0.4]], [[-0.5, -0.2], [0.5, -0.1]], [[0, 0.4], [-0.4, 1]], [[0, 0.4], [0.4, 1]]):
            self.line(np.array(limb) * r + middle, color=color)

    def scribble(self) -> None:
        middle, r = self._spot()
        self.line(np.clip(self.chance.normal(0, 0.5, (40, 2)), -1.1, 1.1).cumsum(axis=0) * r * 0.15 + middle)

    def flower(self) -> None:
        middle, r = self._spot()
        self.line(np.array([middle, middle + np.array([0, r])]))
        for petal in self.ring(middle, 0.45 * r, 6):
            self.fill(self.ring(petal, 0.25 * r, 12))


def torn(picture: Picture, seed: int, *, px_per_mm: float = 4.0) -> Picture:
    """The sheet with torn edges: alpha cuts 2-14 mm off each side along a rough line (height × width × 4)."""
    chance = stream(seed, "torn")
    height, width = picture.shape[:2]
    alpha = np.full((height, width), 255, np.uint8)
    for side in range(4):
        long = width if side % 2 == 0 else height
        cells = chance.uniform(2, 14, max(4, round(long / px_per_mm / 25))).astype(np.float32)[None]
        rough = cv2.resize(cells, (long, 1), interpolation=cv2.INTER_CUBIC)[0]
        fine = cv2.resize(chance.normal(0, 0.5, (1, max(8, long // 6))).astype(np.float32), (long, 1))[0]
        depth = np.maximum((rough + fine) * px_per_mm, 1)
        gone = np.arange(height if side % 2 == 0 else width)[:, None] < depth[None]
        gone = gone if side % 2 == 0 else gone.T
        alpha[gone if side < 2 else gone[::-1, ::-1]] = 0
    return _whole(picture, alpha)


def cut_out(picture: Picture, seed: int) -> Picture:
    """The picture cut along a smooth free line, a blob or a star (height × width × 4)."""
    chance = stream(seed, "cut")
    height, width = picture.shape[:2]
    turn = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    radius = np.full(180, 0.8)
    for wave in range(2, 7):
        radius += chance.normal(0, 0.22 / wave) * np.cos(wave * turn + chance.uniform(0, 6.3))
    radius *= 0.97 / radius.max()
    edge = np.column_stack(
        [np.cos(turn) * radius * width / 2 + width / 2, np.sin(turn) * radius * height / 2 + height / 2]
    )
    alpha = np.zeros((height, width), np.uint8)
    cv2.fillPoly(alpha, [np.rint(edge * 16).astype(np.int32)], 255, cv2.LINE_AA, 4)
    return _whole(picture, alpha)


def solid_thing(seed: int, width_mm: float, height_mm: float, *, px_per_mm: float = 4.0) -> Picture:
    """A lump of clay seen from above: one color, rounded shading, a few dents (height × width × 4)."""
    chance = stream(seed, "solid")
    size = (round(height_mm * px_per_mm), round(width_mm * px_per_mm))
    clay = np.array(((176, 96, 66), (214, 206, 192), (92, 130, 120), (150, 120, 90))[int(chance.integers(4))])
    cut = cut_out(np.zeros((*size, 3), np.uint8) + clay.astype(np.uint8), seed)
    inner = cv2.distanceTransform((cut[..., 3] > 127).astype(np.uint8), cv2.DIST_L2, 5)
    dents = cv2.resize(chance.normal(0, 1, (7, 9)).astype(np.float32), size[::-1], interpolation=cv2.INTER_CUBIC)
    body = np.sqrt(inner / max(float(inner.max()), 1.0)) * 0.35 * min(size) + dents * 0.012 * min(size)
    slope_y, slope_x = np.gradient(cv2.GaussianBlur(body.astype(np.float32), (0, 0), 2.0 * px_per_mm / 4))
    shade = np.clip(0.85 + 0.32 * (-slope_x - slope_y) / np.sqrt(1 + slope_x**2 + slope_y**2), 0.35, 1.25)
    cut[..., :3] = np.clip(cut[..., :3] * shade[..., None], 0, 255).astype(np.uint8)
    return cut


def _whole(picture: Picture, alpha: Picture) -> Picture:
    """Keep only the largest piece, so that a work is one thing."""
    count, labels, stats, _ = cv2.connectedComponentsWithStats((alpha > 127).astype(np.uint8))
    if count > 2:
        biggest = 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
        alpha = np.where((labels == biggest) | (alpha <= 127), alpha, 0).astype(np.uint8)
    return np.dstack([picture, alpha])


def sample_work(seed: int, *, shape: Shape | None = None, px_per_mm: float = 4.0) -> WorkLaid:
    """A work of a usual size and shape: seven in ten are straight sheets, some of them bowed."""
    chance = stream(seed, "work")
    if shape is None:
        shape = list(Shape)[int(chance.choice(4, p=(0.70, 0.13, 0.09, 0.08)))]
    width, height = SHEETS_MM[int(chance.choice(5, p=(0.4, 0.3, 0.06, 0.16, 0.08)))]
    if chance.random() < 0.3:
        width, height = height, width
    if shape is Shape.SOLID:
        width, height = float(chance.uniform(80, 170)), float(chance.uniform(80, 150))
        picture = solid_thing(seed, width, height, px_per_mm=px_per_mm)
        return WorkLaid(picture, width, height, shape, thickness_mm=float(chance.uniform(12, 40)))
    picture = drawing(seed, width, height, px_per_mm=px_per_mm)
    thick = float(chance.uniform(0.2, 0.8))
    if shape is Shape.TORN:
        return WorkLaid(torn(picture, seed, px_per_mm=px_per_mm), width, height, shape, thickness_mm=thick)
    if shape is Shape.CUT:
        return WorkLaid(cut_out(picture, seed), width, height, shape, thickness_mm=thick)
    bow = float(chance.uniform(1, 6)) if chance.random() < 0.25 else float(chance.uniform(0, 0.6))
    return WorkLaid(
        picture, width, height, shape, bow_mm=bow, bow_upright=bool(chance.random() < 0.5), thickness_mm=thick
    )
