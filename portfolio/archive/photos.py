"""Batches and photos in the records: what came in, what was seen in it, where it stands."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any, Final

from sqlalchemy import func
from sqlmodel import Session, col, select

from portfolio.archive import tables
from portfolio.archive.originals import Stored
from portfolio.archive.rows import existing
from portfolio.errors import Problem
from portfolio.model.cards import CardKind, Polygon
from portfolio.model.filing import BatchMode, Chosen, Filing, PhotoState
from portfolio.model.photo import Crop, PhotoSeen, Straightened, Taken, TakenSource
from portfolio.model.seen_json import as_polygon, crop_as_json, regions_as_json, seen_as_json, size_as_json

CAME, RENEWED = "came", "renewed"
"""Words in a photo's ``coming`` once its original is there."""
FOUND_AGAIN = "recovered-"
"""How a photo is called, with its place, whose own name was lost: until the same photo comes again under its name."""
CLOCK_PHOTOS = 60
"""So many of a camera's newest photos are asked what was known of its clock."""


@dataclass(frozen=True, slots=True)
class Decided:
    """The mark of a decision of the program: the action that carried it out, and a digest of what was decided."""

    action_id: int
    mark: str


@dataclass(frozen=True, slots=True)
class PhotoKept:
    """One photo as the records know it."""

    photo_id: int
    batch_id: int
    position: int
    file_name: str
    sha256: str
    state: PhotoState
    was_read: bool
    """Its numbers were read and its pictures made."""
    numbers_read: bool
    """Its numbers were read; the pictures may still be to come."""
    taken: Taken | None = None
    camera: str | None = None
    crop_hash: int | None = None
    reading: dict[str, Any] | None = None
    problem: Problem | None = None
    reason: str | None = None
    filing: Filing | None = None
    """Where it is filed, when it is."""
    camera_minutes: int = 0
    """Minutes that the program added to the camera's clock when it decided this photo."""
    decided: Decided | None = None
    """What the program decided by itself; ``None`` once the teacher has had a say."""
    derived_key: str | None = None
    size_px: tuple[int, int] | None = None
    """Width and height of the upright photo, when it could be read."""
    part: int = 0
    """Which of the photo's several works this is about, from 1; 0 = the photo shows one work."""
    coming: str = ""
    """See :class:`portfolio.archive.tables.Photo`; empty for every photo that came whole at once."""
    quarter_turns: int | None = None
    """Clockwise, when the teacher set its edge before it was a work's; ``None`` = she did not."""
    hidden: tuple[Polygon, ...] = ()
    """Parts that she hid before it was a work's."""

    @property
    def is_coming(self) -> bool:
        """Whether its original is still on its way, and a stand-in is looked at meanwhile."""
        return self.coming not in ("", CAME, RENEWED)


@dataclass(frozen=True, slots=True)
class BatchKept:
    """One batch with what the teacher chose for it."""

    batch_id: int
    chosen: Chosen
    added_on: date
    source: str
    state: str
    expected: int


def open_batch(session: Session, chosen: Chosen, *, source: str, expected: int = 0) -> int:
    """A new batch; gives its id."""
    row = tables.Batch(created_utc=datetime.now(UTC), source=source, expected=expected)
    _choose(row, chosen)
    session.add(row)
    session.flush()
    assert row.id is not None
    return row.id


def _choose(row: tables.Batch, chosen: Chosen) -> None:
    row.class_id, row.medium_id, row.centre_id = chosen.class_id, chosen.medium_id, chosen.centre_id
    row.day, row.mode, row.absent = chosen.day, chosen.mode.value, sorted(chosen.absent) or None


def choose(session: Session, batch_id: int, chosen: Chosen) -> None:
    """Change what the teacher chose for a batch; photos filed already stay where they are."""
    _choose(_batch_row(session, batch_id), chosen)


def batch(session: Session, batch_id: int) -> BatchKept:
    """One batch."""
    row = _batch_row(session, batch_id)
    chosen = Chosen(
        row.class_id, row.medium_id, row.centre_id, row.day, BatchMode(row.mode), frozenset(row.absent or ())
    )
    added_on = row.created_utc.astimezone().date()
    return BatchKept(batch_id, chosen, added_on, row.source, row.state, row.expected)


def set_batch_state(session: Session, batch_id: int, state: str) -> None:
    """Batch state: open · reading · done."""
    row = _batch_row(session, batch_id)
    row.state = state
    row.closed_utc = datetime.now(UTC) if state == "done" else None


def unfinished_batches(session: Session) -> tuple[int, ...]:
    """Batches with photos that are stored but not decided yet (a run that was cut off)."""
    waiting = select(tables.Photo.batch_id).where(col(tables.Photo.state) == PhotoState.STORED.value).distinct()
    return tuple(sorted(session.exec(waiting)))


