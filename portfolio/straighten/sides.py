"""Fit the four sides of a sheet to the photo itself, to a fraction of a millimeter.

Short lines across each side are read from the photo in linear light, where a blurred edge still has its middle in the
right place. The straight line with the most edge under it is taken, then fitted robustly to the edge's own middle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.straighten.plane import Plane, shrunk
from portfolio.straighten.pose import Array, Pose, carried
from portfolio.straighten.srgb import LIGHT_OF

Pixels = NDArray[np.uint8]

_ACROSS: Final = 72
"""Lines across each side."""
_STEP_MM: Final = 0.25
_REACH_MM: Final = 6.0
_ENDS: Final = 0.03
"""Share of a side left out at both ends: corners curl and wear."""
_ALONG: Final = np.linspace(_ENDS, 1 - _ENDS, _ACROSS)
_TURNS_MM: Final = np.linspace(-4, 4, 9)
"""How much farther out the far end of a side may lie than the near end."""
_NEAR_MM: Final = 1.0
_RIDGE: Final = 1e-9
_BEYOND_MM: Final = (4.0, 24.0)
_BEYOND_STEPS: Final = 20


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """A quadrilateral fitted to the photo. ``corners_mm``: 4 × 2, clockwise."""

    corners_mm: Array
    supports: Array
    """For each side, the share of it that lies on a clear edge, 0-1; what a card hides is left out."""
    beyond: Array
    """For each side (4 × 2: at its start and its end), the share of its continuation that lies on a clear edge too.
    A sheet's sides end at its corners; lines of a grid, or of a drawing that meets the sheet's edge, go on."""
    edges_mm: tuple[Array, ...]
    """Points on each of the four sides (N × 2), where the edge itself was seen."""
    rough_mm: float
    """How far the worst side's edge strays from a straight line (median)."""

    @property
    def weakest(self) -> float:
        """Support of the weakest side."""
        return float(self.supports.min())

    @property
    def sides_mm(self) -> Array:
        """Lengths of the four sides: from corner 0 to 1, and so on."""
        return np.asarray(np.linalg.norm(np.roll(self.corners_mm, -1, axis=0) - self.corners_mm, axis=1), np.float64)

    @property
    def worst_angle_deg(self) -> float:
        """How far the worst corner is from a right angle."""
        ahead = np.roll(self.corners_mm, -1, axis=0) - self.corners_mm
        back = np.roll(self.corners_mm, 1, axis=0) - self.corners_mm
        cosine = (ahead * back).sum(axis=1) / np.maximum(
            np.linalg.norm(ahead, axis=1) * np.linalg.norm(back, axis=1), 1e-9
        )
        return float(np.abs(np.degrees(np.arcsin(np.clip(cosine, -1, 1)))).max())


def fit_sides(
    pixels: Pixels, pose: Pose, plane: Plane, corners_mm: Array, *, shrink: int, reach_mm: float = _REACH_MM
) -> Fitted:
    """Move the four sides of ``corners_mm`` onto the edges nearby (within ``reach_mm``)."""
    lines, supports, beyond, rough, edges = [], [], [], [], []
    to_photo = shrunk(shrink) @ pose.to_px
    for index in range(4):
        start, end = corners_mm[index], corners_mm[(index + 1) % 4]
        edge = _edge_under(pixels, to_photo, plane, (start, end), reach_mm=reach_mm)
        line, support, stray = _fit_line(edge)
        edges.append(_points_on(edge, line, start, end))
        lines.append(_placed(line, start, end))
        supports.append(support)
        rough.append(stray)
        beyond.append(_beyond(pixels, to_photo, plane, lines[-1], noise=edge.noise))
    corners = [_crossing(lines[index - 1], lines[index]) for index in range(4)]
    moved = np.array([old if new is None else new for old, new in zip(corners_mm, corners, strict=True)])
    return Fitted(moved, np.array(supports), np.array(beyond), tuple(edges), max(rough))


@dataclass(frozen=True, slots=True, eq=False)
class _Edge:
    """Edge strength [position along, offset across]; positions are shares of the side, offsets millimeters outward.

    Positions that a card hides, or that the photo does not show, are left out.
    """

    strength: Array
    along: Array
    offsets_mm: Array

    @property
    def noise(self) -> float:
        """Strength of what is no edge."""
        return float(np.median(self.strength)) + 1e-6 if self.strength.size else 1.0


