"""What a batch looks like by now, photo by photo, and the questions that wait. Only reads."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from portfolio.archive import desk, finding, photos, questions, room, school, works
from portfolio.archive.library import Library, Session
from portfolio.archive.photos import BatchKept, PhotoKept
from portfolio.archive.questions import QuestionKept
from portfolio.errors import NotFound
from portfolio.flows import reflections
from portfolio.flows.arriving import by_batch
from portfolio.flows.batch_report import class_labels, in_order
from portfolio.flows.file_batch import foreseen
from portfolio.model.filing import Decision, PhotoState
from portfolio.model.finding import WorkShown


@dataclass(frozen=True, slots=True)
class PhotoLine:
    """One photo of a batch, with the work it became."""

    photo: PhotoKept
    work: WorkShown | None
    question: QuestionKept | None


@dataclass(frozen=True, slots=True)
class BatchSeen:
    """A batch in the order the photos were taken."""

    batch: BatchKept
    lines: tuple[PhotoLine, ...]
    counts: Mapping[PhotoState, int]
    waits: int
    """Questions to answer now."""
    later: int
    """Questions that were put off."""
    class_label: str
    medium: str
    foreseen: Mapping[int, Decision] = field(default_factory=dict)
    """Photo → how it will be filed, for those whose number is read and whose picture is still being made."""
    undone_by: int | None = None
    """The action that took the whole batch back, when it was not undone itself."""
    on_their_way: int = 0
    """Files that were begun and did not come whole yet."""

    @property
    def expected(self) -> int:
        """How many photos there will be: those announced, or those that are here if more came."""
        return max(self.batch.expected, len(self.lines))


def see_batch(library: Library, batch_id: int) -> BatchSeen:
    """The batch as it stands now."""
    seen = _as_it_stands(library, batch_id)
    coming = any(line.photo.state is PhotoState.STORED and line.photo.numbers_read for line in seen.lines)
    return replace(seen, foreseen=foreseen(library, batch_id)) if coming else seen


def _as_it_stands(library: Library, batch_id: int) -> BatchSeen:
    with library.reading() as session:
        batch = photos.batch(session, batch_id)
        kept = in_order(photos.photos_of(session, batch_id))
        waiting = questions.questions(session, batch_id=batch_id)
        by_photo = {one.photo_id: one for one in reversed(waiting)}
        of_photo = works.works_of_photos(session, photos.ids_of(kept))
        shown = {one.work_id: one for one in finding.shown(session, sorted(set(of_photo.values())))}
        lines = tuple(
            PhotoLine(one, shown.get(of_photo.get(one.photo_id, 0)), by_photo.get(one.photo_id)) for one in kept
        )
        return BatchSeen(
            batch=batch,
            lines=lines,
            counts=photos.counts(kept),
            waits=sum(1 for one in waiting if one.state == "open"),
            later=sum(1 for one in waiting if one.state == "later"),
            class_label=_class_label(session, batch.chosen.class_id),
            medium=_medium(session, batch.chosen.medium_id),
            undone_by=desk.taken_back_by(session, batch_id),
            on_their_way=by_batch(library, batch_id).get(batch_id, 0),
        )


def _class_label(session: Session, class_id: int | None) -> str:
    return school.class_by_id(session, class_id).label if class_id else ""


def _medium(session: Session, medium_id: int | None) -> str:
    return next((one.label for one in room.media(session) if one.medium_id == medium_id), "")


@dataclass(frozen=True, slots=True)
class QuestionSeen:
    """One question with everything that stands on its page."""

    question: QuestionKept
    photo: PhotoKept | None
    works: Mapping[int, WorkShown]
    """Works that the question or its answers speak of."""
    work_of: Mapping[int, int]
    """Photo → work, for photos that the question or its answers speak of."""
    said: str = ""
    """The words that are asked about, letter for letter."""
    together: tuple[QuestionKept, ...] = ()
    """All that wait and can be answered together with it, itself among them; empty when it stands alone."""


@dataclass(frozen=True, slots=True)
class QuestionsSeen:
    """What waits: the question that is asked, the next ones, and the labels that answers need."""

    asked: QuestionSeen | None
    of: int
    """How many are asked one after the other, this one among them."""
    after: tuple[QuestionSeen, ...]
    put_off: int
    """Questions put off; they are among those asked only when they were wanted."""
    labels: Mapping[int, str]
    """Class id → label, all years."""
    current: tuple[int, ...]
    """Classes of the question's own year, to choose from."""