def add_photo(
    session: Session, batch_id: int, stored: Stored, *, file_name: str, position: int, coming: str = ""
) -> int:
    """Record a stored original, or a stand-in for one that is ``coming``; gives the photo's id."""
    row = tables.Photo(
        sha256=stored.sha256,
        batch_id=batch_id,
        position=position,
        file_name=file_name,
        size_bytes=stored.size_bytes,
        stored_utc=datetime.now(UTC),
        coming=coming,
    )
    session.add(row)
    session.flush()
    assert row.id is not None
    return row.id


def photo_by_digest(session: Session, sha256: str) -> PhotoKept | None:
    """The photo with these very bytes, if it came in before; of several works, the first."""
    rows = _rows_of(session, sha256)
    return _kept(rows[0]) if rows else None


def photo(session: Session, photo_id: int) -> PhotoKept:
    """One photo."""
    return _kept(photo_row(session, photo_id))


def photos_of(session: Session, batch_id: int) -> list[PhotoKept]:
    """All photos of a batch, in the order they came in."""
    asked = select(tables.Photo).where(col(tables.Photo.batch_id) == batch_id)
    return [_kept(row) for row in session.exec(asked.order_by(col(tables.Photo.position), col(tables.Photo.id)))]


def keep_reading(
    session: Session,
    photo_id: int,
    seen: PhotoSeen,
    *,
    derived_key: str | None,
    solid: bool = False,
    numbers_only: bool = False,
    part: int = 0,
) -> None:
    """Keep what was seen; ``solid`` = it was looked at as a 3-D work, ``numbers_only`` = the pictures are still to
    come, ``part`` = which of the photo's works ``seen`` is about. A photo that could not be opened becomes a problem
    at once.
    """
    row = photo_row(session, photo_id)
    row.part = part
    facts, made = seen.reading.facts, seen.straightened
    row.reading = {**seen_as_json(seen), "solid": solid}
    if numbers_only and seen.reading.problem is None:
        row.reading["numbers_only"] = True
    row.derived_key = derived_key
    if facts is not None:
        row.format, row.camera = facts.format, facts.camera
        row.width_px, row.height_px = facts.width_px, facts.height_px
        if facts.taken is not None:
            row.taken_local, row.taken_source = facts.taken.local, facts.taken.source.value
            row.taken_offset_minutes = facts.taken.offset_minutes
    row.crop_hash = f"{made.crop_hash:016x}" if made is not None and made.crop_hash is not None else None
    if seen.reading.problem is not None:
        row.state = PhotoState.PROBLEM.value
        row.problem_code, row.problem_found = seen.reading.problem.code, seen.reading.problem.found


def add_part(session: Session, photo_id: int, part: int) -> int:
    """A row for one more work (``part``, from 2) of a photo of several; gives its id."""
    first = photo_row(session, photo_id)
    row = tables.Photo(
        sha256=first.sha256,
        part=part,
        batch_id=first.batch_id,
        position=first.position,
        file_name=first.file_name,
        size_bytes=first.size_bytes,
        stored_utc=first.stored_utc,
        coming=first.coming,
    )
    session.add(row)
    session.flush()
    assert row.id is not None
    return row.id


def split(session: Session, photo_id: int, numbers: Sequence[int]) -> tuple[int, ...]:
    """A photo turns out to show a work for each of these numbers: gives a row for each, in this order.

    Each keeps what was read but the other numbers' cards, and has no edge and no picture yet: what was found was looked
    for as one work, so it may be another child's.
    """
    first = photo_row(session, photo_id)
    seen = first.reading or {}
    ids = [photo_id, *(add_part(session, photo_id, place) for place in range(2, len(numbers) + 1))]
    for place, (key, number) in enumerate(zip(ids, numbers, strict=True), start=1):
        row = photo_row(session, key)
        cards = [one for one in seen.get("cards", ()) if one["kind"] != CardKind.NUMBER.value or one["value"] == number]
        row.reading = {**seen, "cards": cards, **_NOTHING_FOUND}
        row.part, row.derived_key, row.crop_hash = place, None, None
        row.by_hand = {"hidden": first.by_hand["hidden"]} if (first.by_hand or {}).get("hidden") else None
        for name in (
            "format",
            "camera",
            "width_px",
            "height_px",
            "taken_local",
            "taken_source",
            "taken_offset_minutes",
        ):
            setattr(row, name, getattr(first, name))
    return tuple(ids)


_NOTHING_FOUND: Final[dict[str, object]] = {
    "crop": None,
    "size_mm": None,
    "size_about": False,
    "sheet": None,
    "colors": {},
}