Line = tuple[Array, Array]


def _edge_under(
    pixels: Pixels, to_photo: Array, plane: Plane, line: Line, *, reach_mm: float, along: Array = _ALONG
) -> _Edge:
    start, end = line
    offsets = np.arange(-reach_mm - 1, reach_mm + 1 + _STEP_MM / 2, _STEP_MM)
    direction = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    outward = np.array([direction[1], -direction[0]])
    middles = start + along[:, None] * (end - start)
    shown = _shown(plane, middles)
    along, middles = along[shown], middles[shown]
    if not len(along):
        return _Edge(np.zeros((0, len(offsets))), along, offsets)
    places = middles[:, None] + offsets[None, :, None] * outward
    at = carried(places.reshape(-1, 2), to_photo).astype(np.float32)
    x, y = (at[:, axis].reshape(len(along), len(offsets)) for axis in (0, 1))
    seen = np.asarray(cv2.remap(pixels, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE))
    light = np.asarray(cv2.LUT(seen, LIGHT_OF), np.float32)
    soft = cv2.GaussianBlur(light, (0, 0), sigmaX=0.5 / _STEP_MM, sigmaY=1.0)
    slope = np.gradient(np.asarray(soft, np.float64), axis=1)
    # Relative to the light there: an edge in a dark corner counts like one in the light.
    strength = np.sqrt(np.square(slope).sum(axis=2)) / (np.median(soft, axis=(1, 2))[:, None] + 0.02)
    outside = (x < 0) | (y < 0) | (x > pixels.shape[1] - 1) | (y > pixels.shape[0] - 1)
    strength[outside] = 0
    return _Edge(strength, along, offsets)


def _shown(plane: Plane, points_mm: Array) -> NDArray[np.bool_]:
    """Which points no card hides. Beyond the photo everything is shown: an edge there counts as missing."""
    at = np.rint(plane.to_px(points_mm)).astype(int)
    height, width = plane.card.shape
    inside = ((at >= 0) & (at < (width, height))).all(axis=1)
    shown = np.ones(len(at), np.bool_)
    shown[inside] = ~plane.card[at[inside, 1], at[inside, 0]]
    return shown


def _beyond(pixels: Pixels, to_photo: Array, plane: Plane, line: Line, *, noise: float) -> tuple[float, float]:
    """How far a fitted side goes on as an edge beyond its start and its end, 0-1."""
    start, end = line
    length = max(float(np.linalg.norm(end - start)), 1e-9)
    steps = np.linspace(*_BEYOND_MM, _BEYOND_STEPS) / length
    shares = []
    for along in (-steps[::-1], 1 + steps):
        edge = _edge_under(pixels, to_photo, plane, line, reach_mm=1.0, along=along)
        near = np.abs(edge.offsets_mm) <= _NEAR_MM
        strong = (np.where(_is_peak(edge.strength), edge.strength, 0)[:, near] > 2.5 * noise).any(axis=1)
        shares.append(float(strong.sum()) / _BEYOND_STEPS)
    return shares[0], shares[1]


def _fit_line(edge: _Edge) -> tuple[Array, float, float]:
    """Offset at both ends of the side (mm), support, and the median distance of the edge from the line."""
    if len(edge.along) < _ACROSS // 4:
        return np.zeros(2), 0.0, _NEAR_MM
    noise = edge.noise
    clear = np.minimum(edge.strength / (4 * noise), 1.5) * (edge.strength > 2 * noise)
    peak = _is_peak(edge.strength)
    line = _best_line(np.where(peak, clear, 0.3 * clear), edge)
    for reach_mm in (1.5, _NEAR_MM, _NEAR_MM):
        near, weight, strong = _middles(edge, _at(line, edge.along), reach_mm=reach_mm, noise=noise)
        if strong.sum() < _ACROSS // 6:
            return line, float(strong.mean()), reach_mm
        line = _robust_line(edge.along[strong], near[strong], weight[strong])
    stray = np.abs(near[strong] - _at(line, edge.along[strong]))
    on_line = strong.copy()
    on_line[strong] = stray < 0.6 * _NEAR_MM
    return line, float(on_line.mean()), float(np.median(stray))


