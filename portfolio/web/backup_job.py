"""The backup that runs in the background while the teacher goes on working: one at a time, with its progress."""

from __future__ import annotations

import logging
import threading
from dataclasses import dataclass, replace
from pathlib import Path

from portfolio.archive.library import Library
from portfolio.errors import PortfolioError, Refused, places
from portfolio.flows.backup import BackedUp, back_up, check_place

log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class BackupState:
    """How far the backup is, or how the last one ended since the app was opened."""

    running: bool = False
    folder: Path | None = None
    what: str = ""
    done: int = 0
    of: int = 0
    result: BackedUp | None = None
    error: PortfolioError | None = None


class _Stopped(Exception):
    """The app is being closed; the folder still holds the last backup whole."""


class BackupJob:
    """At most one backup at a time."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._state = BackupState()
        self._thread: threading.Thread | None = None
        self._stop = threading.Event()

    @property
    def state(self) -> BackupState:
        """How far it is now."""
        with self._lock:
            return self._state

    def start(self, library: Library, folder: Path) -> None:
        """Begin a backup into ``folder``. Refuses a folder that cannot take it, and a second one at the same time."""
        check_place(library, folder)
        with self._lock:
            if self._state.running:
                raise Refused("backup-busy")
            self._state = BackupState(running=True, folder=folder, what="the records", of=1)
            self._thread = threading.Thread(target=self._work, args=(library, folder), daemon=True, name="backup")
            self._thread.start()

    def _work(self, library: Library, folder: Path) -> None:
        try:
            self._set(BackupState(result=back_up(library, folder, told=self._told)))
        except _Stopped:
            self._set(BackupState())
        except PortfolioError as error:
            self._set(BackupState(error=error))
        except Exception as error:  # noqa: BLE001  told on the page and in the log, without its values
            where = ", ".join(places(error))
            log.error("backup stopped: %s at %s", type(error).__name__, where)  # noqa: TRY400  as in the batch reader
            self._set(BackupState(error=PortfolioError("program-mistake", found=type(error).__name__)))

    def _told(self, what: str, done: int, of: int) -> None:
        if self._stop.is_set():
            raise _Stopped
        with self._lock:
            self._state = replace(self._state, what=what, done=done, of=of)

    def _set(self, state: BackupState) -> None:
        with self._lock:
            self._state = state

    def close(self) -> None:
        """Stop after the file at hand; what was copied is not copied again next time."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join()
