"""Settings, people: who may sign in besides the teacher. She lets helpers in and ends their accounts."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.errors import PortfolioError
from portfolio.flows import helpers as flow
from portfolio.web import words
from portfolio.web.answers import Note
from portfolio.web.answers_devices import HelperLine, PasswordShown, PeoplePage
from portfolio.web.desk import desk_of
from portfolio.web.fields import Id
from portfolio.web.render import note_of, page
from portfolio.web.settings_frame import settings_frame

router = APIRouter(include_in_schema=False)

_HERE = "/settings/people"


@router.get("/settings/people")
def show_people(request: Request, removed: Annotated[int, Query(ge=0, le=1)] = 0) -> HTMLResponse:
    """The helpers; ``removed``: one was removed just now."""
    return _page(request, done="Removed." if removed else "")


def _page(request: Request, *, typed: str = "", error: PortfolioError | None = None, **more: Any) -> HTMLResponse:
    found = flow.see_helpers(desk_of(request).library)
    today = datetime.now().astimezone().date()
    note: Note | None = note_of(error) if error else None
    answer = PeoplePage(
        frame=settings_frame(request, _HERE, note=note),
        helpers=tuple(
            HelperLine(
                one.account_id, one.login, f"since {words.day_plain(one.since_utc.astimezone().date(), today=today)}"
            )
            for one in found
        ),
        typed=typed,
        most=flow.LOGIN_MAX,
        address=f"{request.url.netloc}/sign-in/helper",
        **more,
    )
    return page(request, "people.html", drawer="/settings", status=error.http if error else 200, page=answer)


@router.post("/settings/people")
def add_helper(request: Request, login: Annotated[str, Form(max_length=4 * flow.LOGIN_MAX)] = "") -> HTMLResponse:
    """Let a helper in; the password is shown this once."""
    try:
        password = flow.add_helper(desk_of(request).library, login)
    except PortfolioError as error:
        return _page(request, typed=login, error=error)
    return _page(request, password=PasswordShown(" ".join(login.split()), password))


@router.post("/settings/people/{account_id}/password")
def new_password(request: Request, account_id: Id) -> HTMLResponse:
    """Another password for a helper, shown this once; the helper's browsers are signed out."""
    try:
        login, password = flow.new_password(desk_of(request).library, account_id)
    except PortfolioError as error:
        return _page(request, error=error)
    return _page(request, password=PasswordShown(login, password))


@router.post("/settings/people/{account_id}/remove")
def remove(request: Request, account_id: Id) -> Response:
    """End a helper's account at once."""
    try:
        flow.remove_helper(desk_of(request).library, account_id)
    except PortfolioError as error:
        return _page(request, error=error)
    return RedirectResponse(f"{_HERE}?removed=1", status_code=303)