def set_edge(
    session: Session, photo_id: int, crop: Crop, made: Straightened, *, quarter_turns: int, derived_key: str
) -> None:
    """The teacher set the edge of a photo that is no work's yet, and turned it: the view that it becomes is shown so.
    ``made`` without a size: what was measured by a sure edge stays.
    """
    row = photo_row(session, photo_id)
    seen = row.reading or {}
    was_sure = bool(seen.get("crop") and seen["crop"]["sure"])
    size = size_as_json(made.size) if made.size is not None or not was_sure else {}
    row.reading = {**seen, **size, "crop": crop_as_json(crop), "colors": made.color_shares or seen.get("colors", {})}
    row.by_hand = {**(row.by_hand or {}), "quarter_turns": quarter_turns}
    row.derived_key = derived_key


def set_hidden_parts(session: Session, photo_id: int, parts: Sequence[Polygon]) -> None:
    """Record which parts of a photo that is no work's yet are hidden; the view that it becomes hides them too."""
    row = photo_row(session, photo_id)
    row.by_hand = {**(row.by_hand or {}), "hidden": regions_as_json(parts)}


def exists(session: Session, photo_id: int) -> bool:
    """Whether there is a row by this number: one for a work of a photo goes when its splitting is undone."""
    return session.get(tables.Photo, photo_id) is not None


def _rows_of(session: Session, sha256: str) -> list[tables.Photo]:
    """The rows of one photo: one for each of its works, in order; none when it is not there."""
    asked = select(tables.Photo).where(tables.Photo.sha256 == sha256)
    return list(session.exec(asked.order_by(col(tables.Photo.part))).all())


def set_state(
    session: Session, photo_id: int, state: PhotoState, *, reason: str | None, decision: dict[str, Any] | None = None
) -> None:
    """Where a photo stands, and why in one sentence."""
    row = photo_row(session, photo_id)
    row.state, row.reason = state.value, reason
    row.decision = decision


def photo_row(session: Session, photo_id: int) -> tables.Photo:
    """The row of a photo, for this folder's other modules."""
    return existing(session, tables.Photo, photo_id, item=f"Photo {photo_id}")


def _batch_row(session: Session, batch_id: int) -> tables.Batch:
    return existing(session, tables.Batch, batch_id, item=f"Batch {batch_id}")


def _kept(row: tables.Photo) -> PhotoKept:
    assert row.id is not None
    taken = None
    if row.taken_local is not None and row.taken_source is not None:
        taken = Taken(row.taken_local, TakenSource(row.taken_source), row.taken_offset_minutes)
    problem = Problem(row.problem_code, row.file_name, row.problem_found or "") if row.problem_code else None
    decision = row.decision or {}
    filing = decision.get("filing")
    by_program = decision.get("by") == "program"
    return PhotoKept(
        photo_id=row.id,
        batch_id=row.batch_id,
        position=row.position,
        file_name=row.file_name,
        sha256=row.sha256,
        state=PhotoState(row.state),
        was_read=row.reading is not None and not row.reading.get("numbers_only"),
        numbers_read=row.reading is not None,
        taken=taken,
        camera=row.camera,
        crop_hash=int(row.crop_hash, 16) if row.crop_hash else None,
        reading=row.reading,
        problem=problem,
        reason=row.reason,
        filing=Filing.from_json(filing) if filing else None,
        camera_minutes=_minutes(decision) or 0,
        decided=Decided(decision["action"], decision["mark"]) if by_program else None,
        derived_key=row.derived_key,
        size_px=(row.width_px, row.height_px) if row.width_px and row.height_px else None,
        part=row.part,
        coming=row.coming,
        quarter_turns=(row.by_hand or {}).get("quarter_turns"),
        hidden=_hidden(row),
    )


def _hidden(row: tables.Photo) -> tuple[Polygon, ...]:
    return tuple(as_polygon(part) for part in (row.by_hand or {}).get("hidden") or ())


def counts(photos: Iterable[PhotoKept]) -> dict[PhotoState, int]:
    """How many photos stand where."""
    found = dict.fromkeys(PhotoState, 0)
    for one in photos:
        found[one.state] += 1
    return found


def ids_of(photos: Collection[PhotoKept]) -> list[int]:
    """Their ids."""
    return [one.photo_id for one in photos]


def next_position(session: Session, batch_id: int) -> int:
    """The place behind the last photo of a batch."""
    last = session.exec(select(func.max(tables.Photo.position)).where(tables.Photo.batch_id == batch_id)).one()
    return 0 if last is None else last + 1


def known_digests(session: Session) -> set[str]:
    """Digests of all originals that a record speaks of."""
    return set(session.exec(select(tables.Photo.sha256)))


