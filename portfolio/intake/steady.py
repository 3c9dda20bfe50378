"""Is a file still being copied? Its size and modification time must not move while it is read."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import BinaryIO

QUIET_S = 1.0
"""A file touched less than this long ago may still be being copied."""


class StillChanging(OSError):
    """The file changed while it was read; nothing of it may be kept."""


class Steady:
    """A stream over an open file. When the end is reached it compares size and modification time with those found
    before, and raises :class:`StillChanging` if either moved: the reader throws its copy away.
    """

    def __init__(self, file: BinaryIO, *, size_bytes: int, modified_ns: int) -> None:
        self._file = file
        self._size_bytes = size_bytes
        self._modified_ns = modified_ns
        self._given = 0

    def read(self, size: int = -1) -> bytes:
        """The next bytes; the check is made when none are left (or all were asked for)."""
        block = self._file.read(size)
        self._given += len(block)
        if not block or size < 0:
            self._check()
        return block

    def _check(self) -> None:
        now = os.fstat(self._file.fileno())
        if (now.st_size, now.st_mtime_ns) != (self._size_bytes, self._modified_ns) or self._given != now.st_size:
            raise StillChanging("changed while it was read")


def wait_until_quiet(
    paths: Iterable[Path],
    *,
    quiet_s: float = QUIET_S,
    now: Callable[[], float] = time.time,
    sleep: Callable[[float], None] = time.sleep,
) -> float:
    """Wait once, at most ``quiet_s``, until the youngest of the files is that old. Gives the seconds waited.

    A file with a time in the future (another clock wrote it) is not waited for: its age says nothing.
    """
    moment = now()
    ages = [moment - path.stat().st_mtime for path in paths if path.exists()]
    youngest = min((age for age in ages if age >= 0), default=quiet_s)
    wait_s = max(0.0, quiet_s - youngest)
    if wait_s > 0:
        sleep(wait_s)
    return wait_s
