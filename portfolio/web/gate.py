"""The gate before a ticket's routes: the code in the address is looked at before anything else of a request is read."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Final

from fastapi.responses import Response
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from portfolio.errors import PortfolioError, Refused
from portfolio.flows import tickets
from portfolio.flows.tickets import Ticket
from portfolio.web import tus
from portfolio.web.answers import Note
from portfolio.web.desk import Desk
from portfolio.web.render import note_of, plain

SEND: Final = "/send/"


class TicketGate:
    """ASGI middleware: lets a request for ``/send/<code>`` pass with its ticket, or answers why not."""

    def __init__(self, app: ASGIApp, desk: Desk) -> None:
        self.app = app
        self.desk = desk

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Only the address counts: no cookie, no body."""
        if scope["type"] == "http" and scope["path"].startswith(SEND):
            request = Request(scope)
            try:
                request.state.ticket = await run_in_threadpool(self._ticket, request)
            except PortfolioError as error:
                await _refusal(request, error)(scope, receive, send)
                return
        await self.app(scope, receive, send)

    def _ticket(self, request: Request) -> Ticket:
        code = request.url.path.removeprefix(SEND).partition("/")[0]
        sender = request.client.host if request.client else ""
        ticket = self.desk.tickets.check(code, sender=sender, now=datetime.now(UTC))
        if self.desk.reader.is_busy(ticket.batch_id):
            raise Refused("ticket-over", item="This code", found=tickets.FILED)
        tickets.check_unused(self.desk.library, ticket)
        return ticket


def _refusal(request: Request, error: PortfolioError) -> Response:
    """For the page's script in its own form, for a person as a page."""
    for_script = request.url.path.removeprefix(SEND).partition("/")[2]
    if for_script.startswith(("uploads", "state", "looked")):
        return tus.refusal(error)
    return send_trouble(note_of(error), status=error.http)


def send_trouble(note: Note, *, status: int, back: str = "") -> Response:
    """A page in words for a phone, with nothing of the desk around it."""
    return plain("send_trouble.html", status=status, note=note, back=back)


def ticket_of(request: Request) -> Ticket | None:
    """The ticket with which a request passed the gate."""
    return getattr(request.state, "ticket", None)