# --- originals on their way -------------------------------------------------------------------------------------------


def of_size(session: Session, size_bytes: int) -> list[PhotoKept]:
    """Photos whose original has so many bytes, those still on their way among them."""
    asked = select(tables.Photo).where(tables.Photo.size_bytes == size_bytes)
    return [_kept(row) for row in session.exec(asked.order_by(col(tables.Photo.id)))]


def coming_by_batch(session: Session, batch_id: int | None = None) -> Counter[int]:
    """Batch → photos whose original is still on its way, in all batches or in one."""
    coming = col(tables.Photo.coming)
    asked = select(tables.Photo.batch_id, tables.Photo.sha256).where(
        coming > "",  # so that the index serves: most photos were whole from the beginning
        coming.not_in((CAME, RENEWED)),
    )
    if batch_id is not None:
        asked = asked.where(tables.Photo.batch_id == batch_id)
    return Counter(batch_id for batch_id, _ in set(session.exec(asked)))


def arrive(session: Session, sha256: str, stored: Stored) -> None:
    """The original of a stand-in (``sha256``) came: from now on its photo is the original."""
    for row in _rows_of(session, sha256):
        row.sha256, row.size_bytes, row.coming = stored.sha256, stored.size_bytes, CAME


def just_came(session: Session) -> list[PhotoKept]:
    """Photos whose original came and whose pictures are still those of the stand-in."""
    asked = select(tables.Photo).where(tables.Photo.coming == CAME).order_by(col(tables.Photo.id))
    return [_kept(row) for row in session.exec(asked)]


def renewed(session: Session, photo_id: int) -> None:
    """The pictures of a photo were made anew from its original."""
    photo_row(session, photo_id).coming = RENEWED


def read_anew(session: Session, photo_id: int) -> None:
    """A photo about which nothing is decided is read from its original, as if it had come whole at once."""
    row = photo_row(session, photo_id)
    row.state, row.reading, row.coming = PhotoState.STORED.value, None, ""
    row.problem_code = row.problem_found = None


def absorb(session: Session, from_batch: int, *, into_batch: int) -> None:
    """A run that was cut off goes on in another batch: its photos and questions come along, decided or not."""
    place = next_position(session, into_batch)
    for row in session.exec(select(tables.Photo).where(tables.Photo.batch_id == from_batch)).all():
        row.batch_id, row.position = into_batch, place + row.position
    for question in session.exec(select(tables.QuestionRow).where(tables.QuestionRow.batch_id == from_batch)).all():
        question.batch_id = into_batch
    set_batch_state(session, from_batch, "done")


def read_again(session: Session, photo_id: int, *, batch_id: int) -> None:
    """A photo whose reader was stopped is tried once more, in this batch."""
    row = photo_row(session, photo_id)
    row.state, row.reading = PhotoState.STORED.value, None
    row.problem_code = row.problem_found = None
    if row.batch_id != batch_id:
        move(session, photo_id, batch_id=batch_id)


def rename(session: Session, photo_id: int, name: str) -> None:
    """Give a photo its file's own name; all its works share it."""
    for row in _rows_of(session, photo_row(session, photo_id).sha256):
        row.file_name = name


def move(session: Session, photo_id: int, *, batch_id: int) -> None:
    """Move a photo that was never decided to another batch, at its end; all its works go along."""
    position = next_position(session, batch_id)
    for row in _rows_of(session, photo_row(session, photo_id).sha256):
        row.position, row.batch_id = position, batch_id


def camera_clocks(session: Session, cameras: Collection[str], *, before_batch: int) -> dict[str, int]:
    """Camera → minutes that the newest earlier batch of it added to its clock (0 left out).

    What was decided holds the evidence, so a batch that was taken back teaches nothing any more.
    """
    found = {}
    for camera in cameras:
        own = col(tables.Photo.camera).is_(None) if not camera else col(tables.Photo.camera) == camera
        asked = select(tables.Photo.decision).where(own, col(tables.Photo.batch_id) < before_batch)
        newest = session.exec(asked.order_by(col(tables.Photo.id).desc()).limit(CLOCK_PHOTOS))
        minutes = next((said for one in newest if (said := _minutes(one)) is not None), 0)
        if minutes:
            found[camera] = minutes
    return found


def _minutes(decision: dict[str, Any] | None) -> int | None:
    said = ((decision or {}).get("evidence") or {}).get("camera_minutes")
    return said if isinstance(said, int) else None


def all_photos(session: Session) -> list[PhotoKept]:
    """Every photo of the library."""
    return [_kept(row) for row in session.exec(select(tables.Photo).order_by(col(tables.Photo.id)))]
