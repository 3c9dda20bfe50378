"""Take photos in: originals safe first, then read, straighten, file, ask. The order of work, told once.

``take_in`` does it all for paths. The app does the same in steps, as uploads arrive: ``open_batch``, ``add_original``
for each file (``read_batch`` at any time, to read ahead), ``settle_batch`` at the end. Whatever happens in between, a
photo that was acknowledged is kept, and settling again goes on where it stopped.
"""

from __future__ import annotations

import hashlib
import shutil
import zipfile
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import BinaryIO

from portfolio.archive import history, photos, questions, works
from portfolio.archive.library import Library, Session
from portfolio.archive.originals import Stored
from portfolio.archive.photos import PhotoKept
from portfolio.errors import DiskError, Problem
from portfolio.flows.batch_report import (
    BatchReport,
    PhotoLine,
    batch_report,
    class_labels,
    photo_line,
    report_as_json,
)
from portfolio.flows.file_batch import file_batch, file_photo
from portfolio.flows.first_look import renew_pictures, take_place
from portfolio.flows.read_photos import Told, make_pictures_again, quiet, read_batch, write_pictures
from portfolio.intake import Candidate, StillChanging, find_photos, wait_until_quiet
from portfolio.intake.steady import QUIET_S
from portfolio.model.filing import Chosen, PhotoState

__all__ = [
    "Added",
    "BatchReport",
    "PhotoLine",
    "add_candidate",
    "add_original",
    "adopt_orphans",
    "batch_report",
    "check_space",
    "choose",
    "file_early",
    "file_photo",
    "finish_unfinished",
    "make_pictures_again",
    "open_batch",
    "read_batch",
    "report_as_json",
    "settle_batch",
    "take_in",
    "undo_batch",
    "write_pictures",
]

TRY_AGAIN = frozenset({"photo-out-of-time", "photo-out-of-memory", "photo-reader-stopped"})
"""Problems of the reader, not of the photo: handing the photo over once more reads it again."""
FREE_SHARE = 20
"""Of a small disk only this part (one twentieth) is left free, whatever the settings ask for."""


@dataclass(frozen=True, slots=True)
class Added:
    """One file that was handed over: the photo it became, or the one that has the same bytes."""

    photo_id: int
    sha256: str
    duplicate: bool


# --- the whole road ---------------------------------------------------------------------------------------------------


def take_in(
    library: Library,
    paths: Sequence[Path],
    *,
    executor: Executor,
    chosen: Chosen | None = None,
    source: str = "command line",
    told: Told = quiet,
    quiet_s: float = QUIET_S,
) -> BatchReport:
    """Take in everything below ``paths`` (files, folders, zip files) as one batch and file it.

    Raises ``PortfolioError`` when there is nothing to take in, and ``DiskError`` when the disk is full: what was
    stored until then stays, and the same call again skips it and finishes. A run that was cut off goes on here when
    the same photos are handed over; what is left of it otherwise is finished at the end.
    """
    found = find_photos(paths, max_bytes=library.settings.photo_max_mb << 20)
    wait_until_quiet((one.path for one in found.candidates), quiet_s=quiet_s)
    batch_id = open_batch(library, chosen or Chosen(), source=source, expected=len(found.candidates))
    lines: list[PhotoLine] = [_not_stored(problem) for problem in found.problems]
    came: set[int] = set()
    for done, candidate in enumerate(found.candidates, start=1):
        line = _store(library, batch_id, candidate, came=came)
        lines += [line] if line is not None else []
        told("stored", done, len(found.candidates))
    report = settle_batch(library, batch_id, executor=executor, told=told)
    finish_unfinished(library, executor=executor)
    return replace(report, photos=(*report.photos, *lines), left_out=found.left_out)


def _store(library: Library, batch_id: int, candidate: Candidate, *, came: set[int]) -> PhotoLine | None:
    """Store one file; gives a line for the report when it did not become a photo of this batch. ``came``: photos of
    this run so far, added to.
    """
    added = add_candidate(library, batch_id, candidate, goes_on=True)
    if isinstance(added, Problem):
        line = _not_stored(added)
        return replace(line, sha256=hashlib.sha256().hexdigest()) if candidate.size_bytes == 0 else line
    return _duplicate(library, batch_id, candidate.name, added, came=came)


