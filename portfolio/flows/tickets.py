"""Upload tickets: a phone may add photos to one batch for 60 minutes, and read nothing back but how many came.

A ticket is a code of 80 bits in an address, shown as a QR code. Kept in memory, hashed; gone when the app is closed.
Wrong codes are slowed down for the device that sends them, not for others: nobody can lock the teacher's phone out.
"""

from __future__ import annotations

import hashlib
import secrets
import threading
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from portfolio.archive import photos
from portfolio.archive.library import Library
from portfolio.errors import NotFound, Refused
from portfolio.flows.sign_in import CODE_LETTERS, check_wait, letters_of, pause_after
from portfolio.flows.take_in import open_batch
from portfolio.model.filing import Chosen

SOURCE: Final = "phone"
MINUTES: Final = 60
LETTERS: Final = 16
_DEVICES_MAX: Final = 1_000
"""Devices whose wrong codes are remembered; more than a school's network has."""
_TIME: Final = f"its {MINUTES} minutes have passed"
_ENDED: Final = "it was ended"
FILED: Final = "its photos are being filed"


@dataclass(frozen=True, slots=True)
class Ticket:
    """What a code allows: photos into this batch, until then."""

    batch_id: int
    ends_utc: datetime

    def seconds_left(self, now: datetime) -> int:
        """How long it lasts; 0 when it is over."""
        return max(0, int((self.ends_utc - now).total_seconds()))


class Tickets:
    """Makes codes and knows each again. One ticket is open at a time; it may have several codes."""

    def __init__(self) -> None:
        self._codes: dict[str, Ticket] = {}
        self._open: Ticket | None = None
        self._wrong: dict[str, tuple[int, datetime]] = {}
        self._lock = threading.Lock()

    def new(self, batch_id: int, *, now: datetime) -> str:
        """Open a ticket for a batch; gives its code, like "K7Q2-MXAB-3DEF-9GHJ". One that was open ends."""
        with self._lock:
            self._open = Ticket(batch_id, now + timedelta(minutes=MINUTES))
            return self._code_for(self._open)

    def another_code(self, batch_id: int, *, now: datetime) -> str:
        """One more code for the ticket of this batch, with the same end. Refuses when it is over."""
        ticket = self.current(now)
        if ticket is None or ticket.batch_id != batch_id:
            raise Refused("ticket-over", item="This code", found=_ENDED)
        with self._lock:
            return self._code_for(ticket)

    def _code_for(self, ticket: Ticket) -> str:
        letters = "".join(secrets.choice(CODE_LETTERS) for _ in range(LETTERS))
        self._codes[_digest(letters)] = ticket
        return "-".join(letters[start : start + 4] for start in range(0, LETTERS, 4))

    def check(self, code: str, *, sender: str, now: datetime) -> Ticket:
        """The open ticket of this code. Refuses a wrong code, one that is over, and a try that comes too soon after
        several wrong ones from the same device (``sender``: its address).
        """
        with self._lock:
            failures, next_try = self._wrong.get(sender, (0, now))
            check_wait(next_try, now)
            ticket = self._codes.get(_digest(letters_of(code)))
            if ticket is None:
                self._note_wrong(sender, failures + 1, now)
                raise Refused("ticket-wrong", item="This code")
            self._wrong.pop(sender, None)
            if now >= ticket.ends_utc:
                raise Refused("ticket-over", item="This code", found=_TIME)
            if ticket is not self._open:
                raise Refused("ticket-over", item="This code", found=_ENDED)
            return ticket

    def _note_wrong(self, sender: str, failures: int, now: datetime) -> None:
        if len(self._wrong) >= _DEVICES_MAX:
            self._wrong = {key: one for key, one in self._wrong.items() if one[1] > now}
        self._wrong[sender] = failures, now + pause_after(failures)

    def has(self, code: str, batch_id: int) -> bool:
        """Whether this code belongs to the open ticket of this batch."""
        with self._lock:
            found = self._codes.get(_digest(letters_of(code)))
            return found is not None and found is self._open and found.batch_id == batch_id

    def current(self, now: datetime) -> Ticket | None:
        """The ticket that is open."""
        with self._lock:
            return self._open if self._open is not None and now < self._open.ends_utc else None

    def end(self, batch_id: int) -> None:
        """End the ticket of a batch; safe to ask again."""
        with self._lock:
            if self._open is not None and self._open.batch_id == batch_id:
                self._open = None

    def end_by_time(self, now: datetime) -> Ticket | None:
        """End the open ticket if its time is over; gives it, once."""
        with self._lock:
            over = self._open if self._open is not None and now >= self._open.ends_utc else None
            if over is not None:
                self._open = None
            return over


def _digest(letters: str) -> str:
    return hashlib.sha256(letters.encode()).hexdigest()


# --- the batch of a ticket --------------------------------------------------------------------------------


def begin(library: Library, tickets: Tickets, chosen: Chosen, *, now: datetime) -> tuple[int, str]:
    """Begin a batch for a phone; gives its id and the code."""
    batch_id = open_batch(library, chosen, source=SOURCE)
    return batch_id, tickets.new(batch_id, now=now)


def is_closed(library: Library, batch_id: int) -> bool:
    """Whether a batch was read to its end: then its ticket is used up."""
    with library.reading() as session:
        return photos.batch(session, batch_id).state == "done"


def check_unused(library: Library, ticket: Ticket) -> None:
    """Refuses a ticket whose batch is closed."""
    if is_closed(library, ticket.batch_id):
        raise Refused("ticket-over", item="This code", found=FILED)


def check_own(ticket: Ticket, key: str) -> None:
    """Refuses a file on its way to another batch. Raises ``NotFound``, as for one that is not there."""
    if not key.startswith(f"{ticket.batch_id}-"):
        raise NotFound("upload-gone", item="This file")


def check_photo(name: str) -> None:
    """Refuses a zip file: what a phone sends is looked at one by one."""
    if name.lower().endswith(".zip"):
        raise Refused("ticket-zip", item=name)


def photos_in(library: Library, batch_id: int) -> int:
    """How many photos of a batch are kept as they were taken; one of several works counts once."""
    with library.reading() as session:
        return len({one.sha256 for one in photos.photos_of(session, batch_id) if not one.is_coming})
