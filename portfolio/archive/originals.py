"""Originals: each file's bytes under the name of their own SHA-256, written once and only read afterwards.

Order of writing: temp file → fsync → put once → fsync the folder. Only then may a record speak of it.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import os
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from portfolio.errors import DiskError, PortfolioError

CHUNK = 1 << 20
FULL = frozenset({errno.ENOSPC, errno.EDQUOT, errno.EFBIG})


@dataclass(frozen=True, slots=True)
class Stored:
    """What was put: the digest that names it, its size, and whether these bytes are new to the library."""

    sha256: str
    size_bytes: int
    new: bool


class Originals:
    """The store below ``folder``: ``ab/<sha256>`` and ``tmp/``."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._tmp = folder / "tmp"

    def prepare(self) -> None:
        """Make the folders, and clear temp files that a crash left behind."""
        self._tmp.mkdir(parents=True, exist_ok=True)
        for left in self._tmp.iterdir():
            left.unlink(missing_ok=True)

    def path(self, sha256: str) -> Path:
        """Where the original with this digest lies (whether or not it is there)."""
        return self.folder / sha256[:2] / sha256

    def has(self, sha256: str) -> bool:
        """Whether the original is there."""
        return self.path(sha256).is_file()

    def put(self, source: Path | BinaryIO, *, name: str = "This photo") -> Stored:
        """Store the bytes of ``source``. ``name`` is the file's own name, for the sentence when the disk is full.

        Raises ``DiskError`` when the disk is full or refuses; nothing is left behind then. An ``OSError`` while
        *reading* ``source`` is passed on: it is trouble with that one item.
        """
        temp = self._tmp / secrets.token_hex(16)
        try:
            if isinstance(source, Path):
                with source.open("rb") as stream:
                    digest, size = self._copy(stream, temp, name=name)
            else:
                digest, size = self._copy(source, temp, name=name)
            new = self._place(temp, digest, name=name)
        finally:
            temp.unlink(missing_ok=True)
        return Stored(digest, size, new)

    def all(self) -> Iterator[str]:
        """The digest of every original in the store, in no order."""
        for folder in self.folder.iterdir():
            if len(folder.name) == 2:
                yield from (entry.name for entry in folder.iterdir())

    def verify(self, sha256: str) -> str | None:
        """``None`` when the bytes are those that were stored, else the problem's code."""
        path = self.path(sha256)
        if not path.is_file():
            return "original-missing"
        with path.open("rb") as stream:
            same = hashlib.file_digest(stream, "sha256").hexdigest() == sha256
        return None if same else "original-altered"

    def _copy(self, stream: BinaryIO, temp: Path, *, name: str) -> tuple[str, int]:
        digest = hashlib.sha256()
        size = 0
        with full_disk(name), os.fdopen(os.open(temp, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
            while chunk := _read(stream):
                digest.update(chunk)
                size += len(chunk)
                out.write(chunk)
            out.flush()
            os.fsync(out.fileno())
        return digest.hexdigest(), size

    def _place(self, temp: Path, digest: str, *, name: str) -> bool:
        final = self.path(digest)
        if final.exists():
            return False
        with full_disk(name):
            fresh = not final.parent.exists()
            final.parent.mkdir(exist_ok=True)
            try:
                os.link(temp, final)
            except FileExistsError:
                return False
            except OSError as error:
                if error.errno in FULL:
                    raise
                temp.rename(final)  # a disk without hard links; the name is the content, so nothing is lost
            sync_folder(final.parent)
            if fresh:
                sync_folder(self.folder)
        return True


class SourceError(OSError):
    """The file that is being taken in could not be read: trouble with that one item, not with our disk."""


def _read(stream: BinaryIO) -> bytes:
    try:
        return stream.read(CHUNK)
    except OSError as error:
        raise SourceError(error.errno, error.strerror) from error


@contextlib.contextmanager
def full_disk(name: str) -> Iterator[None]:
    """Turn the disk's refusals into the library's own sentences."""
    try:
        yield
    except (SourceError, PortfolioError):
        raise
    except OSError as error:
        if error.errno in FULL:
            raise DiskError("disk-full", item=name) from error
        raise DiskError("disk-unwritable", item=name, found=error.strerror or "unknown reason") from error


def sync_folder(folder: Path) -> None:
    """Make a folder's entries durable. Windows has no such call and does it by itself."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
