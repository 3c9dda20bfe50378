"""Read the photos of a batch: workers look at originals and give values; only this process writes.

Pictures made from an original lie below ``derived/`` and can be thrown away: they are not synced to the disk, and
:func:`make_pictures_again` makes those that are gone.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from concurrent.futures import Executor, Future, as_completed
from dataclasses import dataclass
from pathlib import Path

from portfolio.archive import photos, room, works
from portfolio.archive.library import Library, Session
from portfolio.archive.originals import full_disk
from portfolio.archive.photos import PhotoKept
from portfolio.archive.works import ViewKept
from portfolio.errors import NotFound, PortfolioError
from portfolio.flows.look import settled
from portfolio.flows.worker import CropRequest, Limits, SeeRequest, crop_photo, see_photo
from portfolio.model.photo import Crop, Derivative, PhotoSeen, Reading, Straightened
from portfolio.model.seen_json import cards_of, crop_from_json
from portfolio.straighten.ladder import RUNGS

Told = Callable[[str, int, int], None]
"""Called with what is being done (``stored`` · ``numbers`` · ``read`` · ``filed``), how many are done, of how many."""


def quiet(_what: str, _done: int, _of: int) -> None:
    """Nobody wants to know."""


def read_batch(
    library: Library, batch_id: int, *, executor: Executor, told: Told = quiet, numbers_first: bool = False
) -> None:
    """Read every photo of the batch that was not read yet.

    With ``numbers_first`` the numbers of all are read and kept before the first picture is made: they are there within
    seconds, for a tenth more work in all. A run that stops in between goes on with the pictures.
    """
    if numbers_first:
        unknown = [(one, solid) for one, solid in _unread(library, batch_id) if not one.numbers_read]
        look_again(library, unknown, executor=executor, told=told, pictures=False)
    look_again(library, _unread(library, batch_id), executor=executor, told=told)


def _unread(library: Library, batch_id: int) -> list[tuple[PhotoKept, bool]]:
    """The photos that are still to be read, each with whether it shows a three-dimensional work."""
    with library.reading() as session:
        unread = [one for one in photos.photos_of(session, batch_id) if not one.was_read and one.problem is None]
        solid = photos.batch(session, batch_id).chosen.medium_id in solid_media(session)
    return [(one, solid) for one in unread]


def limits_of(library: Library) -> Limits:
    """What one photo may take, as set for this library."""
    return Limits(library.settings.photo_seconds, library.settings.photo_memory_mb)


def solid_media(session: Session) -> frozenset[int]:
    """The media whose works are three-dimensional."""
    return frozenset(one.medium_id for one in room.media(session) if one.solid)


def look_again(
    library: Library,
    wanted: Sequence[tuple[PhotoKept, bool]],
    *,
    executor: Executor,
    told: Told = quiet,
    pictures: bool = True,
) -> None:
    """Look at these photos, each as a flat or (``True``) a solid work, and keep what is seen as it comes in. Without
    ``pictures`` only the numbers and the file's own facts.

    When keeping fails (the disk is full), what was not begun is called off and the trouble is passed on.
    """
    waiting: dict[Future[PhotoSeen], tuple[PhotoKept, SeeRequest]] = {}
    try:
        for one, solid in wanted:
            path = library.photo_path(one.sha256)
            request = SeeRequest(path, one.file_name, solid=solid, pictures=pictures, limits=limits_of(library))
            waiting[executor.submit(see_photo, request)] = (one, request)
        for done, future in enumerate(as_completed(list(waiting)), start=1):
            one, request = waiting[future]
            _keep(library, one, settled(request, future), request)
            told("read" if pictures else "numbers", done, len(waiting))
    finally:
        for future in waiting:
            future.cancel()


def _keep(library: Library, one: PhotoKept, seen: PhotoSeen, request: SeeRequest) -> None:
    """Write the pictures, then the record that speaks of them; of a photo of several works, one for each work. A photo
    decided meanwhile is left as it is.
    """
    shown = (seen.one_work(one.part),) if one.part else seen.each
    keys = [write_pictures(library, each.straightened.derivatives) if each.straightened else None for each in shown]
    with library.writing(who="program", what="read a photo", batch_id=one.batch_id) as writing:
        session = writing.session
        if photos.photo(session, one.photo_id).state != one.state:
            return
        for place, (each, key) in enumerate(zip(shown, keys, strict=True), start=one.part or 1):
            photos.keep_reading(
                session,
                one.photo_id if place in (1, one.part) else photos.add_part(session, one.photo_id, place),
                each,
                derived_key=key,
                solid=request.solid,
                numbers_only=not request.pictures,
                part=place if one.part or len(shown) > 1 else 0,
            )


def write_pictures(library: Library, made: Iterable[Derivative], *, key: str | None = None) -> str:
    """Write derivatives; gives the new key that names them (or ``key``). On a full disk none of them stays."""
    key = key or secrets.token_urlsafe(12)
    written: list[Path] = []
    try:
        with full_disk("A picture"):
            for one in made:
                path = works.derived_path(library.derived, key, one.long_side_px)
                path.parent.mkdir(parents=True, exist_ok=True)
                written.append(path)
                path.write_bytes(one.jpeg)
    except PortfolioError:
        for path in written:
            path.unlink(missing_ok=True)
        raise
    return key


# --- pictures that are gone -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Wanted:
    """Pictures to make once more: the same original, the same edge, the same key."""

    key: str
    request: SeeRequest | CropRequest
    part: int = 0


def make_pictures_again(library: Library, *, executor: Executor, told: Told = quiet) -> int:
    """Make every picture that a record speaks of and that is not below ``derived/``; gives how many photos.

    Nothing in the records changes: the pictures come back under the names they had.
    """
    with library.reading() as session:
        gone = {key for key in works.derived_keys(session) if _is_gone(library, key)}
        if not gone:
            return 0
        kept, views = photos.all_photos(session), works.all_views(session)
    return remake(library, kept, views, executor=executor, keys=gone, told=told)


def remake(
    library: Library,
    kept: Sequence[PhotoKept],
    views: Sequence[ViewKept],
    *,
    executor: Executor,
    keys: Collection[str] | None = None,
    told: Told = quiet,
) -> int:
    """Make pictures of these photos and views of them once more, those of ``keys`` or all, under the names they had;
    gives how many.
    """
    wanted = [one for one in _wanted(library, kept, views) if keys is None or one.key in keys]
    by_request: dict[SeeRequest | CropRequest, list[_Wanted]] = {}
    for one in wanted:
        by_request.setdefault(one.request, []).append(one)  # the works of one photo come from one look at it
    done = 0
    for request, group in by_request.items():
        seen = _see(request, executor)
        for one in group:
            made = seen.one_work(one.part).straightened
            if made is not None:
                write_pictures(library, made.derivatives, key=one.key)
            done += 1
            told("read", done, len(wanted))
    return len(wanted)


def _is_gone(library: Library, key: str) -> bool:
    return not all(works.derived_path(library.derived, key, rung).is_file() for rung in RUNGS)


def _wanted(library: Library, kept: Sequence[PhotoKept], views: Sequence[ViewKept]) -> Iterator[_Wanted]:
    """What is needed to make the pictures of these photos and views again."""
    by_id = {one.photo_id: one for one in kept}
    by_key = {view.derived_key: view for view in views if view.derived_key}
    asked = {one.derived_key: one for one in kept if one.derived_key}
    asked |= {key: by_id[view.photo_id] for key, view in by_key.items()}
    for key, one in asked.items():
        yield _Wanted(key, _request(library, one, by_key.get(key)), one.part)


def _request(library: Library, one: PhotoKept, view: ViewKept | None) -> SeeRequest | CropRequest:
    path, limits = library.photo_path(one.sha256), limits_of(library)
    if view is not None and view.crop is not None and view.derived_key != one.derived_key:
        crop = crop_from_json(view.crop)
        return CropRequest(path, one.file_name, crop, view.quarter_turns, limits, number=number_of_part(one))
    crop_by_hand = (one.reading or {}).get("crop") if one.quarter_turns is not None else None
    if crop_by_hand is not None:
        crop = crop_from_json(crop_by_hand)
        return CropRequest(path, one.file_name, crop, one.quarter_turns or 0, limits, number=number_of_part(one))
    if one.coming:
        return CropRequest(path, one.file_name, _known_crop(one), 0, limits, number=number_of_part(one))
    return SeeRequest(path, one.file_name, solid=bool((one.reading or {}).get("solid")), limits=limits)


def _known_crop(one: PhotoKept) -> Crop | None:
    """The edge by which a photo is shown as it was decided; ``None`` = whole. What was found in its stand-in holds: a
    new look at the original might find another edge than the one that the teacher was asked about.
    """
    crop = (one.reading or {}).get("crop")
    return crop_from_json(crop) if crop and (crop["sure"] or one.part) else None


def number_of_part(one: PhotoKept) -> int | None:
    """Of one of several works in a photo: the number on its card."""
    return Reading(None, cards_of(one.reading)).number if one.part else None


def _see(request: SeeRequest | CropRequest, executor: Executor) -> PhotoSeen:
    if isinstance(request, CropRequest):
        return executor.submit(crop_photo, request).result()
    return settled(request, executor.submit(see_photo, request))


def crop_now(one: PhotoKept, request: CropRequest, executor: Executor | None) -> Straightened:
    """Crop one photo by a given edge, through the worker. Raises the photo's own trouble."""
    seen = executor.submit(crop_photo, request).result() if executor is not None else crop_photo(request)
    if seen.straightened is not None:
        return seen.straightened
    problem = seen.reading.problem
    if problem is not None:
        raise PortfolioError(problem.code, problem.item, problem.found)
    raise NotFound("not-found", item=f"Photo {one.photo_id}")
