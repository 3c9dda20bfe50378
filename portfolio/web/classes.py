"""Classes: the list of a year, and the grid of one class: what each number has kept, and not yet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Annotated, Final

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from portfolio.flows import look_back
from portfolio.flows.centers import see_centers
from portfolio.flows.desk import ClassSeen, class_and_year, see_classes, see_roll
from portfolio.flows.look_back import ClassPage as ClassSpan
from portfolio.model.calendar import SchoolYear
from portfolio.model.growth import Cell as GrowthCell
from portfolio.model.growth import Row
from portfolio.model.school import ClassGroup
from portfolio.web import words
from portfolio.web.answers import Chip
from portfolio.web.answers_people import Cell, ClassesPage, ClassLink, ClassPage, GradeRow, GridRow
from portfolio.web.centers import centers_part
from portfolio.web.desk import Desk, desk_of
from portfolio.web.fields import Id, OptionalId
from portfolio.web.render import page

router = APIRouter(include_in_schema=False)


@router.get("/classes")
def show_classes(request: Request, year: Annotated[str, Query(max_length=20)] = "") -> HTMLResponse:
    """Every class of a year, grade by grade."""
    desk = desk_of(request)
    shown = see_classes(desk.library, desk.today(), year=year or None)
    return page(request, "classes.html", drawer="/classes", page=classes_page(*shown))


@router.get("/classes/{class_id}")
def show_class(
    request: Request,
    class_id: Id,
    by: Annotated[str, Query(max_length=20)] = "medium",
    span: Annotated[str, Query(max_length=20)] = "term",
    opened: OptionalId = 0,
) -> HTMLResponse:
    """The grid of one class, by medium or by center, for the term or the whole year; ``opened``: the step that was just
    carried out.
    """
    desk = desk_of(request)
    group, year = class_and_year(desk.library, class_id)
    answer = grid_page(desk, group, year, by_center=by == "center", whole_year=span == "year")
    part = None
    if year.holds(desk.today()):
        centers = see_centers(desk.library, class_id, today=desk.today())
        part = centers_part(centers, class_id=class_id, label=group.label, today=desk.today(), undo=opened)
    return page(request, "class.html", drawer="/classes", page=answer, centers=part)


def grid_page(
    desk: Desk, group: ClassGroup, year: SchoolYear, *, by_center: bool = False, whole_year: bool = False
) -> ClassPage:
    """The grid of a class as it stands now."""
    _, roll = see_roll(desk.library, group.class_id, today=desk.today())
    seen = look_back.class_page(
        desk.library, group.label, year=year.label, today=desk.today(), whole_year=whole_year, by_centre=by_center
    )
    names = {one.student_id: one.name for one in roll}
    return class_page(seen, names, by_center=by_center, whole_year=whole_year, today=desk.today())


def classes_page(shown: SchoolYear | None, labels: tuple[str, ...], classes: tuple[ClassSeen, ...]) -> ClassesPage:
    """The answer for a year."""
    label = shown.label if shown else ""
    grades: dict[str, list[ClassSeen]] = {}
    for one in classes:
        grades.setdefault(one.group.grade, []).append(one)
    children = sum(one.children for one in classes)
    counted = f"{words.count(len(classes), 'class', 'classes')}, {words.count(children, 'child', 'children')}"
    ordered = sorted(grades, key=words.grade_order)
    rows = tuple(GradeRow(grade_words(grade), tuple(_class_link(one) for one in grades[grade])) for grade in ordered)
    if rows and all(len(row.classes) == 1 for row in rows):  # one class a grade: one line of classes is enough
        rows = (GradeRow("One class in each grade", tuple(row.classes[0] for row in rows)),)
    return ClassesPage(
        year=words.year(label),
        rows=rows,
        years=tuple(Chip(f"/classes?year={one}", words.year(one), chosen=one == label) for one in labels),
        sentence=f"{counted} in {words.year(label)}" if classes else "",
    )


def grade_words(grade: str) -> str:
    """Like "Grade 3", "Kindergarten"."""
    return {"K": "Kindergarten", "PK": "Preschool", "TK": "Transitional kindergarten"}.get(grade, f"Grade {grade}")


def _class_link(one: ClassSeen) -> ClassLink:
    kept = words.count(one.works, "work") if one.works else "nothing kept yet"
    second = f"{words.count(one.children, 'child', 'children')}, {kept}"
    return ClassLink(one.group.label, f"/classes/{one.group.class_id}", second, empty=not one.works)


# --- one class --------------------------------------------------------------------------------------------

EVIDENCE: Final = 3
"""Sentences above the grid."""
COLUMNS_MIN: Final = 8
"""Columns shown even when fewer were used, so that "not yet" can be seen."""


def class_page(
    seen: ClassSpan, names: Mapping[int, str], *, by_center: bool, whole_year: bool, today: date
) -> ClassPage:
    """The answer for one class: columns that were used, then others of the room, up to a readable width."""
    grid = seen.grid
    shown = _columns(seen)
    works = sum(len(own) for own in seen.works.values())
    since = words.day_plain(grid.from_day, today=today)
    kept = f"{words.count(works, 'work')} kept since {since}" if works else f"nothing kept since {since}"
    left_out = [name for at, name in enumerate(grid.columns) if at not in shown]
    span = words.span(grid.from_day, grid.to_day, year=seen.year, today=today)
    return ClassPage(
        label=seen.group.label,
        title=span,
        about=f"{words.count(len(grid.rows), 'child', 'children')}, {kept}",
        evidence=worth_words(seen, today=today)[:EVIDENCE],
        legend=_legend(seen, shown, by_center=by_center),
        columns=tuple(words.capital(grid.columns[at]) for at in shown),
        rows=tuple(_grid_row(row, shown, names, today=today, span=span) for row in grid.rows),
        chips=_chips(seen.group.class_id, by_center=by_center, whole_year=whole_year, current=seen.year.holds(today)),
        by="center" if by_center else "medium",
        left_out=f"Not shown, because nobody has used it {span}: {words.listed(left_out)}." if left_out else "",
    )


def _columns(seen: ClassSpan) -> list[int]:
    """Places of the columns to show, in the room's order."""
    used = [at for at, name in enumerate(seen.grid.columns) if any(cell.count for cell in seen.grid.column(name))]
    rest = [at for at in range(len(seen.grid.columns)) if at not in used]
    return sorted(used + rest[: max(0, COLUMNS_MIN - len(used))])


