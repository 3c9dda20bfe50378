"""Before the drawers: choosing a password, signing in, the one-time link of the invented school, signing out."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Final

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from portfolio.errors import PortfolioError, Refused
from portfolio.flows import desk as desk_flow
from portfolio.flows import sign_in as flow
from portfolio.flows.helpers import see_helpers
from portfolio.web.desk import desk_of
from portfolio.web.listening import is_loopback
from portfolio.web.render import note_of, plain
from portfolio.web.roles import HOMES

router = APIRouter(include_in_schema=False)

COOKIE: Final = "portfolio_session"
SECURE_COOKIE: Final = "__Host-portfolio_session"
"""A browser keeps this one only from HTTPS, whole host, no domain. On plain loopback HTTP it would be dropped."""


def secret_of(request: Request) -> str | None:
    """The secret that this browser holds, if any."""
    return request.cookies.get(SECURE_COOKIE if request.url.scheme == "https" else COOKIE)


def inside(path: str) -> str:
    """A place inside this app to go on to; anything else becomes the first page."""
    plain_path = path.startswith("/") and not path.startswith(("//", "/\\", "/sign-", "/set-up", "/enter", "/join"))
    return path if plain_path and "\n" not in path and "\r" not in path else "/"


@router.get("/sign-in")
def ask_password(request: Request, to: Annotated[str, Query(alias="next", max_length=500)] = "/") -> Response:
    """The page that asks for the password; before any is chosen, the set-up instead."""
    desk = desk_of(request)
    if not flow.has_teacher(desk.library):
        return RedirectResponse("/set-up", status_code=303)
    if request.state.visitor is not None and request.state.visitor.role == flow.TEACHER:
        return RedirectResponse(inside(to), status_code=303)
    return _sign_in_page(request, to)


def _sign_in_page(request: Request, to: str, error: PortfolioError | None = None) -> HTMLResponse:
    desk = desk_of(request)
    return plain(
        "sign_in.html",
        status=error.http if error else 200,
        school=desk_flow.standing(desk.library, desk.today()).school,
        next=inside(to),
        helpers=bool(see_helpers(desk.library)),
        back=HOMES.get(request.state.visitor.role, "") if request.state.visitor else "",
        note=note_of(error) if error else None,
    )


@router.post("/sign-in")
def take_password(
    request: Request,
    password: Annotated[str, Form(max_length=1000)] = "",
    to: Annotated[str, Form(alias="next", max_length=500)] = "/",
) -> Response:
    """Sign this browser in, or say why not."""
    desk = desk_of(request)
    try:
        opened = flow.sign_in(desk.library, password)
    except Refused as error:
        if error.code == "set-up-needed":
            return RedirectResponse("/set-up", status_code=303)
        return _sign_in_page(request, to, error)
    return let_in(request, opened, to=inside(to))


def let_in(request: Request, opened: flow.Opened, *, to: str) -> Response:
    """Go on, with the new secret in the browser's cookie. A secret held before is ended: it is never carried over."""
    if request.state.visitor is not None:
        flow.sign_out(desk_of(request).library, request.state.visitor)
    answer = RedirectResponse(to, status_code=303)
    secure = request.url.scheme == "https"
    answer.set_cookie(
        SECURE_COOKIE if secure else COOKIE,
        opened.secret,
        max_age=int((opened.ends_utc - datetime.now(UTC)).total_seconds()),
        path="/",
        secure=secure,
        httponly=True,
        samesite="lax",
    )
    return answer


@router.get("/set-up")
def ask_code(request: Request) -> Response:
    """The page that asks for the code from the console and a first password; only on this computer."""
    _only_here(request)
    if flow.has_teacher(desk_of(request).library):
        return RedirectResponse("/sign-in", status_code=303)
    return plain("set_up.html", code="", note=None)


@router.post("/set-up")
def take_code(
    request: Request,
    code: Annotated[str, Form(max_length=100)] = "",
    password: Annotated[str, Form(max_length=1000)] = "",
    again: Annotated[str, Form(max_length=1000)] = "",
) -> Response:
    """Keep the first password and sign this browser in."""
    _only_here(request)
    try:
        _check_same(password, again)
        opened = flow.set_up(desk_of(request).library, code, password=password)
    except Refused as error:
        return plain("set_up.html", status=error.http, code=code, note=note_of(error))
    return let_in(request, opened, to="/")


def _check_same(password: str, again: str) -> None:
    if password != again:
        raise Refused("password-differs", item="The second password")


def _only_here(request: Request) -> None:
    if not is_loopback(request.client.host if request.client else ""):
        raise Refused("not-allowed", item="Setting up")


@router.get("/enter/{code}")
def enter(request: Request, code: str) -> Response:
    """A one-time link, opened by the program itself in the browser on this computer. A used link leads to sign-in."""
    desk = desk_of(request)
    _only_here(request)
    if not desk.links.take(code):
        return RedirectResponse("/" if request.state.visitor else "/sign-in", status_code=303)
    return let_in(request, flow.open_demo(desk.library), to="/")


@router.post("/sign-out")
def sign_out(request: Request) -> Response:
    """End this browser's sign-in, here and in the library."""
    flow.sign_out(desk_of(request).library, request.state.visitor)
    answer = RedirectResponse("/sign-in", status_code=303)
    answer.headers["Clear-Site-Data"] = '"cache", "storage"'
    answer.delete_cookie(COOKIE, path="/", httponly=True, samesite="lax")
    if request.url.scheme == "https":
        answer.delete_cookie(SECURE_COOKIE, path="/", secure=True, httponly=True, samesite="lax")
    return answer
