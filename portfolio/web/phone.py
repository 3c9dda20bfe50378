"""Use a phone: the teacher makes a code for one batch, shows it large, sees how many photos came, and ends it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Annotated, Final

import segno
from anyio import from_thread
from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup
from starlette.types import ASGIApp

from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.flows import tickets as flow
from portfolio.flows.desk import see_lesson_now, see_picks
from portfolio.flows.see_batch import see_batch
from portfolio.flows.tickets import Ticket
from portfolio.model.filing import Chosen
from portfolio.web import words
from portfolio.web.answers import Choice
from portfolio.web.answers_phone import PhoneCount, PhonePage, PhoneStart
from portfolio.web.desk import Desk, desk_of
from portfolio.web.fields import Id, IdWord, id_in
from portfolio.web.gate import SEND
from portfolio.web.listening import lan_addresses
from portfolio.web.picks import class_choices, medium_choices
from portfolio.web.render import note_of, page, plain
from portfolio.web.sending import CODE_MAX, end_ticket, lasting

router = APIRouter(include_in_schema=False)

QUIET_MODULES: Final = 4
"""White modules around the code, as ISO/IEC 18004 asks."""


@router.get("/phone")
def show_start(request: Request) -> HTMLResponse:
    """Choose class and medium for the photos of a phone."""
    return _start_page(request)


def _start_page(request: Request, *, error: PortfolioError | None = None) -> HTMLResponse:
    desk = desk_of(request)
    now = see_lesson_now(desk.library, desk.today())
    picks = see_picks(desk.library, desk.today())
    found = lan_addresses()
    if not found and error is None:
        error = Refused("no-network", item="This computer")
    ticket = desk.tickets.current(datetime.now(UTC))
    answer = PhoneStart(
        guess=f"By the timetable, the last lesson was {now}." if now else "",
        classes=class_choices(picks, now.rpartition(", at ")[0]),
        media=medium_choices(picks),
        addresses=tuple(Choice(one, one, place == 0) for place, one in enumerate(found)),
        note=note_of(error, alert=False) if error else None,
        open_href=f"/phone/{ticket.batch_id}" if ticket else "",
    )
    return page(request, "phone_start.html", drawer="/add", status=error.http if error else 200, page=answer)


@router.post("/phone")
def begin(
    request: Request,
    *,
    class_id: IdWord = "",
    medium_id: IdWord = "",
    address: Annotated[str, Form(max_length=20)] = "",
) -> Response:
    """Begin a batch and make a code for it. A ticket that was open ends, and its photos are filed."""
    try:
        batch_id, code = begin_ticket(request, _chosen(desk_of(request), class_id, medium_id), address=address)
    except PortfolioError as error:
        return _start_page(request, error=error)
    return _to_code(batch_id, code)


def begin_ticket(request: Request, chosen: Chosen, *, address: str) -> tuple[int, str]:
    """Let a phone in at an address of this computer (empty: the likeliest); gives the new batch and its code. A ticket
    that was open ends, and its photos are filed.
    """
    desk = desk_of(request)
    _open_door(request, address)
    now = datetime.now(UTC)
    before = desk.tickets.current(now)
    batch_id, code = flow.begin(desk.library, desk.tickets, chosen, now=now)
    if before is not None:
        end_ticket(desk, before.batch_id)
    return batch_id, code


def _chosen(desk: Desk, class_id: str, medium_id: str) -> Chosen:
    chosen = Chosen(class_id=id_in(class_id), medium_id=id_in(medium_id))
    picks = see_picks(desk.library, desk.today())
    if chosen.class_id not in {None, *(one.class_id for one in picks.classes)}:
        raise NotFound("not-found", item="This class")
    if chosen.medium_id not in {None, *(one.medium_id for one in picks.media)}:
        raise NotFound("not-found", item="This medium")
    return chosen


def _open_door(request: Request, address: str) -> None:
    """Listen where the phone will ask: on one of this computer's own addresses, no other."""
    desk, found = desk_of(request), lan_addresses()
    if not found or (address and address not in found):
        raise Refused("no-network", item="This computer")
    from_thread.run(_open, desk, request.app, address or found[0])