def _at(line: Array, along: Array) -> Array:
    """Offset of a line at places along the side."""
    return np.asarray(line[0] + along * (line[1] - line[0]), np.float64)


def _is_peak(strength: Array) -> NDArray[np.bool_]:
    return np.asarray((strength >= np.roll(strength, 1, 1)) & (strength > np.roll(strength, -1, 1)), np.bool_)


def _best_line(evidence: Array, edge: _Edge) -> Array:
    """The line through the window with the most evidence under it; near the first guess is a little better."""
    wide = cv2.blur(evidence, (3, 1))
    offsets = edge.offsets_mm
    rows = np.arange(len(edge.along))[:, None]
    best, best_score = np.zeros(2), -1.0
    inner = np.flatnonzero(np.abs(offsets) <= np.abs(offsets).max() - 1)
    for turn in _TURNS_MM:
        shift = np.rint((edge.along - 0.5) * turn / _STEP_MM).astype(int)[:, None]
        columns = np.clip(inner[None] + shift, 0, len(offsets) - 1)
        score = wide[rows, columns].mean(axis=0) * (1 - 0.02 * np.abs(offsets[inner]))
        top = int(np.argmax(score))
        if score[top] > best_score:
            best_score = float(score[top])
            best = np.array([offsets[inner[top]] - turn / 2, offsets[inner[top]] + turn / 2])
    return best


def _middles(edge: _Edge, want: Array, *, reach_mm: float, noise: float) -> tuple[Array, Array, NDArray[np.bool_]]:
    """For each position the middle of the edge near where it should be, its weight, and whether it is clear."""
    off = edge.offsets_mm[None] - want[:, None]
    window = np.where(np.abs(off) <= reach_mm, np.maximum(edge.strength - 1.5 * noise, 0) ** 2, 0)
    total = window.sum(axis=1)
    middle = want + (window * off).sum(axis=1) / np.maximum(total, 1e-12)
    top = np.where(np.abs(off) <= reach_mm, edge.strength, 0).max(axis=1)
    return middle, np.sqrt(total), np.asarray(top > 2.5 * noise, np.bool_)


def _robust_line(along: Array, offsets: Array, weight: Array) -> Array:
    """Weighted least squares with Huber weights; offsets at both ends of the side."""
    columns = np.stack([1 - along, along])
    base = np.minimum(weight, 3 * np.median(weight)) ** 2
    factor = base
    line = np.zeros(2)
    for _ in range(4):
        weighted = columns * factor
        line = np.linalg.solve(weighted @ columns.T + _RIDGE * factor.sum() * np.eye(2), weighted @ offsets)
        error = np.abs(offsets - line @ columns)
        limit = 1.5 * float(np.median(error)) + 0.02
        factor = base * np.minimum(1.0, limit / np.maximum(error, 1e-9))
    return np.asarray(line, np.float64)


def _points_on(edge: _Edge, line: Array, start: Array, end: Array) -> Array:
    """Nine points along a side: the median of the edge's own middle over each ninth of it, mm."""
    middle, _, strong = _middles(edge, _at(line, edge.along), reach_mm=2 * _NEAR_MM, noise=edge.noise)
    direction = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    outward = np.array([direction[1], -direction[0]])
    points = []
    for part in np.array_split(np.arange(len(edge.along)), 9):
        seen = part[strong[part]]
        if len(seen) >= 3:
            points.append(start + edge.along[seen].mean() * (end - start) + np.median(middle[seen]) * outward)
    return np.array(points).reshape(-1, 2)


def _placed(line: Array, start: Array, end: Array) -> tuple[Array, Array]:
    """Two points of the fitted side, mm."""
    direction = (end - start) / max(float(np.linalg.norm(end - start)), 1e-9)
    outward = np.array([direction[1], -direction[0]])
    return start + line[0] * outward, end + line[1] * outward


def _crossing(one: tuple[Array, Array], other: tuple[Array, Array]) -> Array | None:
    """Where two lines cross, or ``None`` when they are nearly parallel."""
    (a, b), (c, d) = one, other
    system = np.column_stack([b - a, c - d])
    if abs(float(np.linalg.det(system))) < 1e-3 * float(np.linalg.norm(b - a) * np.linalg.norm(d - c)):
        return None
    share = np.linalg.solve(system, c - a)
    return np.asarray(a + share[0] * (b - a), np.float64)
