"""What became of a batch, photo by photo: for the command line, the app and the JSON contract."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from portfolio.archive import photos, questions, school, works
from portfolio.archive.library import Library, Session
from portfolio.archive.photos import PhotoKept
from portfolio.flows.card_scale import hints_of
from portfolio.intake import Shot, taking_order
from portfolio.model.filing import ClassCheck, Hint, PhotoState


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
    """Code of a problem, or kind of the question."""
    photo_id: int | None = None


@dataclass(frozen=True, slots=True)
class BatchReport:
    """What became of a batch: every photo, how many questions wait (also about edges), and the count of numbers for
    each class.
    """

    batch_id: int
    photos: tuple[PhotoLine, ...]
    questions: int
    checks: tuple[ClassCheck, ...] = ()
    left_out: tuple[str, ...] = ()
    hints: tuple[Hint, ...] = ()

    def count(self, state: PhotoState) -> int:
        """How many photos stand there."""
        return sum(line.state is state for line in self.photos)


def batch_report(library: Library, batch_id: int) -> BatchReport:
    """Where every photo of a batch stands, in the order taken."""
    with library.reading() as session:
        photos.batch(session, batch_id)
        ordered = in_order(photos.photos_of(session, batch_id))
        labels = class_labels(session)
        waiting = questions.questions(session, batch_id=batch_id)
        kinds = {one.photo_id: one.kind for one in waiting if one.photo_id is not None}
        lines = tuple(photo_line(session, one, labels=labels, kinds=kinds) for one in ordered)
        hints = hints_of(session, ordered)
    return BatchReport(batch_id, lines, len(waiting), hints=hints)


def hints_now(library: Library, batch_id: int) -> tuple[Hint, ...]:
    """What the teacher can change next time, as the batch stands now."""
    with library.reading() as session:
        return hints_of(session, in_order(photos.photos_of(session, batch_id)))


def in_order(kept: list[PhotoKept]) -> list[PhotoKept]:
    """The photos in the order taken."""
    by_id = {one.photo_id: one for one in kept}
    shots = [Shot(one.photo_id, one.file_name, one.taken, one.position) for one in kept]
    return [by_id[key] for key in taking_order(shots)]


def class_labels(session: Session) -> dict[int, str]:
    """Class id → label, of all years."""
    return {one.class_id: one.label for year in school.years(session) for one in school.classes(session, year.year_id)}


def photo_line(
    session: Session, one: PhotoKept, *, labels: Mapping[int, str], kinds: Mapping[int, str] | None = None
) -> PhotoLine:
    """One photo as a line of the report."""
    work_id = works.work_of_photo(session, one.photo_id)
    label, number = None, None
    if work_id is not None:
        class_id, number, _ = works.work_facts(session, work_id)
        label = labels.get(class_id)
    asked = (kinds or {}).get(one.photo_id) if one.state is PhotoState.QUESTION else None
    return PhotoLine(
        file=one.file_name,
        sha256=one.sha256,
        state=one.state,
        class_label=label,
        number=number,
        work_id=work_id,
        reason=one.problem.sentence if one.problem else one.reason,
        code=one.problem.code if one.problem else asked,
        photo_id=one.photo_id,
    )


def report_as_json(report: BatchReport) -> dict[str, Any]:
    """The contract of ``portfolio ingest --json``. The four counts are those of the photos' states."""
    return {
        "batch": report.batch_id,
        "filed": report.count(PhotoState.FILED),
        "questions": report.count(PhotoState.QUESTION),
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
        "checks": [_check_as_json(check) for check in report.checks],
        "hints": [{"code": hint.code, "sentence": hint.sentence} for hint in report.hints],
    }


def _check_as_json(check: ClassCheck) -> dict[str, Any]:
    return {
        "class": check.label,
        "day": check.day.isoformat(),
        "present": check.present,
        "of": check.of,
        "missing": list(check.missing),
        "several": [list(pair) for pair in check.several],
        "absent_seen": list(check.absent_seen),
        "waiting": check.waiting,
        "sentence": check.sentence,
    }
