"""The teacher changes what is in the room: media and centers, their names, their order, whether they are offered.

Every change is one step that can be undone; each gives its number. What works speak of is retired, never deleted.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import Final, Generic, Literal, TypeVar

from portfolio.archive import offered, room
from portfolio.archive.library import Library, Session
from portfolio.archive.offered import CENTRES, MEDIA, Kind
from portfolio.errors import NotFound
from portfolio.flows.misfits import refuse
from portfolio.model.school import Centre, Medium

__all__ = ["CENTRES", "MEDIA", "Kind"]

LABEL_MAX: Final = 40
AAT_ID: Final = re.compile(r"300\d{6}")
"""How an id of the Art & Architecture Thesaurus looks."""

Move = Literal["earlier", "later"]
One = TypeVar("One", Medium, Centre)


@dataclass(frozen=True, slots=True)
class Seen(Generic[One]):
    """A medium or center, how many works it has, and whether nothing speaks of it, so that it may be deleted."""

    one: One
    key: int
    works: int
    removable: bool


def see_media(library: Library) -> tuple[Seen[Medium], ...]:
    """Every medium in the teacher's order, those that are offered first."""
    with library.reading() as session:
        return _seen(session, MEDIA, {one.medium_id: one for one in room.media(session)})


def see_centres(library: Library) -> tuple[Seen[Centre], ...]:
    """Every center in the teacher's order, those that are offered first."""
    with library.reading() as session:
        return _seen(session, CENTRES, {one.centre_id: one for one in room.centres(session)})


def _seen(session: Session, kind: Kind, known: dict[int, One]) -> tuple[Seen[One], ...]:
    works, spoken = offered.kept_works(session, kind), offered.spoken_of(session, kind)
    return tuple(Seen(known[key], key, works[key], not spoken[key]) for key in offered.in_order(session, kind))


# --- the list ---------------------------------------------------------------------------------------------


def offer(library: Library, kind: Kind, key: int, *, active: bool) -> int:
    """Retire one (works keep it, it is no longer offered), or offer it again."""
    what = f"offered a {kind.word} again" if active else f"retired a {kind.word}"
    with library.writing(who="teacher", what=what) as writing:
        offered.offer(writing.session, kind, key, active=active)
        return writing.action_id


def move(library: Library, kind: Kind, key: int, to: Move) -> int:
    """Let one stand one place earlier or later in its list."""
    with library.writing(who="teacher", what=f"moved a {kind.word}") as writing:
        ids = offered.in_order(writing.session, kind)
        if key not in ids:
            raise NotFound("not-found", item=f"{kind.word.capitalize()} {key}")
        at = ids.index(key)
        place = max(0, at - 1) if to == "earlier" else at + 1
        ids.insert(place, ids.pop(at))
        offered.put_in_order(writing.session, kind, ids)
        return writing.action_id


def remove(library: Library, kind: Kind, key: int) -> int:
    """Delete one that nothing speaks of. Refuses one that a work or a batch has."""
    with library.writing(who="teacher", what=f"deleted a {kind.word}") as writing:
        offered.remove(writing.session, kind, key)
        return writing.action_id


# --- what each is -----------------------------------------------------------------------------------------


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
        plain = _fitting_label(label, (one.label for one in room.media(session) if one.medium_id != medium_id))
        _refuse_aat(aat_id)
        room.change_medium(session, medium_id, label=plain, aat_id=aat_id, solid=solid)
        return writing.action_id


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
        plain = _fitting_label(label, (one.label for one in room.centres(session) if one.centre_id != centre_id))
        room.rename_centre(session, centre_id, plain)
        room.set_centre_media(session, centre_id, medium_ids=_known(session, medium_ids))
        return writing.action_id


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


def _known(session: Session, medium_ids: Collection[int]) -> list[int]:
    known = {one.medium_id for one in room.media(session)}
    return [one for one in medium_ids if one in known]
