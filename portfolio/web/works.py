"""One work: as large as the page allows, its record, the child's words, and what happened to it."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.archive.one_work import ActionSeen, ViewSeen
from portfolio.errors import PortfolioError
from portfolio.flows.describe import describe
from portfolio.flows.held_words import decide_waiting
from portfolio.flows.one_work import SaidSeen, WorkSeen, see_work
from portfolio.flows.settle import undo as undo_step
from portfolio.model.showing import Decision
from portfolio.web import words
from portfolio.web.answers import Choice, Fact, Note, Said, Step
from portfolio.web.answers_find import SaidHere, ViewLink, WorkPage
from portfolio.web.desk import desk_of
from portfolio.web.fields import FormId, Id, OptionalId
from portfolio.web.render import note, note_of, page
from portfolio.web.walls import large_picture, title_of, wall_picture

router = APIRouter(include_in_schema=False)

WRITTEN: Final = {
    "child": "written by the child",
    "teacher": "said, and written down by the teacher",
    "helper": "said, and written down by a helper",
}
_UNDONE_HERE: Final = frozenset(
    {
        "filed a photo",
        "answered a question",
        "described a work",
        "set the edge of a work",
        "took a work out",
        "kept what a child wrote",
        "decided about a name in a child's words",
    }
)
"""Steps about this one work. An import or a batch touches many works, so it is taken back where it was made."""

_UNDECIDED: Final = note("bad-request", item="The decision", found="it is none of those offered")


@router.get("/works/{work_id}")
def show_work(request: Request, work_id: Id, view: OptionalId = 0) -> HTMLResponse:
    """The page of one work."""
    return _page(request, work_id, view=view)


def _page(
    request: Request, work_id: int, *, view: int = 0, note: Note | None = None, status: int = 200
) -> HTMLResponse:
    desk = desk_of(request)
    seen = see_work(desk.library, work_id)
    answer = work_page(seen, view=view, today=desk.today(), note=note)
    return page(request, "work.html", drawer="/find", status=status, page=answer)


@router.post("/works/{work_id}")
def change_work(
    request: Request,
    work_id: Id,
    title: Annotated[str, Form(max_length=1000)] = "",
    medium: Annotated[str, Form(max_length=200)] = "",
) -> Response:
    """Keep a new title and medium."""
    try:
        describe(desk_of(request).library, work_id, title=title, medium=medium)
    except PortfolioError as error:
        return _page(request, work_id, note=note_of(error), status=error.http)
    return RedirectResponse(f"/works/{work_id}", status_code=303)


@router.post("/works/{work_id}/words")
def decide_words(
    request: Request, work_id: Id, reflection_id: FormId, decision: Annotated[str, Form(max_length=10)] = ""
) -> Response:
    """The teacher has read a child's words: they name nobody, or they stay with her. The words never change."""
    if decision not in tuple(Decision):
        return _page(request, work_id, note=_UNDECIDED, status=422)
    try:
        decide_waiting(desk_of(request).library, reflection_id, Decision(decision), work_id=work_id)
    except PortfolioError as error:
        return _page(request, work_id, note=note_of(error), status=error.http)
    return RedirectResponse(f"/works/{work_id}#words", status_code=303)


@router.post("/works/{work_id}/undo")
def undo(request: Request, work_id: Id, action_id: FormId) -> Response:
    """Take back one step. When that takes the work away, the way goes back to what waits."""
    desk = desk_of(request)
    try:
        undo_step(desk.library, action_id)
    except PortfolioError as error:
        return _page(request, work_id, note=note_of(error), status=error.http)
    try:
        see_work(desk.library, work_id)
    except PortfolioError:
        return RedirectResponse("/check", status_code=303)
    return RedirectResponse(f"/works/{work_id}", status_code=303)


