"""Where the camera was, told by one card: a 6-parameter pose that carries millimeters on the table to pixels.

Blur and the camera's tone curve make a black tag look 0.3-5 px smaller on every side, so the detector's corners
mislead. Here the picture of both tags is laid over the photo in linear light and moved until it fits (Lucas and
Kanade 1981), with the pose itself as the unknown: six numbers instead of the eight of a free homography. On
simulated photos the free homography of raw corners was off by 1.9 % in length, this by 0.2 % (measured 2026).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.cards.draw import tag_modules
from portfolio.cards.geometry import (
    INK_REFLECTANCE,
    MODULE_MM,
    PAPER_REFLECTANCE,
    QUIET_MM,
    TAG_MM,
    TAGS,
    Side,
    tag_corners,
    tags_of,
)
from portfolio.model.cards import CardKind, CardSeen, CardStatus
from portfolio.straighten.srgb import LIGHT_OF

Array = NDArray[np.float64]
Pixels = NDArray[np.uint8]

FILM_DIAGONAL_MM: Final = 43.2666
"""Diagonal of 36 × 24 mm film: 35 mm equivalents go by the diagonal of the frame (CIPA DCG-001, from memory)."""
GUESSED_FOCAL_35MM: Final = 26.0
"""The main camera of most phones (common practice, no source). Sizes are then said as "about"."""

_STEP_MM: Final = 0.5
_ROUNDS: Final = 25
_STILL_PX: Final = 0.002


@dataclass(frozen=True, slots=True, eq=False)
class Pose:
    """Camera and table plane. Millimeters: the card's own (x right, y down, from its top left). Pixels: full photo."""

    turn: Array
    """Rodrigues vector, card to camera."""
    shift: Array
    """Card's origin seen from the camera, mm."""
    focal_px: float
    center_px: tuple[float, float]
    about: bool = False
    """The focal length is a guess, or only one tag was seen."""

    @property
    def to_px(self) -> Array:
        """The 3 × 3 homography from the card's plane (mm) to the photo (px)."""
        rotation, _ = cv2.Rodrigues(self.turn)
        camera = np.array([[self.focal_px, 0, self.center_px[0]], [0, self.focal_px, self.center_px[1]], [0, 0, 1.0]])
        plane = camera @ np.column_stack([rotation[:, 0], rotation[:, 1], self.shift])
        return np.asarray(plane / plane[2, 2], np.float64)

    @property
    def tilt_deg(self) -> float:
        """Angle between the line of sight and straight down on the card."""
        rotation, _ = cv2.Rodrigues(self.turn)
        return float(np.degrees(np.arccos(np.clip(abs(rotation[2, 2]), -1, 1))))


def carried(points: Array, homography: NDArray[np.floating]) -> Array:
    """Points (N × 2) through a homography."""
    ends = np.column_stack([points, np.ones(len(points))]) @ homography.T
    return np.asarray(ends[:, :2] / ends[:, 2:], np.float64)


def focal_px(focal_35mm: float, width_px: int, height_px: int) -> float:
    """Focal length in pixels of a 35 mm equivalent."""
    return focal_35mm / FILM_DIAGONAL_MM * hypot(width_px, height_px)


def card_for_pose(cards: tuple[CardSeen, ...]) -> CardSeen | None:
    """The number card to measure with: a whole one before half a one, the larger before the smaller.

    Class, medium and control cards are printed larger, at no agreed scale: they measure nothing.
    """
    fit = [card for card in cards if card.kind is CardKind.NUMBER and card.status is not CardStatus.CONFLICT]
    fit += [card for card in cards if card.kind is CardKind.NUMBER and card.left_px and card.right_px]
    return max(fit, key=lambda card: (bool(card.left_px and card.right_px), _spread_px(card)), default=None)


def _spread_px(card: CardSeen) -> float:
    points = np.array([*(card.left_px or ()), *(card.right_px or ())])
    return float(np.ptp(points, axis=0).max())


