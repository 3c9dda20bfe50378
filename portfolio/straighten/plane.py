"""The table from straight above, as far as the photo shows it: the picture in which the work's edge is looked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.cards.geometry import CARD, TAG_CENTERS_APART_MM, TAG_MM, TAGS, Side, card_corners
from portfolio.model.cards import CardSeen
from portfolio.straighten.pose import Array, Pose, carried

Pixels = NDArray[np.uint8]
Float = NDArray[np.float32]
Mask = NDArray[np.bool_]

LONG_PX: Final = 900
MAX_PX_PER_MM: Final = 1.25
MOST_ENLARGED: Final = 1.5
"""A part of the table that is looked at closely gets so many pixels for each of the photo's."""
CARD_MARGIN_MM: Final = 4.0
_FAR: Final = 4.0
"""Of a table seen at a slant only this many times the usual reach is kept: farther away a millimeter is too small."""


@dataclass(frozen=True, slots=True, eq=False)
class Plane:
    """The table at ``px_per_mm``. Millimeters are the card's own; plane pixel (0, 0) is centered on ``origin_mm``."""

    lab: Float
    """H × W × 3: CIE L*a*b* of the photo as shot (L 0-100)."""
    valid: Mask
    """Where the photo shows the table at all."""
    card: Mask
    """The card with a margin: nothing is learnt from there."""
    px_per_mm: float
    origin_mm: tuple[float, float]

    @property
    def usable(self) -> Mask:
        """Where the photo shows the table or what lies on it, and not a card."""
        return np.asarray(self.valid & ~self.card, np.bool_)

    def to_mm(self, points: Array) -> Array:
        """Plane pixels (N × 2) to millimeters."""
        return np.asarray(points / self.px_per_mm + self.origin_mm, np.float64)

    def to_px(self, points_mm: Array) -> Array:
        """Millimeters (N × 2) to plane pixels."""
        return np.asarray((points_mm - self.origin_mm) * self.px_per_mm, np.float64)


def see_plane(
    pixels: Pixels, pose: Pose, *, shrink: int, cards_mm: Sequence[Array], within_mm: tuple[Array, Array] | None = None
) -> Plane:
    """Rectify a photo (shrunk by ``shrink``) onto the card's plane. ``cards_mm``: corners of every card in view.

    ``within_mm``: only this part (its low and its high corner), as closely as the photo shows it.
    """
    low, high = within_mm or _extent_mm(pixels, pose, shrink)
    px_per_mm = min(MAX_PX_PER_MM, LONG_PX / float((high - low).max()))
    if within_mm is not None:
        px_per_mm = min(px_per_mm, MOST_ENLARGED * _density(pose, (low + high) / 2) / shrink)
    width, height = (max(16, int(side)) for side in (high - low) * px_per_mm)
    to_mm = np.array([[1 / px_per_mm, 0, low[0]], [0, 1 / px_per_mm, low[1]], [0, 0, 1.0]])
    small, extra = _halved(pixels, pose, shrink=shrink, px_per_mm=px_per_mm)
    to_photo = shrunk(extra) @ pose.to_px @ to_mm
    how = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    seen = cv2.warpPerspective(small, to_photo, (width, height), flags=how, borderMode=cv2.BORDER_REPLICATE)
    inside = cv2.warpPerspective(
        np.full(small.shape[:2], 255, np.uint8), to_photo, (width, height), flags=how, borderMode=cv2.BORDER_CONSTANT
    )
    lab = cv2.cvtColor(np.asarray(seen, np.float32) / np.float32(255), cv2.COLOR_RGB2LAB)
    plane = Plane(
        np.asarray(lab, np.float32),
        np.asarray(cv2.erode(inside, np.ones((3, 3), np.uint8))) > 250,
        np.zeros((height, width), np.bool_),
        px_per_mm,
        (float(low[0]), float(low[1])),
    )
    mask = np.zeros((height, width), np.uint8)
    for corners in cards_mm:
        cv2.fillConvexPoly(mask, np.rint(plane.to_px(grown(corners, CARD_MARGIN_MM))).astype(np.int32), 1)
    plane.card[mask > 0] = True
    return plane


