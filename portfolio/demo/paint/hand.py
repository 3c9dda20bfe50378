"""The hand of a child at an age: turns ideal shapes into what the hand draws.

Skill figures by drawing age; the stages follow Lowenfeld and others, from memory, none looked up.
"""

import math
from dataclasses import dataclass

import numpy as np

from portfolio.demo.paint.chance import smooth_1d
from portfolio.demo.paint.child import Child
from portfolio.demo.paint.shape import Points, bounds, closed_path, half_plane, length, resampled


@dataclass(frozen=True)
class Stroke:
    """A drawn line: points in millimeters and the pressure (0-1) at each."""

    path: Points
    pressure: Points


@dataclass(frozen=True)
class Rows:
    """Coloring in: rows of four points, ``(rows, 4, 2)`` millimeters, with one pressure each and the slope in
    degrees.
    """

    paths: Points
    pressure: Points
    angle: float


@dataclass(frozen=True)
class Hand:
    """A child's hand at a drawing age, with its own stream of chance."""

    child: Child
    age: float
    rng: np.random.Generator

    @property
    def control(self) -> float:
        """Motor control, 0-1."""
        return 1 / (1 + math.exp(-0.75 * (self.age - 7.2)))

    @property
    def wobble_mm(self) -> float:
        """Slow wander of a long line."""
        return 3.2 * math.exp(-0.34 * (self.age - 5))

    @property
    def tremor_mm(self) -> float:
        """Fast shake of a line."""
        return 0.62 * math.exp(-0.30 * (self.age - 5)) * self.child.tremor

    @property
    def miss_mm(self) -> float:
        """How far coloring in misses the outline."""
        return 6.5 * math.exp(-0.34 * (self.age - 5)) * (1 - 0.4 * self.child.neat)

    @property
    def mixes(self) -> bool:
        """Whether a second, neighboring color is laid over the first."""
        return float(self.rng.random()) < 1 / (1 + math.exp(-1.1 * (self.age - 8.6)))

    def slope(self) -> float:
        """The slope of coloring in, degrees: right-handed children hatch one way, left-handed the other."""
        return 35 + self.rng.normal(0, 12) if self.child.left_handed else -50 + self.rng.normal(0, 12)

    def contour(self, shape: Points) -> Points:
        """The shape as this hand would make it: askew, wobbly, with soft corners when young."""
        left, top, right, bottom = bounds([shape])
        around = resampled(closed_path(shape), 1.6)[:-1]
        middle = np.array([(left + right) / 2, (top + bottom) / 2])
        askew = np.eye(2) + self.rng.normal(0, 0.13 * (1 - self.control) ** 1.3, (2, 2))
        around = (around - middle) @ askew + middle
        if self.age < 7 and len(around) > 12:
            around = _softened(around, 1 if self.age > 6 else 2)
        return around + self._ring_noise(len(around), length(around)) * 0.75

    def _ring_noise(self, count: int, long_mm: float) -> Points:
        scale = min(1.0, long_mm / 90) + 0.12
        slow = self._noise(count, long_mm / 30) * self.wobble_mm
        fast = self._noise(count, long_mm / 4.5) * self.tremor_mm
        noise = (slow + fast) * scale * 0.75
        closing = np.linspace(0, 1, count)[:, None] ** 3
        return np.asarray(noise - closing * (noise[-1] - noise[0]))

    def _noise(self, count: int, cells: float) -> Points:
        return np.stack([smooth_1d(self.rng, count, cells=cells), smooth_1d(self.rng, count, cells=cells)], axis=1)

    def outline(self, shape: Points) -> list[Stroke]:
        """The line around a shape already made by :meth:`contour`: it misses its start, runs past it or stops short."""
        path = closed_path(shape)
        long_mm = length(path)
        misfit = min(5.5 * math.exp(-0.38 * (self.age - 5)), long_mm * 0.06)
        past = int(len(shape) * np.clip(self.rng.normal(0.01, 0.03), -0.03, 0.07))
        path = np.concatenate([path, path[1 : 1 + past]]) if past > 0 else path[: len(path) + past]
        start = int(self.rng.integers(len(path))) if past == 0 else 0
        path = np.roll(path, -start, axis=0)
        drift = self.rng.normal(0, misfit, 2) * (np.linspace(0, 1, len(path)) ** 3)[:, None]
        shake = self._noise(len(path), long_mm / 4.5) * self.tremor_mm * 0.35
        return self._again(self._pressed(path + drift + shake), long_mm)

    def line(self, path: Points) -> list[Stroke]:
        """An open line with wander, tremor and, half the time, a little more than was meant."""
        long_mm = length(path)
        drawn = resampled(path, 1.4)
        scale = min(1.0, long_mm / 90) + 0.12
        drawn = drawn + self._noise(len(drawn), long_mm / 30) * self.wobble_mm * scale
        drawn = drawn + self._noise(len(drawn), long_mm / 4.5) * self.tremor_mm * scale
        if long_mm > 12 and self.rng.random() < 0.5:
            tail = (drawn[-1] - drawn[-3]) * self.rng.uniform(0.3, 1.2) * (1.3 - self.control)
            drawn = np.concatenate([drawn, drawn[-1:] + tail])
        return self._again(self._pressed(drawn), long_mm)

    def _pressed(self, path: Points) -> Stroke:
        count = len(path)
        push = (
            1 + 0.16 * smooth_1d(self.rng, count, cells=count / 14) + 0.10 * smooth_1d(self.rng, count, cells=count / 4)
        )
        along = np.linspace(0, 1, count)
        ramp = np.minimum(np.minimum(0.62 + 9 * along, 0.45 + 10 * (1 - along)), 1)
        return Stroke(path, np.clip(self.child.pressure * push * ramp, 0.12, 1))

    def _again(self, stroke: Stroke, long_mm: float) -> list[Stroke]:
        if self.age >= 7.5 or long_mm < 40 or self.rng.random() > 0.22:
            return [stroke]
        cut = slice(int(len(stroke.path) * self.rng.uniform(0, 0.3)), int(len(stroke.path) * self.rng.uniform(0.6, 1)))
        moved = stroke.path[cut] + self.rng.normal(0, 0.9, 2) + self._noise(len(stroke.path[cut]), 4) * 0.5
        return [stroke, Stroke(moved, stroke.pressure[cut])]

    def coloring(
        self, shape: Points, *, width_mm: float, angle: float | None = None, inset: float = 0.3, twice: bool = True
    ) -> list[Rows]:
        """Zigzag coloring in of a shape, in patches of an arm's reach; ``inset``: how far row ends stay inside, in
        widths.

        From about seven, patient hands go over it again at another angle (``twice``).
        """
        inset += 0.22 * self.control
        slope = self.slope() if angle is None else angle + float(self.rng.normal(0, 5))
        if self.age < 5.7 and self.rng.random() < 0.5:
            return [self._loops(shape, width_mm)]
        reach = 1.5 * (34 + 3.5 * (self.age - 5)) * (width_mm / 4) ** 0.6
        turn = 9 + 16 * (1 - self.control)
        found = [
            self._rows(patch, width_mm, tilt, inset)
            for patch, tilt in self._patches(shape, slope, reach, turn, width_mm)
        ]
        if twice and self.rng.random() < (self.age - 6.2) * 0.3 + 0.3 * self.child.neat:
            again = slope + float(self.rng.choice([-1, 1])) * float(self.rng.uniform(12, 40))
            found += [
                self._rows(patch, width_mm * 1.3, tilt, inset)
                for patch, tilt in self._patches(shape, again, reach * 1.2, turn, width_mm)
            ]
        return [rows for rows in found if len(rows.pressure)]

    def _patches(
        self, shape: Points, slope: float, reach: float, turn: float, width_mm: float
    ) -> list[tuple[Points, float]]:
        left, top, right, bottom = bounds([shape])
        wide, tall = right - left, bottom - top
        if max(wide, tall) < reach:
            return [(shape, slope)]
        lean = np.radians(self.rng.normal(0, 14))
        at = self.rng.uniform(0.4, 0.6)
        if wide >= tall:
            point, normal = np.array([left + wide * at, (top + bottom) / 2]), np.array([math.cos(lean), math.sin(lean)])
        else:
            point, normal = np.array([(left + right) / 2, top + tall * at]), np.array([math.sin(lean), math.cos(lean)])
        overlap = normal * (width_mm * 0.45 + 2.0)
        halves = half_plane(shape, point - overlap, normal), half_plane(shape, point + overlap, -normal)
        return [
            found
            for half in halves
            if len(half)
            for found in self._patches(half, slope + float(self.rng.normal(0, turn * 0.6)), reach, turn, width_mm)
        ]

    def _rows(self, shape: Points, width_mm: float, slope: float, inset: float) -> Rows:
        angle = math.radians(slope)
        frame = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
        local = shape @ frame
        ends = _crossings(local, self._row_heights(local, width_mm))
        if not len(ends):
            return Rows(np.empty((0, 4, 2)), np.empty(0), slope)
        ends = ends[self.rng.random(len(ends)) > 0.01 + 0.03 * (1 - self.control)]
        row, x0, x1, y = ends.T
        long_mm = np.maximum(x1 - x0, 0.1)
        small = np.minimum(1, long_mm / 14)
        x0 = x0 - self.rng.normal(0.10, 0.34, len(x0)) * self.miss_mm * small + width_mm * inset
        x1 = x1 + self.rng.normal(0.10, 0.34, len(x1)) * self.miss_mm * small - width_mm * inset
        u = np.array([0, 0.33, 0.67, 1.0])
        tilt = np.where(row % 2 == 0, 1, -1)[:, None] * width_mm * 0.42 * (2 * u - 1)
        bow = (self.rng.normal(0.02, 0.012, len(y)) * long_mm)[:, None] * 4 * u * (1 - u)
        rows = np.stack([x0[:, None] + (x1 - x0)[:, None] * u, y[:, None] + tilt + bow], axis=2)
        pressure = np.clip(self.child.pressure * (1 + 0.13 * self.rng.normal(size=len(y))), 0.45, 1)
        return Rows(rows @ frame.T, pressure, slope)

    def _row_heights(self, local: Points, width_mm: float) -> Points:
        low, high = float(local[:, 1].min()), float(local[:, 1].max())
        step = width_mm * float(np.clip(1.02 - 0.16 * self.child.neat - 0.34 * self.control, 0.5, 1.1))
        count = max(1, math.ceil((high - low) / step))
        heights = low + np.cumsum(step * np.clip(self.rng.normal(1, 0.24, count), 0.4, 1.5)) - step / 2
        heights = heights[heights < high]
        return heights if len(heights) else np.array([(low + high) / 2])

    def _loops(self, shape: Points, width_mm: float) -> Rows:
        left, top, right, bottom = bounds([shape])
        middle, half = (
            np.array([(left + right) / 2, (top + bottom) / 2]),
            np.array([right - left, bottom - top]) / 2 + 1.5,
        )
        turns = int(np.clip(half.max() / width_mm * 1.5, 4, 22))
        t = np.linspace(0, turns * 2 * math.pi, turns * 12)
        drift = self._noise(len(t), turns * 0.6) * 0.45
        reach = 0.5 + 0.4 * smooth_1d(self.rng, len(t), cells=turns)[:, None]
        ring = np.stack([np.cos(t), np.sin(t)], axis=1) * reach + drift
        path = middle + np.tanh(ring * 1.1) * half * 1.12
        quads = (
            np.stack([path[:-3:3], path[1:-2:3], path[2:-1:3], path[3::3]][:4], axis=1)
            if len(path) > 6
            else path[None, :4]
        )
        pressure = np.clip(self.child.pressure * (1 + 0.12 * self.rng.normal(size=len(quads))), 0.3, 1)
        return Rows(quads, pressure, self.slope())


def _softened(ring: Points, reach: int) -> Points:
    parts = [np.roll(ring, step, axis=0) for step in range(-reach, reach + 1)]
    return np.asarray(np.mean(parts, axis=0))


def _crossings(local: Points, heights: Points) -> Points:
    """Where level lines cross a polygon: rows of (row number, left, right, height)."""
    x, y = local[:, 0][None], local[:, 1][None]
    x_next, y_next = np.roll(x, -1), np.roll(y, -1)
    level = heights[:, None]
    crosses = (y <= level) != (y_next <= level)
    run = np.where(y_next == y, 1, y_next - y)
    at = np.sort(np.where(crosses, x + (level - y) * (x_next - x) / run, np.inf), axis=1)
    most = int(crosses.sum(axis=1).max()) // 2
    found = [
        np.stack([np.nonzero(ok)[0], at[ok, 2 * i], at[ok, 2 * i + 1], heights[ok]], axis=1)
        for i in range(most)
        if (ok := np.isfinite(at[:, 2 * i + 1])).any()
    ]
    return np.concatenate(found) if found else np.empty((0, 4))
