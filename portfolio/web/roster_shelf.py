"""Rosters that were shown but not applied yet, each held for half an hour outside the library."""

from __future__ import annotations

import secrets
import shutil
import tempfile
import threading
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

HELD_SECONDS: Final = 30 * 60


@dataclass(frozen=True, slots=True)
class Held:
    """A roster that waits for the teacher's word."""

    path: Path
    year: str


class RosterShelf:
    """Rosters that were shown but not applied yet. They hold names, so each is deleted as soon as it may be."""

    def __init__(self, *, seconds: float = HELD_SECONDS) -> None:
        self._seconds = seconds
        self._folder = Path(tempfile.mkdtemp(prefix="portfolio-roster-"))
        self._held: dict[str, tuple[Held, threading.Timer]] = {}
        self._lock = threading.Lock()

    def put(self, name: str, content: BinaryIO, *, year: str) -> tuple[str, Held]:
        """Hold a file until its time is over, also when nobody asks again; gives its token."""
        token = secrets.token_urlsafe(24)
        path = self._folder / token / name
        path.parent.mkdir(mode=0o700)
        with path.open("wb") as out:
            shutil.copyfileobj(content, out)
        held = Held(path, year)
        timer = threading.Timer(self._seconds, self.drop, [token])
        timer.daemon = True
        with self._lock:
            self._held[token] = held, timer
        timer.start()
        return token, held

    def take(self, token: str) -> Held | None:
        """The file of a token, if it is still held."""
        with self._lock:
            found = self._held.get(token)
        return found[0] if found else None

    def drop(self, token: str) -> None:
        """Forget a file."""
        with self._lock:
            found = self._held.pop(token, None)
        if found is not None:
            held, timer = found
            timer.cancel()
            shutil.rmtree(held.path.parent, ignore_errors=True)

    def close(self) -> None:
        """Delete everything."""
        for token in list(self._held):
            self.drop(token)
        shutil.rmtree(self._folder, ignore_errors=True)
