"""One work: as large as the page allows, its record, the child's words, and what happened to it."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Final
from urllib.parse import urlencode

from fastapi import APIRouter, Form, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.archive.one_work import ViewSeen
from portfolio.errors import PortfolioError
from portfolio.flows.describe import describe
from portfolio.flows.held_words import decide_waiting
from portfolio.flows.one_work import SaidSeen, WorkSeen, see_work
from portfolio.flows.reflections import TEXT_MAX, write_down
from portfolio.flows.settle import undo as undo_step
from portfolio.model.showing import Decision
from portfolio.model.words import Said as SaidWords
from portfolio.web import words
from portfolio.web.answers import Choice, Fact, Note, Said
from portfolio.web.answers_find import SaidHere, ViewLink, WorkPage
from portfolio.web.desk import desk_of
from portfolio.web.fields import FormId, Id, IdWord, OptionalId, id_in
from portfolio.web.happened import steps_of
from portfolio.web.render import note, note_of, page
from portfolio.web.walls import large_picture, title_of, wall_picture

router = APIRouter(include_in_schema=False)

WRITTEN: Final = {
    "child": "written by the child",
    "teacher": "said, and written down by the teacher",
    "helper": "said, and written down by a helper",
}
_WRITERS: Final = (
    Choice("teacher", "The child says it, I write it down", chosen=True),
    Choice("child", "I copy what the child wrote on paper"),
)
_ROLES: Final = {"angle": "Another view", "slip": "The slip"}
_UNDECIDED: Final = note("bad-request", item="The decision", found="it is none of those offered")


@router.get("/works/{work_id}")
def show_work(request: Request, work_id: Id, view: OptionalId = 0) -> HTMLResponse:
    """The page of one work."""
    return _page(request, work_id, view=view)


def _page(
    request: Request, work_id: int, *, view: int = 0, note: Note | None = None, status: int = 200, typed: str = ""
) -> HTMLResponse:
    desk = desk_of(request)
    seen = see_work(desk.library, work_id)
    answer = work_page(seen, view=view, today=desk.today(), note=note, typed=typed)
    return page(request, "work.html", drawer="/find", status=status, page=answer)


@router.post("/works/{work_id}")
def change_work(
    request: Request,
    work_id: Id,
    *,
    title: Annotated[str, Form(max_length=1000)] = "",
    medium: Annotated[str, Form(max_length=200)] = "",
    center: Annotated[str, Form(max_length=200)] = "",
    tags: Annotated[str, Form(max_length=3000)] = "",
) -> Response:
    """Keep what the form says of the work, all in one step; an empty field takes away what stood there."""
    written = [one.strip() for one in tags.split(",") if one.strip()]
    try:
        describe(desk_of(request).library, work_id, title=title, medium=medium, centre=center, tags=written)
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


@router.post("/works/{work_id}/said")
def write_words(
    request: Request,
    work_id: Id,
    *,
    text: Annotated[str, Form(max_length=10_000)] = "",
    child: IdWord = "",
    written_by: Annotated[str, Form(max_length=10)] = "teacher",
) -> Response:
    """The teacher types what a child said about the work. Words that cannot be kept stay in their field."""
    desk = desk_of(request)
    text = text.replace("\r\n", "\n")
    makers = see_work(desk.library, work_id).work.student_ids
    whose = id_in(child) or (makers[0] if makers else 0)
    try:
        write_down(desk.library, SaidWords(whose, text, desk.today(), written_by=written_by), work_id=work_id)
    except PortfolioError as error:
        return _page(request, work_id, note=note_of(error), status=error.http, typed=text)
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


def work_page(seen: WorkSeen, *, view: int, today: date, note: Note | None = None, typed: str = "") -> WorkPage:
    """The answer for one work, with one of its views open. ``typed``: a child's words that could not be kept."""
    work = seen.work
    open_view = next((one for one in seen.views if one.view_id == view), seen.views[0] if seen.views else None)
    key = open_view.derived_key if open_view else None
    views = _views(seen, open_view)
    at = next((at for at, one in enumerate(views) if one.open), 0)
    set_by_hand = f"view={open_view.view_id}" if open_view and open_view.measured else ""
    shows = views[at].word.lower() if at else ""
    alt = ", ".join(part for part in (title_of(work), words.capital(work.medium), shows) if part)
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
        views=views,
        open_view=views[at].word if views else "",
        before=views[at - 1].href if at > 0 else "",
        after=views[at + 1].href if at + 1 < len(views) else "",
        place=f"{at + 1} of {len(views)}",
        facts=tuple(_facts(seen, today)),
        said=tuple(_said(one) for one in seen.said),
        children=tuple(Choice(str(key), name) for key, name in seen.makers) if len(seen.makers) > 1 else (),
        writers=_WRITERS,
        typed=typed,
        words_max=TEXT_MAX,
        tags=seen.tags,
        observations=tuple(
            Fact(one.what, f"{one.level}{', ' + one.note if one.note else ''}") for one in seen.observed
        ),
        history=steps_of(seen, today=today),
        original_href=f"/photos/{open_view.photo_id}/original" if open_view else "",
        edge_href=f"/works/{work.work_id}/edge?{set_by_hand}" if set_by_hand else "",
        hide_href=f"/works/{work.work_id}/hide?{set_by_hand}" if set_by_hand else "",
        media=_media(seen),
        centers=_centers(seen),
        tags_written=", ".join(seen.tags),
        plain_title=work.title,
        note=note,
    )


def _views(seen: WorkSeen, open_view: ViewSeen | None) -> tuple[ViewLink, ...]:
    """The views that have a picture. Of several with one role each says which it is: "Detail 2"."""
    shown = [one for one in seen.views if one.derived_key]
    roles = [one.role for one in shown]
    found = []
    for at, one in enumerate(shown):
        nth = f" {roles[: at + 1].count(one.role)}" if roles.count(one.role) > 1 else ""
        word = f"{_ROLES.get(one.role, one.role.capitalize())}{nth}"
        small = wall_picture(one.derived_key or "", width_mm=None, height_mm=None, alt="")
        found.append(ViewLink(f"/works/{seen.work.work_id}?view={one.view_id}#picture", word, small, one is open_view))
    return tuple(found)


def _facts(seen: WorkSeen, today: date) -> list[Fact]:
    work = seen.work
    day = words.day_plain(work.made_on, today=today)
    found = [
        Fact(
            "Made",
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


def _media(seen: WorkSeen) -> tuple[Choice, ...]:
    return _picks([(one.label, one.active) for one in seen.media], seen.work.medium or "", none="not known")


def _centers(seen: WorkSeen) -> tuple[Choice, ...]:
    return _picks([(one.label, one.active) for one in seen.centers], seen.work.centre or "", none="none")


def _picks(labels: list[tuple[str, bool]], chosen: str, *, none: str) -> tuple[Choice, ...]:
    """A list to pick from; one that is no longer offered stays for the work that has it."""
    listed = [label for label, active in labels if active or label == chosen]
    return (Choice("", none, not chosen), *(Choice(one, words.capital(one), one == chosen) for one in listed))
