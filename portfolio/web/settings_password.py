"""Settings, your password: the teacher chooses a new one; every other browser is signed out."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from portfolio.errors import PortfolioError, Refused
from portfolio.flows import sign_in as flow
from portfolio.web import words
from portfolio.web.answers_settings import Field, PasswordPage
from portfolio.web.desk import desk_of
from portfolio.web.render import page
from portfolio.web.settings_frame import settings_frame
from portfolio.web.settings_year import Fields

router = APIRouter(include_in_schema=False)

_HERE: Final = "/settings/password"
_BESIDE: Final = {
    "sign-in-wrong": "current",
    "sign-in-wait": "current",
    "password-weak": "password",
    "password-differs": "again",
}
"""Which field a refusal is about."""


@router.get("/settings/password")
def show_password(request: Request) -> HTMLResponse:
    """The form; what was typed is never sent back."""
    return _page(request)


@router.post("/settings/password")
def change_password(request: Request, fields: Fields) -> HTMLResponse:
    """Keep a new password, or say beside the field why not."""
    visitor = request.state.visitor
    current, password = fields.get("current", ""), fields.get("password", "")
    if password != fields.get("again", ""):
        return _page(request, Refused("password-differs", item="The second password"))
    try:
        ended = flow.change_password(desk_of(request).library, visitor, current=current, password=password)
    except Refused as error:
        if error.code not in _BESIDE:
            raise
        return _page(request, error)
    others = f" {words.count(ended, 'other browser')} signed out." if ended else ""
    return _page(request, done=f"The new password is kept.{others}")


def _page(request: Request, error: PortfolioError | None = None, *, done: str = "") -> HTMLResponse:
    problem = {_BESIDE[error.code]: error.sentence} if error else {}
    frame = replace(settings_frame(request, _HERE), beside=bool(error))
    hint = "8 characters or more, of any kind, spaces too. Four words that only you would put together are good."
    fields = (
        _field("current", "The password you have now", problem),
        _field("password", "The new one", problem, hint=hint),
        _field("again", "The new one once more", problem),
    )
    answer = PasswordPage(frame, fields, done)
    status = error.http if error else 200
    return page(request, "settings_password.html", drawer="/settings", status=status, page=answer)


def _field(key: str, label: str, problem: dict[str, str], *, hint: str = "") -> Field:
    return Field(key, key, label, kind="password", hint=hint, problem=problem.get(key, ""), required=True)
