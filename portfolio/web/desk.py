"""What one running app holds: the open library and the helpers that live as long as it does."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date
from typing import cast

from fastapi import Request

from portfolio.archive.library import Library
from portfolio.flows.indexing import Words
from portfolio.web.links import OneTimeLinks
from portfolio.web.reader import BatchReader
from portfolio.web.reading_batches import PhotoWorkers


@dataclass(slots=True)
class Desk:
    """The open library, the index of its words, one-time links, and the reader of batches.

    ``today`` is asked for every page, so that the invented school can stand on a day of its own year.
    """

    library: Library
    words: Words
    reader: BatchReader
    workers: PhotoWorkers
    links: OneTimeLinks = field(default_factory=OneTimeLinks)
    today: Callable[[], date] = date.today
    demo: bool = False


def desk_of(request: Request) -> Desk:
    """The desk behind this request."""
    return cast(Desk, request.app.state.desk)
