"""Pictures for the screen from one photo, against the least that any program must do in the same run.

The floor is a scaled decode and three encodes by libjpeg-turbo (simplejpeg) and nothing else. Ours is the whole way:
open, look at the description, decode, turn upright, color to sRGB, three pictures.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable, Sequence
from io import BytesIO

import cv2
import numpy as np
import simplejpeg
from PIL import Image, ImageCms

from portfolio.demo.camera.mix import sample_shot
from portfolio.reading import open_photo
from portfolio.straighten.ladder import QUALITY, RUNGS, ladder
from portfolio.straighten.order import screen_pixels

BAR = 1.5
HELD_OUT = 920_000


def run(argv: Sequence[str]) -> int:
    """Measure, print one line a kind of photo, and give 0 when the bar is met."""
    words = argparse.ArgumentParser(prog="bench.py imaging", description=__doc__.splitlines()[0])
    words.add_argument("--photos", type=int, default=4)
    words.add_argument("--seed", type=int, default=HELD_OUT)
    words.add_argument("--times", type=int, default=7, help="rounds; the fastest of each kind counts")
    asked = words.parse_args(argv)
    cv2.setNumThreads(1)
    plain, turned, wide = [], [], []
    for seed in range(asked.seed, asked.seed + asked.photos):
        pixels = _grainy(sample_shot(seed).upright(), seed)
        plain.append(_ratio(_jpeg(pixels), asked.times))
        turned.append(_ratio(_jpeg(pixels, orientation=6), asked.times))
        wide.append(_ratio(_jpeg(pixels, icc=_wide_profile()), asked.times))
    good = statistics.median(plain) <= BAR
    print(f"{asked.photos} photos of 12 megapixels, processor time over the floor of the same photo (median)")
    print(f"{'sRGB JPEG':<44} {statistics.median(plain):>12.2f}   <= {BAR:<7} {'ok' if good else 'short'}")
    print(f"{'the same, to be turned':<44} {statistics.median(turned):>12.2f}")
    print(f"{'the same, with a wide-gamut profile':<44} {statistics.median(wide):>12.2f}")
    return 0 if good else 1


def _grainy(pixels: np.ndarray, seed: int) -> np.ndarray:
    """Sensor-like grain, so that the file weighs what a phone's does (about 4 MB)."""
    grain = np.random.default_rng(seed).normal(0, 5, (512, 512, 1)).astype(np.float32)
    times = (-(-pixels.shape[0] // 512), -(-pixels.shape[1] // 512), 1)
    laid = np.tile(grain, times)[: pixels.shape[0], : pixels.shape[1]]
    return np.clip(pixels + laid, 0, 255).astype(np.uint8)


def _jpeg(pixels: np.ndarray, *, orientation: int = 1, icc: bytes | None = None) -> bytes:
    exif = Image.Exif()
    exif[0x0112] = orientation
    out = BytesIO()
    Image.fromarray(pixels).save(out, "JPEG", quality=92, exif=exif.tobytes(), **({"icc_profile": icc} if icc else {}))
    return out.getvalue()


def _wide_profile() -> bytes:
    """SRGB's own profile with its three columns mixed towards a wider gamut: the cost is that of any matrix profile."""
    data = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    for index in range(int.from_bytes(data[128:132], "big")):
        entry = 132 + 12 * index
        if bytes(data[entry : entry + 4]) == b"gXYZ":
            start = int.from_bytes(data[entry + 4 : entry + 8], "big") + 8
            value = int.from_bytes(data[start : start + 4], "big", signed=True)
            data[start : start + 4] = int(value * 0.8).to_bytes(4, "big", signed=True)
    return bytes(data)


def _ratio(jpeg: bytes, times: int) -> float:
    """Ours over the floor, rounds taken in turn so that a busy machine troubles both alike."""
    ours, floor = [], []
    for _ in range(times):
        floor.append(_cost(lambda: _floor(jpeg)))
        ours.append(_cost(lambda: _ours(jpeg)))
    return min(ours) / min(floor)


def _cost(act: Callable[[], object]) -> float:
    started = time.process_time()
    act()
    return time.process_time() - started


def _floor(jpeg: bytes) -> int:
    half = simplejpeg.decode_jpeg(jpeg, min_height=1500, min_width=1500, min_factor=2)
    small = [np.ascontiguousarray(half[::step, ::step]) for step in (1, 3, 6)]
    return sum(len(simplejpeg.encode_jpeg(pixels, quality=QUALITY, colorsubsampling="420")) for pixels in small)


def _ours(jpeg: bytes) -> int:
    made = ladder(screen_pixels(open_photo(jpeg, file="photo")))
    if len(made) != len(RUNGS):
        raise RuntimeError("a picture is missing")
    return sum(len(one.jpeg) for one in made)
