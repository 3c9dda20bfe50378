"""A backup on disk: a bag (RFC 8493), a folder of plain files with a list of their digests beside it.

``data/`` holds ``portfolio.db`` · ``portfolio.toml`` · ``library.id`` · ``originals/ab/<sha256>`` · ``stand-ins/…`` ·
``sidecars/…``; ``manifest-sha256.txt`` is what ``sha256sum -c`` reads. No program of ours is needed to check it.

An original goes straight to its place: its name is its content. Everything that is replaced waits in ``arriving/``
until all of it is there, is declared ready by one file, and is then moved into place; a move that was cut off is
finished by whoever opens the bag next. So the bag is at every moment the old backup or the new one, never a mixture.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from filelock import FileLock, Timeout

from portfolio.archive.originals import CHUNK, FULL, SourceError, sync_folder
from portfolio.errors import DiskError, LibraryError, PortfolioError, Problem, Refused

MANIFEST: Final = "manifest-sha256.txt"
TAG_MANIFEST: Final = "tagmanifest-sha256.txt"
DECLARATION: Final = "bagit.txt"
INFO: Final = "bag-info.txt"
IDENTITY: Final = "data/library.id"
_ARRIVING: Final = "arriving"
_READY: Final = "ready"
_LOCK: Final = "backup.lock"
_TAGS: Final = (DECLARATION, INFO, MANIFEST)
_LINE: Final = re.compile(r"([0-9a-f]{64}) [ *](.+)")
_ORIGINAL: Final = re.compile(r"data/originals/([0-9a-f]{2})/(\1[0-9a-f]{62})")
_OURS: Final = re.compile(
    _ORIGINAL.pattern
    + r"|data/(portfolio\.db|portfolio\.toml|library\.id|sidecars/(school|(works|photos)/\d{4,}/\d+)\.json)"
    + r"|data/stand-ins/[0-9a-f]{2}/[0-9a-f]{64}"
)

Told = Callable[[int, int], object]
"""Called with how many files are done, and of how many."""


def quietly(done: int, of: int) -> None:
    """Tell nobody."""


def original_name(sha256: str) -> str:
    """Where an original lies in a bag."""
    return f"data/originals/{sha256[:2]}/{sha256}"


def original_of(name: str) -> str | None:
    """The digest of the original that lies under this name; ``None`` when it is no original."""
    found = _ORIGINAL.fullmatch(name)
    return found[2] if found else None


@dataclass(frozen=True, slots=True)
class Bad:
    """A file of a bag that is not what its manifest says. ``code``: missing, altered or unreadable."""

    name: str
    code: str

    @property
    def problem(self) -> Problem:
        """What is said about it."""
        return Problem(self.code, _in_words(self.name))


def _in_words(name: str) -> str:
    """The file's own place in the backup: digests and ids, never a name."""
    return f"The file {name} of the backup"


