"""One step of the teacher's, as a page tells it after it was kept or taken back."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.archive import history
from portfolio.archive.library import Library


@dataclass(frozen=True, slots=True)
class StepSeen:
    """What was done, in a short verb phrase, and whether it was taken back since."""

    action_id: int
    what: str
    undone: bool


def see_step(library: Library, action_id: int) -> StepSeen | None:
    """A step by its number; ``None`` when there is none, or when it was no step of the teacher's."""
    with library.reading() as session:
        found = history.step(session, action_id)
    return None if found is None else StepSeen(action_id, *found)
