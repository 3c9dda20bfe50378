"""Rosters that were shown but not applied yet, each held for half an hour outside the library."""

from __future__ import annotations

import secrets
import shutil
import tempfile
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

HELD_SECONDS: Final = 30 * 60


@dataclass(frozen=True, slots=True)
class Held:
    """A roster that waits for the teacher's word."""

    path: Path
    year: str
    until: float


class RosterShelf:
    """Rosters that were shown but not applied yet. They hold names, so each is deleted as soon as it may be."""

    def __init__(self) -> None:
        self._folder = Path(tempfile.mkdtemp(prefix="portfolio-roster-"))
        self._held: dict[str, Held] = {}
        self._lock = threading.Lock()

    def put(self, name: str, content: BinaryIO, *, year: str) -> tuple[str, Held]:
        """Hold a file; gives its token."""
        self._drop_old()
        token = secrets.token_urlsafe(24)
        path = self._folder / token / name
        path.parent.mkdir(mode=0o700)
        with path.open("wb") as out:
            shutil.copyfileobj(content, out)
        held = Held(path, year, time.monotonic() + HELD_SECONDS)
        with self._lock:
            self._held[token] = held
        return token, held

    def take(self, token: str) -> Held | None:
        """The file of a token, if it is still held."""
        self._drop_old()
        with self._lock:
            return self._held.get(token)

    def drop(self, token: str) -> None:
        """Forget a file."""
        with self._lock:
            held = self._held.pop(token, None)
        if held is not None:
            shutil.rmtree(held.path.parent, ignore_errors=True)

    def _drop_old(self) -> None:
        now = time.monotonic()
        for token in [key for key, held in self._held.items() if held.until < now]:
            self.drop(token)

    def close(self) -> None:
        """Delete everything."""
        shutil.rmtree(self._folder, ignore_errors=True)