async def _open(desk: Desk, app: ASGIApp, address: str) -> None:
    await desk.phone.open(app, address, is_needed=_is_needed(desk))


def _is_needed(desk: Desk) -> Callable[[], bool]:
    """Asked every second: is a ticket open? One whose time is over ends here, and its photos are filed."""

    def asked() -> bool:
        now = datetime.now(UTC)
        over = desk.tickets.end_by_time(now)
        if over is not None:
            desk.reader.start(over.batch_id)
        return desk.tickets.current(now) is not None

    return asked


def _to_code(batch_id: int, code: str) -> Response:
    return RedirectResponse(f"/phone/{batch_id}?code={code}", status_code=303)


@router.get("/phone/{batch_id}")
def show_code(request: Request, batch_id: Id, code: Annotated[str, Query(max_length=CODE_MAX)] = "") -> Response:
    """The code, large. Without ``code`` (it is kept nowhere) another one is made by a press; when the ticket is over,
    the batch is shown.
    """
    desk = desk_of(request)
    count = _count(desk, batch_id)
    if not count.is_open:
        return RedirectResponse(f"/add/{batch_id}", status_code=303)
    known = code if desk.tickets.has(code, batch_id) else ""
    begins = address_of(desk)
    seen = see_batch(desk.library, batch_id)
    answer = PhonePage(
        about=" · ".join(part for part in (seen.class_label, words.capital(seen.medium)) if part),
        count=count,
        address_begins=begins,
        code=known,
        square=_square(begins + known) if known else Markup(),
    )
    return page(request, "phone.html", drawer="/add", page=answer)


def address_of(desk: Desk, code: str = "") -> str:
    """What the phone opens; without ``code``, how it begins."""
    return f"http://{desk.phone.host}{SEND}{code}"


def _square(address: str) -> Markup:
    """The address as a QR code: a drawing of our own making, black on white in every light."""
    code = segno.make(address, error="m", micro=False)
    drawn = code.svg_inline(
        border=QUIET_MODULES, dark="#000", light="#fff", omitsize=True, svgclass=None, lineclass=None
    )
    return Markup(drawn)  # noqa: S704  segno draws paths only; the address is in them as squares


def _count(desk: Desk, batch_id: int) -> PhoneCount:
    ticket = open_ticket(desk)
    is_open = ticket is not None and ticket.batch_id == batch_id
    photos = flow.photos_in(desk.library, batch_id)
    return PhoneCount(
        batch_id=batch_id,
        photos=photos,
        came="photo has come." if photos == 1 else "photos have come.",
        lasts=f"Open for {lasting(ticket)}." if ticket and is_open else "The code is over.",
        is_open=is_open,
    )


def open_ticket(desk: Desk) -> Ticket | None:
    """The ticket with which photos may come now."""
    ticket = desk.tickets.current(datetime.now(UTC))
    return ticket if ticket is not None and not flow.is_closed(desk.library, ticket.batch_id) else None


@router.get("/phone/{batch_id}/state")
def show_state(request: Request, batch_id: Id) -> HTMLResponse:
    """The part that changes, asked for every two seconds."""
    return plain("phone_state.html", count=_count(desk_of(request), batch_id))


@router.post("/phone/{batch_id}/code")
def another_code(request: Request, batch_id: Id) -> Response:
    """Show a code again: another one for the same ticket, with the same end."""
    code = desk_of(request).tickets.another_code(batch_id, now=datetime.now(UTC))
    return _to_code(batch_id, code)


@router.post("/phone/{batch_id}/end")
def end(request: Request, batch_id: Id) -> Response:
    """End the ticket; what came is read and filed."""
    desk = desk_of(request)
    flow.photos_in(desk.library, batch_id)
    end_ticket(desk, batch_id)
    return RedirectResponse(f"/add/{batch_id}", status_code=303)
