"""Photos inside a zip file: listed, bounded, never unpacked by the names they carry.

A zip can lie: names that climb out of their folder, members that grow a thousandfold, sizes that are not true. Only
the last part of a member's name is ever used, and only as a label; the bytes go to the store under their own hash.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from pathlib import Path

from portfolio.errors import Problem
from portfolio.intake.found import Candidate, Found
from portfolio.intake.kinds import HEAD_BYTES, is_ignored, is_ignored_folder, is_left_out

ENTRIES_MAX = 5_000
TOTAL_MAX_BYTES = 20_000_000_000
RATIO_MAX = 200
"""Photos hardly shrink (a JPEG by 1-5 %, a PNG is packed already); a member that grows more than this is a bomb."""
RATIO_FROM_BYTES = 10_000_000

_CLIMBS = re.compile(r"(^|[/\\])\.\.([/\\]|$)|^[/\\]|^[A-Za-z]:")


def looks_like_zip(head: bytes) -> bool:
    """A zip by its first bytes (also an empty one)."""
    return head.startswith((b"PK\x03\x04", b"PK\x05\x06"))


def photos_in_zip(path: Path, *, max_bytes: int, entries_max: int = ENTRIES_MAX) -> Found:
    """Candidates in one zip file, in the order of its own list sorted by name. Trouble with the whole file or with
    one member is a problem; nothing is raised.
    """
    try:
        with zipfile.ZipFile(path) as archive:
            return _members(path, archive, max_bytes=max_bytes, entries_max=entries_max)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, ValueError, EOFError):
        return Found(problems=(Problem("zip-damaged", path.name, "its list of files cannot be read"),))
    except OSError as trouble:
        return Found(problems=(Problem("zip-damaged", path.name, (trouble.strerror or "not readable").lower()),))


def _members(path: Path, archive: zipfile.ZipFile, *, max_bytes: int, entries_max: int) -> Found:
    infos = [info for info in archive.infolist() if not info.is_dir()]
    if len(infos) > entries_max:
        return Found(problems=(Problem("zip-damaged", path.name, f"it lists {len(infos)} files"),))
    if sum(info.file_size for info in infos) > TOTAL_MAX_BYTES:
        return Found(problems=(Problem("zip-damaged", path.name, "its files would fill the disk"),))
    found = Found()
    for info in sorted(infos, key=lambda info: info.filename):
        found = found.plus(_member(path, archive, info, max_bytes=max_bytes))
    return found


def _member(path: Path, archive: zipfile.ZipFile, info: zipfile.ZipInfo, *, max_bytes: int) -> Found:
    parts = [part for part in re.split(r"[/\\]", info.filename) if part]
    name = parts[-1] if parts else ""
    if not name or is_ignored(name) or any(is_ignored_folder(part) for part in parts[:-1] if part != ".."):
        return Found()
    why = _refusal(info, max_bytes=max_bytes)
    if why is None:
        try:
            with archive.open(info) as member:
                head = member.read(HEAD_BYTES)
        except (zipfile.BadZipFile, zlib.error, RuntimeError, NotImplementedError, OSError, EOFError, ValueError):
            why = "it cannot be unpacked"
    if why is not None:
        return Found(problems=(Problem("zip-entry-refused", _label(name), why),))
    if is_left_out(name, head):
        return Found(left_out=(_label(name),))
    stamp_ns = path.stat().st_mtime_ns
    return Found(candidates=(Candidate(_label(name), path, info.file_size, stamp_ns, entry=info.filename),))


def _refusal(info: zipfile.ZipInfo, *, max_bytes: int) -> str | None:
    if _CLIMBS.search(info.filename):
        return "its name points outside the zip file"
    if info.flag_bits & 0x1:
        return "it is locked with a password"
    if (info.external_attr >> 16) & 0o170000 == 0o120000:
        return "it is a link, not a file"
    if info.file_size > max_bytes:
        return f"it would be {info.file_size / 1e6:.0f} MB"
    if info.file_size > RATIO_FROM_BYTES and info.file_size > RATIO_MAX * max(1, info.compress_size):
        return "it would grow far beyond its size"
    return None


def _label(name: str) -> str:
    """A name that can be shown: no control characters, not endless."""
    return re.sub(r"[\x00-\x1f\x7f]", "", name)[:120] or "a file"
