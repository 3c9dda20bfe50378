"""True color from the card's grays: for each of red, green and blue a gain and a gamma that put the four patches and
the bare card where they belong.

``corrected = gain · light ^ gamma`` in linear light. A straight line in log-log through five points was as good as a
curved one and never worse than as shot; a chromatic adaptation on top brought nothing (measured). What is known of
printers and cameras steadies it: the bare card is surer than any gray of ink, the three channels share one tone curve,
and a laminated card mirrors the room, which lifts its darks (a veil that the work has not). A clipped card cannot be
repaired: it is said, and nothing is corrected.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray

from portfolio.cards.geometry import PAPER_REFLECTANCE, PATCH_INSET_MM, PATCH_REFLECTANCE, PATCHES, WHITES, Rect
from portfolio.model.photo import ColorSeen
from portfolio.straighten.lightfield import LightField
from portfolio.straighten.localtone import card_places, slope_of
from portfolio.straighten.plane import shrunk
from portfolio.straighten.pose import Array, Pose, carried
from portfolio.straighten.srgb import LIGHT_OF, from_light, pixels_of

Pixels = NDArray[np.uint8]

CLIPPED_LIGHT: Final = 0.955
"""Linear light of the bare card from which something is lost (measured: errors of 5-8 beyond it)."""
GAMMAS: Final = (0.6, 1.6)
_LEVEL_SPREADS: Final = np.array([0.08, 0.05, 0.04, 0.04, 0.02])
"""Natural log: how far the patches (darkest first) and the bare card usually lie off the line in all channels alike. A
printer's grays vary by some percent (own judgment), and a tone curve bends most in the dark."""
_CHANNEL_SPREADS: Final = np.array([0.03, 0.025, 0.02, 0.02, 0.007])
"""The same for one channel beside the others: gray ink has a tint, paper hardly any."""
_GAMMA_SPREAD: Final = 0.01
_VEILS: Final = np.arange(0.0, 0.061, 0.003)
_USUAL_VEIL: Final = 0.01
"""Light that a laminated card mirrors all over, over that of a perfect white; most cards have none."""
_WHITE_CODE: Final = 253
_CLIPPED_SHARE: Final = 0.25
_SAMPLES: Final = 12
_DARKEST: Final = 1e-4
_SLOPES: Final = np.asarray(slope_of(np.arange(256) / 255), np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Grays:
    """Linear light seen on the card. ``levels``: 5 × 3, the four patches (darkest first), then the bare card."""

    levels: Array
    clipped: bool


def read_grays(pixels: Pixels, pose: Pose, *, shrink: int) -> Grays:
    """Sample the patches and the bare card in a photo shrunk by ``shrink`` (RGB, sRGB)."""
    to_photo = shrunk(shrink) @ pose.to_px
    patches = [_samples(pixels, to_photo, rect.inset(PATCH_INSET_MM)) for rect in PATCHES]
    whites = [_samples(pixels, to_photo, part) for rect in _whites() for part in _halves(rect)]
    whites = [samples for samples in whites if len(samples)]
    if not whites or any(len(samples) == 0 for samples in patches):
        return Grays(np.zeros((5, 3)), clipped=False)
    lights = np.array([np.median(LIGHT_OF[samples], axis=0) for samples in whites], np.float64)
    white = np.median(lights, axis=0)
    every = np.concatenate(whites)
    clipped = bool(white.max() >= CLIPPED_LIGHT or ((every >= _WHITE_CODE).mean(axis=0) > _CLIPPED_SHARE).any())
    levels = [np.median(LIGHT_OF[samples], axis=0) for samples in patches]
    return Grays(np.array([*levels, white], np.float64), clipped)


def _whites() -> list[Rect]:
    return [Rect(rect.x_mm + 6, rect.y_mm + 0.8, rect.width_mm - 12, rect.height_mm - 1.6) for rect in WHITES]


def _halves(rect: Rect) -> tuple[Rect, Rect]:
    half = rect.width_mm / 2
    return Rect(rect.x_mm, *rect[1:2], half, rect.height_mm), Rect(rect.x_mm + half, *rect[1:2], half, rect.height_mm)


def _samples(pixels: Pixels, to_photo: Array, rect: Rect) -> NDArray[np.uint8]:
    """N × 3 samples over a part of the card; empty when it is not wholly in the photo."""
    x = rect.x_mm + rect.width_mm * (np.arange(_SAMPLES) + 0.5) / _SAMPLES
    y = rect.y_mm + rect.height_mm * (np.arange(_SAMPLES) + 0.5) / _SAMPLES
    at = carried(np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2), to_photo).astype(np.float32)
    if (at < 0).any() or (at > (pixels.shape[1] - 1, pixels.shape[0] - 1)).any():
        return np.zeros((0, 3), np.uint8)
    seen = cv2.remap(pixels, at[None, :, 0], at[None, :, 1], cv2.INTER_LINEAR)
    return np.asarray(seen, np.uint8).reshape(-1, 3)


