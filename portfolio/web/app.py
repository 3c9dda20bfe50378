"""The app: routes, who may use them, and what a request meets when something is wrong."""

from __future__ import annotations

import logging
from collections.abc import AsyncIterator, Sequence
from contextlib import asynccontextmanager
from functools import lru_cache
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote

from fastapi import Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, RedirectResponse, Response
from fastapi.staticfiles import StaticFiles
from starlette.datastructures import Headers
from starlette.exceptions import HTTPException
from starlette.middleware.body_limit import RequestBodyLimitMiddleware
from starlette.types import Scope

from portfolio import __version__
from portfolio.errors import PortfolioError, Refused, places
from portfolio.flows import sign_in as sign_in_flow
from portfolio.model.assets import asset
from portfolio.web import (
    add_photos,
    again,
    api,
    api_lesson,
    api_people,
    api_roster,
    api_school,
    api_works,
    batch_count,
    camera,
    centers,
    check,
    classes,
    devices,
    edge,
    find,
    helping,
    observing,
    people,
    phone,
    pictures,
    projector,
    reports,
    roles,
    rosters,
    scale,
    sending,
    settings,
    settings_pages,
    shows,
    sign_in,
    station,
    students,
    today,
    uploads,
    works,
)
from portfolio.web.answers import Note
from portfolio.web.desk import Desk, desk_of
from portfolio.web.gate import SEND, TicketGate, send_trouble, ticket_of
from portfolio.web.guard import SMALL_BODY, Guard, problem_body
from portfolio.web.render import note_of, page, plain
from portfolio.web.squeezing import TOLD, squeezed, takes_gzip

log = logging.getLogger(__name__)

LOOPBACK_HOSTS: Final = ("127.0.0.1", "localhost", "[::1]")
BACK: Final = {
    roles.STATION: "Back to the numbers",
    roles.HELPER: "Back to your photos",
    roles.TEACHER: "Back to Today",
}
"""How the way back to a role's first page is called."""
_SHELVES: Final = ("desk", "fonts", "vendor")
_SQUEEZED: Final = (".css", ".js", ".svg")


class SignInNeeded(Refused):
    """Nobody is signed in, and this route is not for everyone."""


def create_app(desk: Desk, *, hosts: Sequence[str] = LOOPBACK_HOSTS) -> FastAPI:
    """The whole app over an open library. ``hosts``: the names under which it answers; every other is refused."""
    app = FastAPI(
        title="Portfolio",
        version=__version__,
        summary="The JSON door of the art room's archive. Everything needs the teacher's session.",
        openapi_url=None,
        docs_url=None,
        redoc_url=None,
        dependencies=[Depends(admit)],
        lifespan=_lifespan,
    )
    app.state.desk = desk
    for part in (
        sign_in,
        today,
        again,
        add_photos,
        uploads,
        batch_count,
        camera,
        phone,
        sending,
        check,
        find,
        works,
        edge,
        students,
        classes,
        centers,
        observing,
        projector,
        shows,
        reports,
        settings,
        devices,
        people,
        helping,
        rosters,
        settings_pages,
        pictures,
        scale,
        station,
    ):
        app.include_router(part.router)
    for part in (api, api_lesson, api_works, api_school, api_people, api_roster):
        app.include_router(part.router)
    for shelf in _SHELVES:
        app.mount(f"/static/{shelf}", Shelf(directory=asset(shelf)), name=shelf)
    app.add_exception_handler(SignInNeeded, _on_signed_out)
    app.add_exception_handler(PortfolioError, _on_refusal)
    app.add_exception_handler(RequestValidationError, _on_misfit)
    app.add_exception_handler(HTTPException, _on_http)
    app.add_middleware(RequestBodyLimitMiddleware, max_body_size=SMALL_BODY)
    app.add_middleware(TicketGate, desk=desk)
    app.add_middleware(Guard, hosts=hosts, on_mistake=_on_mistake)
    return app


@asynccontextmanager
async def _lifespan(app: FastAPI) -> AsyncIterator[None]:
    yield
    desk: Desk = app.state.desk
    await desk.phone.close()
    desk.reader.close()
    desk.words.close()
    desk.rosters.close()
    desk.backup.close()