def find_pose(
    pixels: Pixels, card: CardSeen, *, shrink: int, size_px: tuple[int, int], focal_35mm: float | None
) -> Pose | None:
    """The pose from one card. ``pixels``: the photo shrunk by ``shrink`` (RGB, sRGB); ``size_px``: the full photo's.

    ``None`` when the corners fit no camera at all.
    """
    start = _from_corners(card, size_px=size_px, focal_35mm=focal_35mm or GUESSED_FOCAL_35MM)
    if start is None:
        return None
    about = focal_35mm is None or not (card.left_px and card.right_px)
    turn, shift = _aligned(pixels, card, start=start, shrink=shrink)
    return Pose(turn, shift, start.focal_px, start.center_px, about)


def _from_corners(card: CardSeen, *, size_px: tuple[int, int], focal_35mm: float) -> Pose | None:
    sides = [(Side.LEFT, card.left_px), (Side.RIGHT, card.right_px)]
    card_mm = np.array([corner for side, seen in sides if seen for corner in tag_corners(side)])
    seen_px = np.array([corner for _, seen in sides if seen for corner in seen])
    center = ((size_px[0] - 1) / 2, (size_px[1] - 1) / 2)
    focal = focal_px(focal_35mm, *size_px)
    camera = np.array([[focal, 0, center[0]], [0, focal, center[1]], [0, 0, 1.0]])
    flat = np.column_stack([card_mm, np.zeros(len(card_mm))])
    try:
        found, turns, shifts, errors = cv2.solvePnPGeneric(flat, seen_px, camera, None, flags=cv2.SOLVEPNP_IPPE)
    except cv2.error:
        return None
    if not found:
        return None
    best = int(np.argmin(np.asarray(errors).reshape(-1)[: len(turns)]))
    return Pose(_three(turns[best]), _three(shifts[best]), focal, center)


def _three(vector: object) -> Array:
    return np.asarray(vector, np.float64).reshape(3)


@dataclass(frozen=True, slots=True, eq=False)
class _Template:
    """Points on the card (N × 3, mm), the light expected there, and the columns of its free brightness."""

    points_mm: Array
    columns: Array


def _template(card: CardSeen) -> _Template:
    """Both tags with their quiet zone; brightness, contrast and a slope of light are free for each tag."""
    blocks, columns = [], []
    ids = dict(zip(Side, tags_of(card.kind, card.value), strict=True))
    seen = [side for side, px in ((Side.LEFT, card.left_px), (Side.RIGHT, card.right_px)) if px]
    for index, side in enumerate(seen):
        x, y, light = _tag_light(ids[side], side)
        blocks.append(np.column_stack([x, y, np.zeros(len(x))]))
        u, v = (x - x.mean()) / TAG_MM, (y - y.mean()) / TAG_MM
        own = np.column_stack([np.ones(len(x)), light, light * u, light * v])
        columns.append(np.pad(own, ((0, 0), (4 * index, 4 * (len(seen) - 1 - index)))))
    return _Template(np.vstack(blocks), np.vstack(columns))


def _tag_light(tag_id: int, side: Side) -> tuple[Array, Array, Array]:
    """Sample points over one tag and its quiet zone (mm) and the light there, softened by about a millimeter."""
    rect = TAGS[side]
    per_module = round(MODULE_MM / _STEP_MM)
    ink = np.kron(tag_modules(tag_id), np.ones((per_module, per_module)))
    light = np.pad(np.where(ink, INK_REFLECTANCE, PAPER_REFLECTANCE), per_module, constant_values=PAPER_REFLECTANCE)
    light = np.asarray(cv2.GaussianBlur(light, (0, 0), _SOFT_MM / _STEP_MM), np.float64)
    at = (np.arange(len(light)) + 0.5) * _STEP_MM - QUIET_MM
    inner = slice(1, -1, 2)
    x, y = np.meshgrid(rect.x_mm + at[inner], rect.y_mm + at[inner])
    return x.ravel(), y.ravel(), light[inner, inner].ravel()


_SOFT_MM: Final = 1.0


