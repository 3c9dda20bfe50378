"""Take photos in: originals safe first, then read, straighten, file, ask. The order of work, told once.

``take_in`` does it all for paths. The app does the same in steps, as uploads arrive: ``open_batch``, ``add_original``
for each file, ``settle_batch``. Whatever happens in between, a photo that was acknowledged is kept, and settling
again goes on where it stopped.
"""

from __future__ import annotations

import secrets
import shutil
import zipfile
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, as_completed
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, BinaryIO

from portfolio.archive import photos, questions, room, school, works
from portfolio.archive.library import Library, Session
from portfolio.archive.originals import Stored, full_disk
from portfolio.archive.photos import BatchKept, PhotoKept
from portfolio.errors import DiskError, Problem
from portfolio.filing import decide_batch
from portfolio.flows.look import settled
from portfolio.flows.school_at import filing_context
from portfolio.flows.worker import SeeRequest, see_photo
from portfolio.intake import Candidate, Shot, StillChanging, find_photos, taking_order, wait_until_quiet
from portfolio.model.filing import (
    Asked,
    Chosen,
    ClassCheck,
    Decision,
    Filing,
    FilingContext,
    Outcome,
    PhotoEvidence,
    PhotoState,
    What,
)
from portfolio.model.photo import Derivative, PhotoSeen
from portfolio.model.seen_json import cards_of

Told = Callable[[str, int, int], None]
"""Called with what is being done (``stored`` · ``read`` · ``filed``), how many are done, and of how many."""


def _quiet(_what: str, _done: int, _of: int) -> None:
    """Nobody wants to know."""


@dataclass(frozen=True, slots=True)
class PhotoLine:
    """One photo in the report of a batch. ``photo_id`` is ``None`` for a file that could not be stored."""

    file: str
    sha256: str | None
    state: PhotoState
    class_label: str | None = None
    number: int | None = None
    work_id: int | None = None
    reason: str | None = None
    code: str | None = None
    photo_id: int | None = None


@dataclass(frozen=True, slots=True)
class BatchReport:
    """What became of a batch: counts, every photo, and the count of numbers for each class."""

    batch_id: int
    photos: tuple[PhotoLine, ...]
    questions: int
    checks: tuple[ClassCheck, ...] = ()
    left_out: tuple[str, ...] = ()

    def count(self, state: PhotoState) -> int:
        """How many photos stand there."""
        return sum(line.state is state for line in self.photos)


@dataclass(frozen=True, slots=True)
class Added:
    """One file that was handed over: the photo it became, or the one that has the same bytes."""

    photo_id: int
    sha256: str
    duplicate: bool


# --- the whole road -------------------------------------------------------------------------------------------


def take_in(
    library: Library,
    paths: Sequence[Path],
    *,
    executor: Executor,
    chosen: Chosen | None = None,
    source: str = "command line",
    told: Told = _quiet,
) -> BatchReport:
    """Take in everything below ``paths`` (files, folders, zip files) as one batch and file it.

    Raises ``PortfolioError`` when there is nothing to take in, and ``DiskError`` when the disk is full: what was
    stored until then stays, and the same call again skips it and finishes.
    """
    found = find_photos(paths, max_bytes=library.settings.photo_max_mb << 20)
    wait_until_quiet(one.path for one in found.candidates)
    batch_id = open_batch(library, chosen or Chosen(), source=source, expected=len(found.candidates))
    lines: list[PhotoLine] = [_not_stored(problem) for problem in found.problems]
    for done, candidate in enumerate(found.candidates, start=1):
        line = _store(library, batch_id, candidate)
        lines += [line] if line is not None else []
        told("stored", done, len(found.candidates))
    report = settle_batch(library, batch_id, executor=executor, told=told)
    return replace(report, photos=(*report.photos, *lines), left_out=found.left_out)


def _store(library: Library, batch_id: int, candidate: Candidate) -> PhotoLine | None:
    """Store one file; gives a line for the report when it did not become a photo of this batch."""
    try:
        with candidate.opened() as stream:
            added = add_original(library, batch_id, name=candidate.name, stream=stream)
    except StillChanging:
        return _not_stored(Problem("photo-changing", candidate.name))
    except zipfile.BadZipFile as error:
        return _not_stored(Problem("zip-damaged", candidate.name, str(error)))
    except OSError as error:
        return _not_stored(Problem("photo-unreadable-file", candidate.name, error.strerror or "unknown reason"))
    return _duplicate(library, candidate.name, added) if added.duplicate else None