def worth_words(seen: ClassSpan, *, today: date) -> tuple[str, ...]:
    """The sentences worth knowing about a class, with the name of the span in place of "these weeks"."""
    span = words.span(seen.grid.from_day, seen.grid.to_day, year=seen.year, today=today)
    return tuple(one.sentence.replace("in these weeks", span) for one in seen.sentences)


def _legend(seen: ClassSpan, shown: list[int], *, by_center: bool) -> str:
    closed = any(not row.cells[at].open for row in seen.grid.rows for at in shown)
    what = "this center is" if by_center else "its center is"
    slanted = f" Slanted lines: {what} not open for {seen.group.label}." if closed else ""
    return f"One stroke is one kept work. Dots: not yet.{slanted}"


def _grid_row(row: Row, shown: list[int], names: Mapping[int, str], *, today: date, span: str) -> GridRow:
    if row.last_seen is None:
        last = f"nothing {span}"
    else:
        last = "today" if row.last_seen == today else words.day_short(row.last_seen)
    return GridRow(
        number=row.number,
        name=names.get(row.student_id, ""),
        href=f"/students/{row.student_id}",
        cells=tuple(_cell(row.cells[at]) for at in shown),
        last=last,
        nothing=row.last_seen is None,
    )


def _cell(cell: GrowthCell) -> Cell:
    closed = not cell.open
    said = "not open" if closed else words.count(cell.count, "work") if cell.count else "not yet"
    return Cell(cell.count, closed, said)


def _chips(class_id: int, *, by_center: bool, whole_year: bool, current: bool) -> tuple[Chip, ...]:
    """By medium or by center; of the current year also for the term or the whole year."""

    def href(*, center: bool, year: bool) -> str:
        query = "&".join(part for part in ("by=center" if center else "", "span=year" if year else "") if part)
        return f"/classes/{class_id}{f'?{query}' if query else ''}"

    span = Chip(href(center=by_center, year=not whole_year), "All year", chosen=whole_year)
    return (
        Chip(href(center=False, year=whole_year), "By medium", chosen=not by_center),
        Chip(href(center=True, year=whole_year), "By center", chosen=by_center),
        *([span] if current else []),
    )
