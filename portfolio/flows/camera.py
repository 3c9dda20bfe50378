"""The camera station: what lies under the camera right now, the picture that is taken of it, and taking it back.

A frame of the live video is looked at and forgotten. A picture is kept like any photo that comes in; its number is
read at once from the picture itself, so that what the screen confirms is what was kept. All of a station's pictures
are one batch, filed when the teacher is done.
"""

from __future__ import annotations

import io
from collections.abc import Collection
from concurrent.futures import Executor
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Final

from portfolio.archive import desk, history, photos, room, school
from portfolio.archive.library import Library
from portfolio.errors import PortfolioError, Refused
from portfolio.flows.read_photos import look_again
from portfolio.flows.take_in import add_original
from portfolio.intake import stamped
from portfolio.model.cards import CardKind, CardSeen, CardStatus, Polygon
from portfolio.model.filing import PhotoState
from portfolio.model.seen_json import cards_of
from portfolio.reading import frame_of, read_frame

SOURCE: Final = "camera"
TAKEN_BACK: Final = "Taken back at the camera."
MOVED: Final = "The work or its card moved while the picture was taken."
_RECENT: Final = 12
"""So many of the newest batches are looked through for one of the camera that was not finished."""


class Lying(StrEnum):
    """How the cards under the camera stand."""

    NOTHING = "nothing"
    CLEAR = "clear"
    """Every card is read surely; a picture may be taken."""
    UNCLEAR = "unclear"
    SEVERAL = "several"
    """Two number cards without the card for a group work: one of them does not belong there."""


@dataclass(frozen=True, slots=True)
class FrameSeen:
    """What lies under the camera, by one frame."""

    lying: Lying
    cards: tuple[str, ...] = ()
    """One word for each card, the same in every frame: "number-14", "medium-63"."""
    numbers: tuple[int, ...] = ()
    corners_px: tuple[Polygon, ...] = ()
    """Where the cards' tags lie, in pixels of the frame, left to right."""


@dataclass(frozen=True, slots=True)
class PictureTaken:
    """What became of one picture. ``kept``: it counts; otherwise it was set aside because something had moved."""

    photo_id: int
    kept: bool
    numbers: tuple[int, ...]
    cards: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StationSeen:
    """A station's batch as it stands."""

    batch_id: int
    class_label: str
    medium: str
    taken: int
    """Pictures that count."""
    is_open: bool


# --- what lies there --------------------------------------------------------------------------------------------------


def look_at_frame(data: bytes, *, width_px: int) -> FrameSeen:
    """The cards in one frame: brightness, one byte a pixel, row by row. Nothing of it is kept."""
    frame = frame_of(data, width_px=width_px)
    if frame is None:
        raise PortfolioError("bad-request", item="The frame", found="its size does not fit")
    return judged(read_frame(frame))


def judged(cards: Collection[CardSeen]) -> FrameSeen:
    """Whether a picture may be taken of these cards."""
    if not cards:
        return FrameSeen(Lying.NOTHING)
    corners = tuple(side for card in cards for side in (card.left_px, card.right_px) if side is not None)
    numbers = tuple(sorted({card.value for card in cards if card.kind is CardKind.NUMBER}))
    words = tuple(sorted({f"{card.kind}-{card.value}" for card in cards}))
    if all(card.status is CardStatus.SURE for card in cards):
        return FrameSeen(Lying.CLEAR, words, numbers, corners)
    crowded = len(numbers) > 1 and all(card.alone is CardStatus.SURE for card in cards)
    return FrameSeen(Lying.SEVERAL if crowded else Lying.UNCLEAR, words, numbers, corners)


# --- pictures ---------------------------------------------------------------------------------------------------------


def take_picture(
    library: Library, batch_id: int, jpeg: bytes, *, wanted: Collection[str], taken: datetime, executor: Executor
) -> PictureTaken:
    """Keep one picture and read its cards. Where they are not those that lay there (``wanted``), it is set aside.

    ``taken``: timezone-aware, in the school's wall time. Raises ``DiskError`` when the disk is full.
    """
    with library.reading() as session:
        place = photos.next_position(session, batch_id) + 1
    name = f"camera-{place:04d}.jpg"
    added = add_original(library, batch_id, name=name, stream=io.BytesIO(stamped(jpeg, taken)))
    with library.reading() as session:
        kept = photos.photo(session, added.photo_id)
    look_again(library, [(kept, False)], executor=executor, pictures=False)
    with library.reading() as session:
        read = photos.photo(session, added.photo_id)
    seen = judged(cards_of(read.reading))
    as_wanted = read.problem is None and seen.lying is Lying.CLEAR and set(seen.cards) == set(wanted)
    if not as_wanted:
        _set_aside(library, batch_id, added.photo_id, who="program", reason=MOVED)
    return PictureTaken(added.photo_id, as_wanted, seen.numbers, seen.cards)


def take_back(library: Library, batch_id: int, photo_id: int) -> int:
    """Take one picture back: it is set aside, nothing is deleted; gives the action's id, for bringing it back.

    Refuses a picture that was filed meanwhile: its work is corrected on its own page.
    """
    with library.reading() as session:
        one = photos.photo(session, photo_id)
    if one.batch_id != batch_id or one.state is not PhotoState.STORED:
        raise Refused("cannot-undo", item="This picture", found="it is not waiting at the camera any more")
    return _set_aside(library, batch_id, photo_id, who="teacher", reason=TAKEN_BACK)


def bring_back(library: Library, action_id: int) -> None:
    """Bring a picture back that was taken back. Refuses any other step."""
    with library.writing(who="teacher", what="brought a picture back") as writing:
        touched = history.photos_changed(writing.session, action_id)
        if {photos.photo(writing.session, one).reason for one in touched} != {TAKEN_BACK}:
            raise Refused("cannot-undo", item=f"Step {action_id}", found="it took no picture back")
        history.undo(writing.session, action_id, undoing_id=writing.action_id)


def _set_aside(library: Library, batch_id: int, photo_id: int, *, who: str, reason: str) -> int:
    what = "took a picture back" if who == "teacher" else "set a moved picture aside"
    with library.writing(who=who, what=what, batch_id=batch_id) as writing:
        photos.set_state(writing.session, photo_id, PhotoState.ASIDE, reason=reason)
        return writing.action_id


# --- the batch --------------------------------------------------------------------------------------------------------


def see_station(library: Library, batch_id: int) -> StationSeen:
    """The batch of a station as it stands. Refuses a batch that is not there."""
    with library.reading() as session:
        batch = photos.batch(session, batch_id)
        taken = sum(1 for one in photos.photos_of(session, batch_id) if one.state is not PhotoState.ASIDE)
        label = school.class_by_id(session, batch.chosen.class_id).label if batch.chosen.class_id else ""
        medium = next((one.label for one in room.media(session) if one.medium_id == batch.chosen.medium_id), "")
    return StationSeen(batch_id, label, medium, taken, batch.state == "open" and batch.source == SOURCE)


def unfinished(library: Library) -> StationSeen | None:
    """The newest batch of the camera that has pictures and was not finished."""
    with library.reading() as session:
        newest = desk.batches(session, limit=_RECENT)
    waiting = (
        one for one in newest if one.source == SOURCE and one.state == "open" and one.states.get(PhotoState.STORED, 0)
    )
    found = next(waiting, None)
    return see_station(library, found.batch_id) if found else None
