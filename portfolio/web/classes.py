"""Classes: the list of a year, and the grid of one class: what each number has kept, and not yet."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import HTMLResponse

from portfolio.flows.desk import ClassSeen, see_classes
from portfolio.web import words
from portfolio.web.answers import Chip
from portfolio.web.answers_people import ClassesPage, ClassLink, GradeRow
from portfolio.web.desk import desk_of
from portfolio.web.render import page

router = APIRouter(include_in_schema=False)

Id = Annotated[int, Path(ge=1, le=2**63 - 1)]


@router.get("/classes")
def show_classes(request: Request, year: Annotated[str, Query(max_length=20)] = "") -> HTMLResponse:
    """Every class of a year, grade by grade."""
    desk = desk_of(request)
    return page(request, "classes.html", drawer="/classes", page=classes_page(*see_classes(desk.library, desk.today(), year=year or None)))


def classes_page(shown: object, labels: tuple[str, ...], classes: tuple[ClassSeen, ...]) -> ClassesPage:
    """The answer for a year."""
    label = getattr(shown, "label", "")
    grades: dict[str, list[ClassSeen]] = {}
    for one in classes:
        grades.setdefault(one.group.grade, []).append(one)
    children = sum(one.children for one in classes)
    counted = f"{words.count(len(classes), 'class', 'classes')}, {words.count(children, 'child', 'children')}"
    return ClassesPage(
        year=words.year(label),
        rows=tuple(
            GradeRow(grade_words(grade), tuple(_class_link(one) for one in grades[grade]))
            for grade in sorted(grades, key=_grade_order)
        ),
        years=tuple(Chip(f"/classes?year={one}", words.year(one), chosen=one == label) for one in labels),
        sentence=f"{counted} in {words.year(label)}" if classes else "",
    )


def grade_words(grade: str) -> str:
    """Like "Grade 3", "Kindergarten"."""
    return {"K": "Kindergarten", "PK": "Preschool", "TK": "Transitional kindergarten"}.get(grade, f"Grade {grade}")


def _grade_order(grade: str) -> int:
    return int(grade) if grade.isdecimal() else {"PK": -2, "TK": -1, "K": 0}.get(grade, 99)


def _class_link(one: ClassSeen) -> ClassLink:
    kept = words.count(one.works, "work") if one.works else "nothing kept yet"
    second = f"{words.count(one.children, 'child', 'children')}, {kept}"
    return ClassLink(one.group.label, f"/classes/{one.group.class_id}", second, empty=not one.works)
