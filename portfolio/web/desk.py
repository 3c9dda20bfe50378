"""What one running app holds: the open library and the helpers that live as long as it does."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import cast

from fastapi import Request

from portfolio.archive.library import Library
from portfolio.flows.indexing import Words
from portfolio.flows.station_codes import StationCodes
from portfolio.flows.tickets import Tickets
from portfolio.web.backup_job import BackupJob
from portfolio.web.held_forms import HeldForms
from portfolio.web.links import OneTimeLinks
from portfolio.web.outside import PhoneDoor
from portfolio.web.reader import BatchReader
from portfolio.web.reading_batches import PhotoWorkers
from portfolio.web.roster_shelf import RosterShelf


@dataclass(frozen=True, slots=True)
class Filling:
    """How far the invented school is while it still fills. ``of`` = 0: it does not."""

    words: str = ""
    done: int = 0
    of: int = 0


@dataclass(slots=True)
class Desk:
    """The open library, the index of its words, one-time links and codes, and the reader of batches.

    ``today`` is asked for every page, so that the invented school can stand on a day of its own year.
    """

    library: Library
    words: Words
    reader: BatchReader
    workers: PhotoWorkers
    rosters: RosterShelf
    links: OneTimeLinks = field(default_factory=OneTimeLinks)
    station_codes: StationCodes = field(default_factory=StationCodes)
    tickets: Tickets = field(default_factory=Tickets)
    phone: PhoneDoor = field(default_factory=PhoneDoor)
    backup: BackupJob = field(default_factory=BackupJob)
    held_forms: HeldForms = field(default_factory=HeldForms)
    today: Callable[[], date] = date.today
    demo: bool = False
    filling: Filling = Filling()

    def tell_filling(self, words: str, done: int, of: int) -> None:
        """Called by the thread that fills the invented school; every page tells it until it is done."""
        self.filling = Filling(words, done, of)


def desk_of(request: Request) -> Desk:
    """The desk behind this request."""
    return cast(Desk, request.app.state.desk)
