"""Students: the children of a class, or those whose name was typed, and the years of one child."""

from __future__ import annotations

from datetime import date
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.flows.desk import ChildLine, ChildNow, look_for_children, see_child, see_class_picks, see_roll
from portfolio.flows.look_back import StudentPage as ChildYears
from portfolio.flows.look_back import student_page as see_years
from portfolio.model.growth import Explored
from portfolio.model.people import Audience
from portfolio.model.school import ClassGroup
from portfolio.model.words import Observed
from portfolio.web import words
from portfolio.web.answers import Badge, Choice, Line, Said, Sign, Wall
from portfolio.web.answers_people import RollLine, StudentPage, StudentsPage, Tried, YearLedge
from portfolio.web.desk import Desk, desk_of
from portfolio.web.fields import Id, OptionalId, id_in
from portfolio.web.render import page
from portfolio.web.then_now import picks_of, then_now_of
from portfolio.web.walls import by_size, tile_of, title_of
from portfolio.web.works import WRITTEN

router = APIRouter(include_in_schema=False)


@router.get("/students")
def show_students(
    request: Request,
    words: Annotated[str, Query(max_length=100)] = "",
    class_id: Annotated[str, Query(max_length=20)] = "",
) -> Response:
    """The roll of one class, or the children who were asked for; exactly one is opened at once."""
    desk = desk_of(request)
    typed = words.strip()
    if typed:
        found = look_for_children(desk.library, typed, today=desk.today(), class_id=id_in(class_id))
        if len(found) == 1:
            return RedirectResponse(f"/students/{found[0].student_id}", status_code=303)
        return page(request, "students.html", drawer="/students", page=_found_page(desk, typed, found, class_id))
    return page(request, "students.html", drawer="/students", page=_class_page(desk, class_id))


def _choices(classes: tuple[ClassGroup, ...], chosen: int | None) -> tuple[Choice, ...]:
    ordered = sorted(classes, key=lambda one: words.grade_order(one.grade))
    return tuple(Choice(str(one.class_id), one.label, one.class_id == chosen) for one in ordered)


def _class_page(desk: Desk, class_id: str) -> StudentsPage:
    classes = see_class_picks(desk.library, desk.today())
    first = min(classes, key=lambda one: words.grade_order(one.grade), default=None)
    chosen = id_in(class_id) or (first.class_id if first else None)
    if chosen is None:
        return StudentsPage(
            "", "No classes yet", (), (), "Import a roster to begin: every child gets a class and a number."
        )
    group, roll = see_roll(desk.library, chosen, today=desk.today())
    lines = tuple(_line(one, desk.today(), with_class=False) for one in roll)
    sentence = words.count(len(lines), "child", "children") if lines else "Nobody has a number in this class yet."
    return StudentsPage("", f"Class {group.label}", _choices(classes, chosen), lines, sentence)


def _found_page(desk: Desk, typed: str, found: tuple[ChildLine, ...], class_id: str) -> StudentsPage:
    lines = tuple(_line(one, desk.today(), with_class=True) for one in found)
    sentence = "" if lines else _nobody(typed)
    chosen = id_in(class_id)
    any_class = Choice("", "any class", chosen is None)
    classes = (any_class, *_choices(see_class_picks(desk.library, desk.today()), chosen))
    title = f"{words.count(len(lines), 'child', 'children')} found" if lines else "Nobody found"
    return StudentsPage(typed, title, classes, lines, sentence)


def _nobody(typed: str) -> str:
    if typed.isdecimal():
        return "Nobody has this number."
    return "No child of this year has this name. Try fewer letters."


def _line(one: ChildLine, today: date, *, with_class: bool) -> RollLine:
    kept = words.count(one.works, "work") if one.works else "nothing kept yet"
    last = f", last {words.day_plain(one.last, today=today)}" if one.last else ""
    place = f"{one.class_label} · " if with_class else ""
    return RollLine(str(one.number), one.name, f"/students/{one.student_id}", f"{place}{kept}{last}", not one.works)


# --- one child --------------------------------------------------------------------------------------------


@router.get("/students/{student_id}")
def show_student(request: Request, student_id: Id, then: OptionalId = 0, now: OptionalId = 0) -> HTMLResponse:
    """One child over all years. ``then`` and ``now``: two works that the teacher picked to stand side by side."""
    desk = desk_of(request)
    years = see_years(desk.library, student_id, pick=(then, now) if then and now else None)
    note = "" if years.picked or not (then and now) else "These are not two works of this child with a picture."
    as_of = see_child(desk.library, student_id, today=desk.today())
    answer = student_page(years, as_of, today=desk.today(), pick_note=note)
    return page(request, "student.html", drawer="/students", page=answer)


def student_page(seen: ChildYears, now: ChildNow, *, today: date, pick_note: str = "") -> StudentPage:
    """The answer for one child."""
    kept = sum(len(year.works) for year in seen.years)
    newest = seen.years[0] if seen.years else None
    number = str(now.number or (newest.number if newest else "–"))
    label = now.class_label or (
        f"last in {newest.class_label}, {words.year(newest.year)}" if newest else "no class now"
    )
    return StudentPage(
        student_id=seen.student_id,
        number=number,
        name=seen.name,
        about=f"{label} · works kept: {kept}",
        observe_href=f"/classes/{now.class_id}/saw?number={now.number}" if now.class_id and now.number else "",
        badges=_badges(now),
        then_now=then_now_of(seen),
        picks=picks_of(seen),
        pick_note=pick_note,
        years=tuple(
            YearLedge(
                words.year(year.year),
                Wall(
                    (
                        Sign(
                            words.year(year.year),
                            f"{words.grade(year.grade)} · {year.class_label}, number {year.number}",
                        ),
                        *(tile_of(work, second=by_size, numbered=False) for work in year.works),
                    )
                ),
            )
            for year in seen.years
        ),
        said=_said(seen),
        said_title=f"What {number} said" if now.number else "What this child said",
        saw=tuple(_saw(one, today) for one in reversed(seen.observations)),
        explored=tuple(_tried(one, today) for one in seen.tried if one.count),
        not_yet=words.listed([one.medium for one in seen.tried if not one.count]),
    )


def _saw(one: Observed, today: date) -> Line:
    note = f", {one.note}" if one.note else ""
    return Line(f"{one.what}: {one.level}{note}. {words.capital(words.day_plain(one.seen_on, today=today))}")


def _tried(one: Explored, today: date) -> Tried:
    last = words.day_plain(one.last, today=today) if one.last else ""
    return Tried(words.capital(one.medium), one.count, words.count(one.count, "work"), last)


def _badges(now: ChildNow) -> tuple[Badge, ...]:
    said = {
        Audience.SCHOOL: ("In the building", "Not in the building"),
        Audience.PUBLIC: ("On the web", "Not on the web"),
    }
    return tuple(
        Badge(said[one][0] if allowed else said[one][1], withheld=not allowed) for one, allowed in now.shown_to.items()
    )


def _said(seen: ChildYears) -> tuple[Said, ...]:
    titles = {work.work_id: title_of(work) for year in seen.years for work in year.works}
    lines = [(line, work_id) for work_id, said in seen.said.items() for _, line in said]
    lines.sort(key=lambda one: one[0].said_on, reverse=True)
    return tuple(
        Said(
            text=line.text,
            second=f"{titles.get(work_id, 'A work')} · {words.month(line.said_on)}, {WRITTEN[line.written_by]}",
            language=line.language,
            href=f"/works/{work_id}",
        )
        for line, work_id in lines
    )