class Bag:
    """A backup to be read. It may lie on a disk that cannot be written."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        waiting = folder / _ARRIVING
        self._arriving = waiting if (waiting / _READY).is_file() else None

    def exists(self) -> bool:
        """Whether a finished backup lies here."""
        return self.path(MANIFEST).is_file()

    def path(self, name: str) -> Path:
        """Where a file of the bag lies now, also in the midst of a move that was cut off."""
        if self._arriving is not None and (self._arriving / name).is_file():
            return self._arriving / name
        return self.folder / name

    def manifest(self) -> dict[str, str]:
        """File → the digest that it must have. Refuses a folder that holds no backup, and a list with other files:
        what is not ours is neither read nor copied, wherever it may point.
        """
        if not self.exists():
            raise LibraryError("backup-missing")
        self._check_tags()
        found = {}
        for line in self.path(MANIFEST).read_text(encoding="utf-8", errors="replace").splitlines():
            match = _LINE.fullmatch(line)
            if match is None or _OURS.fullmatch(match[2]) is None:
                raise LibraryError("backup-unreadable", found=f"its list {MANIFEST} has a line that does not fit")
            found[match[2]] = match[1]
        return found

    def _check_tags(self) -> None:
        """The list itself has a digest, so that a damaged list is not taken for damaged files."""
        if not self.path(TAG_MANIFEST).is_file():
            return
        for line in self.path(TAG_MANIFEST).read_text(encoding="utf-8", errors="replace").splitlines():
            match = _LINE.fullmatch(line)
            if match is None or match[2] not in _TAGS or digest_of(self.path(match[2])) != match[1]:
                name = match[2] if match is not None and match[2] in _TAGS else TAG_MANIFEST
                raise LibraryError("backup-unreadable", found=f"its list {name} was changed")

    def info(self) -> dict[str, str]:
        """What ``bag-info.txt`` says, label → value."""
        lines = self.path(INFO).read_text(encoding="utf-8", errors="replace").splitlines()
        return {label: value.strip() for label, _, value in (line.partition(":") for line in lines)}

    def identity(self) -> str:
        """Which library this is a backup of; empty when it does not say."""
        return _read(self.path(IDENTITY))

    def bad(self, *, told: Told = quietly) -> tuple[Bad, ...]:
        """Read every file again and name those that are not what they were, in the order of the list."""
        listed = self.manifest()
        found = []
        for done, (name, digest) in enumerate(listed.items(), start=1):
            code = self._trouble(name, digest)
            if code is not None:
                found.append(Bad(name, code))
            told(done, len(listed))
        return tuple(found)

    def _trouble(self, name: str, digest: str) -> str | None:
        try:
            now = digest_of(self.path(name))
        except SourceError:
            return "backup-file-unreadable"
        if now == digest:
            return None
        return "backup-file-missing" if now is None else "backup-file-altered"


class NewBackup:
    """A backup that is being written into ``folder``. Nothing that stood there is given up before :meth:`finish`.

    Refuses a folder with other files in it, a backup of another library, and one that is being written already.
    """

    def __init__(self, folder: Path, *, identity: str) -> None:
        self.folder = folder
        self.listed: dict[str, str] = {}
        """File → digest: what the finished backup will hold."""
        self._identity = identity
        self._arriving = folder / _ARRIVING
        self._lock = FileLock(folder / _LOCK, thread_local=False)

    def __enter__(self) -> Self:
        """Take the folder."""
        with disk_of_backup():
            refuse_place(self.folder, identity=self._identity)
            self.folder.mkdir(parents=True, exist_ok=True)
            try:
                self._lock.acquire(timeout=0)
            except Timeout as error:
                raise Refused("backup-busy") from error
            try:
                _move_into_place(self.folder)
                shutil.rmtree(self._arriving, ignore_errors=True)
                self._arriving.mkdir()
            except BaseException:
                self._lock.release()
                raise
            bag = Bag(self.folder)
            self._before = bag.manifest() if bag.exists() else {}
            return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Give the folder back. What was not finished is cleared away by the next backup."""
        self._lock.release()

    def room_for(self, name: str) -> Path:
        """Where a new file of this name is to be written."""
        path = self._arriving / name
        path.parent.mkdir(parents=True, exist_ok=True)
        return path

    def take_written(self, name: str) -> None:
        """The file that was written where :meth:`room_for` said belongs to the backup."""
        path = self._arriving / name
        _sync(path)
        self.listed[name] = digest_of(path) or ""

    def take(self, name: str, source: Path) -> None:
        """Take a file over if it differs from the one of the last backup."""
        digest = digest_of(source)
        if digest is None:
            return
        if self._before.get(name) != digest or not (self.folder / name).is_file():
            digest = copy(source, self.room_for(name))
        self.listed[name] = digest

    def has_original(self, sha256: str, *, size_bytes: int | None = None) -> bool:
        """Whether an original is there from an earlier backup; with a size, whether it has that size too."""
        path = self.folder / original_name(sha256)
        return path.is_file() and (size_bytes is None or path.stat().st_size == size_bytes)

    def keep_original(self, sha256: str) -> None:
        """An original from an earlier backup belongs to this one too."""
        self.listed[original_name(sha256)] = sha256

    def take_original(self, sha256: str, source: Path) -> bool:
        """Copy an original. False, with nothing changed, when its bytes are no longer those that its name says."""
        waiting, final = self.room_for("original"), self.folder / original_name(sha256)
        if copy(source, waiting) != sha256:
            waiting.unlink()
            return False
        final.parent.mkdir(parents=True, exist_ok=True)
        waiting.replace(final)
        self.keep_original(sha256)
        return True

    def finish(self, info: Mapping[str, str]) -> None:
        """Write the lists, make everything durable, and let the new backup take the place of the old one."""
        for folder in _folders(self.folder / "data"):
            sync_folder(folder)
        self._write_lists(info)
        for folder in _folders(self._arriving):
            sync_folder(folder)
        sync_folder(self.folder)
        _write(self._arriving / _READY, "")
        sync_folder(self._arriving)
        _move_into_place(self.folder)

    def _write_lists(self, info: Mapping[str, str]) -> None:
        sizes = [self._size(name) for name in self.listed]
        facts = {**info, "Payload-Oxum": f"{sum(sizes)}.{len(sizes)}"}
        _write(self._arriving / DECLARATION, "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n")
        _write(self._arriving / INFO, "".join(f"{label}: {value}\n" for label, value in facts.items()))
        _write(self._arriving / MANIFEST, _list_of(dict(sorted(self.listed.items()))))
        tags = {name: digest_of(self._arriving / name) or "" for name in _TAGS}
        _write(self._arriving / TAG_MANIFEST, _list_of(tags))

    def _size(self, name: str) -> int:
        waiting = self._arriving / name
        return (waiting if waiting.is_file() else self.folder / name).stat().st_size


