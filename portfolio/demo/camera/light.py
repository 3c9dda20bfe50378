"""Light: its color, its fall over the frame, and what the camera's white balance leaves of it."""

from __future__ import annotations

from math import hypot

import numpy as np

from portfolio.demo.camera.conditions import Light
from portfolio.demo.camera.pose import Array, Camera
from portfolio.demo.camera.raster import Box, nodes_of

_XYZ_TO_RGB = np.array(
    [[3.2404542, -1.5371385, -0.4985314], [-0.9692660, 1.8760108, 0.0415560], [0.0556434, -0.2040259, 1.0572252]]
)
"""XYZ (D65) to linear sRGB (IEC 61966-2-1)."""


def illuminant(kelvin: float) -> Array:
    """Color of a black body in linear sRGB, green = 1.

    Cubic fit of Kim et al. 2002 (US patent 7,024,034; from memory, checked in the tests against daylight's own white).
    """
    t = 1000.0 / kelvin
    if kelvin <= 4000:
        x = -0.2661239 * t**3 - 0.2343589 * t**2 + 0.8776956 * t + 0.179910
    else:
        x = -3.0258469 * t**3 + 2.1070379 * t**2 + 0.2226347 * t + 0.240390
    if kelvin <= 2222:
        y = -1.1063814 * x**3 - 1.34811020 * x**2 + 2.18555832 * x - 0.20219683
    elif kelvin <= 4000:
        y = -0.9549476 * x**3 - 1.37418593 * x**2 + 2.09137015 * x - 0.16748867
    else:
        y = 3.0817580 * x**3 - 5.87338670 * x**2 + 3.75112997 * x - 0.37001483
    rgb: Array = np.maximum(_XYZ_TO_RGB @ np.array([x / y, 1.0, (1 - x - y) / y]), 0.05)
    rgb /= rgb[1]
    return rgb


def cast_of(light: Light) -> Array:
    """What is left of the light's color after the camera's white balance: gains for R, G, B with mean log 0."""
    left = np.log(illuminant(light.kelvin)) * (1 - light.balance) + np.array(light.tint)
    gains: Array = np.exp(left - left.mean())
    return gains


def fall_of(light: Light, camera: Camera) -> Array:
    """Light over the whole frame at the nodes of the frame: exposure, gradient, vignetting and a cast shadow."""
    x_px, y_px = nodes_of(Box(0, 0, camera.width_px, camera.height_px))
    x = (x_px - camera.center_px[0]) / (camera.width_px / 2)
    y = (y_px - camera.center_px[1]) / (camera.height_px / 2)
    slope = np.exp(light.gradient[0] * x + light.gradient[1] * y)
    aspect = camera.height_px / camera.width_px
    corner = (np.square(x) + np.square(y * aspect)) / (1 + aspect**2)
    fall: Array = 2.0**light.exposure_ev * slope * (1 - light.vignetting * corner)
    if light.shadow is not None:
        turn = np.deg2rad(light.shadow.angle_deg)
        away = (x_px - light.shadow.at[0] * camera.width_px) * np.cos(turn)
        away += (y_px - light.shadow.at[1] * camera.height_px) * np.sin(turn)
        width = light.shadow.softness * hypot(camera.width_px, camera.height_px) / 4
        fall *= 1 - light.shadow.depth / (1 + np.exp(-np.clip(away / width, -30, 30)))
    return fall
