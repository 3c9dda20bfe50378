"""Look back: one child over the years, one class over a term. Only reads; names come opened for the teacher alone."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from portfolio.archive import finding, people, room, school, words
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound
from portfolio.flows.desk import teachers_name
from portfolio.growth import art_words, class_grid, explored, side_by_side, then_and_now, timeline, worth_knowing
from portfolio.model.calendar import SchoolYear, term_of
from portfolio.model.finding import Filters, WorkShown
from portfolio.model.growth import Explored, FirstUse, Grid, ThenAndNow, WorthKnowing, YearOfWorks
from portfolio.model.school import ClassGroup
from portfolio.model.words import Observed, Said


@dataclass(frozen=True, slots=True)
class StudentPage:
    """Everything the teacher sees of one child: name, years, words, what was tried, what she saw."""

    student_id: int
    name: str
    years: tuple[YearOfWorks, ...]
    said: Mapping[int, tuple[tuple[int, Said], ...]]
    """Work id → ``(reflection id, words)``."""
    pair: ThenAndNow | None
    picked: bool
    """The teacher picked the pair."""
    tried: tuple[Explored, ...]
    art_words: tuple[FirstUse, ...]
    observations: tuple[Observed, ...]


@dataclass(frozen=True, slots=True)
class ClassPage:
    """A class by number for a span of days, with what is worth knowing before the next lesson."""

    group: ClassGroup
    year: SchoolYear
    span: str
    """What the span is called: a term's label or the year's."""
    grid: Grid
    sentences: tuple[WorthKnowing, ...]
    works: Mapping[int, tuple[WorkShown, ...]]
    """Student id → works of the span, oldest first."""
    observations: tuple[Observed, ...]


def resolve(library: Library, who: str, *, year: str | None = None, today: date | None = None) -> int:
    """The child meant by an id or by class and number, e.g. "3B-14", in a year (the current one if none is said)."""
    day = today or date.today()  # noqa: DTZ011  the school's own wall time
    with library.reading() as session:
        known = school.pick_year(session, year, today=day) if not who.strip().isdecimal() else None
        year_id = known.year_id if known else None
        return people.resolve_student(session, who, year_id=year_id, day=known.clamp(day) if known else day)


def student_page(library: Library, student_id: int, *, pick: tuple[int, int] | None = None) -> StudentPage:
    """One child over all years. ``pick``: two works for then and now; those that are no pair leave the usual one."""
    with library.reading() as session:
        name = people.names(session, {student_id}).get(student_id)
        if name is None:
            raise NotFound("not-found", item=f"Student {student_id}")
        works = _works(session, Filters(student_id=student_id))
        said = words.reflections_of(session, [work.work_id for work in works])
        own = {key: tuple(one for one in lines if one[1].student_id == student_id) for key, lines in said.items()}
        texts = [(line.said_on, line.text) for lines in own.values() for _, line in lines]
        picked = side_by_side(works, *pick) if pick else None
        return StudentPage(
            student_id=student_id,
            name=teachers_name(name),
            years=timeline(works),
            said=own,
            pair=picked or then_and_now(works),
            picked=picked is not None,
            tried=explored(works, _media(session)),
            art_words=art_words(texts),
            observations=words.observations_of(session, student_id=student_id),
        )


def class_page(
    library: Library,
    label: str,
    *,
    year: str | None = None,
    today: date | None = None,
    whole_year: bool = False,
    by_centre: bool = False,
) -> ClassPage:
    """One class for the term of ``today`` (or the whole year, as of any other year): who has what, who has nothing
    yet.
    """
    day = today or date.today()  # noqa: DTZ011  the school's own wall time
    with library.reading() as session:
        of_year = school.pick_year(session, year, today=day)
        group = school.class_by_label(session, label, year_id=of_year.year_id)
        whole_year = whole_year or not of_year.holds(day)
        day = of_year.clamp(day)
        term = None if whole_year else term_of(school.terms(session, of_year.year_id), day)
        first, last = (term.starts_on, term.ends_on) if term else (of_year.starts_on, of_year.ends_on)
        of_class = _works(session, Filters(class_label=group.label, year=of_year.label))
        works = [work for work in of_class if first <= work.made_on <= last]
        roll = people.roll(session, day=day, class_id=group.class_id)
        columns, opened = _columns(session, of_year, group, day, by_centre=by_centre)
        grid = class_grid(
            group.label,
            roll,
            of_class,
            columns=columns,
            from_day=first,
            to_day=last,
            column_of=(lambda work: work.centre) if by_centre else (lambda work: work.medium),
            opened=opened,
        )
        observations = words.observations_of(session, class_id=group.class_id)
        return ClassPage(
            group=group,
            year=of_year,
            span=term.label if term else of_year.label,
            grid=grid,
            sentences=worth_knowing(grid, observations),
            works={entry.student_id: _of(works, entry.student_id) for entry in roll},
            observations=observations,
        )


def _works(session: Session, filters: Filters) -> list[WorkShown]:
    return finding.shown(session, finding.matching_ids(session, filters))


def _of(works: list[WorkShown], student_id: int) -> tuple[WorkShown, ...]:
    return tuple(sorted((one for one in works if student_id in one.student_ids), key=lambda one: one.made_on))


def _media(session: Session) -> list[str]:
    return [one.label for one in room.media(session) if one.active]


def _columns(
    session: Session, year: SchoolYear, group: ClassGroup, day: date, *, by_centre: bool
) -> tuple[list[str], dict[str, bool]]:
    """Column names in the room's order, and which are open to this class. A medium that belongs to no center is open;
    a room without any opening dates has everything open.
    """
    centres = [one for one in room.centres(session) if one.active]
    dated = bool(room.openings(session, year.year_id))
    open_ids = {one.centre_id for one in room.open_centres(session, year.year_id, class_id=group.class_id, day=day)}
    if by_centre:
        return [one.label for one in centres], {one.label: not dated or one.centre_id in open_ids for one in centres}
    media = [one for one in room.media(session) if one.active]
    homes: dict[int, list[int]] = {}
    for centre in centres:
        for medium_id in centre.medium_ids:
            homes.setdefault(medium_id, []).append(centre.centre_id)
    opened = {
        one.label: not dated or one.medium_id not in homes or bool(open_ids & set(homes[one.medium_id]))
        for one in media
    }
    return [one.label for one in media], opened


def timeline_as_json(page: StudentPage) -> dict[str, Any]:
    """The contract of ``portfolio timeline --json``."""
    return {
        "student": page.student_id,
        "years": [
            {
                "year": year.year,
                "class": year.class_label,
                "number": year.number,
                "grade": year.grade,
                "works": [_work_as_json(work, page.said.get(work.work_id, ())) for work in year.works],
            }
            for year in page.years
        ],
    }


def _work_as_json(work: WorkShown, said: tuple[tuple[int, Said], ...]) -> dict[str, Any]:
    return {
        "work": work.work_id,
        "title": work.title,
        "medium": work.medium,
        "made_on": work.made_on.isoformat(),
        "size_mm": [work.width_mm, work.height_mm] if work.width_mm is not None else None,
        "reflections": [line.text for _, line in said],
    }


def class_as_json(page: ClassPage) -> dict[str, Any]:
    """The class grid for machines: by number, how many works of each medium."""
    return {
        "class": page.group.label,
        "year": page.year.label,
        "grade": page.group.grade,
        "span": page.span,
        "from": page.grid.from_day.isoformat(),
        "to": page.grid.to_day.isoformat(),
        "columns": list(page.grid.columns),
        "rows": [
            {
                "number": row.number,
                "student": row.student_id,
                "kept": [cell.count for cell in row.cells],
                "open": [cell.open for cell in row.cells],
                "last_seen": row.last_seen.isoformat() if row.last_seen else None,
                "works": [work.work_id for work in page.works.get(row.student_id, ())],
            }
            for row in page.grid.rows
        ],
        "nothing_kept": list(page.grid.nothing_kept),
        "worth_knowing": [one.sentence for one in page.sentences],
    }
