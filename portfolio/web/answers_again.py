"""What the page shows after signing in again, when something had been typed before."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Fact


@dataclass(frozen=True, slots=True)
class AgainPage:
    """The form as it was sent, what of it is told, and where the way leads without it."""

    action: str
    fields: tuple[tuple[str, str], ...]
    said: tuple[Fact, ...]
    back: str
