"""The phone's pages: photos into one batch with a ticket. They tell counts and how long it lasts, nothing else.

Over plain HTTP in a Wi-Fi a browser has neither cookies that are safe nor a notion of where a request came from: the
code in the address is all. Every page works without a script.
"""

# ruff: noqa: FAST003  the gate has read the code of the address already

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from typing import Annotated, Final, cast

from fastapi import APIRouter, Depends, File, Request, UploadFile
from fastapi.responses import HTMLResponse, JSONResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import tickets
from portfolio.flows.arriving import Announced
from portfolio.flows.tickets import Ticket
from portfolio.flows.upload import keep_upload, own_name
from portfolio.web import uploads, words
from portfolio.web.answers_phone import SendPage
from portfolio.web.desk import Desk, desk_of
from portfolio.web.guard import LOOK_MAX, ONE_FILE_MAX, SEND_MAX
from portfolio.web.render import plain

router = APIRouter(include_in_schema=False)

CODE_MAX: Final = 60


def _ticket(request: Request) -> Ticket:
    return cast(Ticket, request.state.ticket)


def _own_key(request: Request, key: str) -> str:
    """The key of a file on its way into the ticket's own batch."""
    tickets.check_own(_ticket(request), key)
    return key


OwnTicket = Annotated[Ticket, Depends(_ticket)]
OwnKey = Annotated[str, Depends(_own_key)]


# --- the page ---------------------------------------------------------------------------------------------


@router.get("/send/{code}")
def show_page(request: Request, code: str, ticket: OwnTicket) -> HTMLResponse:
    """Where photos are taken or chosen."""
    return _page(request, code, ticket)


def _page(
    request: Request, code: str, ticket: Ticket, *, told: str = "", problems: tuple[str, ...] = (), status: int = 200
) -> HTMLResponse:
    desk = desk_of(request)
    photos = tickets.photos_in(desk.library, ticket.batch_id)
    answer = SendPage(
        here=f"/send/{code}",
        photos=photos,
        received="photo received." if photos == 1 else "photos received.",
        lasts=f"This code lasts {lasting(ticket)}.",
        seconds=ticket.seconds_left(datetime.now(UTC)),
        photo_max_mb=desk.library.settings.photo_max_mb,
        told=told,
        problems=problems,
    )
    return plain("send.html", status=status, page=answer)


def lasting(ticket: Ticket) -> str:
    """Like "52 more minutes, until 10:40"."""
    minutes = max(1, -(-ticket.seconds_left(datetime.now(UTC)) // 60))
    return f"{words.count(minutes, 'more minute')}, until {words.clock(ticket.ends_utc.astimezone())}"


@router.post("/send/{code}", max_body_size=SEND_MAX)
def take_all(
    request: Request, code: str, ticket: OwnTicket, photos: Annotated[list[UploadFile] | None, File()] = None
) -> HTMLResponse:
    """One form with photos: the way that needs no script."""
    files = [one for one in photos or () if one.filename]
    kept, before, problems = 0, 0, []
    for one in files:
        try:
            tickets.check_photo(own_name(one.filename))
            done = keep_upload(desk_of(request).library, ticket.batch_id, name=one.filename, stream=one.file)
        except PortfolioError as error:
            problems.append(error.sentence)
        else:
            kept, before = kept + len(done.photos) - done.duplicates, before + done.duplicates
            problems += [problem.sentence for problem in done.problems]
    _read(desk_of(request), ticket)
    if not files:
        problems = ["No photo was chosen. Nothing was sent. Take or choose photos first."]
    again = f" {before} {'was' if before == 1 else 'were'} here before." if before else ""
    told = f"{words.count(kept, 'photo')} kept.{again}" if files else ""
    return _page(request, code, ticket, told=told, problems=tuple(problems), status=422 if problems else 200)


def _read(desk: Desk, ticket: Ticket) -> None:
    """Read what came; when the ticket ended while it came, file it too."""
    if desk.tickets.current(datetime.now(UTC)) == ticket:
        desk.reader.start_ahead(ticket.batch_id)
    else:
        desk.reader.start(ticket.batch_id)


@router.get("/send/{code}/state")
def tell_state(request: Request, ticket: OwnTicket) -> JSONResponse:
    """How many photos came, and how long the ticket lasts."""
    photos = tickets.photos_in(desk_of(request).library, ticket.batch_id)
    return JSONResponse({"photos": photos, "lasts": lasting(ticket), "seconds": ticket.seconds_left(datetime.now(UTC))})


@router.post("/send/{code}/done")
def finish(request: Request, ticket: OwnTicket) -> HTMLResponse:
    """All photos are there: the ticket ends, and they are read and filed."""
    desk = desk_of(request)
    photos = tickets.photos_in(desk.library, ticket.batch_id)
    end_ticket(desk, ticket.batch_id)
    return plain("send_done.html", photos=words.count(photos, "photo"))


def end_ticket(desk: Desk, batch_id: int) -> None:
    """End the ticket of a batch, and read and file what came."""
    desk.tickets.end(batch_id)
    desk.reader.start(batch_id)


# --- piece by piece ---------------------------------------------------------------------------------------


@router.post("/send/{code}/uploads")
def create(request: Request, code: str, ticket: OwnTicket) -> Response:
    """Announce one photo. Whatever batch is asked for, it goes into the ticket's own."""

    def into_own(announced: Announced) -> Announced:
        tickets.check_photo(announced.name)
        return replace(announced, batch_id=ticket.batch_id)

    return uploads.begun(request, into_own, at=f"/send/{code}/uploads")


@router.post("/send/{code}/uploads/{key}/look", max_body_size=LOOK_MAX)
def look_first(
    request: Request, key: OwnKey, beginning: Annotated[UploadFile, File()], look: Annotated[UploadFile, File()]
) -> Response:
    """A small picture of an announced photo and how its file begins."""
    return uploads.look_first(request, key, beginning, look)


@router.post("/send/{code}/looked")
def file_early(request: Request, ticket: OwnTicket) -> Response:
    """Small pictures of all photos are there and the originals follow: questions can be answered at the computer."""
    desk_of(request).reader.start_early(ticket.batch_id)
    return Response(status_code=204)


@router.head("/send/{code}/uploads/{key}")
def tell_offset(request: Request, key: OwnKey) -> Response:
    """How many bytes came."""
    return uploads.tell_offset(request, key)


@router.get("/send/{code}/uploads/{key}")
def tell_end(request: Request, key: OwnKey) -> JSONResponse:
    """What became of a photo that came whole."""
    return uploads.tell_end(request, key)


@router.delete("/send/{code}/uploads/{key}")
async def give_up(request: Request, key: OwnKey) -> Response:
    """The phone gives a photo up."""
    return await uploads.give_up(request, key)


@router.patch("/send/{code}/uploads/{key}", max_body_size=ONE_FILE_MAX)
async def go_on(request: Request, key: OwnKey, ticket: OwnTicket) -> Response:
    """Take bytes from where the photo stopped. One that was on its way when the ticket ended is still kept."""
    answer = await uploads.go_on(request, key)
    desk = desk_of(request)
    if desk.tickets.current(datetime.now(UTC)) != ticket:
        desk.reader.start(ticket.batch_id)
    return answer
