"""Pages from templates: every value is escaped, a value that is not there is an error, the frame comes by itself."""

from __future__ import annotations

import hashlib
from functools import cache
from typing import Any, Final

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined

from portfolio.errors import SENTENCES, PortfolioError
from portfolio.flows import desk as desk_flow
from portfolio.model.assets import asset
from portfolio.web import words
from portfolio.web.answers import Drawer, Frame, Note
from portfolio.web.desk import desk_of
from portfolio.web.squeezing import TOLD, squeezed, takes_gzip

SHEETS: Final = (
    "fonts/fonts.css",
    "desk/tokens.css",
    "desk/frame.css",
    "desk/ledge.css",
    "desk/press.css",
    "desk/today.css",
    "desk/add.css",
    "desk/camera.css",
    "desk/check.css",
    "desk/devices.css",
    "desk/edge.css",
    "desk/grid.css",
    "desk/observing.css",
    "desk/phone.css",
    "desk/timeline.css",
    "desk/work.css",
    "desk/settings.css",
    "desk/rest.css",
)
HEAVY_PAGE: Final = 20_000
"""Bytes from which a page is gzipped: long lists and walls weigh a tenth then."""
_DRAWERS: Final = (
    ("Today", "Today", "/", "near"),
    ("Add photos", "Add", "/add", "near"),
    ("To check", "Check", "/check", "near"),
    ("Find", "Find", "/find", "near"),
    ("Students", "Students", "/students", "mid"),
    ("Classes", "Classes", "/classes", "mid"),
    ("Shows", "Shows", "/shows", "wide"),
    ("Report galleries", "Reports", "/reports", "wide"),
    ("Settings", "Settings", "/settings", "wide"),
    ("More", "More", "/more", "near narrow"),
)


@cache
def environment() -> Environment:
    """The template engine; one for the whole program."""
    found = Environment(
        loader=FileSystemLoader(asset("desk", "templates")),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    found.globals["static"] = static
    found.globals["sheets"] = SHEETS
    return found


@cache
def static(path: str) -> str:
    """The address of one of the program's own files, with its digest, so that a browser may keep it."""
    digest = hashlib.sha256(asset(*path.split("/")).read_bytes()).hexdigest()[:12]
    return f"/static/{path}?{digest}"


def page(request: Request, template: str, *, drawer: str, status: int = 200, **values: Any) -> HTMLResponse:
    """A whole page with its cabinet of drawers, ``drawer`` open (by its address)."""
    desk = desk_of(request)
    standing = desk_flow.standing(desk.library, desk.today())
    return _light(request, plain(template, status=status, frame=frame(standing, drawer), **values))


def drawers(request: Request, drawer: str) -> HTMLResponse:
    """The drawers alone, to stand in place of those of an open page: their counts as they are now."""
    desk = desk_of(request)
    return plain("drawers.html", frame=frame(desk_flow.standing(desk.library, desk.today()), drawer), anew=True)


def _light(request: Request, answer: HTMLResponse) -> HTMLResponse:
    """A heavy page travels gzipped to a browser that takes it. No page holds a secret that its length could tell: the
    session is a cookie, and changes are guarded by their origin, not by a token in the page.
    """
    if len(answer.body) < HEAVY_PAGE or not takes_gzip(request.headers):
        return answer
    return HTMLResponse(squeezed(bytes(answer.body)), status_code=answer.status_code, headers=TOLD)


def frame(standing: desk_flow.Standing, drawer: str) -> Frame:
    """The cabinet: school, year, drawers, and how many questions wait."""
    drawers = tuple(
        Drawer(word, short, href, place, waits=standing.waits if href == "/check" else 0, open=href == drawer)
        for word, short, href, place in _DRAWERS
    )
    return Frame(standing.school or "Your school", words.year(standing.year), drawers)


def plain(template: str, *, status: int = 200, frame: Frame | None = None, **values: Any) -> HTMLResponse:
    """A page without drawers, as before signing in; or a fragment of one."""
    text = environment().get_template(template).render(frame=frame, **values)
    return HTMLResponse(text, status_code=status)


def note_of(error: PortfolioError, *, where: str = "", alert: bool = True) -> Note:
    """An error's sentence in its four parts."""
    return note(error.code, item=error.item, found=error.found, where=where, alert=alert)


def note(code: str, *, item: str = "This", found: str = "", where: str = "", alert: bool = False) -> Note:
    """A row of the table of sentences as a note: what happened, what is safe, what to do, where."""
    row = SENTENCES[code]
    safe, _, todo = row.remedy.partition(". ")
    return Note(
        heading=row.text.format(item=item, found=found),
        safe=f"{safe}." if todo else "",
        do=todo or row.remedy,
        where=where,
        alert=alert,
    )