def work_page(seen: WorkSeen, *, view: int, today: date, note: Note | None = None) -> WorkPage:
    """The answer for one work, with one of its views open."""
    work = seen.work
    alt = ", ".join(part for part in (title_of(work), words.capital(work.medium)) if part)
    open_view = next((one for one in seen.views if one.view_id == view), seen.views[0] if seen.views else None)
    key = open_view.derived_key if open_view else None
    who = words.listed([name for _, name in seen.makers]) or "nobody is known"
    made = words.day_plain(work.made_on, today=today)
    about = [f"{work.class_label}, number {work.number}", words.capital(work.medium), made]
    return WorkPage(
        work_id=work.work_id,
        title=title_of(work),
        number=str(work.number),
        about=" · ".join(part for part in about if part),
        name=who,
        student_href=f"/students/{seen.makers[0][0]}" if seen.makers else "/students",
        picture=large_picture(key, work, alt=alt) if key else None,
        full_href=f"/pictures/{key}/2016" if key else "",
        views=tuple(_view(one, seen, open_view) for one in seen.views if one.derived_key),
        facts=tuple(_facts(seen, today)),
        said=tuple(_said(one) for one in seen.said),
        tags=seen.tags,
        observations=tuple(
            Fact(one.what, f"{one.level}{', ' + one.note if one.note else ''}") for one in seen.observed
        ),
        history=tuple(_steps(seen, today)),
        original_href=f"/photos/{open_view.photo_id}/original" if open_view else "",
        edge_href=f"/works/{work.work_id}/edge?view={open_view.view_id}" if open_view else "",
        media=_media(seen),
        plain_title=work.title,
        note=note,
    )


def _view(one: ViewSeen, seen: WorkSeen, open_view: ViewSeen | None) -> ViewLink:
    word = one.role.capitalize()
    assert one.derived_key is not None
    small = wall_picture(one.derived_key, width_mm=None, height_mm=None, alt="")
    return ViewLink(f"/works/{seen.work.work_id}?view={one.view_id}", word, small, one is open_view)


def _facts(seen: WorkSeen, today: date) -> list[Fact]:
    work = seen.work
    day = words.day_plain(work.made_on, today=today)
    found = [
        Fact(
            "Made on",
            f"{words.day_long(work.made_on)}, {work.made_on.year}" if day not in ("today", "yesterday") else day,
        )
    ]
    if work.medium:
        found.append(Fact("Medium", words.capital(work.medium), f"/find?{urlencode({'medium': work.medium})}"))
    if work.centre:
        found.append(Fact("Center", words.capital(work.centre), f"/find?{urlencode({'center': work.centre})}"))
    size = words.size(work.width_mm, work.height_mm, about=work.size_about)
    found.append(Fact("Size", size or ("three-dimensional, not measured" if work.solid else "size not measured")))
    if seen.mostly:
        found.append(Fact("Colors", f"mostly {words.listed(list(seen.mostly))}"))
    if work.group_work:
        found.append(Fact("Made by", words.listed([name for _, name in seen.makers])))
    return found


def _said(seen: SaidSeen) -> SaidHere:
    said = seen.said
    how = WRITTEN.get(said.written_by, said.written_by)
    line = Said(said.text, f"{words.month(said.said_on)}, {how}. Kept as it is.", said.language)
    doubted = [f"“{said.text[one.start : one.end]}”" for one in seen.held if one.decided is None]
    is_kept = any(one.decided is Decision.KEPT for one in seen.held)
    return SaidHere(
        said=line,
        reflection_id=seen.reflection_id,
        doubt=f"{words.listed(list(dict.fromkeys(doubted)))} may name a child, so only you see these words."
        if doubted
        else "",
        kept="Only you see these words, because they name a child." if is_kept and not doubted else "",
    )


def _steps(seen: WorkSeen, today: date) -> list[Step]:
    found = [_step(one, today) for one in seen.actions]
    several = len(seen.views) > 1
    why = [(f"Why it is here: {one.reason}", f"({one.role})" if several else "") for one in seen.views if one.reason]
    return [*found, *(Step(text, role) for text, role in why)]


def _step(one: ActionSeen, today: date) -> Step:
    by = {"teacher": "You", "program": "Portfolio"}.get(one.who, f"A {one.who}")
    undone = " This was undone." if one.undone else ""
    may_undo = not one.undone and not one.is_undo and one.what in _UNDONE_HERE
    return Step(f"{by} {one.what}.{undone}", words.moment(one.at_utc, today=today), one.action_id if may_undo else None)


def _media(seen: WorkSeen) -> tuple[Choice, ...]:
    chosen = seen.work.medium or ""
    listed = [one.label for one in seen.media if one.active or one.label == chosen]
    return (Choice("", "not known", not chosen), *(Choice(one, words.capital(one), one == chosen) for one in listed))
