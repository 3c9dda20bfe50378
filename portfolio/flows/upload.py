"""Files that come through the browser: each is kept at once; a zip file is opened and its photos are kept."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import BinaryIO, Final

from portfolio.archive.library import Library
from portfolio.errors import PortfolioError, Problem
from portfolio.flows.take_in import add_candidate, add_original
from portfolio.intake import find_photos

NAME_MAX: Final = 120
FILES_MAX: Final = 1_000
"""Files of one batch, sent one by one: a week of lessons."""
FORM_MAX: Final = 400
"""Files of one plain form: they are held on the disk until the last one is there, so fewer of them."""
ZIP_MAX: Final = 1_000 << 20
"""Bytes of one zip file: the photos of a whole lesson are welcome."""


@dataclass(frozen=True, slots=True)
class Uploaded:
    """What became of one file (or of the photos in one zip file)."""

    photos: tuple[int, ...]
    duplicates: int
    problems: tuple[Problem, ...]


def own_name(given: str | None) -> str:
    """A file's own name: no folder of either kind of computer, no control signs, not too long."""
    last = PurePosixPath((given or "").replace("\\", "/")).name
    plain = "".join(sign for sign in last if sign.isprintable())
    return plain[-NAME_MAX:] or "photo"


def keep_upload(library: Library, batch_id: int, *, name: str | None, stream: BinaryIO) -> Uploaded:
    """Keep one file of a batch. Raises ``DiskError`` when the disk is full; other trouble is told as problems."""
    plain = own_name(name)
    if plain.lower().endswith(".zip"):
        return _zip(library, batch_id, name=plain, stream=stream)
    size = stream.seek(0, os.SEEK_END)
    stream.seek(0)
    if size == 0:
        return _refused("photo-empty", plain)
    if size > library.settings.photo_max_mb << 20:
        return _refused("photo-too-heavy", plain, f"{size / 1e6:.0f} MB")
    added = add_original(library, batch_id, name=plain, stream=stream)
    return Uploaded((added.photo_id,), int(added.duplicate), ())


def _refused(code: str, name: str, found: str = "") -> Uploaded:
    return Uploaded((), 0, (Problem(code, name, found),))


def _zip(library: Library, batch_id: int, *, name: str, stream: BinaryIO) -> Uploaded:
    photos: list[int] = []
    duplicates = 0
    with tempfile.TemporaryDirectory(prefix="portfolio-") as folder:
        path = Path(folder) / name
        with path.open("wb") as out:
            while part := stream.read(1 << 20):
                out.write(part)
        try:
            found = find_photos([path], max_bytes=library.settings.photo_max_mb << 20)
        except PortfolioError as error:
            return _refused(error.code, name, error.found)
        problems = list(found.problems)
        for candidate in found.candidates:
            added = add_candidate(library, batch_id, candidate)
            if isinstance(added, Problem):
                problems.append(added)
                continue
            photos.append(added.photo_id)
            duplicates += added.duplicate
    return Uploaded(tuple(photos), duplicates, tuple(problems))
