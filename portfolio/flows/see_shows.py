"""What was published of a show, for the teacher's screen. Only reads."""

from __future__ import annotations

from portfolio.archive import shows
from portfolio.archive.library import Library
from portfolio.model.showing import PublicationValue


def publications_of(library: Library, show_id: int) -> tuple[PublicationValue, ...]:
    """Everything built of a show, newest first."""
    with library.reading() as session:
        return shows.publications(session, show_id)
