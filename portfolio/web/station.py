"""The reflection station: a child picks the number and a work, and writes. Every page works without a script.

The browser's own session says which class it is; no address can ask for another. What a session of another role may
not open is refused by ``roles``.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Final

from fastapi import APIRouter, Form, Path, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.errors import PortfolioError, Refused
from portfolio.flows import sign_in, station
from portfolio.flows.reflections import TEXT_MAX
from portfolio.model.finding import WorkShown
from portfolio.web import words
from portfolio.web.answers import Picture
from portfolio.web.answers_station import JoinPage, NumbersPage, OwnWorksPage, WorkChoice, WritePage
from portfolio.web.desk import desk_of
from portfolio.web.fields import Id
from portfolio.web.guard import PICTURE_CSP
from portfolio.web.render import plain
from portfolio.web.sign_in import let_in
from portfolio.web.walls import wall_picture

router = APIRouter(include_in_schema=False)

Number = Annotated[int, Path(ge=1, le=99)]
LARGE_PX: Final = 672
_NOTHING_YET: Final = "Write a few words first."


def class_of(request: Request) -> int:
    """The class of the station that asks."""
    found: int | None = request.state.visitor.class_id
    if found is None:
        raise Refused("not-allowed", item="This page")
    return found


# --- becoming a station -----------------------------------------------------------------------------------


@router.get("/join")
def ask_code(closed: Annotated[str, Query(max_length=1)] = "") -> HTMLResponse:
    """Where the code of the teacher's screen is typed; also where a station goes that was closed."""
    return _join_page(closed=bool(closed))


def _join_page(*, closed: bool = False, hint: str = "", status: int = 200) -> HTMLResponse:
    return plain("station_join.html", status=status, page=JoinPage(closed, hint))


@router.post("/join")
def take_code(request: Request, code: Annotated[str, Form(max_length=40)] = "") -> Response:
    """Make this browser the station that the code stands for."""
    desk = desk_of(request)
    try:
        plan = desk.station_codes.take(code, now=datetime.now(UTC))
    except Refused as error:
        return _join_page(hint=error.sentence, status=error.http)
    return become_station(request, sign_in.start_station(desk.library, plan.class_id, ends_utc=plan.ends_utc))


def become_station(request: Request, opened: sign_in.Opened) -> Response:
    """Go to the numbers. The browser forgets the pages and pictures it held: none may be a step back away."""
    answer = let_in(request, opened, to="/station")
    answer.headers["Clear-Site-Data"] = '"cache"'
    return answer


@router.post("/station/leave")
def leave(request: Request) -> Response:
    """Back to the teacher's pages, in the invented school only: everywhere else her password leads there."""
    desk = desk_of(request)
    if not desk.demo:
        return RedirectResponse("/sign-in", status_code=303)
    return let_in(request, sign_in.open_demo(desk.library), to="/settings/devices")


# --- the child --------------------------------------------------------------------------------------------


@router.get("/station")
def show_numbers(request: Request, kept: Annotated[int, Query(ge=0, le=99)] = 0) -> HTMLResponse:
    """Which number are you?"""
    desk = desk_of(request)
    seen = station.see_station(desk.library, class_of(request), today=desk.today())
    said = f"Number {kept}, your words are kept." if kept in seen.numbers else ""
    return plain("station.html", page=NumbersPage(seen.class_label, seen.numbers, said, desk.demo))


@router.get("/station/{number}")
def show_works(request: Request, number: Number) -> HTMLResponse:
    """The child's newest works."""
    desk = desk_of(request)
    seen = station.see_own_works(desk.library, class_of(request), number, today=desk.today())
    choices = tuple(_choice(one, number) for one in seen)
    return plain("station_works.html", page=OwnWorksPage(number, choices))


def _choice(one: station.OwnWork, number: int) -> WorkChoice:
    title, second = _title(one.work), _second(one.work)
    written = "you have words for it" if one.work.has_words else "no words yet"
    return WorkChoice(
        href=f"/station/{number}/{one.work.work_id}",
        said=", ".join(part for part in (title, second, written) if part),
        title=title,
        second=second,
        picture=_picture(one, rung=336),
        has_words=one.work.has_words,
    )


def _title(work: WorkShown) -> str:
    return work.title or words.capital(work.medium) or "Your work"


def _second(work: WorkShown) -> str:
    return words.capital(work.medium) if work.title else ""


def _picture(one: station.OwnWork, *, rung: int) -> Picture | None:
    """A picture by the work's own address at the station, where hidden parts are covered."""
    if not one.has_picture:
        return None
    work = one.work
    shape = wall_picture("", width_mm=work.width_mm, height_mm=work.height_mm, alt=_title(work))
    share = rung / max(shape.width_px, shape.height_px)
    return Picture(
        src=f"/station/pictures/{work.work_id}/{rung}",
        width_px=round(shape.width_px * share),
        height_px=round(shape.height_px * share),
        mm=shape.mm,
        alt=shape.alt,
    )


@router.get("/station/pictures/{work_id}/{rung}")
def send_picture(request: Request, work_id: Id, rung: Annotated[int, Path(ge=1, le=10_000)]) -> Response:
    """A picture of a work of the station's class; nothing of it stays in the browser."""
    found = station.station_picture(desk_of(request).library, class_of(request), work_id, rung=rung)
    return Response(found, media_type="image/jpeg", headers={"Content-Security-Policy": PICTURE_CSP})


@router.get("/station/{number}/{work_id}")
def show_writing(request: Request, number: Number, work_id: Id) -> HTMLResponse:
    """The work, and lines to write on."""
    return _write_page(request, number, work_id)


def _write_page(
    request: Request, number: int, work_id: int, *, text: str = "", hint: str = "", status: int = 200
) -> HTMLResponse:
    desk = desk_of(request)
    seen = station.see_own_work(desk.library, class_of(request), number, work_id, today=desk.today())
    answer = WritePage(
        number=number,
        action=f"/station/{number}/{work_id}",
        back_href=f"/station/{number}",
        title=_title(seen.work),
        second=_second(seen.work),
        picture=_picture(seen, rung=LARGE_PX),
        starters=station.starters(desk.library),
        text=text,
        most=TEXT_MAX,
        hint=hint,
        ends=int(request.state.visitor.ends_utc.timestamp()),
    )
    return plain("station_write.html", status=status, page=answer)


@router.post("/station/{number}/{work_id}")
def keep_words(
    request: Request,
    number: Number,
    work_id: Id,
    text: Annotated[str, Form(max_length=4 * TEXT_MAX)] = "",
    starter: Annotated[str, Form(max_length=2 * station.STARTER_MAX)] = "",
) -> Response:
    """Keep the words as they are and go back to the numbers; a starter is only put behind what is written."""
    written = text.replace("\r\n", "\n")  # a browser sends every line end so
    if starter:
        return _write_page(request, number, work_id, text=_begun(written, starter))
    desk = desk_of(request)
    try:
        station.keep_words(desk.library, class_of(request), number, work_id, written, today=desk.today())
    except PortfolioError as error:
        if error.code != "bad-request":
            raise
        hint = error.sentence if written.strip() else _NOTHING_YET
        return _write_page(request, number, work_id, text=written, hint=hint, status=error.http)
    return RedirectResponse(f"/station?kept={number}", status_code=303)


def _begun(written: str, starter: str) -> str:
    between = "" if not written or written[-1].isspace() else " "
    return f"{written}{between}{starter} "
