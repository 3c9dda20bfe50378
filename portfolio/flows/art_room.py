"""The teacher changes what is in the room: media and centers, their names, their order, whether they are offered.

Every change is one step that can be undone; each gives its number. What works speak of is retired, never deleted.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Final, Literal

from portfolio.archive import room
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound
from portfolio.flows.misfits import refuse
from portfolio.model.school import Centre, Medium

LABEL_MAX: Final = 40
AAT_ID: Final = re.compile(r"300\d{6}")
"""How an id of the Art & Architecture Thesaurus looks."""

Move = Literal["earlier", "later"]


@dataclass(frozen=True, slots=True)
class MediumSeen:
    """A medium, how many works it has, and whether nothing at all speaks of it, so that it may be deleted."""

    medium: Medium
    works: int
    removable: bool


@dataclass(frozen=True, slots=True)
class CentreSeen:
    """A center, how many works it has, and whether nothing at all speaks of it, so that it may be deleted."""

    centre: Centre
    works: int
    removable: bool


def see_media(library: Library) -> tuple[MediumSeen, ...]:
    """Every medium in the teacher's order, those in use first."""
    with library.reading() as session:
        used, works = room.media_used(session), room.works_by_medium(session)
        return tuple(
            MediumSeen(one, works[one.medium_id], not used[one.medium_id])
            for one in sorted(room.media(session), key=lambda one: not one.active)
        )


def see_centres(library: Library) -> tuple[CentreSeen, ...]:
    """Every center in the teacher's order, those in use first."""
    with library.reading() as session:
        used, works = room.centres_used(session), room.works_by_centre(session)
        return tuple(
            CentreSeen(one, works[one.centre_id], not used[one.centre_id])
            for one in sorted(room.centres(session), key=lambda one: not one.active)
        )


# --- media ------------------------------------------------------------------------------------------------


def add_medium(library: Library, label: str, *, aat_id: str = "", solid: bool = False) -> int:
    """A new medium, last in order; it takes the next free medium card."""
    with library.writing(who="teacher", what="added a medium") as writing:
        session = writing.session
        plain = _fitting_label(label, (one.label for one in room.media(session)))
        _refuse_aat(aat_id)
        room.add_medium(session, plain, aat_id=aat_id or None, solid=solid)
        return writing.action_id


def change_medium(library: Library, medium_id: int, *, label: str, aat_id: str = "", solid: bool = False) -> int:
    """Rename a medium, set its AAT id, or say whether its works are usually three-dimensional."""
    with library.writing(who="teacher", what="changed a medium") as writing:
        session = writing.session
        others = (one.label for one in room.media(session) if one.medium_id != medium_id)
        plain = _fitting_label(label, others)
        _refuse_aat(aat_id)
        room.change_medium(session, medium_id, label=plain, aat_id=aat_id, solid=solid)
        return writing.action_id


def offer_medium(library: Library, medium_id: int, *, active: bool) -> int:
    """Retire a medium (works keep it, it is no longer offered), or offer it again."""
    what = "offered a medium again" if active else "retired a medium"
    with library.writing(who="teacher", what=what) as writing:
        room.change_medium(writing.session, medium_id, active=active)
        return writing.action_id


def move_medium(library: Library, medium_id: int, move: Move) -> int:
    """Let a medium stand one place earlier or later among those that are offered."""
    with library.writing(who="teacher", what="moved a medium") as writing:
        session = writing.session
        ids = [one.medium_id for one in sorted(room.media(session), key=lambda one: not one.active)]
        room.order_media(session, _moved(ids, medium_id, move))
        return writing.action_id


def remove_medium(library: Library, medium_id: int) -> int:
    """Delete a medium that nothing speaks of. Refuses one that a work or a batch has."""
    with library.writing(who="teacher", what="deleted a medium") as writing:
        room.remove_medium(writing.session, medium_id)
        return writing.action_id


# --- centers ----------------------------------------------------------------------------------------------


def add_centre(library: Library, label: str, *, medium_ids: Collection[int] = ()) -> int:
    """A new center, last in order, with the media at hand there."""
    with library.writing(who="teacher", what="added a center") as writing:
        session = writing.session
        plain = _fitting_label(label, (one.label for one in room.centres(session)))
        room.add_centre(session, plain, medium_ids=_known(session, medium_ids))
        return writing.action_id


def change_centre(library: Library, centre_id: int, *, label: str, medium_ids: Collection[int] = ()) -> int:
    """Rename a center, or change which media are at hand there."""
    with library.writing(who="teacher", what="changed a center") as writing:
        session = writing.session
        others = (one.label for one in room.centres(session) if one.centre_id != centre_id)
        room.change_centre(session, centre_id, label=_fitting_label(label, others))
        room.set_centre_media(session, centre_id, medium_ids=_known(session, medium_ids))
        return writing.action_id


def offer_centre(library: Library, centre_id: int, *, active: bool) -> int:
    """Retire a center (works keep it, it is no longer offered), or offer it again."""
    what = "offered a center again" if active else "retired a center"
    with library.writing(who="teacher", what=what) as writing:
        room.change_centre(writing.session, centre_id, active=active)
        return writing.action_id


def move_centre(library: Library, centre_id: int, move: Move) -> int:
    """Let a center stand one place earlier or later among those that are offered."""
    with library.writing(who="teacher", what="moved a center") as writing:
        session = writing.session
        ids = [one.centre_id for one in sorted(room.centres(session), key=lambda one: not one.active)]
        room.order_centres(session, _moved(ids, centre_id, move))
        return writing.action_id


def remove_centre(library: Library, centre_id: int) -> int:
    """Delete a center that nothing speaks of, with the days it opens. Refuses one that a work or a batch has."""
    with library.writing(who="teacher", what="deleted a center") as writing:
        room.remove_centre(writing.session, centre_id)
        return writing.action_id


# --- what both need ---------------------------------------------------------------------------------------


def _fitting_label(label: str, others: Iterable[str]) -> str:
    plain = " ".join(label.split())
    if not plain:
        refuse({"label": "A name is needed."})
    if len(plain) > LABEL_MAX:
        refuse({"label": f"At most {LABEL_MAX} letters."})
    if plain.casefold() in {one.casefold() for one in others}:
        refuse({"label": "There is one of this name already."})
    return plain


def _refuse_aat(aat_id: str) -> None:
    if aat_id and not AAT_ID.fullmatch(aat_id):
        refuse({"aat_id": "An AAT id has nine digits and begins with 300. Leave it empty if you are not sure."})


def _moved(ids: list[int], key: int, move: Move) -> list[int]:
    if key not in ids:
        raise NotFound("not-found")
    at = ids.index(key)
    to = max(0, at - 1) if move == "earlier" else min(len(ids) - 1, at + 1)
    ids.insert(to, ids.pop(at))
    return ids


def _known(session: Session, medium_ids: Collection[int]) -> list[int]:
    known = {one.medium_id for one in room.media(session)}
    return [one for one in medium_ids if one in known]
