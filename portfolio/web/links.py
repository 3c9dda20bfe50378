"""One-time links: a secret that signs one browser in once, within its minutes. Kept in memory, hashed."""

from __future__ import annotations

import hashlib
import secrets
import threading
from datetime import UTC, datetime, timedelta
from typing import Final

LASTS: Final = timedelta(minutes=30)


class OneTimeLinks:
    """Makes secrets and takes each back once."""

    def __init__(self) -> None:
        self._until: dict[str, datetime] = {}
        self._lock = threading.Lock()

    def new(self, *, now: datetime | None = None) -> str:
        """A new secret of 256 bits."""
        secret = secrets.token_urlsafe(32)
        with self._lock:
            self._until[_digest(secret)] = (now or datetime.now(UTC)) + LASTS
        return secret

    def take(self, secret: str, *, now: datetime | None = None) -> bool:
        """Whether this secret opens the door; it never does so again."""
        with self._lock:
            until = self._until.pop(_digest(secret), None)
        return until is not None and (now or datetime.now(UTC)) < until


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
