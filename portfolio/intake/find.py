"""Find the photos in the files, folders and zip files that were handed over."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from portfolio.errors import NotFound, Problem
from portfolio.intake.found import Candidate, Found
from portfolio.intake.kinds import HEAD_BYTES, is_ignored, is_ignored_folder, is_left_out
from portfolio.intake.zips import looks_like_zip, photos_in_zip

PHOTO_MAX_BYTES = 400_000_000
"""Heavier than any photo of a phone (a 200-megapixel one weighs about 60 MB)."""

Walk = Callable[[Path], Iterator[os.DirEntry[str]]]


def find_photos(paths: Sequence[Path], *, max_bytes: int = PHOTO_MAX_BYTES) -> Found:
    """Candidates from every path, folders searched to the bottom, in the order of the names.

    Refuses (``path-missing``) before anything else if a path is not there, and (``folder-without-photos``) if there
    is nothing to take in and no trouble to tell. A folder or file that may not be read is a problem of its own; the
    rest goes on.
    """
    for path in paths:
        if not _is_there(path):
            raise NotFound("path-missing", item=path.name or "The path")
    found = Found()
    for path in paths:
        found = found.plus(_look(path, max_bytes=max_bytes))
    found = _without_repeats(found)
    if not found.candidates and not found.problems:
        raise NotFound("folder-without-photos", item=_what(paths), details={"left_out": len(found.left_out)})
    return found


def _is_there(path: Path) -> bool:
    try:
        path.lstat()
    except PermissionError:
        return True
    except OSError:
        return False
    return True


def _what(paths: Sequence[Path]) -> str:
    if len(paths) != 1:
        return "What was given"
    return "The zip file" if paths[0].is_file() and paths[0].suffix.lower() == ".zip" else "What was given"


def _look(path: Path, *, max_bytes: int) -> Found:
    if path.is_dir():
        return _folder(path, max_bytes=max_bytes)
    return _file(path, max_bytes=max_bytes, given=True)


def _folder(folder: Path, *, max_bytes: int) -> Found:
    """Depth first, files before folders, each sorted as a person would (2 before 10). Linked folders are not
    entered, so a link to a folder above cannot turn this into a ring.
    """
    try:
        with os.scandir(folder) as listing:
            entries = sorted(listing, key=lambda entry: natural(entry.name))
    except OSError as trouble:
        return Found(problems=(Problem("folder-unreadable", folder.name or "The folder", _why(trouble)),))
    found = Found()
    for entry in entries:
        if not _is_folder(entry) and not is_ignored(entry.name):
            found = found.plus(_file(Path(entry.path), max_bytes=max_bytes, given=False))
    for entry in entries:
        if _is_folder(entry) and not entry.is_symlink() and not is_ignored_folder(entry.name):
            found = found.plus(_folder(Path(entry.path), max_bytes=max_bytes))
    return found


def _is_folder(entry: os.DirEntry[str]) -> bool:
    try:
        return entry.is_dir()
    except OSError:
        return False


def _file(path: Path, *, max_bytes: int, given: bool) -> Found:
    """One file. Zip files are opened only when they were handed over themselves, not when they lie in a folder."""
    try:
        if not path.is_file():
            return Found()
        facts = path.stat()
        with path.open("rb") as file:
            head = file.read(HEAD_BYTES)
    except OSError as trouble:
        return Found(problems=(Problem("photo-unreadable-file", path.name, _why(trouble)),))
    if given and (looks_like_zip(head) or path.suffix.lower() == ".zip"):
        return photos_in_zip(path, max_bytes=max_bytes)
    if is_left_out(path.name, head):
        return Found(left_out=(path.name,))
    if facts.st_size > max_bytes:
        return Found(problems=(Problem("photo-too-heavy", path.name, f"{facts.st_size / 1e6:.0f} MB"),))
    return Found(candidates=(Candidate(path.name, path, facts.st_size, facts.st_mtime_ns),))


def _why(trouble: OSError) -> str:
    """The system's own short words, without the path that comes with them."""
    return (trouble.strerror or "the disk gave no reason").lower()


def _without_repeats(found: Found) -> Found:
    """The same file handed over twice (a folder and a file in it) counts once."""
    seen: dict[tuple[str, str | None], Candidate] = {}
    for candidate in found.candidates:
        seen.setdefault((os.path.realpath(candidate.path), candidate.entry), candidate)
    return Found(tuple(seen.values()), found.problems, found.left_out)


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key that reads digits as numbers: IMG_2 before IMG_10, capitals and small letters alike."""
    parts = re.findall(r"\d+|\D+", name.casefold())
    return tuple((0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts)
