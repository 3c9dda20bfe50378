"""Walk the whole road on the invented school: roster, numbers, photos, words, a show. From pixels, like any school.

Nothing is put into the library behind the program's back: rosters are files that are imported, works are photos that
are read, reflections are a list that is taken in.
"""

from __future__ import annotations

import csv
import tempfile
from collections.abc import Callable, Mapping
from concurrent.futures import Executor, Future
from dataclasses import asdict, dataclass, field, replace
from itertools import groupby
from pathlib import Path
from typing import Final

from portfolio.archive.library import Library
from portfolio.archive.works import view_of_photo
from portfolio.demo.paint import child_of, describe
from portfolio.demo.plan import GRADES, Lesson, SchoolPlan
from portfolio.demo.school import set_up_school
from portfolio.demo.shooting import Photographed, Shooting, photographed, times
from portfolio.demo.words import reflection_for, title_for
from portfolio.errors import LibraryError, PortfolioError
from portfolio.flows import batches, reflections, roster, school, settle, take_in
from portfolio.flows import describe as describing
from portfolio.flows.batch_report import BatchReport
from portfolio.flows.indexing import Words
from portfolio.flows.settle import Answer
from portfolio.model.cards import Polygon
from portfolio.model.filing import PhotoState, QuestionKind
from portfolio.model.media import STARTER_MEDIA
from portfolio.model.school import CLASS_CARD_MIN, MEDIUM_CARD_MIN

FILLED: Final = "invented_school_filled"
AHEAD: Final = 2
"""So many lessons are painted ahead while one is read."""
HALF_CARD_EVERY: Final = 37
"""Every so many photos the frame cuts the card, as happens in any hurry."""
ASKED_OF_VISITOR: Final = 2
"""In the last lesson so many cards are cut, so that the visitor finds something to check."""

TOLD: Final = "Photos of the invented school are being taken in"

MEDIUM_CARDS: Final = {one.label: MEDIUM_CARD_MIN + place for place, one in enumerate(STARTER_MEDIA)}

Told = Callable[[str, int, int], None]


@dataclass(slots=True)
class Counts:
    """What the road did, step by step."""

    children: int = 0
    classes: int = 0
    photos: int = 0
    filed: int = 0
    questions: int = 0
    answered: int = 0
    problems: int = 0
    misfiled: int = 0
    """Works under another number than the one that was laid beside them: must be none."""
    slates: int = 0
    works: int = 0
    reflections: int = 0
    reflections_asked: int = 0
    indexed: int = 0
    show: dict[str, object] = field(default_factory=dict)

    def as_json(self) -> dict[str, object]:
        """Plain values for ``portfolio demo --once --json``."""
        return asdict(self)


def fill(library: Library, plan: SchoolPlan, *, executor: Executor, told: Told = lambda *_: None) -> Counts:
    """Fill an empty library with the invented school up to its last lesson; gives the counts of every step."""
    counts = Counts()
    with tempfile.TemporaryDirectory(prefix="portfolio-demo-") as folder:
        counts.children = set_up_school(library, plan, Path(folder))
        counts.classes = len(GRADES) * len(plan.years)
        _lessons(library, plan, folder=Path(folder), executor=executor, counts=counts, told=told)
    index = Words(library)
    counts.indexed = index.rebuild()
    index.close()
    school.keep_note(library, FILLED, value=True)
    return counts


def is_filled(folder: Path) -> bool:
    """Whether the invented school in this folder is complete."""
    try:
        with Library.open(folder, write=False) as library:
            return school.note(library, FILLED) is True
    except LibraryError:
        return False


# --- lessons ------------------------------------------------------------------------------------------------------


def _lessons(
    library: Library, plan: SchoolPlan, *, folder: Path, executor: Executor, counts: Counts, told: Told
) -> None:
    """Newest lessons first, so that the app has something to show at once."""
    lessons = sorted(plan.lessons, key=lambda lesson: lesson.starts, reverse=True)
    numbers = {label: roster.numbers_by_source(library, year=label) for label in {year.label for year in plan.years}}
    works = sum(len(lesson.works) for lesson in lessons)
    painting: list[tuple[Lesson, list[Future[Photographed]], list[Shooting]]] = []
    waiting = list(lessons)
    done = 0
    told(TOLD, done, works)
    while waiting or painting:
        while waiting and len(painting) <= AHEAD:
            lesson = waiting.pop(0)
            shootings = _shootings(plan, lesson, folder, numbers[plan.years[lesson.year].label])
            painting.append((lesson, [executor.submit(photographed, one) for one in shootings], shootings))
        lesson, photos, shootings = painting.pop(0)
        taken = [photo.result() for photo in photos]
        _take_in(library, plan, lesson, taken, shootings, executor=executor, counts=counts)
        done += len(lesson.works)
        told(TOLD, done, works)
        for photo in taken:
            photo.path.unlink()