class Shelf(StaticFiles):
    """The program's own files. Their address holds their digest, so a browser may keep them for a year."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        """One file, with its keeping time; templates are not for browsers."""
        if path.startswith("templates"):
            raise HTTPException(404)
        answer = await super().get_response(path, scope)
        if isinstance(answer, FileResponse) and path.endswith(_SQUEEZED):
            answer = _light(answer, Path(answer.path), Headers(scope=scope))
        kept = "public, max-age=31536000, immutable" if scope.get("query_string") else "public, max-age=3600"
        answer.headers["Cache-Control"] = kept
        return answer


def _light(answer: Response, path: Path, asked: Headers) -> Response:
    """The file gzipped for a browser that takes it: styles and scripts weigh a third then."""
    if not takes_gzip(asked):
        answer.headers["Vary"] = TOLD["Vary"]
        return answer
    return Response(_gzipped(path, path.stat().st_mtime_ns), media_type=answer.media_type, headers=TOLD)


@lru_cache(maxsize=200)
def _gzipped(path: Path, _changed_ns: int) -> bytes:
    return squeezed(path.read_bytes())


def admit(request: Request) -> None:
    """Every route passes here: who is it, and may that role use this route? What the table lacks is closed."""
    ticket = ticket_of(request)
    secret = sign_in.secret_of(request) if ticket is None else None
    visitor = sign_in_flow.who_is(desk_of(request).library, secret) if secret else None
    request.state.visitor = visitor
    role = roles.TICKET if ticket else visitor.role if visitor else roles.ANONYMOUS
    path = request.scope["route"].path
    if roles.may(role, request.method, path):
        return
    if visitor is None:
        raise SignInNeeded("sign-in-needed", item="This page")
    raise Refused("not-allowed", item="This page")


def _is_api(request: Request) -> bool:
    return request.url.path.startswith("/api/")


def _problem(code: str, sentence: str, status: int) -> Response:
    return Response(problem_body(code, sentence, status), status_code=status, media_type="application/problem+json")


def _on_refusal(request: Request, error: Exception) -> Response:
    assert isinstance(error, PortfolioError)
    if _is_api(request):
        return _problem(error.code, error.sentence, error.http)
    if error.code == "not-allowed" and request.url.path == "/":
        return RedirectResponse(roles.HOMES.get(request.state.visitor.role, "/sign-in"), status_code=303)
    return _trouble(request, note_of(error, where=_where(request)), status=error.http)


async def _on_signed_out(request: Request, error: Exception) -> Response:
    """The way to the sign-in; it leads back to the page that was asked for, or to what was typed."""
    assert isinstance(error, SignInNeeded)
    if _is_api(request):
        return _problem(error.code, error.sentence, error.http)
    if request.url.path.startswith("/station"):
        return RedirectResponse("/join?closed=1", status_code=303)
    by_script = "hx-request" in request.headers
    back = request.url.path if request.method == "GET" and not by_script else await _held(request)
    to = f"/sign-in?next={quote(back)}" if back != "/" else "/sign-in"
    if by_script:
        return Response(status_code=200, headers={"HX-Redirect": to})
    return RedirectResponse(to, status_code=303)


async def _held(request: Request) -> str:
    """Where what was typed is found after the sign-in; "/" when there is nothing to hold."""
    if not request.headers.get("content-type", "").startswith("application/x-www-form-urlencoded"):
        return "/"
    fields = [(name, value) for name, value in (await request.form()).multi_items() if isinstance(value, str)]
    token = desk_of(request).held_forms.put(request.url.path, fields)
    return f"/again/{token}" if token else "/"


def _where(request: Request) -> str:
    return f"{request.method} {request.url.path}" if request.method != "GET" else ""


def _trouble(request: Request, note: Note, *, status: int) -> Response:
    if ticket_of(request) is not None:
        return send_trouble(note, status=status, back="/".join(request.url.path.split("/")[:3]))
    title = "That did not work" if status != 404 else "Nothing here"
    visitor = getattr(request.state, "visitor", None)
    role = visitor.role if visitor and visitor.role in BACK else roles.TEACHER
    way: dict[str, Any] = {"title": title, "note": note, "back": roles.HOMES[role], "back_words": BACK[role]}
    if visitor is None or visitor.role != roles.TEACHER:
        return plain("trouble.html", status=status, **way)
    return page(request, "trouble.html", drawer="", status=status, **way)


def _on_misfit(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)
    first = error.errors()[0]
    place = " ".join(str(part) for part in first["loc"][1:]) or "the request"
    found = str(first["msg"]).lower()
    if not _is_api(request):
        place = place.removesuffix("_id").replace("_", " ")
        found = next((said for kind, said in _MISFITS.items() if kind in first["type"]), "this page cannot use it")
    return _on_refusal(request, PortfolioError("bad-request", item=f"“{place}”", found=found))


_MISFITS: Final = {
    "missing": "it is missing",
    "int": "a number is needed",
    "date": "a day is needed",
    "too_long": "it is too long",
    "greater_than": "the number is too small",
    "less_than": "the number is too large",
}
"""What a browser sent wrongly, by a part of the validator's kind of error, in words for a person."""


_HTTP_CODES: Final = {404: "not-found", 405: "bad-request", 413: "upload-too-heavy"}


def _on_http(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)
    code = _HTTP_CODES.get(error.status_code, "bad-request")
    refused = PortfolioError(code, item="This page" if not _is_api(request) else "This", found=error.detail.lower())
    if _is_api(request):
        answer = _problem(code, refused.sentence, error.status_code)
    else:
        answer = _trouble(request, note_of(refused, where=_where(request)), status=error.status_code)
    for name, value in (error.headers or {}).items():
        answer.headers[name] = value
    return answer


def _on_mistake(request: Request, error: Exception) -> Response:
    """Our own mistake: said plainly. The log holds the kind of mistake and its places in our code, never a value."""
    log.error("mistake in the program: %s at %s", type(error).__name__, ", ".join(places(error)))
    found = PortfolioError("program-mistake", item="Portfolio", found=type(error).__name__)
    if _is_api(request):
        return _problem(found.code, found.sentence, 500)
    if request.url.path.startswith(SEND):
        return send_trouble(note_of(found, where=type(error).__name__), status=500)
    return plain(
        "trouble.html",
        status=500,
        title="That did not work",
        note=note_of(found),
        back="/",
        back_words=BACK[roles.TEACHER],
    )
