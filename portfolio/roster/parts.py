"""The files of a roster, from one file, a folder, or a zip file. Nothing is unpacked to the disk.

Only files that are asked for by name are opened: a file of demographic facts in the same folder is never read.
"""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Collection, Mapping
from pathlib import Path, PurePosixPath
from types import MappingProxyType
from typing import Final

from portfolio.errors import NotFound, PortfolioError
from portfolio.roster.table import MAX_BYTES

MAX_ENTRIES: Final = 500
MAX_ZIP_BYTES: Final = 64 * 1024 * 1024


def read_file(path: Path) -> bytes:
    """The bytes of one file, refused when it is too large to be a list of children."""
    try:
        size = path.stat().st_size
        if size > MAX_BYTES:
            raise PortfolioError("roster-too-large", item=path.name, found=f"{size // 1_000_000} MB")
        return path.read_bytes()
    except FileNotFoundError as error:
        raise NotFound("path-missing", item=path.name) from error
    except OSError as error:
        raise PortfolioError("folder-unreadable", item=path.name, found=error.strerror or "unknown") from error


def open_parts(path: Path, *, wanted: Collection[str]) -> Mapping[str, bytes]:
    """Wanted name (lower case) → bytes, from a folder or a zip file. Other files are not opened."""
    if path.is_dir():
        found = {one.name.casefold(): one for one in sorted(path.iterdir()) if one.is_file()}
        return MappingProxyType({name: read_file(found[name]) for name in sorted(wanted) if name in found})
    return _open_zip(path, wanted=wanted)


def is_zip(path: Path) -> bool:
    """Whether a file is a zip file by its first bytes, whatever its name says."""
    with path.open("rb") as stream:
        return stream.read(4) in (b"PK\x03\x04", b"PK\x05\x06")


def _open_zip(path: Path, *, wanted: Collection[str]) -> Mapping[str, bytes]:
    try:
        if path.stat().st_size > MAX_ZIP_BYTES:
            raise PortfolioError("roster-too-large", item=path.name, found="a very large zip file")
        with zipfile.ZipFile(path) as archive:
            entries = _entries(archive, path.name)
            return MappingProxyType(
                {name: _content(archive, entries[name]) for name in sorted(wanted) if name in entries}
            )
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError) as error:
        raise PortfolioError("zip-damaged", item=path.name, found=type(error).__name__) from error
    except RuntimeError as error:  # what zipfile says when a password is needed
        raise PortfolioError("zip-damaged", item=path.name, found="it asks for a password") from error


def _entries(archive: zipfile.ZipFile, name: str) -> dict[str, zipfile.ZipInfo]:
    """Files at the root or in one folder (some programs zip the folder); what points outside is refused."""
    infos = archive.infolist()
    if len(infos) > MAX_ENTRIES:
        raise PortfolioError("roster-too-large", item=name, found=f"a zip file of {len(infos)} files")
    found: dict[str, zipfile.ZipInfo] = {}
    for info in infos:
        parts = PurePosixPath(info.filename.replace("\\", "/")).parts
        if ".." in parts or (parts and (parts[0] == "/" or ":" in parts[0])):
            raise PortfolioError("zip-entry-refused", item="A file", found="it points outside the zip file")
        if not info.is_dir() and len(parts) <= 2 and "__MACOSX" not in parts:
            found.setdefault(parts[-1].casefold(), info)
    if "[content_types].xml" in found:
        raise PortfolioError("roster-not-a-table", item=name, found="it is a document of another program")
    return found


def _content(archive: zipfile.ZipFile, info: zipfile.ZipInfo) -> bytes:
    """At most ``MAX_BYTES`` are ever unpacked, whatever the zip file claims."""
    with archive.open(info) as stream:
        content = stream.read(MAX_BYTES + 1)
    if len(content) > MAX_BYTES:
        name = PurePosixPath(info.filename).name
        raise PortfolioError("roster-too-large", item=name, found=f"more than {MAX_BYTES // 1_000_000} MB")
    return content
