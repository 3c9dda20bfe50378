"""From light on the sensor to a file: blur, noise, tone curve, JPEG with EXIF."""

from __future__ import annotations

from io import BytesIO
from math import cos, radians, sin
from typing import Final

import cv2
import numpy as np
from PIL import Image

from portfolio.demo.camera.conditions import Blur, Conditions, Sensor
from portfolio.demo.camera.pose import Array
from portfolio.demo.camera.raster import Box, Bytes, Float, strips

_LEVELS: Final = 1 << 14
"""Steps of the tone curve's table: finer than any noise here."""
_REFERENCE_PX: Final = 4032


def blurred(image: Float, blur: Blur) -> Float:
    """Out of focus and moved, in linear light; the middle of the blur stays where the truth is."""
    scale = max(image.shape[:2]) / _REFERENCE_PX
    image = _moved(image, blur.motion_px * scale, angle_deg=blur.motion_deg)
    sigma = max(blur.defocus_px * scale, 0.45)
    size = 2 * int(np.ceil(3 * sigma)) + 1
    return np.asarray(cv2.GaussianBlur(image, (size, size), sigma), dtype=np.float32)


def _moved(image: Float, length_px: float, *, angle_deg: float) -> Float:
    """A straight smear, by doubling: the mean of two copies a half length apart, then of a quarter, and so on.

    A filter of 30 pixels costs ten times as much. Each pair lies evenly on both sides, so nothing shifts.
    """
    step = length_px / 4
    while step >= 0.75:
        dx, dy = round(step * cos(radians(angle_deg))), round(step * sin(radians(angle_deg)))
        image = _two_copies(image, dx, dy)
        step /= 2
    return image


def _two_copies(image: Float, dx: int, dy: int) -> Float:
    if not dx and not dy:
        return image
    rows, columns = image.shape[:2]
    px, py = abs(dx), abs(dy)
    wide = cv2.copyMakeBorder(image, py, py, px, px, cv2.BORDER_REPLICATE)
    one = wide[py + dy : py + dy + rows, px + dx : px + dx + columns]
    other = wide[py - dy : py - dy + rows, px - dx : px - dx + columns]
    return np.asarray(cv2.addWeighted(one, 0.5, other, 0.5, 0), dtype=np.float32)


def tone_table(contrast: float) -> Bytes:
    """Linear light (0-1 in even steps) to 8 bits: sRGB with an S laid over it."""
    light = np.arange(_LEVELS) / (_LEVELS - 1)
    plain = np.where(light <= 0.0031308, light * 12.92, 1.055 * np.power(light, 1 / 2.4) - 0.055)
    curved = plain + contrast * 2 * plain * (1 - plain) * (plain - 0.5)
    return np.asarray(np.rint(np.clip(curved, 0, 1) * 255), dtype=np.uint8)


def developed(image: Float, fall: Array, *, gains: Array, sensor: Sensor, chance: np.random.Generator) -> Bytes:
    """Light and its color, shot and read noise, clipping and tone curve: 8-bit RGB."""
    box = Box(0, 0, image.shape[1], image.shape[0])
    table = tone_table(sensor.contrast)
    grain = chance.standard_normal(1 << 20, dtype=np.float32)
    row_px = box.width * 3
    picture = np.empty(image.shape, dtype=np.uint8)
    color = np.asarray(gains, dtype=np.float32)
    for rows, (light,) in strips(box, fall):
        signal = image[rows] * light[..., None]
        signal *= color
        spread = np.sqrt(signal * np.float32(sensor.shot_noise) + np.float32(sensor.read_noise**2))
        starts = chance.integers(0, grain.size - row_px, size=(signal.shape[0],)).tolist()
        spread *= np.stack([grain[start : start + row_px] for start in starts]).reshape(signal.shape)
        signal += spread
        np.clip(signal, 0, 1, out=signal)
        signal *= _LEVELS - 1
        picture[rows] = table[signal.astype(np.uint16)]
    return picture


def stored(upright: Bytes, conditions: Conditions) -> bytes:
    """The JPEG file a camera would write: turned as its sensor was held, with EXIF saying so."""
    turns = {1: 0, 3: 2, 6: 1, 8: 3}[conditions.sensor.orientation]
    held = np.ascontiguousarray(np.rot90(upright, turns))
    out = BytesIO()
    Image.fromarray(held).save(
        out, "JPEG", quality=conditions.sensor.jpeg_quality, exif=_exif(conditions, held.shape[1], held.shape[0])
    )
    return out.getvalue()


def _exif(conditions: Conditions, width_px: int, height_px: int) -> bytes:
    """EXIF 2.31: times with sub-seconds and offset, camera, focal length, orientation."""
    exif = Image.Exif()
    when = conditions.taken.strftime("%Y:%m:%d %H:%M:%S")
    exif[0x010F] = conditions.sensor.make
    exif[0x0110] = conditions.sensor.model
    exif[0x0112] = conditions.sensor.orientation
    exif[0x0132] = when
    detail = exif.get_ifd(0x8769)
    detail[0x9000] = b"0231"
    detail[0x9003] = detail[0x9004] = when
    detail[0x9290] = detail[0x9291] = detail[0x9292] = f"{conditions.taken.microsecond // 1000:03d}"
    if conditions.utc_offset_minutes is not None:
        hours, minutes = divmod(abs(conditions.utc_offset_minutes), 60)
        sign = "-" if conditions.utc_offset_minutes < 0 else "+"
        detail[0x9010] = detail[0x9011] = f"{sign}{hours:02d}:{minutes:02d}"
    detail[0xA002], detail[0xA003] = width_px, height_px
    detail[0xA405] = round(conditions.view.focal_35mm)
    return exif.tobytes()
