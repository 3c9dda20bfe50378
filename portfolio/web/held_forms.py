"""What somebody typed whose sign-in had ended meanwhile: held until she has signed in again, then sent by her.

Only forms in which words are typed and whose step can be undone. Held in memory alone, a few at a time, for an hour.
"""

from __future__ import annotations

import re
import secrets
import threading
import time
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

HELD_SECONDS: Final = 60 * 60
MOST: Final = 8
"""Forms held at once; one more drops the oldest."""
LETTERS_MAX: Final = 20_000
_WORTH: Final = re.compile(r"/classes/\d+/saw|/works/\d+(?:/said)?|/check/\d+|/settings/devices/starters")

Fields = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class HeldForm:
    """Where it was sent to, and what stood in it."""

    action: str
    fields: Fields


class HeldForms:
    """Forms that wait for a sign-in. What is given out stays held until its time is over: a page may be reloaded."""

    def __init__(self) -> None:
        self._held: dict[str, tuple[HeldForm, float]] = {}
        self._lock = threading.Lock()

    def put(self, action: str, fields: Sequence[tuple[str, str]], *, now: float | None = None) -> str:
        """Hold a form; gives its token, empty when it is none that is held."""
        is_small = sum(len(name) + len(value) for name, value in fields) <= LETTERS_MAX
        if not (_WORTH.fullmatch(action) and is_small and any(value.strip() for _, value in fields)):
            return ""
        token = secrets.token_urlsafe(24)
        moment = time.monotonic() if now is None else now
        with self._lock:
            self._forget(moment)
            while len(self._held) >= MOST:
                del self._held[next(iter(self._held))]
            self._held[token] = HeldForm(action, tuple(fields)), moment + HELD_SECONDS
        return token

    def see(self, token: str, *, now: float | None = None) -> HeldForm | None:
        """The form of a token, if it is still held."""
        with self._lock:
            self._forget(time.monotonic() if now is None else now)
            found = self._held.get(token)
        return found[0] if found else None

    def _forget(self, now: float) -> None:
        for token in [token for token, (_, until) in self._held.items() if until <= now]:
            del self._held[token]
