"""Which media have been tried, in the order of the list of media."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from portfolio.model.finding import WorkShown
from portfolio.model.growth import Explored


def explored(works: Iterable[WorkShown], media: Sequence[str]) -> tuple[Explored, ...]:
    """One line for each medium of ``media`` in that order (0 = not yet), then media that are no longer listed."""
    shown = list(works)
    extra = sorted({work.medium for work in shown if work.medium} - set(media))
    return tuple(_line(medium, shown) for medium in (*media, *extra))


def _line(medium: str, works: list[WorkShown]) -> Explored:
    days = [work.made_on for work in works if work.medium == medium]
    return Explored(medium, len(days), max(days, default=None))