def refuse_place(folder: Path, *, identity: str) -> None:
    """Refuses a place that a backup of this library cannot use: a file, a folder with other things in it, a backup of
    another library, or a disk that is not there.
    """
    if folder.is_file() or not folder.is_absolute():
        raise Refused("backup-place", found="it is no folder")
    if not folder.exists():
        if not folder.parent.is_dir():
            raise Refused("backup-place", found="the folder that it would lie in is not there")
        return
    bag = Bag(folder)
    if bag.exists():
        if bag.identity() != identity:
            raise Refused("backup-of-another")
        return
    there = {entry.name for entry in folder.iterdir() if not entry.name.startswith(".")}  # systems leave such files
    begun = {_ARRIVING, _LOCK, "data"} if _LOCK in there else set()
    if there - begun:
        raise Refused("backup-place", found="it holds other files")


def _move_into_place(folder: Path) -> None:
    """Move what is ready, the lists last, then clear away what no list names any more. Can be cut off anywhere."""
    waiting = folder / _ARRIVING
    if not (waiting / _READY).is_file():
        return
    names = [path.relative_to(waiting) for path in waiting.rglob("*") if path.is_file() and path.name != _READY]
    for name in sorted(names, key=lambda one: (one.parts[0] != "data", one.name == TAG_MANIFEST, one)):
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (waiting / name).replace(folder / name)
    for touched in {(folder / name).parent for name in names} | {folder}:
        sync_folder(touched)
    _clear_unlisted(folder)
    (waiting / _READY).unlink()
    shutil.rmtree(waiting, ignore_errors=True)
    sync_folder(folder)


def _clear_unlisted(folder: Path) -> None:
    listed = set(_names_in(folder / MANIFEST))
    for path in sorted((folder / "data").rglob("*"), reverse=True):
        if path.is_file() and path.relative_to(folder).as_posix() not in listed:
            path.unlink()
        elif path.is_dir() and not any(path.iterdir()):
            path.rmdir()


def _names_in(manifest: Path) -> Iterator[str]:
    for line in manifest.read_text(encoding="utf-8").splitlines():
        match = _LINE.fullmatch(line)
        if match is not None:
            yield match[2]


def _list_of(digests: Mapping[str, str]) -> str:
    return "".join(f"{digest}  {name}\n" for name, digest in digests.items())


def _folders(top: Path) -> Iterator[Path]:
    if top.is_dir():
        yield top
        yield from (path for path in top.rglob("*") if path.is_dir())


def _read(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8").strip()
    except (OSError, UnicodeDecodeError):
        return ""


def _write(path: Path, text: str) -> None:
    with path.open("w", encoding="utf-8", newline="\n") as out:
        out.write(text)
        out.flush()
        os.fsync(out.fileno())


def _sync(path: Path) -> None:
    with path.open("r+b") as stream:
        os.fsync(stream.fileno())


def digest_of(path: Path) -> str | None:
    """The SHA-256 of a plain file; ``None`` when there is none (a link to elsewhere is none).

    Raises ``SourceError`` when its disk cannot read it.
    """
    if path.is_symlink() or not path.is_file():
        return None
    digest = hashlib.sha256()
    for chunk in _chunks(path):
        digest.update(chunk)
    return digest.hexdigest()


def copy(source: Path, target: Path) -> str:
    """Copy a file's bytes and make them durable; gives the SHA-256 of what was written.

    Raises ``SourceError`` when the disk of ``source`` cannot read it: trouble with that one file.
    """
    digest = hashlib.sha256()
    with target.open("wb") as out:
        for chunk in _chunks(source):
            digest.update(chunk)
            out.write(chunk)
        out.flush()
        os.fsync(out.fileno())
    return digest.hexdigest()


def _chunks(path: Path) -> Iterator[bytes]:
    try:
        with path.open("rb") as stream:
            while chunk := stream.read(CHUNK):
                yield chunk
    except OSError as error:
        raise SourceError(error.errno, error.strerror) from error


@contextmanager
def disk_of_backup() -> Iterator[None]:
    """Turn the refusals of the disk that a backup goes to, or comes from, into sentences of their own."""
    try:
        yield
    except PortfolioError:
        raise
    except OSError as error:
        if error.errno in FULL:
            raise DiskError("backup-full") from error
        raise DiskError("backup-disk", found=error.strerror or "unknown reason") from error
