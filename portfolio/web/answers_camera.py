"""What the camera station shows. No answer here has a name: the screen stands in the room, children see it."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Choice


@dataclass(frozen=True, slots=True)
class CameraStart:
    """Before the camera is opened: class and medium for the whole stack, and a stack that was not finished."""

    guess: str
    classes: tuple[Choice, ...]
    media: tuple[Choice, ...]
    unfinished: int | None = None
    """The batch that can be gone on with."""
    unfinished_words: str = ""


@dataclass(frozen=True, slots=True)
class CameraPage:
    """The live station."""

    batch_id: int
    about: str
    """Like "3B · Crayon"; empty when cards and timetable say it."""
    taken_words: str
