"""Students: the children of a class, or those whose name was typed, and the years of one child."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Path, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.flows.desk import ChildLine, look_for_children, see_picks, see_roll
from portfolio.web import words
from portfolio.web.answers import Choice
from portfolio.web.answers_people import RollLine, StudentsPage
from portfolio.web.desk import Desk, desk_of
from portfolio.web.render import page

router = APIRouter(include_in_schema=False)

Id = Annotated[int, Path(ge=1, le=2**63 - 1)]


@router.get("/students")
def show_students(
    request: Request, words: Annotated[str, Query(max_length=100)] = "", class_id: Annotated[str, Query(max_length=20)] = ""
) -> Response:
    """The roll of one class, or the children who were asked for; exactly one is opened at once."""
    desk = desk_of(request)
    typed = words.strip()
    if typed:
        found = look_for_children(desk.library, typed, today=desk.today())
        if len(found) == 1:
            return RedirectResponse(f"/students/{found[0].student_id}", status_code=303)
        return page(request, "students.html", drawer="/students", page=_found_page(desk, typed, found))
    return page(request, "students.html", drawer="/students", page=_class_page(desk, class_id))


def _choices(desk: Desk, chosen: str) -> tuple[Choice, ...]:
    classes = see_picks(desk.library, desk.today()).classes
    return tuple(Choice(str(one.class_id), one.label, str(one.class_id) == chosen) for one in classes)


def _class_page(desk: Desk, class_id: str) -> StudentsPage:
    choices = _choices(desk, class_id)
    chosen = class_id if class_id.isdecimal() and len(class_id) < 19 else choices[0].value if choices else ""
    if not chosen:
        return StudentsPage("", "No classes yet", (), (), "Import a roster in Settings to begin.")
    group, roll = see_roll(desk.library, int(chosen), today=desk.today())
    lines = tuple(_line(one, desk.today(), with_class=False) for one in roll)
    sentence = words.count(len(lines), "child", "children") if lines else "Nobody has a number in this class yet."
    return StudentsPage("", f"Class {group.label}", _choices(desk, chosen), lines, sentence)


def _found_page(desk: Desk, typed: str, found: tuple[ChildLine, ...]) -> StudentsPage:
    lines = tuple(_line(one, desk.today(), with_class=True) for one in found)
    sentence = "" if lines else "No child of this year has this name. Try fewer letters."
    title = f"{words.count(len(lines), 'child', 'children')} found" if lines else "Nobody found"
    return StudentsPage(typed, title, _choices(desk, ""), lines, sentence)


def _line(one: ChildLine, today: date, *, with_class: bool) -> RollLine:
    kept = words.count(one.works, "work") if one.works else "nothing kept yet"
    last = f", last {words.day_plain(one.last, today=today)}" if one.last else ""
    place = f"{one.class_label} · " if with_class else ""
    return RollLine(str(one.number), one.name, f"/students/{one.student_id}", f"{place}{kept}{last}", not one.works)
