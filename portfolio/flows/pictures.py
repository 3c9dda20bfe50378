"""Which file a screen gets: a work's picture by its key, a photo as it was taken, or the original itself.

Photos as taken are drawn on first asking and kept below ``derived/as-taken`` (they can be thrown away). Only photos
that the guarded reader has opened before are drawn here; a file that stopped the reader is never opened again.
"""

from __future__ import annotations

import re
import secrets
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from portfolio.archive import one_work
from portfolio.archive.library import Library
from portfolio.archive.works import derived_path
from portfolio.errors import NotFound
from portfolio.reading import PhotoRefused, open_photo
from portfolio.straighten.ladder import RUNGS, fit, jpeg_of
from portfolio.straighten.srgb import to_srgb

AS_TAKEN: Final = (1600, 400)
"""Long sides in pixels of a photo as taken: large for a question, small for a wall."""
_KEY: Final = re.compile(r"[0-9A-Za-z_-]{8,80}\Z")
_DRAWING = threading.Lock()
"""One photo is decoded at a time: a 50-megapixel photo takes 150 MB."""


def work_picture(library: Library, key: str, *, rung: int) -> Path:
    """The JPEG of a work's picture, by the key of its derivatives and its rung (2016, 672, 336)."""
    if not _KEY.match(key) or rung not in RUNGS:
        raise NotFound("not-found", item="This picture")
    path = derived_path(library.derived, key, rung)
    if not path.is_file():
        raise NotFound("not-found", item="This picture")
    return path


def photo_as_taken(library: Library, photo_id: int, *, long_px: int) -> Path:
    """The whole photo as it was taken, upright, in sRGB, without metadata, as a JPEG file."""
    if long_px not in AS_TAKEN:
        raise NotFound("not-found", item="This picture")
    with library.reading() as session:
        photo = one_work.photo_file(session, photo_id)
    if not photo.was_read:
        raise NotFound("not-found", item="This picture")
    path = library.derived / "as-taken" / photo.sha256[:2] / f"{photo.sha256}-{long_px}.jpg"
    if not path.is_file():
        with _DRAWING:
            if not path.is_file():
                _draw(library.photo_path(photo.sha256), path, long_px)
    return path


def _draw(original: Path, path: Path, long_px: int) -> None:
    try:
        picture = open_photo(original, file="This photo")
        pixels = fit(picture.rgb(picture.shrink_for(long_px)), long_px)
        jpeg = jpeg_of(to_srgb(pixels, icc=picture.icc, adobe_rgb=picture.adobe_rgb))
    except (PhotoRefused, OSError) as error:
        raise NotFound("not-found", item="This picture") from error
    path.parent.mkdir(parents=True, exist_ok=True)
    temp = path.with_name(f"{path.name}.{secrets.token_hex(4)}")
    temp.write_bytes(jpeg)
    temp.replace(path)


@dataclass(frozen=True, slots=True)
class Original:
    """An original to save: the file, and the name it came with (made plain)."""

    path: Path
    name: str


def original(library: Library, photo_id: int) -> Original:
    """The bytes as they were received, to be saved by the teacher; never to be shown by the browser."""
    with library.reading() as session:
        photo = one_work.photo_file(session, photo_id)
    path = library.originals.path(photo.sha256)
    if not path.is_file():
        code = "original-coming" if library.stand_ins.has(photo.sha256) else "original-missing"
        raise NotFound(code, item=f"photo {photo_id}")
    plain = re.sub(r"[^\w.() -]", "_", Path(photo.file_name).name)[:120]
    return Original(path, plain or f"photo-{photo_id}")
