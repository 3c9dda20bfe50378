"""The work centers as one class meets them: open since when, or opening when, and to whom they are new."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from portfolio.archive import desk, history, people, room, school
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound
from portfolio.model.school import Centre, CentreOpening


@dataclass(frozen=True, slots=True)
class CenterSeen:
    """One center for one class. Without ``opens_on`` nobody has said when it opens."""

    centre_id: int
    label: str
    opens_on: date | None
    closes_on: date | None
    for_all: bool
    """The dates are those of all classes, not of this class alone."""
    new_to: tuple[int, ...]
    """Numbers of the children who have kept no work from this center yet, in any year."""
    is_open: bool


@dataclass(frozen=True, slots=True)
class CentersSeen:
    """The centers of the room for one class, and the numbers of the children who came to this school this year.
    Where no center has a day (``dated`` is false), all are open.
    """

    centers: tuple[CenterSeen, ...]
    dated: bool
    newcomers: tuple[int, ...]
    of: int


def see_centers(library: Library, class_id: int, *, today: date) -> CentersSeen:
    """Every center in use, as this class meets it."""
    with library.reading() as session:
        group = school.class_by_id(session, class_id)
        year = school.year_by_id(session, group.year_id)
        roll = {one.student_id: one.number for one in people.roll(session, day=year.clamp(today), class_id=class_id)}
        used = desk.centres_used(session, roll)
        every = room.openings(session, year.year_id)
        said = [one for one in every if one.class_id in (None, class_id)]
        now_open = {one.centre_id for one in room.open_centres(session, year.year_id, class_id=class_id, day=today)}
        centers = tuple(
            _center(one, said, roll=roll, used=used.get(one.centre_id, set()), is_open=one.centre_id in now_open)
            for one in room.centres(session)
            if one.active
        )
        newcomers = _newcomers(session, roll, before=year.starts_on)
        return CentersSeen(centers, bool(every), newcomers, len(roll))


def _center(
    one: Centre, said: Iterable[CentreOpening], *, roll: dict[int, int], used: set[int], is_open: bool
) -> CenterSeen:
    own = [opening for opening in said if opening.centre_id == one.centre_id]
    best = next((opening for opening in own if opening.class_id is not None), own[0] if own else None)
    new_to = tuple(sorted(number for key, number in roll.items() if key not in used))
    return CenterSeen(
        centre_id=one.centre_id,
        label=one.label,
        opens_on=best.opens_on if best else None,
        closes_on=best.closes_on if best else None,
        for_all=best is not None and best.class_id is None,
        new_to=new_to,
        is_open=is_open,
    )


def _newcomers(session: Session, roll: dict[int, int], *, before: date) -> tuple[int, ...]:
    """Numbers of those who were in no class here before this school year began."""
    known = people.enrolled_before(session, roll, before)
    return tuple(sorted(number for key, number in roll.items() if key not in known))


def open_for(
    library: Library, class_id: int, centre_id: int, *, opens_on: date, closes_on: date | None = None, every: bool
) -> int:
    """Say when a center opens for this class, or (``every``) for all classes of its year; gives the action's id."""
    with library.writing(who="teacher", what=history.CENTER_OPENED) as writing:
        session = writing.session
        group = school.class_by_id(session, class_id)
        if not school.year_by_id(session, group.year_id).holds(opens_on):
            raise NotFound("not-found", item=f"A day of this class's school year on {opens_on}")
        opening = CentreOpening(centre_id, group.year_id, opens_on, None if every else class_id, closes_on)
        room.open_centre(session, opening)
        return writing.action_id
