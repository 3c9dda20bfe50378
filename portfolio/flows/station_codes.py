"""One-time codes that make another browser a reflection station. Kept in memory, hashed; gone when the app is closed.

A code is short, because a child or teacher types it: 30 bits for 10 minutes. So wrong ones are slowed down: from the
fifth in a row the next try is heard only after 1, 2, 4 … 60 seconds, which leaves about twenty tries to one code.
"""

from __future__ import annotations

import hashlib
import secrets
import threading
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from portfolio.errors import Refused
from portfolio.flows.sign_in import CODE_LETTERS, check_wait, letters_of, pause_after

LASTS: Final = timedelta(minutes=10)
LETTERS: Final = 6


@dataclass(frozen=True, slots=True)
class StationPlan:
    """What a code stands for: the class, and when the station ends."""

    class_id: int
    ends_utc: datetime


class StationCodes:
    """Makes codes and takes each back once. One table for the whole app: who asks from where cannot be told apart."""

    def __init__(self) -> None:
        self._open: dict[str, tuple[StationPlan, datetime]] = {}
        self._failures = 0
        self._next_try: datetime | None = None
        self._lock = threading.Lock()

    def new(self, plan: StationPlan, *, now: datetime) -> str:
        """A new code like "K7Q 2MX"; codes that are too old are forgotten."""
        letters = "".join(secrets.choice(CODE_LETTERS) for _ in range(LETTERS))
        with self._lock:
            self._open = {key: one for key, one in self._open.items() if one[1] > now}
            self._open[_digest(letters)] = plan, now + LASTS
        return f"{letters[:3]} {letters[3:]}"

    def take(self, typed: str, *, now: datetime) -> StationPlan:
        """What the code stands for; it never does so again. Refuses a wrong one, and a try that comes too soon."""
        letters = letters_of(typed)
        with self._lock:
            check_wait(self._next_try, now)
            plan, ends = self._open.pop(_digest(letters), (None, now))
            if plan is None or now >= ends:
                self._failures += 1
                self._next_try = now + pause_after(self._failures)
                raise Refused("station-code", item="The code")
            self._failures, self._next_try = 0, None
            return plan


def _digest(letters: str) -> str:
    return hashlib.sha256(letters.encode()).hexdigest()
