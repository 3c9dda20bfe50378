"""Where the index lies and whether it is whole.

The search library writes no checksums and asks the disk for no promise, so a power cut can leave files of the right
name with the wrong bytes. After each commit the new files are flushed to the disk and a *seal* is written: every
file with its size and CRC-32. An index whose seal does not fit is damaged; it is never repaired, it is rebuilt.

A rebuilt index lies in a folder of its own; one line in ``current`` says which folder counts.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import shutil
import zlib
from pathlib import Path
from typing import Final

from portfolio.search.values import IndexDamaged

POINTER: Final = "current"
SEAL: Final = "seal.json"
STAMP: Final = "stamp"
_PREFIX: Final = "words-"
_CHUNK: Final = 1 << 20

Print = tuple[int, int]
"""Size in bytes and CRC-32."""


def new_folder(folder: Path) -> Path:
    """An empty folder for an index that does not count yet."""
    fresh = folder / f"{_PREFIX}{secrets.token_hex(6)}"
    fresh.mkdir(parents=True)
    return fresh


def pointed_at(folder: Path) -> Path:
    """The folder of the index that counts."""
    try:
        name = (folder / POINTER).read_text(encoding="ascii").strip()
    except (OSError, ValueError) as error:
        raise IndexDamaged("there is no index yet") from error
    if not name.startswith(_PREFIX) or not name.removeprefix(_PREFIX).isalnum():
        raise IndexDamaged("the pointer is torn")
    return folder / name


def point_at(folder: Path, chosen: Path) -> None:
    """Make ``chosen`` the index that counts, in one step, and throw the others away where nobody holds them open."""
    _replace(folder / POINTER, f"{chosen.name}\n")
    for other in folder.glob(f"{_PREFIX}*"):
        if other.name != chosen.name:
            shutil.rmtree(other, ignore_errors=True)  # one held open (Windows) goes at the next rebuild


def sealed_files(place: Path) -> list[Path]:
    """The files of an index, without its seal, its stamp and the lock."""
    return sorted(path for path in place.iterdir() if path.suffix in {".toc", ".seg"})


def seal(place: Path, *, prints: dict[str, Print]) -> dict[str, Print]:
    """Flush what is new, write the seal, and give the prints of all files for the next time. Files are written once
    under one name, so a print that is known holds.
    """
    now: dict[str, Print] = {}
    for path in sealed_files(place):
        if path.name not in prints:
            flush(path)
        now[path.name] = prints.get(path.name) or _print(path)
    _replace(place / SEAL, json.dumps(now))
    return now


def check_seal(place: Path, *, newest: str) -> dict[str, Print]:
    """The prints of a whole index. ``newest``: the name of the table of contents that a reader will use.

    Raises ``IndexDamaged`` for a file that is missing or not as sealed, and for a commit that was never sealed:
    whether its bytes reached the disk is not known.
    """
    try:
        told = json.loads((place / SEAL).read_text(encoding="ascii"))
        prints: dict[str, Print] = {str(name): (int(size), int(crc)) for name, (size, crc) in told.items()}
    except (OSError, ValueError, TypeError, AttributeError) as error:
        raise IndexDamaged("the seal cannot be read") from error
    if newest not in prints:
        raise IndexDamaged("the last commit was not sealed")
    for name, sealed in prints.items():
        try:
            found = _print(place / name)
        except OSError as error:
            raise IndexDamaged("a file is missing") from error
        if found != sealed:
            raise IndexDamaged("a file is not as it was sealed")
    return prints


def write_stamp(place: Path, stamp: str) -> None:
    """Say which version of words, spelling and library made this index."""
    _replace(place / STAMP, f"{stamp}\n")


def check_stamp(place: Path, stamp: str) -> None:
    """Raises ``IndexDamaged`` when the index was made by another version."""
    try:
        found = (place / STAMP).read_text(encoding="ascii").strip()
    except (OSError, ValueError) as error:
        raise IndexDamaged("the index has no stamp") from error
    if found != stamp:
        raise IndexDamaged("the index was made by another version")


def flush(path: Path) -> None:
    """Ask the disk to keep a file or, where the system knows how, a folder."""
    with contextlib.suppress(PermissionError):  # Windows opens no folder
        handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _print(path: Path) -> Print:
    size, crc = 0, 0
    with path.open("rb") as handle:
        while chunk := handle.read(_CHUNK):
            size, crc = size + len(chunk), zlib.crc32(chunk, crc)
    return size, crc


def _replace(path: Path, text: str) -> None:
    part = path.with_name(f"{path.name}.part")
    part.write_text(text, encoding="ascii", newline="\n")
    flush(part)
    part.replace(path)
    flush(path.parent)