def _aligned(pixels: Pixels, card: CardSeen, *, start: Pose, shrink: int) -> tuple[Array, Array]:
    """Gauss-Newton on the six numbers of the pose, with the brightness solved alongside in every round."""
    template = _template(card)
    patch, corner = _patch(pixels, start, template, shrink)
    camera = _camera_of(start, shrink, corner)
    pose = np.concatenate([start.turn, start.shift])
    scale = np.array([1e-3, 1e-3, 1e-3, *([start.shift[2] * 1e-3] * 3)])
    best, best_error = pose, np.inf
    for _ in range(_ROUNDS):
        seen_px, slopes = _projected(template.points_mm, pose, camera, scale=scale)
        light, across, down = _sampled(patch, seen_px)
        moves = across[:, None] * slopes[..., 0] + down[:, None] * slopes[..., 1]
        system = np.column_stack([-moves, template.columns])
        answer, *_ = np.linalg.lstsq(system.T @ system, system.T @ light, rcond=None)
        error = float(np.mean((light - template.columns @ _brightness(template, light)) ** 2))
        if error < best_error:
            best, best_error = pose, error
        step = answer[:6] * scale
        pose = pose + step
        if np.abs(slopes * answer[:6][None, :, None]).sum(axis=1).max() < _STILL_PX:
            break
    else:
        pose = best
    return pose[:3], pose[3:]


def _brightness(template: _Template, light: Array) -> Array:
    columns = template.columns
    return np.asarray(np.linalg.lstsq(columns.T @ columns, columns.T @ light, rcond=None)[0], np.float64)


def _patch(pixels: Pixels, start: Pose, template: _Template, shrink: int) -> tuple[list[NDArray[np.float32]], Array]:
    """Linear light round the card and its slopes in x and y, softened like the template; and the patch's corner."""
    seen = (carried(template.points_mm[:, :2], start.to_px) + 0.5) / shrink - 0.5
    px_per_mm = float(np.ptp(seen, axis=0).max() / np.ptp(template.points_mm, axis=0).max())
    margin = 12 + 6 * px_per_mm
    low = np.maximum(np.floor(seen.min(axis=0) - margin), 0).astype(int)
    high = np.ceil(seen.max(axis=0) + margin).astype(int)
    part = pixels[low[1] : high[1], low[0] : high[0]]
    gray = cv2.transform(cv2.LUT(part, LIGHT_OF), np.array([[0.2126, 0.7152, 0.0722]]))
    soft = cv2.GaussianBlur(gray, (0, 0), max(0.8, _SOFT_MM * px_per_mm))
    slopes = [cv2.Sobel(soft, cv2.CV_32F, *order, ksize=3, scale=1 / 8) for order in ((1, 0), (0, 1))]
    return [np.asarray(layer, np.float32) for layer in (soft, *slopes)], low.astype(np.float64)


def _camera_of(pose: Pose, shrink: int, corner: Array) -> Array:
    """The camera matrix of the patch."""
    center = (np.array(pose.center_px) + 0.5) / shrink - 0.5 - corner
    return np.array([[pose.focal_px / shrink, 0, center[0]], [0, pose.focal_px / shrink, center[1]], [0, 0, 1.0]])


def _projected(points_mm: Array, pose: Array, camera: Array, *, scale: Array) -> tuple[Array, Array]:
    """Pixels (N × 2) and how they move with each number of the pose (N × 6 × 2, for one unit of ``scale``)."""
    seen, jacobian = cv2.projectPoints(points_mm, pose[:3], pose[3:], camera, None)
    slopes = np.asarray(jacobian)[:, :6].reshape(-1, 2, 6).transpose(0, 2, 1) * scale[None, :, None]
    return np.asarray(seen, np.float64).reshape(-1, 2), slopes


def _sampled(patch: list[NDArray[np.float32]], seen_px: Array) -> tuple[Array, ...]:
    x, y = (seen_px[:, axis].astype(np.float32)[None] for axis in (0, 1))
    return tuple(
        np.asarray(cv2.remap(layer, x, y, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE), np.float64).ravel()
        for layer in patch
    )