def _not_stored(problem: Problem) -> PhotoLine:
    return PhotoLine(problem.item, None, PhotoState.PROBLEM, reason=problem.sentence, code=problem.code)


def _duplicate(library: Library, name: str, added: Added) -> PhotoLine:
    with library.reading() as session:
        first = _line(session, photos.photo(session, added.photo_id), labels=_labels(session))
    reason = "The same photo came in before, so it was skipped."
    return replace(first, file=name, state=PhotoState.DUPLICATE, reason=reason, code=None)


# --- in steps -------------------------------------------------------------------------------------------------


def open_batch(library: Library, chosen: Chosen, *, source: str = "app", expected: int = 0) -> int:
    """Begin a batch; gives its id."""
    with library.writing(who="teacher", what="began a batch") as writing:
        return photos.open_batch(writing.session, chosen, source=source, expected=expected)


def choose(library: Library, batch_id: int, chosen: Chosen) -> None:
    """Change what is chosen for a batch before it is settled."""
    with library.writing(who="teacher", what="chose for a batch", batch_id=batch_id) as writing:
        photos.choose(writing.session, batch_id, chosen)


def add_original(library: Library, batch_id: int, *, name: str, stream: BinaryIO) -> Added:
    """Keep one file's bytes for good and record it. ``name`` is the file's own name, without its path.

    The same bytes twice are one photo. Raises ``DiskError`` when the disk is full.
    """
    _check_space(library, name)
    return _record(library, batch_id, library.originals.put(stream, name=name), name=name)


def _record(library: Library, batch_id: int, stored: Stored, *, name: str) -> Added:
    with library.writing(who="program", what="stored a photo", batch_id=batch_id) as writing:
        session = writing.session
        before = photos.photo_by_digest(session, stored.sha256)
        if before is not None:
            return Added(before.photo_id, stored.sha256, duplicate=not _again(session, before, batch_id))
        position = len(photos.photos_of(session, batch_id))
        key = photos.add_photo(session, batch_id, stored, file_name=name, position=position)
        return Added(key, stored.sha256, duplicate=False)


def _again(session: Session, before: PhotoKept, batch_id: int) -> bool:
    """A photo that was stored but never decided (a run that was cut off) goes on in the new batch."""
    if before.state is not PhotoState.STORED or before.batch_id == batch_id:
        return False
    photos.move(session, before.photo_id, batch_id=batch_id)
    return True


def _check_space(library: Library, name: str) -> None:
    if shutil.disk_usage(library.folder).free < library.settings.free_space_mb << 20:
        raise DiskError("disk-full", item=name)


def settle_batch(library: Library, batch_id: int, *, executor: Executor, told: Told = _quiet) -> BatchReport:
    """Read what was not read yet, then file the batch in the order taken. Safe to call again at any time."""
    read_batch(library, batch_id, executor=executor, told=told)
    checks = _file_batch(library, batch_id, told=told)
    with library.writing(who="program", what="finished a batch", batch_id=batch_id) as writing:
        photos.set_batch_state(writing.session, batch_id, "done")
    return replace(batch_report(library, batch_id), checks=checks)


# --- reading --------------------------------------------------------------------------------------------------


def read_batch(library: Library, batch_id: int, *, executor: Executor, told: Told = _quiet) -> None:
    """Read every photo of the batch that was not read yet. Workers give values; only this process writes."""
    with library.reading() as session:
        unread = [one for one in photos.photos_of(session, batch_id) if not one.was_read]
        solid = _is_solid(session, photos.batch(session, batch_id).chosen.medium_id)
    requests = {
        executor.submit(see_photo, request): (one, request)
        for one in unread
        if (request := SeeRequest(library.originals.path(one.sha256), one.file_name, solid=solid))
    }
    for done, future in enumerate(_finished(requests), start=1):
        one, request = requests[future]
        _keep(library, one, settled(request, future))
        told("read", done, len(unread))


def _finished(requests: dict[Future[PhotoSeen], Any]) -> Iterator[Future[PhotoSeen]]:
    return as_completed(list(requests))


