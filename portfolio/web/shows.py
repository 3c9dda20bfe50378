"""Shows: the list, and one show: who will see it, the works chosen, and the pages made after the sweep."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from typing import Annotated, Final

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import plan_show
from portfolio.flows.held_words import look_again
from portfolio.flows.publish import SITES_FOR, Published, publish
from portfolio.flows.see_shows import publications_of
from portfolio.model.finding import Filters
from portfolio.model.people import Audience
from portfolio.model.showing import Choice as ShowChoice
from portfolio.model.showing import Mark, PublicationValue, ShowLimits, ShowValue
from portfolio.web import words
from portfolio.web.answers import Chip, Choice, Note, Wall
from portfolio.web.answers_shows import PublicationLine, ShowLine, ShowPage, ShowsPage
from portfolio.web.desk import Desk, desk_of
from portfolio.web.fields import DayWord, Id, day_in
from portfolio.web.render import note_of, page
from portfolio.web.walls import by_lesson, tile_of

router = APIRouter(include_in_schema=False)

AudienceWord = Annotated[str, Form(max_length=20)]
READERS: Final = {
    Audience.SCHOOL: "People in the building",
    Audience.COMMUNITY: "The community, in print",
    Audience.PUBLIC: "Anyone, on the web",
}
WORKS_MAX: Final = 5000


@router.get("/shows")
def show_shows(request: Request) -> HTMLResponse:
    """Every show, newest first."""
    return _list(request)


def _list(request: Request, *, note: Note | None = None, status: int = 200) -> HTMLResponse:
    desk = desk_of(request)
    lines = tuple(_line(one, desk.today()) for one in plan_show.all_shows(desk.library))
    return page(request, "shows.html", drawer="/shows", status=status, page=ShowsPage(lines, note))


def _line(show: ShowValue, today: date) -> ShowLine:
    chosen = f"{words.count(show.works, 'work')} chosen" if show.works else "no works chosen yet"
    return ShowLine(show.title, f"/shows/{show.show_id}", _when(show, today), chosen)


def _when(show: ShowValue, today: date) -> str:
    hangs = [words.day_plain(day, today=today) for day in (show.opens_on, show.closes_on) if day is not None]
    return " to ".join(hangs) or words.year(show.year)


@router.post("/shows")
def begin_show(
    request: Request,
    title: Annotated[str, Form(max_length=200)] = "",
    opens_on: DayWord = "",
) -> Response:
    """Begin a show and offer every work of the year to it."""
    desk = desk_of(request)
    try:
        made = plan_show.new_show(
            desk.library, title, opens_on=day_in(opens_on, item="The first day"), today=desk.today()
        )
        plan_show.add_works(desk.library, made.show_id, filters=Filters(year=made.year))
    except PortfolioError as error:
        return _list(request, note=note_of(error), status=error.http)
    return RedirectResponse(f"/shows/{made.show_id}", status_code=303)


@router.get("/shows/{show_id}")
def show_show(request: Request, show_id: Id, audience: Annotated[str, Query(max_length=20)] = "") -> HTMLResponse:
    """One show, as one circle of readers may see it."""
    return _show(request, show_id, audience=audience)


def _show(
    request: Request,
    show_id: int,
    *,
    audience: str = "",
    note: Note | None = None,
    result: Note | None = None,
    status: int = 200,
) -> HTMLResponse:
    desk = desk_of(request)
    readers = _audience(desk, show_id, audience)
    seen = plan_show.seen(desk.library, show_id, audience=readers, today=desk.today())
    made = publications_of(desk.library, show_id, today=desk.today())
    answer = show_page(seen, made, today=desk.today(), note=note, result=result)
    return page(request, "show.html", drawer="/shows", status=status, page=answer)


def _audience(desk: Desk, show_id: int, word: str) -> Audience:
    """The circle asked for, else the one the works were chosen for, else the building."""
    if not word:
        shows = {one.show_id: one for one in plan_show.all_shows(desk.library)}
        word = str(shows[show_id].rules.get("audience", "")) if show_id in shows else ""
    return next((one for one in SITES_FOR if one.value == word), Audience.SCHOOL)


@router.post("/shows/{show_id}/choose")
def choose_works(
    request: Request,
    show_id: Id,
    *,
    audience: AudienceWord = "",
    limit: Annotated[str, Form(max_length=10)] = "",
) -> HTMLResponse:
    """Choose fairly among the year's works that these readers may see."""
    desk = desk_of(request)
    try:
        readers = _audience(desk, show_id, audience)
        year = plan_show.seen(desk.library, show_id, audience=readers, today=desk.today()).show.year
        plan_show.add_works(desk.library, show_id, filters=Filters(year=year))
        limits = ShowLimits(works=_limit(limit))
        choice = plan_show.choose_works(desk.library, show_id, audience=readers, limits=limits, today=desk.today())
    except PortfolioError as error:
        return _show(request, show_id, audience=audience, note=note_of(error), status=error.http)
    return _show(request, show_id, audience=readers.value, result=_chosen_note(choice))


