"""Pictures for a site, written fresh: no metadata, marked regions covered, JPEG for all and WebP for less to load.

A JPEG without marked regions keeps its dots bit for bit: only its headers are written anew, so nothing is lost and
nothing that could tell about a child comes along. Markers: ITU-T T.81, table B.1.
"""

from __future__ import annotations

import io
import struct
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from PIL import Image, ImageDraw

from portfolio.model.showing import FractionPolygon, Picture

WEBP_FROM_PX: Final = 600
"""Smaller pictures gain too little from a second form."""
_KEPT: Final = frozenset({0xC0, 0xC1, 0xC2, 0xC4, 0xDB, 0xDD, 0xDA})
"""Frame, tables, restart interval, scan: what is needed to draw the picture, and nothing else."""
_COVER: Final = (128, 128, 128)
_COVER_GROWS: Final = 0.01
"""A marked region is covered a little beyond its edge."""


@dataclass(frozen=True, slots=True)
class Shape:
    """What a page must know of a work's picture: rungs with their widths in pixels, narrowest first."""

    jpeg: tuple[tuple[int, int], ...]
    webp: tuple[tuple[int, int], ...]
    width_px: int
    height_px: int
    rungs: tuple[int, ...] = ()
    """The rung of each of the picture's files, in their order."""

    @property
    def plain(self) -> int:
        """The rung for browsers that choose nothing."""
        return self.jpeg[min(1, len(self.jpeg) - 1)][0]


def shape_of(picture: Picture | None, *, sizes: dict[str, tuple[int, int]] | None = None) -> Shape | None:
    """Rungs and sizes of a picture's files; ``sizes`` remembers them between builds, by :func:`signature`."""
    if picture is None or not picture.files:
        return None
    known = sizes if sizes is not None else {}
    found = [_size(path, known) for path in picture.files]
    jpeg = tuple((max(size), size[0]) for size in found)
    webp = tuple(rung for rung in jpeg if rung[0] >= WEBP_FROM_PX)
    rungs = tuple(rung for rung, _ in jpeg)
    if picture.light:
        jpeg, webp = jpeg[:1], webp[:1]
    return Shape(jpeg, webp, *found[-1], rungs)


def _size(path: Path, known: dict[str, tuple[int, int]]) -> tuple[int, int]:
    key = signature(path)
    if key not in known:
        with Image.open(path) as opened:
            known[key] = opened.size
    return known[key]


def signature(path: Path) -> str:
    """Tells whether a derivative changed: its name, weight and time. A derivative gets a new name when made anew."""
    stat = path.stat()
    return f"{path.name} {stat.st_size} {stat.st_mtime_ns}"


def fresh_jpeg(data: bytes, masks: Sequence[FractionPolygon] = ()) -> bytes:
    """The picture as JPEG without any metadata; with masks it is drawn again, covered."""
    if masks:
        return _written(_covered(data, masks), "JPEG", quality=88, subsampling="4:2:0")
    stripped = _without_notes(data)
    return stripped if stripped is not None else _written(_opened(data), "JPEG", quality=90)


def fresh_webp(data: bytes, masks: Sequence[FractionPolygon] = ()) -> bytes:
    """The picture as WebP without any metadata."""
    return _written(_covered(data, masks) if masks else _opened(data), "WEBP", quality=82, method=2)


def _opened(data: bytes) -> Image.Image:
    with Image.open(io.BytesIO(data)) as opened:
        bare = Image.new("RGB", opened.size)
        bare.paste(opened.convert("RGB"))
        return bare


def _written(image: Image.Image, form: str, **options: object) -> bytes:
    out = io.BytesIO()
    image.save(out, form, **options)
    return out.getvalue()


def _covered(data: bytes, masks: Sequence[FractionPolygon]) -> Image.Image:
    image = _opened(data)
    draw = ImageDraw.Draw(image)
    width, height = image.size
    grow = max(2, round(max(width, height) * _COVER_GROWS))
    for mask in masks:
        points = [(x * width, y * height) for x, y in mask]
        draw.polygon(points, fill=_COVER)
        draw.line([*points, points[0]], fill=_COVER, width=2 * grow, joint="curve")
        for x, y in points:
            draw.ellipse((x - grow, y - grow, x + grow, y + grow), fill=_COVER)
    return image


def _without_notes(data: bytes) -> bytes | None:
    """The JPEG with only what draws it; ``None`` when it is not a plain JPEG whose scans can be followed."""
    if data[:3] != b"\xff\xd8\xff":
        return None
    out, at = bytearray(b"\xff\xd8"), 2
    while at + 2 <= len(data):
        marker = data[at + 1]
        if data[at] == 0xFF and marker == 0xD9:
            return bytes(out + b"\xff\xd9")
        if data[at] != 0xFF or at + 4 > len(data):
            return None
        size = struct.unpack(">H", data[at + 2 : at + 4])[0]
        end = at + 2 + size
        if marker == 0xDA:
            end = _scan_end(data, end)
        if marker == 0xEE and data[at + 4 : at + 9] == b"Adobe":
            return None  # its colors are told by this very note
        if marker in _KEPT:
            out += data[at:end]
        elif not 0xE0 <= marker <= 0xEF and marker != 0xFE:
            return None
        at = end
    return None


def _scan_end(data: bytes, at: int) -> int:
    while True:
        at = data.find(b"\xff", at)
        if at < 0 or at + 1 >= len(data):
            return len(data)
        if data[at + 1] != 0 and not 0xD0 <= data[at + 1] <= 0xD7:
            return at
        at += 2