def evened(grays: Grays, light: LightField | None) -> Grays:
    """The grays as they were if light and local tone were the same all over the card: the patches lie among black tags,
    the bare card is read along its edges, and a shadow may end on it.
    """
    if light is None or grays.levels.min() <= _DARKEST:
        return grays
    places, _ = card_places()
    patches = len(PATCHES)
    fall = np.log(light.at(places))
    lift = light.tone.lift_at(places) if light.tone is not None else np.zeros(len(places))
    fall, lift = (np.append(logs[:patches], np.median(logs[patches:]))[:, None] for logs in (fall, lift))
    levels = grays.levels * np.exp(-fall - lift * slope_of(from_light(grays.levels)))
    return replace(grays, levels=levels)


def balance(grays: Grays, *, table_near_white: bool = False) -> ColorSeen | None:
    """Gains and gammas from the grays; ``None`` when they do not look like the card's grays at all."""
    if grays.levels.min() <= _DARKEST or not _is_rising(grays.levels):
        return None
    if grays.clipped:
        return ColorSeen((1.0, 1.0, 1.0), clipped=True, table_near_white=table_near_white)
    seen = np.log(grays.levels)
    lines = [_line(seen.mean(axis=1), veil) for veil in _VEILS.tolist()]
    _, gamma, gain = min(lines)
    channels = [_channel(seen[:, channel], seen.mean(axis=1), gamma) for channel in range(3)]
    gains = [float(np.exp(gain + more)) for more, _ in channels]
    gammas = [gamma + bend for _, bend in channels]
    return ColorSeen((gains[0], gains[1], gains[2]), (gammas[0], gammas[1], gammas[2]), False, table_near_white)


def _line(seen: Array, veil: float) -> tuple[float, float, float]:
    """How unlikely a veil is, then gamma and log of the gain of all channels together. ``seen``: 5 logs of light."""
    true = np.log(np.array([*PATCH_REFLECTANCE, PAPER_REFLECTANCE]) + veil)
    gamma = float(np.clip(np.polyfit(seen, true, 1, w=1 / _LEVEL_SPREADS)[0], *GAMMAS))
    gain = float(np.average(true - gamma * seen, weights=_LEVEL_SPREADS**-2))
    error = (true - gamma * seen - gain) / _LEVEL_SPREADS
    return float(error @ error) / 2 + veil / _USUAL_VEIL, gamma, gain


def _channel(seen: Array, all_seen: Array, gamma: float) -> tuple[float, float]:
    """What one channel has more of log gain and of gamma than all together (the latter is known to be near 0)."""
    columns = np.column_stack([np.ones(5), seen]) / _CHANNEL_SPREADS[:, None]
    off = gamma * (all_seen - seen) / _CHANNEL_SPREADS
    fit, *_ = np.linalg.lstsq(np.vstack([columns, [0, 1 / _GAMMA_SPREAD]]), np.append(off, 0), rcond=None)
    return float(fit[0]), float(fit[1])


def _is_rising(levels: Array) -> bool:
    """Each patch lighter than the one before, in green: anything else is not our card."""
    return bool((np.diff(levels[:, 1]) > 0).all())


def corrected(
    pixels: Pixels,
    color: ColorSeen,
    field: NDArray[np.float32] | None = None,
    lift: NDArray[np.float32] | None = None,
) -> Pixels:
    """Pixels (sRGB) in true color. ``field``: H × W, how much brighter the light is there than on the card; ``lift``:
    natural log of how much more the camera lifted sRGB values there than on the card.
    """
    gammas, gains = np.array(color.gammas, np.float32), np.array(color.gains, np.float32)
    light = np.power(LIGHT_OF[:, None], gammas) * gains
    if field is None:
        return np.asarray(cv2.LUT(pixels, pixels_of(light)[None]), np.uint8)
    true = np.asarray(cv2.LUT(pixels, light[None]), np.float32)
    fall = np.log(field)
    for channel in range(3):
        logs = fall if lift is None else fall + lift * cv2.LUT(np.ascontiguousarray(pixels[..., channel]), _SLOPES)
        true[..., channel] *= np.exp(logs * -gammas[channel])
    return pixels_of(true)
