"""Squares that look like a tag that could not be read: a dark frame with something bright within and table or card
round it, about as large and as dark as the tags that were read in the same picture.

Such a square means that a card may lie there, too blurred for this look.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.reading.tags import Gray, Quad, Tag

Floats = NDArray[np.float64]

SIZES: Final = (0.6, 1.6)
"""Side over mean side of the tags that were read: cards lie at about one distance from the camera."""
AS_SQUARE: Final = 0.75
"""The shortest side over the longest, over the same of the tags that were read: all lie in one plane."""
LEAST_CONTRAST: Final = 0.6
"""Between the frame and its surround, over the same of the tags that were read."""
BRIGHT_WITHIN: Final = 0.45
"""How much brighter than the frame the brightest tenth of the middle is at least, over the same contrast …"""
DARK_WITHIN: Final = 0.4
"""… and the darkest tenth at most: of the middle 16 cells every tag of the family has 3 or more white and 3 or more
black (counted); a window drawn with a dark frame is only light. Measured 2026: 44 blurred tags beside a read card had
at least .56 and at most .35; nothing else reached all this in 540 simulated photos whose every card was read."""
MOST_UNEVEN: Final = 0.25
"""Standard deviation of the surround, over that contrast: a tag has white all round."""
SAME_PLACE: Final = 0.7
"""A square nearer to a tag than this share of its side is that tag."""

_FRAME, _SURROUND = 0.875, 1.3
"""Middle of the tag's black frame and of the white round it, as shares of half a side (cells are a quarter of that)."""
_UNIT: Final = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]], np.float32)
_ALONG: Final = np.linspace(-1, 1, 12, endpoint=False)
_RING: Final = (
    np.concatenate([np.stack(side, axis=1) for side in ((_ALONG, 0 * _ALONG - 1), (0 * _ALONG + 1, _ALONG))] * 2)
    * np.repeat((1, -1), 2 * len(_ALONG))[:, None]
)
_MIDDLE: Final = np.stack(np.meshgrid(*[np.linspace(-0.45, 0.45, 9)] * 2), axis=-1).reshape(-1, 2)
_TENTHS: Final = (10, 90)


def unread_tags(gray: Gray, squares: Iterable[Quad], tags: tuple[Tag, ...], *, factor: int) -> tuple[Quad, ...]:
    """Those ``squares`` (4 × 2 pixels of ``gray``, which was shrunk by ``factor``) that look like the tags that were
    read in it, but are none of them; nothing when no tag was read.
    """
    if not tags:
        return ()
    known = [(np.asarray(tag.corners_px) + 0.5) / factor - 0.5 for tag in tags]
    side = float(np.mean([_sides(quad).mean() for quad in known]))
    square = float(np.mean([_squareness(quad) for quad in known]))
    contrast = float(np.mean([_around(gray, quad).mean() - _frame(gray, quad) for quad in known]))
    return tuple(
        quad
        for quad in squares
        if SIZES[0] * side < _sides(quad).mean() < SIZES[1] * side
        and _squareness(quad) >= AS_SQUARE * square
        and not is_at(quad, known)
        and _looks_like_tag(gray, quad, contrast)
    )


def is_at(square: Quad, known: Iterable[Quad]) -> bool:
    """Whether a square lies where one of the known ones does."""
    return any(
        np.linalg.norm(square.mean(axis=0) - quad.mean(axis=0)) < SAME_PLACE * _sides(quad).mean() for quad in known
    )


def _sides(quad: Quad) -> Floats:
    return np.asarray(np.linalg.norm(quad - np.roll(quad, 1, axis=0), axis=1), np.float64)


def _squareness(quad: Quad) -> float:
    sides = _sides(quad)
    return float(sides.min() / sides.max())


def _looks_like_tag(gray: Gray, square: Quad, contrast: float) -> bool:
    around, frame = _around(gray, square), _frame(gray, square)
    dark, bright = np.percentile(_seen_at(gray, square, _MIDDLE), _TENTHS)
    return bool(
        around.mean() - frame > LEAST_CONTRAST * contrast
        and bright - frame > BRIGHT_WITHIN * contrast
        and dark - frame < DARK_WITHIN * contrast
        and around.std() < MOST_UNEVEN * contrast
    )


def _around(gray: Gray, quad: Quad) -> Floats:
    return _seen_at(gray, quad, _RING * _SURROUND)


def _frame(gray: Gray, quad: Quad) -> float:
    return float(_seen_at(gray, quad, _RING * _FRAME).mean())


def _seen_at(gray: Gray, quad: Quad, places: Floats) -> Floats:
    """Brightness at places (N × 2) of a square from -1 to 1."""
    to_quad = cv2.getPerspectiveTransform(_UNIT, quad.astype(np.float32))
    at = np.asarray(cv2.perspectiveTransform(places[None].astype(np.float32), to_quad), np.float32)
    seen = cv2.remap(gray, at[..., 0], at[..., 1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)
    return np.asarray(seen, np.float64).reshape(-1)
