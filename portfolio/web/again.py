"""Signed in again: what was typed before is shown, and sent with one press."""

from __future__ import annotations

from typing import Annotated, Final

from fastapi import APIRouter, Path, Request
from fastapi.responses import RedirectResponse, Response

from portfolio.web.answers import Fact
from portfolio.web.answers_again import AgainPage
from portfolio.web.desk import desk_of
from portfolio.web.held_forms import HeldForm
from portfolio.web.render import page

router = APIRouter(include_in_schema=False)

_SAID: Final = {
    "number": "Number",
    "earlier": "The earlier photo",
    "answer": "Answer",
    "what": "What you saw",
    "other": "In other words",
    "level": "How it is going",
    "note": "Note",
    "text": "The child’s words",
    "title": "Title",
    "medium": "Medium",
    "center": "Center",
    "tags": "Tags",
    "starters": "How a sentence may begin",
}
"""Fields that are told, by what the page calls them; the others only say where the form belongs."""


@router.get("/again/{token}")
def show_again(request: Request, token: Annotated[str, Path(max_length=100)]) -> Response:
    """What was typed before the sign-in; when it is not held any more, the first page."""
    held = desk_of(request).held_forms.see(token)
    if held is None:
        return RedirectResponse("/", status_code=303)
    return page(request, "again.html", drawer="", page=again_page(held))


def again_page(held: HeldForm) -> AgainPage:
    """The answer for a form that was held."""
    said = tuple(Fact(_SAID[name], value) for name, value in held.fields if name in _SAID and value.strip())
    asked = held.action.startswith("/check/")
    back = "/check" if asked else held.action.removesuffix("/said").removesuffix("/starters")
    return AgainPage(held.action, held.fields, said, back)