def _is_solid(session: Session, medium_id: int | None) -> bool:
    return any(one.solid for one in room.media(session) if one.medium_id == medium_id)


def _keep(library: Library, one: PhotoKept, seen: PhotoSeen) -> None:
    """Write the pictures, then the record that speaks of them. Pictures can be made again, so they are not synced."""
    key = write_pictures(library, seen.straightened.derivatives) if seen.straightened else None
    with library.writing(who="program", what="read a photo", batch_id=one.batch_id) as writing:
        photos.keep_reading(writing.session, one.photo_id, seen, derived_key=key)


def write_pictures(library: Library, made: Sequence[Derivative]) -> str:
    """Write derivatives below ``derived/``; gives the new key that names them."""
    key = secrets.token_urlsafe(12)
    with full_disk("A picture"):
        for one in made:
            path = works.derived_path(library.derived, key, one.long_side_px)
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(one.jpeg)
    return key


# --- filing ---------------------------------------------------------------------------------------------------


def _file_batch(library: Library, batch_id: int, *, told: Told) -> tuple[ClassCheck, ...]:
    with library.reading() as session:
        batch = photos.batch(session, batch_id)
        ordered = _in_order([one for one in photos.photos_of(session, batch_id) if one.problem is None])
        there = works.works_of_photos(session, photos.ids_of(ordered))
        evidence = [_evidence(one, there) for one in ordered]
        context = filing_context(session, batch, evidence)
        context = replace(context, filed=_without_own(context, set(there.values())))
        solid = {one.medium_id for one in room.media(session) if one.solid}
    decided = decide_batch(evidence, context)
    fresh = [one for one in decided.decisions if one.outcome is not Outcome.KEEP]
    by_id = {one.photo_id: one for one in ordered}
    made = _Made(dict(there), frozenset(solid))
    for done, decision in enumerate(fresh, start=1):
        _carry_out(library, batch, decision, by_id[decision.photo_id], made)
        told("filed", done, len(fresh))
    return decided.checks


@dataclass(frozen=True, slots=True)
class _Made:
    """Which work each photo became, as it grows; and which media are three-dimensional."""

    works: dict[int, int]
    solid_media: frozenset[int]


def _in_order(kept: list[PhotoKept]) -> list[PhotoKept]:
    by_id = {one.photo_id: one for one in kept}
    shots = [Shot(one.photo_id, one.file_name, one.taken, one.position) for one in kept]
    return [by_id[key] for key in taking_order(shots)]


def _evidence(one: PhotoKept, there: dict[int, int] | Any) -> PhotoEvidence:
    decided = one.state is not PhotoState.STORED
    fixed = one.filing if one.photo_id in there else None
    return PhotoEvidence(
        photo_id=one.photo_id,
        cards=cards_of(one.reading),
        taken=one.taken,
        camera=one.camera,
        crop_hash=one.crop_hash,
        fixed=fixed,
        closed=decided and fixed is None,
    )


def _without_own(context: FilingContext, own: set[int]) -> tuple[Any, ...]:
    """Works of this very batch are known by their photos already."""
    return tuple(work for work in context.filed if work.work_id not in own)


def _carry_out(library: Library, batch: BatchKept, decision: Decision, photo: PhotoKept, made: _Made) -> None:
    """One decision, one transaction."""
    what = {Outcome.FILE: "filed a photo", Outcome.SLATE: "read a slate"}.get(decision.outcome, "asked about a photo")
    with library.writing(who="program", what=what, batch_id=batch.batch_id) as writing:
        session = writing.session
        if decision.outcome is Outcome.FILE and decision.filing is not None:
            file_photo(session, photo, decision.filing, made=made.works, solid_media=made.solid_media)
            state = PhotoState.FILED
        elif decision.asked is not None:
            questions.ask(session, _known(decision.asked, made), batch_id=batch.batch_id, photo_id=photo.photo_id)
            state = PhotoState.QUESTION
        else:
            state = PhotoState.SLATE
        photos.set_state(session, photo.photo_id, state, reason=decision.reason, decision=_as_json(decision))


