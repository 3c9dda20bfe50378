"""One Portfolio at a time may write to a library: a lock file held for as long as it is open."""

from __future__ import annotations

import os
from pathlib import Path

from filelock import FileLock, Timeout

from portfolio.errors import LibraryError

LOCK_NAME = "library.lock"
HOLDER_NAME = "library.holder"


class LibraryLock:
    """Held from :meth:`take` to :meth:`release`; the operating system frees it when the process dies."""

    def __init__(self, folder: Path) -> None:
        self._lock = FileLock(folder / LOCK_NAME, thread_local=False)
        self._holder = folder / HOLDER_NAME

    def take(self) -> None:
        """Take the lock or say which process holds it."""
        try:
            self._lock.acquire(timeout=0)
        except Timeout as error:
            raise LibraryError("library-in-use", found=self._holder_id()) from error
        self._holder.write_text(str(os.getpid()), encoding="ascii")

    def release(self) -> None:
        """Give the lock back; harmless when it is not held."""
        if self._lock.is_locked:
            self._holder.unlink(missing_ok=True)
            self._lock.release()

    def _holder_id(self) -> str:
        try:
            return self._holder.read_text(encoding="ascii").strip() or "unknown"
        except OSError:
            return "unknown"