def _limit(text: str) -> int | None:
    if not text.strip():
        return None
    if not text.isdecimal() or len(text) > 4 or not 1 <= int(text) <= WORKS_MAX:
        raise PortfolioError("bad-request", item="The number of works", found="it is no number from 1 to 5000")
    return int(text)


def _chosen_note(choice: ShowChoice) -> Note:
    heading = f"{words.count(len(choice.chosen), 'work')} chosen"
    missing = len(choice.missing)
    if not choice.chosen:
        return Note("No work could be chosen", choice.short, "Record what the families allow, then choose again.")
    short = choice.short or "Every child with a work that may be shown has a place."
    more = f"{words.count(missing, 'child has', 'children have')} no place." if missing and not choice.short else ""
    return Note(heading, short, more)


@router.post("/shows/{show_id}/publish")
def make_pages(request: Request, show_id: Id, audience: AudienceWord = "") -> HTMLResponse:
    """Build the pages, search them for names, and put them in place only when none is found."""
    desk = desk_of(request)
    readers = _audience(desk, show_id, audience)
    try:
        made = publish(desk.library, show_id, audience=readers, today=desk.today())
    except PortfolioError as error:
        return _show(request, show_id, audience=readers.value, note=_refused(error), status=error.http)
    if made.words_held:
        look_again(desk.library)  # also names that came after the words: each can be decided on its work's page
    return _show(request, show_id, audience=readers.value, result=_made_note(made, readers))


def _refused(error: PortfolioError) -> Note:
    works = error.details.get("works")
    return replace(note_of(error), links=_to_works(works if isinstance(works, list) else ()))


def _to_works(work_ids: Iterable[int]) -> tuple[tuple[str, str], ...]:
    return tuple((f"/works/{key}#words", f"Look at work {key}") for key in work_ids)


def _made_note(made: Published, readers: Audience) -> Note:
    told = made.sweep.as_json()
    size = words.bytes_in_words(int(str(told["bytes"])))
    searched = f"{size} in {told['files']} files were searched, and no name was found that these readers may not see."
    left = f"{words.count(len(made.left_out), 'work was', 'works were')} left out."
    held = (
        f"The words of {words.count(len(made.words_held), 'work')} are left out until you have read them: "
        "a child may be named in them."
    )
    parts = [f"{words.count(made.pages, 'page')}, {words.count(made.pictures, 'picture')}.", searched]
    parts += [left] if made.left_out else []
    parts += [held] if made.words_held else []
    return Note(
        heading=f"The pages for “{READERS[readers].lower()}” are made",
        safe=" ".join(parts),
        do=f"They lie in the library, in the folder “{made.folder.name}” under “published”. Open index.html in it.",
        links=_to_works(made.words_held),
    )


def show_page(
    seen: plan_show.ShowSeen,
    made: tuple[PublicationValue, ...],
    *,
    today: date,
    note: Note | None = None,
    result: Note | None = None,
) -> ShowPage:
    """The answer: the works on their wall for these readers, and what was made before."""
    show = seen.show
    chosen = [one for one in seen.lines if one.mark in (Mark.CHOSEN, Mark.MUST) and one.may_show]
    barred = sum(1 for one in seen.lines if not one.may_show)
    about = [_when(show, today), show.place, words.year(show.year)]
    return ShowPage(
        show_id=show.show_id,
        title=show.title,
        about=" · ".join(dict.fromkeys(part for part in about if part)),
        intro=show.intro,
        wall=Wall(tuple(tile_of(one.work, second=by_lesson) for one in chosen)),
        sentence=_sentence(len(chosen), seen.may_show),
        missing=(_barred(barred),) if barred else (),
        audiences=tuple(Choice(one.value, READERS[one], one is seen.audience) for one in SITES_FOR),
        readers=tuple(
            Chip(f"/shows/{show.show_id}?audience={one.value}", READERS[one], chosen=one is seen.audience)
            for one in SITES_FOR
        ),
        audience=seen.audience.value,
        published=tuple(_publication(one, today) for one in made),
        limit=str(show.rules.get("works") or ""),
        note=note,
        result=result,
    )


def _sentence(chosen: int, may: int) -> str:
    shown = f"{may:,} may be shown to these readers."
    return f"{words.count(chosen, 'work')} chosen. {shown}" if chosen else f"No works chosen yet. {shown}"


def _barred(count: int) -> str:
    return f"{words.count(count, 'work')} may not be shown to these readers, because no release allows it."


def _publication(one: PublicationValue, today: date) -> PublicationLine:
    return PublicationLine(
        audience=READERS.get(one.audience, one.audience.value.capitalize()),
        when=words.moment(one.built_utc, today=today),
        words=f"{words.count(one.pages, 'page')}, {words.count(one.pictures, 'picture')}",
        href="",
        state={"current": "", "replaced": "replaced"}.get(one.state, one.state),
    )