def _shootings(
    plan: SchoolPlan, lesson: Lesson, folder: Path, numbers: Mapping[tuple[str, str], int]
) -> list[Shooting]:
    """The photos of a lesson: the class card, then center by center the medium card and each work beside its number."""
    year = plan.years[lesson.year]
    stem = f"{year.label}-{lesson.class_label}-{lesson.starts:%m%d}"
    held = [(work.medium, numbers[(lesson.class_label, work.child.source_id)], work) for work in lesson.works]
    for_visitor = lesson.works[:ASKED_OF_VISITOR] if lesson is newest_of(plan) else ()
    shootings = [Shooting(Path(), lesson.starts, lesson.seed, class_card=CLASS_CARD_MIN + lesson.grade)]
    for medium, works in groupby(sorted(held, key=lambda one: one[:2]), key=lambda one: one[0]):
        shootings.append(Shooting(Path(), lesson.starts, lesson.seed, medium_card=MEDIUM_CARDS[medium]))
        shootings += [
            Shooting(
                Path(),
                lesson.starts,
                lesson.seed,
                number=number,
                child_seed=work.child.seed,
                grade=work.grade,
                month=work.month,
                medium=work.medium,
                work_seed=work.work_seed,
                half_card=work.work_seed % HALF_CARD_EVERY == 0 or work in for_visitor,
            )
            for _, number, work in works
        ]
    moments = times(lesson.starts, len(shootings))
    return [
        replace(one, path=folder / f"{stem}-{place:02d}.jpg", taken=moment, seed=one.seed + place)
        for place, (one, moment) in enumerate(zip(shootings, moments, strict=True))
    ]


def _take_in(
    library: Library,
    plan: SchoolPlan,
    lesson: Lesson,
    taken: list[Photographed],
    shootings: list[Shooting],
    *,
    executor: Executor,
    counts: Counts,
) -> None:
    chosen = batches.chosen_for(library, class_label=lesson.class_label, day=lesson.starts.date())
    paths = [one.path for one in taken]
    report = take_in.take_in(library, paths, executor=executor, chosen=chosen, source="invented school")
    counts.photos += len(paths)
    counts.filed += report.count(PhotoState.FILED)
    counts.slates += report.count(PhotoState.SLATE)
    counts.problems += report.count(PhotoState.PROBLEM)
    counts.questions += report.questions
    if lesson is not newest_of(plan):
        truth = {one.path.name: one.number for one in shootings}
        counts.answered += _answer(library, report.batch_id, truth, executor=executor)
        report = take_in.batch_report(library, report.batch_id)
        _set_edges(library, report, {one.path.name: one.edge_px for one in taken}, executor=executor)
    by_file = {line.file: line for line in report.photos}
    spoken: list[tuple[int, str]] = []
    for shooting in (one for one in shootings if one.number):
        line = by_file[shooting.path.name]
        facts = describe(
            child_of(shooting.child_seed),
            grade=shooting.grade,
            month=shooting.month,
            medium=shooting.medium,
            work_seed=shooting.work_seed,
        )
        if line.work_id is not None:
            counts.works += 1
            counts.misfiled += (line.class_label, line.number) != (lesson.class_label, shooting.number)
            title = title_for(facts.subject, grade=shooting.grade, seed=shooting.work_seed)
            if title:
                describing.describe(library, line.work_id, title=title)
        color = facts.colors[0] if facts.colors else "blue"
        said = reflection_for(
            facts.subject,
            medium=shooting.medium,
            color=color,
            grade=shooting.grade,
            seed=shooting.work_seed,
            friend=lesson.works[shooting.work_seed % len(lesson.works)].child.name.given,
        )
        if said is not None:
            spoken.append((shooting.number, said))
    _take_in_words(library, lesson, spoken, folder=paths[0].parent, counts=counts)


def newest_of(plan: SchoolPlan) -> Lesson:
    """The last lesson held: its questions are left for the visitor."""
    return max(plan.lessons, key=lambda lesson: lesson.starts)


def _answer(library: Library, batch_id: int, truth: Mapping[str, int], *, executor: Executor) -> int:
    """The teacher answers as she knows it: the number that lay beside the work (``truth``: file → number), and yes to
    an edge. Slates and words wait for a person; gives how many were answered.
    """
    answered = 0
    for one in settle.waiting(library, batch_id=batch_id):
        number = truth.get(one.file_name or "", 0)
        if one.kept.kind == QuestionKind.CROP.value:
            given = Answer(yes=True)
        elif number:
            given = Answer(number=number)
        else:
            continue
        try:
            settle.answer(library, one.kept.question_id, given, executor=executor)
        except PortfolioError:  # it does not fit what is asked: this one waits for a person
            continue
        answered += 1
    return answered


def _set_edges(
    library: Library, report: BatchReport, edges: Mapping[str, Polygon | None], *, executor: Executor
) -> None:
    """The teacher sets the edge where none was found, as she sees it (``edges``: file → the work's edge)."""
    for line in report.photos:
        edge = edges[line.file]
        if line.work_id is None or line.photo_id is None or edge is None:
            continue
        with library.reading() as session:
            bare = view_of_photo(session, line.photo_id).crop is None
        if bare:
            settle.crop_by_hand(library, line.photo_id, edge, executor=executor)


def _take_in_words(
    library: Library, lesson: Lesson, spoken: list[tuple[int, str]], *, folder: Path, counts: Counts
) -> None:
    path = folder / "reflections.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        lines = csv.writer(stream)
        lines.writerow(["Class", "Number", "Date", "Text"])
        lines.writerows([lesson.class_label, number, lesson.starts.date(), text] for number, text in spoken)
    taken = reflections.import_list(library, path)
    counts.reflections += taken.added
    counts.reflections_asked += taken.questions