def _as_json(decision: Decision) -> dict[str, Any]:
    return {
        "outcome": decision.outcome.value,
        "filing": decision.filing.as_json() if decision.filing else None,
        "evidence": dict(decision.evidence),
    }


def _known(asked: Asked, made: _Made) -> Asked:
    """Where a guess joins a photo that has become a work by now, say the work."""

    def known(filing: Filing) -> Filing:
        work_id = made.works.get(filing.joins_photo or 0)
        return replace(filing, joins_work=work_id, joins_photo=None) if work_id else filing

    return replace(asked, guess=known(asked.guess), options=tuple(known(one) for one in asked.options))


def file_photo(
    session: Session,
    photo: PhotoKept,
    filing: Filing,
    *,
    made: dict[int, int],
    solid_media: frozenset[int] = frozenset(),
) -> int:
    """Carry out a complete filing: a new work, or a view of one; gives the work's id. Asks about an unsure edge."""
    if filing.what is What.VIEW:
        work_id = filing.joins_work or made.get(filing.joins_photo or 0)
        if work_id is None:
            work_id = works.work_of_photo(session, filing.joins_photo or 0)
        assert work_id is not None, "a view joins a work that is there"
        works.add_view(session, work_id, photo, role=filing.role)
    else:
        work_id = works.add_work(session, filing, photo, solid=filing.medium_id in solid_media)
        _ask_edge(session, photo, work_id)
    made[photo.photo_id] = work_id
    return work_id


def _ask_edge(session: Session, photo: PhotoKept, work_id: int) -> None:
    crop = (photo.reading or {}).get("crop")
    if not crop or crop["sure"]:
        return
    why = crop.get("why") or "the edge of the work is not clear"
    evidence = f"{why[:1].upper()}{why[1:]}, so the work is shown as the photo was taken until you say."
    questions.ask_crop(
        session, crop, batch_id=photo.batch_id, photo_id=photo.photo_id, work_id=work_id, evidence=evidence
    )


# --- the report -----------------------------------------------------------------------------------------------


def batch_report(library: Library, batch_id: int) -> BatchReport:
    """Where every photo of a batch stands, in the order taken."""
    with library.reading() as session:
        photos.batch(session, batch_id)
        ordered = _in_order(photos.photos_of(session, batch_id))
        labels = _labels(session)
        lines = tuple(_line(session, one, labels=labels) for one in ordered)
        waiting = len(questions.questions(session, batch_id=batch_id))
    return BatchReport(batch_id, lines, waiting)


def _labels(session: Session) -> dict[int, str]:
    return {
        one.class_id: one.label
        for year in school.years(session)
        for one in school.classes(session, year.year_id)
    }


def _line(session: Session, one: PhotoKept, *, labels: dict[int, str]) -> PhotoLine:
    work_id = works.work_of_photo(session, one.photo_id)
    label, number = None, None
    if work_id is not None:
        class_id, number, _ = works.work_facts(session, work_id)
        label = labels.get(class_id)
    return PhotoLine(
        file=one.file_name,
        sha256=one.sha256,
        state=one.state,
        class_label=label,
        number=number,
        work_id=work_id,
        reason=one.problem.sentence if one.problem else one.reason,
        code=one.problem.code if one.problem else None,
        photo_id=one.photo_id,
    )


def report_as_json(report: BatchReport) -> dict[str, Any]:
    """The contract of ``portfolio ingest --json``."""
    return {
        "batch": report.batch_id,
        "filed": report.count(PhotoState.FILED),
        "questions": report.questions,
        "problems": report.count(PhotoState.PROBLEM),
        "duplicates": report.count(PhotoState.DUPLICATE),
        "photos": [
            {
                "file": line.file,
                "sha256": line.sha256,
                "state": line.state.value,
                "class": line.class_label,
                "number": line.number,
                "work": line.work_id,
                "reason": line.reason,
                "code": line.code,
            }
            for line in report.photos
        ],
    }


# --- unfinished and undone --------------------------------------------------------------------------------------


def finish_unfinished(library: Library, *, executor: Executor, told: Told = _quiet) -> int:
    """Go on with batches that a crash cut off; gives how many there were."""
    with library.reading() as session:
        waiting = photos.unfinished_batches(session)
    for batch_id in waiting:
        settle_batch(library, batch_id, executor=executor, told=told)
    return len(waiting)


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