def _reading_trouble(name: str, error: OSError) -> Problem:
    """The store wraps what its source raises; a file that changed while it was read is told apart."""
    if isinstance(error, StillChanging) or isinstance(error.__cause__, StillChanging):
        return Problem("photo-changing", name)
    return Problem("photo-unreadable-file", name, (error.strerror or "unknown reason").lower())


def _not_stored(problem: Problem) -> PhotoLine:
    return PhotoLine(problem.item, None, PhotoState.PROBLEM, reason=problem.sentence, code=problem.code)


def _duplicate(library: Library, batch_id: int, name: str, added: Added, *, came: set[int]) -> PhotoLine | None:
    """A line for a photo that was there before; not for one that came along from a run that was cut off."""
    again = added.photo_id in came
    came.add(added.photo_id)
    if not added.duplicate:
        return None
    with library.reading() as session:
        before = photos.photo(session, added.photo_id)
        if before.batch_id == batch_id and not again:
            return None
        first = photo_line(session, before, labels=class_labels(session))
    reason = "The same photo came in before, so it was skipped."
    return replace(first, file=name, state=PhotoState.DUPLICATE, reason=reason, code=None)


# --- in steps ---------------------------------------------------------------------------------------------------------


def open_batch(library: Library, chosen: Chosen, *, source: str = "app", expected: int = 0) -> int:
    """Begin a batch; gives its id."""
    with library.writing(who="teacher", what="began a batch") as writing:
        return photos.open_batch(writing.session, chosen, source=source, expected=expected)


def choose(library: Library, batch_id: int, chosen: Chosen) -> None:
    """Change what is chosen for a batch. Settling it again files anew whatever the teacher has not touched."""
    with library.writing(who="teacher", what="chose for a batch", batch_id=batch_id) as writing:
        photos.choose(writing.session, batch_id, chosen)


def add_original(library: Library, batch_id: int, *, name: str, stream: BinaryIO, goes_on: bool = False) -> Added:
    """Keep one file's bytes for good and record it. ``name`` is the file's own name, without its path.

    The same bytes twice are one photo. A photo that was never decided comes along into this batch, and with
    ``goes_on`` everything else of the batch that was cut off too. Raises ``DiskError`` when the disk is full.
    """
    check_space(library, name)
    stored = library.originals.put(stream, name=name)
    with library.writing(who="program", what="stored a photo", batch_id=batch_id) as writing:
        session = writing.session
        before = photos.photo_by_digest(session, stored.sha256)
        if before is not None:
            if before.file_name.startswith(photos.FOUND_AGAIN):
                photos.rename(session, before.photo_id, name)
            again = _again(session, before, batch_id, goes_on=goes_on)
            return Added(before.photo_id, stored.sha256, duplicate=not again)
        stood_in = take_place(library, session, stored)
        if stood_in is not None:
            history.tell(session, writing.action_id, history.ORIGINAL_CAME)
            in_other = photos.photo(session, stood_in).batch_id != batch_id
            return Added(stood_in, stored.sha256, duplicate=in_other)
        return Added(_record(session, batch_id, stored, name=name), stored.sha256, duplicate=False)


def add_candidate(library: Library, batch_id: int, candidate: Candidate, *, goes_on: bool = False) -> Added | Problem:
    """The same for a file that was found, also inside a zip file. Trouble with this one file is given, not raised."""
    if candidate.size_bytes == 0:
        return Problem("photo-empty", candidate.name)
    try:
        with candidate.opened() as stream:
            return add_original(library, batch_id, name=candidate.name, stream=stream, goes_on=goes_on)
    except zipfile.BadZipFile as error:
        return Problem("zip-entry-refused", candidate.name, str(error))
    except OSError as error:
        return _reading_trouble(candidate.name, error)


def _record(session: Session, batch_id: int, stored: Stored, *, name: str) -> int:
    position = photos.next_position(session, batch_id)
    return photos.add_photo(session, batch_id, stored, file_name=name, position=position)


