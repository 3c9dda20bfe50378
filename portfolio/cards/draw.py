"""A picture of one card, straight from above, for the camera simulator and for tests. Printing is in ``sheets``."""

from __future__ import annotations

from functools import cache
from math import ceil

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from portfolio.cards.geometry import (
    CAPITAL_EM,
    CARD,
    DIGIT_MM,
    INK_REFLECTANCE,
    LEDGE,
    MODULE_MM,
    NUMBER_BASELINE_MM,
    NUMBER_BOX,
    PAPER_REFLECTANCE,
    PATCH_REFLECTANCE,
    PATCHES,
    TAG_MODULES,
    TAGS,
    Rect,
    Side,
    face_of,
    tags_of,
)
from portfolio.model.assets import asset
from portfolio.model.cards import CardKind

_GRID_PX_PER_MM = 4
"""Every edge of the card lies on a quarter millimeter, so a raster of 4 px per mm (or a multiple) draws it exactly."""


@cache
def tag_modules(tag_id: int) -> NDArray[np.bool_]:
    """The 8 × 8 squares of a tag, border included; true = black."""
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    return np.asarray(cv2.aruco.generateImageMarker(family, tag_id, TAG_MODULES)) < 128


def srgb_of(reflectance: NDArray[np.float32]) -> NDArray[np.uint8]:
    """Linear light 0-1 as 8-bit sRGB (IEC 61966-2-1)."""
    linear = np.clip(reflectance, 0.0, 1.0)
    encoded = np.where(linear <= 0.0031308, linear * 12.92, 1.055 * np.power(linear, 1 / 2.4) - 0.055)
    return np.asarray(np.rint(encoded * 255), dtype=np.uint8)


def card_image(kind: CardKind, value: int, px_per_mm: float, *, label: str | None = None) -> NDArray[np.uint8]:
    """One card as 8-bit gray sRGB, ``round(60 · px_per_mm)`` × ``round(140 · px_per_mm)`` pixels.

    ``label`` stands in the box instead of the number (a class, a medium). Refuses a value that no card of the kind has.
    """
    return srgb_of(card_reflectance(kind, value, px_per_mm, label=label))


def card_reflectance(
    kind: CardKind,
    value: int,
    px_per_mm: float,
    *,
    label: str | None = None,
    patches: tuple[float, ...] = PATCH_REFLECTANCE,
    ink: float = INK_REFLECTANCE,
) -> NDArray[np.float32]:
    """The same picture as linear reflectance 0-1. ``patches`` and ``ink`` stand in for a printer's own grays."""
    scale = _GRID_PX_PER_MM * max(1, ceil(px_per_mm / _GRID_PX_PER_MM))
    card = np.full(_size_px(scale), PAPER_REFLECTANCE, dtype=np.float32)
    for tag_id, side in zip(tags_of(kind, value), Side, strict=True):
        square = np.kron(tag_modules(tag_id), np.ones((round(MODULE_MM * scale),) * 2, dtype=np.bool_))
        _part(card, TAGS[side], scale)[square] = ink
    for rect, level in zip(PATCHES, patches, strict=True):
        _part(card, rect, scale)[:] = level
    _part(card, LEDGE, scale)[:] = ink
    text = _text_coverage(face_of(kind, value, label), scale)
    card += (ink - card) * text
    height_px, width_px = _size_px(px_per_mm)
    return np.asarray(cv2.resize(card, (width_px, height_px), interpolation=cv2.INTER_AREA), dtype=np.float32)


def _size_px(px_per_mm: float) -> tuple[int, int]:
    return round(CARD.height_mm * px_per_mm), round(CARD.width_mm * px_per_mm)


def _part(card: NDArray[np.float32], rect: Rect, scale: int) -> NDArray[np.float32]:
    top, left = round(rect.y_mm * scale), round(rect.x_mm * scale)
    return card[top : top + round(rect.height_mm * scale), left : left + round(rect.width_mm * scale)]


def _text_coverage(text: str, scale: int) -> NDArray[np.float32]:
    """Ink coverage 0-1 of the number or word, standing on its line, never wider than its box."""
    canvas = Image.new("L", _size_px(scale)[::-1], 0)
    size_px = DIGIT_MM / CAPITAL_EM * scale
    font = ImageFont.truetype(str(asset("print", "fonts", "Besley-SemiBold.ttf")), size_px)
    left, _, right, _ = font.getbbox(text)
    widest_px = NUMBER_BOX.width_mm * scale
    if right - left > widest_px:
        font = font.font_variant(size=size_px * widest_px / (right - left))
        left, _, right, _ = font.getbbox(text)
    start_px = NUMBER_BOX.center[0] * scale - (left + right) / 2
    ImageDraw.Draw(canvas).text((start_px, NUMBER_BASELINE_MM * scale), text, fill=255, font=font, anchor="ls")
    return np.asarray(canvas, dtype=np.float32) / np.float32(255)
