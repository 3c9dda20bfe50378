"""Paper and the tiles of grain that pigment catches on.

Every tile is ranked to a uniform 0-255, so that a threshold on it is a share of covered paper. Made once per process,
kept as bytes.
"""

from functools import cache

import cv2
import numpy as np

from portfolio.demo.paint.chance import chance
from portfolio.demo.paint.palette import sheet_color
from portfolio.demo.paint.shape import Bytes, Plane

TILE = 1024
# kind: octaves of (sigma across px, sigma along px, share)
_KINDS: dict[str, tuple[tuple[float, float, float], ...]] = {
    "tooth": ((0.9, 0.9, 0.8), (2.2, 2.2, 0.5)),
    "fine": ((0.6, 0.6, 1.0), (1.6, 1.6, 0.3)),
    "rough": ((1.5, 1.5, 0.6), (3.4, 3.4, 0.7)),
    "streak": ((0.9, 14.0, 0.8), (2.0, 26.0, 0.6)),
    "bristle": ((0.7, 22.0, 0.5), (1.6, 40.0, 0.5), (4.0, 50.0, 0.5), (9.0, 9.0, 0.5)),
    "mottle": ((1.4, 1.4, 0.6), (6.0, 6.0, 0.8)),
    "cloud": ((24.0, 24.0, 0.8), (60.0, 60.0, 0.8)),
}


@cache
def tile(kind: str) -> Bytes:
    """The grain of a kind: ``(1024, 1024)`` bytes that repeat without a seam."""
    rng = chance("tile", kind)
    total = np.zeros((TILE, TILE), np.float32)
    for across, along, share in _KINDS[kind]:
        total += share * _octave(rng, along, across)
    return _ranked(total)


def _octave(rng: np.random.Generator, sigma_x: float, sigma_y: float) -> Plane:
    step = 8 if min(sigma_x, sigma_y) > 10 else 1  # broad clouds are blurred small
    edge = TILE // step
    white = rng.standard_normal((edge, edge), dtype=np.float32)
    pad = int(min(edge, 3 * max(sigma_x, sigma_y) / step + 2))
    padded = cv2.copyMakeBorder(white, pad, pad, pad, pad, cv2.BORDER_WRAP)
    blurred = cv2.GaussianBlur(padded, (0, 0), sigmaX=sigma_x / step, sigmaY=sigma_y / step)
    if step > 1:
        wide = cv2.resize(blurred, None, fx=step, fy=step, interpolation=cv2.INTER_CUBIC)
        core = wide[pad * step : pad * step + TILE, pad * step : pad * step + TILE]
    else:
        core = blurred[pad : pad + edge, pad : pad + edge]
    return np.asarray(core / max(float(core.std()), 1e-6), dtype=np.float32)


def _ranked(plane: Plane) -> Bytes:
    low, high = float(plane.min()), float(plane.max())
    steps = ((plane - low) * (4095 / (high - low))).astype(np.uint16)
    share = np.cumsum(np.bincount(steps.ravel(), minlength=4096)) / steps.size
    return np.asarray((share * 255).astype(np.uint8)[steps], dtype=np.uint8)


@cache
def turned_tile(kind: str, fifteenths: int) -> Bytes:
    """A directed grain ("streak", "bristle") turned by steps of 15 degrees."""
    doubled = cv2.copyMakeBorder(tile(kind), TILE // 2, TILE // 2, TILE // 2, TILE // 2, cv2.BORDER_WRAP)
    turn = cv2.getRotationMatrix2D((TILE, TILE), -15.0 * fifteenths, 1.0)
    return np.asarray(
        cv2.warpAffine(doubled, turn, (2 * TILE, 2 * TILE), borderMode=cv2.BORDER_REFLECT), dtype=np.uint8
    )[384:-384, 384:-384]


def directed(kind: str, angle: float, size: tuple[int, int], *, rng: np.random.Generator) -> Bytes:
    """A piece (height, width) of directed grain along ``angle`` degrees (counted like the slope of coloring in),
    from a chance place.
    """
    return _piece(turned_tile(kind, round(angle / 15) % 12), size, rng)


def grain(kind: str, size: tuple[int, int], *, rng: np.random.Generator) -> Bytes:
    """A piece (height, width) of undirected grain from a chance place."""
    return _piece(tile(kind), size, rng)


def _piece(source: Bytes, size: tuple[int, int], rng: np.random.Generator) -> Bytes:
    height, width = size
    down, right = max(0, height - source.shape[0]), max(0, width - source.shape[1])
    if down or right:  # rarely: a canvas larger than the tile repeats it mirrored
        source = np.asarray(cv2.copyMakeBorder(source, 0, down, 0, right, cv2.BORDER_REFLECT), dtype=np.uint8)
    y = int(rng.integers(source.shape[0] - height + 1))
    x = int(rng.integers(source.shape[1] - width + 1))
    return source[y : y + height, x : x + width]


_RELIEF = {
    "watercolor": ("rough", 0.03),
    "manila": ("fine", 0.035),
    "newsprint": ("fine", 0.05),
    "black": ("fine", 0.05),
}


def sheet(name: str, size: tuple[int, int], *, rng: np.random.Generator) -> Plane:
    """Bare paper, ``(3, height, width)`` floats 0-1: color, relief, unevenness, flecks."""
    kind, relief = _RELIEF.get(name, ("fine", 0.02 if name in ("white", "sulphite") else 0.045))
    shade = 1 + (grain(kind, size, rng=rng).astype(np.float32) / 255 - 0.5) * (relief * 1.1)
    shade += (grain("cloud", size, rng=rng).astype(np.float32) / 255 - 0.5) * 0.012
    base = sheet_color(name)
    made = np.stack([shade * np.float32(channel) for channel in base]).astype(np.float32)
    if name in ("manila", "newsprint", "kraft"):
        _flecks(made, rng)
    return made


def _flecks(made: Plane, rng: np.random.Generator) -> None:
    height, width = made.shape[1:]
    mask = np.zeros((height, width), np.uint8)
    for _ in range(int(height * width / 9000)):
        x, y, turn = rng.uniform(0, width), rng.uniform(0, height), rng.uniform(0, 3.14)
        tip = (int(x + 5 * np.cos(turn)), int(y + 5 * np.sin(turn)))
        cv2.line(mask, (int(x), int(y)), tip, int(rng.integers(30, 120)), 1, cv2.LINE_AA)
    made *= 1 - mask.astype(np.float32) * (0.22 / 255)