AFTER = 6
"""Next questions shown on the ledge."""


def see_questions(
    library: Library,
    *,
    batch_id: int | None = None,
    question_id: int | None = None,
    later: bool = False,
    after: int = AFTER,
) -> QuestionsSeen:
    """The open questions, and with ``later`` those put off too.

    ``question_id`` asks that one first, even one that was put off; the line goes on behind it and comes round.
    """
    with library.reading() as session:
        waiting = questions.questions(session, batch_id=batch_id)
        line = [one for one in waiting if later or one.state == "open" or one.question_id == question_id]
        at = next((at for at, one in enumerate(line) if one.question_id == question_id), 0)
        line = line[at:] + line[:at]
        seen = [_question(session, one) for one in line[: after + 1]]
        labels: dict[int, str] = {}
        by_year: dict[int, tuple[int, ...]] = {}
        for year in school.years(session):
            groups = school.classes(session, year.year_id)
            labels |= {one.class_id: one.label for one in groups}
            by_year[year.year_id] = tuple(one.class_id for one in groups)
        newest = next(reversed(by_year.values()), ())
        return QuestionsSeen(
            asked=seen[0] if seen else None,
            of=len(line),
            after=tuple(seen[1:]),
            put_off=sum(1 for one in waiting if one.state == "later"),
            labels=labels,
            current=_same_year(by_year, seen[0].question if seen else None) or newest,
        )


def see_question(library: Library, question_id: int) -> tuple[QuestionSeen, Mapping[int, str]]:
    """One question, open or not, and the labels of all classes."""
    with library.reading() as session:
        return _question(session, questions.question(session, question_id)), class_labels(session)


def batch_of_question(library: Library, question_id: int) -> int:
    """The batch that a question is of; 0 when it is of none, or there is no such question."""
    with library.reading() as session:
        try:
            return questions.question(session, question_id).batch_id or 0
        except NotFound:
            return 0


def classes_of_batch(library: Library, batch_id: int) -> tuple[int, ...]:
    """The classes that works of a batch are of, the one with the most works first."""
    with library.reading() as session:
        of_photo = works.works_of_photos(session, photos.ids_of(photos.photos_of(session, batch_id)))
        shown = finding.shown(session, sorted(set(of_photo.values())))
    return tuple(class_id for class_id, _ in Counter(one.class_id for one in shown).most_common())


def _same_year(by_year: Mapping[int, tuple[int, ...]], question: QuestionKept | None) -> tuple[int, ...]:
    guessed = ((question.guess or {}) if question else {}).get("class_id")
    return next((classes for classes in by_year.values() if guessed in classes), ())


def _question(session: Session, kept: QuestionKept) -> QuestionSeen:
    photo = photos.photo(session, kept.photo_id) if kept.photo_id else None
    said = [kept.guess or {}, *kept.options]
    ids = {one.get(key) for one in said for key in ("joins_work", "work")} | {kept.work_id}
    joined = {one.get("joins_photo") for one in said} | set(kept.beside)
    work_of = works.works_of_photos(session, [key for key in joined if key])
    shown = finding.shown(session, sorted(key for key in ids | set(work_of.values()) if key))
    together = tuple(questions.same_group(session, kept)) if kept.group else ()
    return QuestionSeen(
        question=kept,
        photo=photo,
        works={one.work_id: one for one in shown},
        work_of=work_of,
        said=reflections.text_of(session, kept.reflection_id) if kept.reflection_id else "",
        together=together if len(together) > 1 else (),
    )
