"""The true size of a sheet, from all that must agree: both tags of the card, and four straight sides at right angles.

The card alone leaves the camera's tilt uncertain, which shows as a sheet that is a little askew. Asking for right
angles settles the tilt; a second guess at the lens (focal length within its usual error, one radial coefficient) takes
the rest. Fitted by Gauss-Newton with a prior on each number.
"""

from __future__ import annotations

from typing import Final

import cv2
import numpy as np

from portfolio.cards.geometry import Side, tag_corners
from portfolio.straighten.pose import Array, Pose, carried

_TAG_PX: Final = 0.4
"""How well the aligned pose knows the tags' corners, in pixels of a 12-megapixel photo."""
_EDGE_PX: Final = 2.0
_FOCAL_SHARE: Final = 0.012
_FOCAL_GUESS_SHARE: Final = 0.25
_RADIAL: Final = 0.008
"""Usual radial shift at the corner of the frame over its distance from the middle."""
_MAX_CHANGE: Final = 0.05


def true_size_mm(pose: Pose, edges_px: list[Array], corners_mm: Array) -> tuple[float, float] | None:
    """Width and height of a sheet. ``edges_px``: points on its four sides (full photo), from the first corner on.

    ``corners_mm``: the corners as the pose alone has them. ``None`` when the fit does not settle near them.
    """
    start = _starting_from(pose, corners_mm)
    reference = np.linalg.norm(np.roll(corners_mm, -1, axis=0) - corners_mm, axis=1)
    tags_mm = np.array([*tag_corners(Side.LEFT), *tag_corners(Side.RIGHT)])
    tags_px = carried(tags_mm, pose.to_px)

    def errors(values: Array) -> Array:
        return _errors(values, pose, tags=(tags_mm, tags_px), edges_px=edges_px)

    values = start.copy()
    steps = np.array([1e-5] * 3 + [1e-2] * 3 + [1e-5, 1e-5, 1e-2, 1e-2, 1e-5, 1e-2, 1e-2])
    for _ in range(8):
        now = errors(values)
        slopes = np.stack([(errors(values + step) - now) / step.max() for step in np.diag(steps)])
        weight = 1 / np.sqrt(np.maximum(1.0, np.abs(now)))  # Huber: an edge point that strays counts less
        move, *_ = np.linalg.lstsq((slopes * weight).T, -now * weight, rcond=None)
        values = values + move
        if float(np.abs(move[11:]).max()) < 0.01:
            break
    width, height = float(values[11]), float(values[12])
    settled = np.array([width / reference[[0, 2]].mean(), height / reference[[1, 3]].mean()])
    return (width, height) if np.isfinite(settled).all() and np.abs(settled - 1).max() < _MAX_CHANGE else None


def _starting_from(pose: Pose, corners_mm: Array) -> Array:
    """Turn (3), shift (3), log of the focal length's factor, radial, sheet's middle (2), angle, width, height."""
    sides = np.roll(corners_mm, -1, axis=0) - corners_mm
    angle = float(np.arctan2(sides[0, 1] - sides[2, 1], sides[0, 0] - sides[2, 0]))
    lengths = np.linalg.norm(sides, axis=1)
    middle = corners_mm.mean(axis=0)
    return np.array([*pose.turn, *pose.shift, 0.0, 0.0, *middle, angle, lengths[[0, 2]].mean(), lengths[[1, 3]].mean()])


def _errors(values: Array, pose: Pose, *, tags: tuple[Array, Array], edges_px: list[Array]) -> Array:
    """All disagreements, each over its usual size."""
    tags_mm, tags_px = tags
    center = np.array(pose.center_px)
    scale = float(np.hypot(*center)) / 2520.0  # half the diagonal of 4032 × 3024
    focal = pose.focal_px * float(np.exp(values[6]))
    radial = float(values[7]) / float((center @ center) / focal**2)
    rotation, _ = cv2.Rodrigues(values[:3])
    plane = np.column_stack([rotation[:, 0], rotation[:, 1], values[3:6]])
    rays = carried(tags_mm, plane)
    seen = rays * (1 + radial * np.square(rays).sum(axis=1, keepdims=True)) * focal + center
    parts = [((seen - tags_px) / (_TAG_PX * scale)).ravel()]
    back = np.linalg.inv(plane)
    px_per_mm = focal / float(np.linalg.norm(values[3:6]))
    cosine, sine = np.cos(values[10]), np.sin(values[10])
    turn = np.array([[cosine, -sine], [sine, cosine]])
    halves = (values[12] / 2, values[11] / 2, values[12] / 2, values[11] / 2)
    for points, axis, sign, half in zip(edges_px, (1, 0, 1, 0), (-1, 1, 1, -1), halves, strict=True):
        bent = (points - center) / focal
        flat = bent / (1 + radial * np.square(bent).sum(axis=1, keepdims=True))
        place = (carried(flat, back) - values[8:10]) @ turn
        parts.append((sign * place[:, axis] - half) * px_per_mm / (_EDGE_PX * scale))
    spread = _FOCAL_GUESS_SHARE if pose.about else _FOCAL_SHARE
    parts.append(np.array([values[6] / spread, values[7] / _RADIAL]))
    return np.concatenate(parts)