def _density(pose: Pose, at_mm: Array) -> float:
    """Photo pixels per millimeter at a place of the table."""
    around = carried(at_mm + np.array([[-0.5, 0], [0.5, 0], [0, -0.5], [0, 0.5]]), pose.to_px)
    across, down = around[1] - around[0], around[3] - around[2]
    return float(abs(across[0] * down[1] - across[1] * down[0]) ** 0.5)


def cards_on_table(cards: tuple[CardSeen, ...], pose: Pose) -> list[Array]:
    """Corners (4 × 2, mm) of every card in view: the one measured with, and all others by their tags."""
    found = (card_on_table(card, pose) for card in cards)
    return [np.array(card_corners()), *(corners for corners in found if corners is not None)]


def card_on_table(card: CardSeen, pose: Pose) -> Array | None:
    """Corners (4 × 2, mm) of a card by its two tags, or roughly by one; ``None`` when no tag was read."""
    tags = {Side.LEFT: card.left_px, Side.RIGHT: card.right_px}
    back = np.linalg.inv(pose.to_px)
    flat = {side: carried(np.array(px, np.float64), back) for side, px in tags.items() if px is not None}
    if not flat:
        return None
    if len(flat) == len(tags):
        along = (flat[Side.RIGHT].mean(axis=0) - flat[Side.LEFT].mean(axis=0)) / TAG_CENTERS_APART_MM
    else:
        (corners,) = flat.values()
        along = (corners[1] - corners[0] + corners[2] - corners[3]) / (2 * TAG_MM)
    side, corners = next(iter(flat.items()))
    axes = np.array([along, [-along[1], along[0]]])
    start = corners.mean(axis=0) - np.array(TAGS[side].center) @ axes
    return np.asarray(start + np.array(card_corners()) @ axes, np.float64)


def shrunk(shrink: int) -> Array:
    """Full photo pixels → pixels of the photo shrunk by ``shrink`` (pixel centers at whole numbers)."""
    share = 1 / shrink
    return np.array([[share, 0, share / 2 - 0.5], [0, share, share / 2 - 0.5], [0, 0, 1.0]])


def grown(corners_mm: Array, by_mm: float) -> Array:
    """A convex polygon with every corner moved out from the middle by about ``by_mm`` along both sides."""
    middle = corners_mm.mean(axis=0)
    away = corners_mm - middle
    return np.asarray(middle + away * (1 + by_mm * 1.414 / np.linalg.norm(away, axis=1, keepdims=True)), np.float64)


def _extent_mm(pixels: Pixels, pose: Pose, shrink: int) -> tuple[Array, Array]:
    """The part of the plane that the frame shows, cut off where it runs away towards the horizon."""
    height, width = pixels.shape[0] * shrink, pixels.shape[1] * shrink
    steps = np.linspace(0, 1, 9)
    edge = np.concatenate(
        [np.column_stack([steps * width, np.full(9, y)]) for y in (0, height)]
        + [np.column_stack([np.full(9, x), steps * height]) for x in (0, width)]
    )
    back = np.linalg.inv(pose.to_px)
    ends = np.column_stack([edge, np.ones(len(edge))]) @ back.T
    middle = carried(np.array([[width / 2, height / 2]]), back)[0]
    sign = np.sign((back @ np.array([width / 2, height / 2, 1.0]))[2])
    before = ends[:, 2] * sign > 1e-9  # points beyond the horizon come out on the other side
    seen = ends[before, :2] / ends[before, 2:]
    reach = _FAR * max(float(np.median(np.linalg.norm(seen - middle, axis=1))), CARD.width_mm)
    seen = np.clip(seen, middle - reach, middle + reach)
    return seen.min(axis=0), seen.max(axis=0)


def _halved(pixels: Pixels, pose: Pose, *, shrink: int, px_per_mm: float) -> tuple[Pixels, int]:
    """The photo once more halved by area when the plane is much coarser, so that warping does not alias."""
    card_px = carried(np.array([[0.0, 0.0], [CARD.width_mm, 0.0]]), pose.to_px) / shrink
    if float(np.linalg.norm(card_px[1] - card_px[0])) / CARD.width_mm < 1.6 * px_per_mm:
        return pixels, shrink
    size = (pixels.shape[1] + 1) // 2, (pixels.shape[0] + 1) // 2
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA), np.uint8), shrink * 2