def _again(session: Session, before: PhotoKept, batch_id: int, *, goes_on: bool) -> bool:
    """Whether a photo that is there already belongs to this batch from now on."""
    if before.problem is not None and before.problem.code in TRY_AGAIN:
        photos.read_again(session, before.photo_id, batch_id=batch_id)
        return True
    if before.batch_id == batch_id:
        return False
    if goes_on and photos.batch(session, before.batch_id).state != "done":
        photos.absorb(session, before.batch_id, into_batch=batch_id)
        return True
    if before.state is PhotoState.STORED:
        photos.move(session, before.photo_id, batch_id=batch_id)
        return True
    return False


def check_space(library: Library, name: str, *, more_bytes: int = 0) -> None:
    """Refuses when ``more_bytes`` would leave less space than the settings ask for."""
    disk = shutil.disk_usage(library.folder)
    if disk.free - more_bytes < min(library.settings.free_space_mb << 20, disk.total // FREE_SHARE):
        raise DiskError("disk-full", item=name)


def settle_batch(
    library: Library, batch_id: int, *, executor: Executor, told: Told = quiet, numbers_first: bool = False
) -> BatchReport:
    """Read what was not read yet, then file the batch in the order taken. Safe to call again at any time.

    ``numbers_first``: somebody is watching, so all numbers are read before the pictures are made.
    """
    for other in renew_pictures(library, executor=executor):
        if other != batch_id:
            settle_batch(library, other, executor=executor)
    read_batch(library, batch_id, executor=executor, told=told, numbers_first=numbers_first)
    checks = file_batch(library, batch_id, executor=executor, told=told)
    with library.writing(who="program", what="finished a batch", batch_id=batch_id) as writing:
        photos.set_batch_state(writing.session, batch_id, "done")
    return replace(batch_report(library, batch_id), checks=checks)


def file_early(library: Library, batch_id: int, *, executor: Executor) -> None:
    """File what can be filed of a batch to which originals still come, so that its questions can be answered. It stays
    open; settled at its end it is decided as a whole again, and what was answered stays.
    """
    read_batch(library, batch_id, executor=executor, numbers_first=True)
    file_batch(library, batch_id, executor=executor)


# --- unfinished and undone --------------------------------------------------------------------------------------------


def finish_unfinished(library: Library, *, executor: Executor, told: Told = quiet) -> int:
    """Go on with batches that a crash cut off; gives how many there were."""
    with library.reading() as session:
        waiting = photos.unfinished_batches(session)
    for batch_id in waiting:
        settle_batch(library, batch_id, executor=executor, told=told)
    return len(waiting)


def adopt_orphans(library: Library) -> int:
    """Record originals that no record speaks of (the machine stopped between storing and recording); gives how many.

    They come into a batch of their own, still to be read. Only while nothing comes in: a photo that is being taken in
    looks the same between the two steps, and would lose its name and its batch.
    """
    with library.reading() as session:
        orphans = sorted(set(library.originals.all()) - photos.known_digests(session))
    if not orphans:
        return 0
    with library.writing(who="program", what="found photos again") as writing:
        session = writing.session
        batch_id = photos.open_batch(session, Chosen(), source="recovered", expected=len(orphans))
        for place, sha256 in enumerate(orphans, start=1):
            size_bytes = library.originals.path(sha256).stat().st_size
            _record(session, batch_id, Stored(sha256, size_bytes, new=False), name=f"{photos.FOUND_AGAIN}{place}")
    return len(orphans)


def undo_batch(library: Library, batch_id: int) -> int:
    """Take a whole batch back: its works are taken out, its questions closed, its photos set aside. Nothing is
    deleted; undoing this action brings everything back. Gives the action's id.
    """
    with library.writing(who="teacher", what="took a batch back", batch_id=batch_id) as writing:
        session = writing.session
        works.take_back_batch(session, batch_id)
        for one in photos.photos_of(session, batch_id):
            questions.close_of_photo(session, one.photo_id)
            if one.state is not PhotoState.PROBLEM:
                reason = "The batch was taken back."
                photos.set_state(session, one.photo_id, PhotoState.ASIDE, reason=reason)
        return writing.action_id
