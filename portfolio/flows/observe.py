"""What the teacher sees while she walks round: a number, a habit or skill, how it goes, a note if there is time."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import Final

from portfolio.archive import history, people, school, words
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound, PortfolioError
from portfolio.flows.desk import ChildLine, see_roll
from portfolio.model.school import ClassGroup
from portfolio.model.standards import STUDIO_HABITS
from portfolio.model.words import LEVELS, Observed

SKILLS: Final = ("use of tools", "care of materials", "cleaning up")
"""Offered besides the studio habits; common practice, no source."""
OFTEN: Final = 5
"""So many of what she noted most in this class stand first."""
WHAT_MAX: Final = 60
NOTE_MAX: Final = 500


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing seen, with the child's number then and the step that takes it back."""

    number: int
    what: str
    level: str
    note: str
    action_id: int | None


@dataclass(frozen=True, slots=True)
class Observing:
    """What the quick entry needs: who is there, what may be seen, and what was noted today, newest first."""

    group: ClassGroup
    roll: tuple[ChildLine, ...]
    offered: tuple[str, ...]
    levels: tuple[str, ...]
    today: tuple[Entry, ...]


def see_observing(library: Library, class_id: int, *, today: date) -> Observing:
    """The quick entry for one class, on the nearest day of its year."""
    group, roll = see_roll(library, class_id, today=today)
    numbers = {one.student_id: one.number for one in roll}
    with library.reading() as session:
        seen = words.observations_of(session, class_id=class_id)
        kept = words.observations_by_id(session, class_id=class_id, day=today)
        actions = history.made_by(session, "observation", [key for key, _ in kept])
        entries = tuple(
            Entry(numbers[one.student_id], one.what, one.level, one.note, actions.get(key))
            for key, one in reversed(kept)
            if one.student_id in numbers
        )
    return Observing(group, roll, _offered(seen), LEVELS, entries)


def _offered(seen: tuple[Observed, ...]) -> tuple[str, ...]:
    """What was noted most first, then the rest by their letters."""
    often = [what for what, _ in Counter(one.what for one in seen).most_common(OFTEN)]
    return tuple(dict.fromkeys([*often, *STUDIO_HABITS, *SKILLS]))


def observe(library: Library, class_id: int, *, number: int, what: str, level: str, note: str = "", today: date) -> int:
    """Keep what was seen of the child who holds this number today; gives the action's id, for undo."""
    what, note = " ".join(what.split()), note.strip()
    if not what or len(what) > WHAT_MAX or len(note) > NOTE_MAX:
        found = f"it needs a few words, at most {WHAT_MAX} letters, and a note of at most {NOTE_MAX}"
        raise PortfolioError("bad-request", item="What you saw", found=found)
    if level not in LEVELS:
        found = f"it does not say how it is going ({', '.join(LEVELS)})"
        raise PortfolioError("bad-request", item="What you saw", found=found)
    with library.writing(who="teacher", what=history.OBSERVED) as writing:
        session = writing.session
        student_id = holder(session, class_id, number, today)
        words.add_observation(session, Observed(student_id, what, level, today, note=note, class_id=class_id))
        return writing.action_id


def holder(session: Session, class_id: int, number: int, today: date) -> int:
    """The child who holds a number of a class on the nearest day of its year. Refuses a number that nobody holds."""
    group = school.class_by_id(session, class_id)
    day = school.year_by_id(session, group.year_id).clamp(today)
    holds = {one.number: one.student_id for one in people.roll(session, day=day, class_id=class_id)}
    if number not in holds:
        raise NotFound("not-found", item=f"Number {number} in {group.label}")
    return holds[number]
