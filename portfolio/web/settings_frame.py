"""What the pages of Settings share: their list, what was kept last with its Undo, and one way to take it back."""

from __future__ import annotations

from typing import Annotated, Final
from urllib.parse import urlencode, urlsplit

from fastapi import APIRouter, Form, Request
from fastapi.responses import RedirectResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows.see_steps import see_step
from portfolio.flows.settle import undo
from portfolio.web import words
from portfolio.web.answers import Chip, Note
from portfolio.web.answers_settings import Kept, SettingsFrame
from portfolio.web.desk import desk_of
from portfolio.web.fields import FormId
from portfolio.web.render import note_of, page
from portfolio.web.roles import ROUTES
from portfolio.web.typed import Typed

router = APIRouter(include_in_schema=False)

_PAGES: Final = (
    ("/settings", "School and roster"),
    ("/settings/year", "Year and terms"),
    ("/settings/timetable", "Timetable"),
    ("/settings/days", "Days off"),
    ("/settings/media", "Media"),
    ("/settings/centers", "Centers"),
    ("/settings/cards", "Cards"),
    ("/settings/releases", "What families allow"),
    ("/settings/devices", "Devices and stations"),
    ("/settings/people", "People"),
    ("/settings/password", "Your password"),
    ("/settings/backup", "Backup"),
    ("/settings/about", "About"),
)


def pages(here: str) -> tuple[Chip, ...]:
    """The list of pages, ``here`` chosen; a page without a route is not listed."""
    there = ((address, word) for address, word in _PAGES if ("GET", address) in ROUTES)
    return tuple(Chip(address, word, chosen=address == here) for address, word in there)


def settings_frame(
    request: Request,
    here: str,
    *,
    note: Note | None = None,
    form: Typed | None = None,
    error: PortfolioError | None = None,
) -> SettingsFrame:
    """The frame of one page; what was kept is told from the address (``?kept=``). An error that tells its fields goes
    into ``form``, to stand beside them; any other becomes a note.
    """
    title = next(word for address, word in _PAGES if address == here)
    beside = error is not None and form is not None and form.take(error)
    told = note_of(error) if error is not None and not beside else note
    return SettingsFrame(title, pages(here), _kept(request, here) if error is None else None, told, beside)


def _kept(request: Request, here: str) -> Kept | None:
    text = request.query_params.get("kept", "")
    action_id = int(text) if text.isdecimal() and len(text) < 19 else 0
    step = see_step(desk_of(request).library, action_id) if action_id else None
    if step is None:
        return None
    back = f"{here}?{urlencode(others)}" if (others := _without_kept(request)) else here
    said = words.capital(step.what)
    return Kept(
        f"Taken back: {step.what}." if step.undone else f"Kept: {said}.", None if step.undone else action_id, back
    )


def _without_kept(request: Request) -> list[tuple[str, str]]:
    return [(key, value) for key, value in request.query_params.multi_items() if key != "kept"]


def kept(address: str, action_id: int | None) -> Response:
    """Go to a page of Settings after a step, which it then tells."""
    joined = "&" if "?" in address else "?"
    return RedirectResponse(f"{address}{joined}kept={action_id}" if action_id else address, status_code=303)


@router.post("/settings/undo")
def take_back(
    request: Request, action_id: FormId, back: Annotated[str, Form(max_length=300)] = "/settings"
) -> Response:
    """Take back what was kept a moment ago, and go back to its page."""
    address = (
        back if urlsplit(back).path in {one for one, _ in _PAGES} and back.startswith("/settings") else "/settings"
    )
    try:
        undo(desk_of(request).library, action_id)
    except PortfolioError as error:
        frame = SettingsFrame("Settings", pages(urlsplit(address).path), note=note_of(error))
        return page(request, "settings_trouble.html", drawer="/settings", status=error.http, page=frame)
    return kept(address, action_id)
