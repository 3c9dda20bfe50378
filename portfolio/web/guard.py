"""What every request passes before any page: the host, the origin of a change, and the headers of every answer.

Against cross-site requests (no token needed): a change must come from this site by ``Sec-Fetch-Site``; a browser that
does not send it (plain HTTP under a LAN name) must send our own ``Origin``; with neither, the change is refused.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence
from typing import Final

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from portfolio.errors import SENTENCES, say
from portfolio.flows.upload import ZIP_MAX
from portfolio.web.outside import host_of, is_for_phones

CSP: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
PICTURE_CSP: Final = "sandbox; default-src 'none'"
SMALL_BODY: Final = 1_000_000
"""Bytes a request may bring, unless its route takes files."""
ONE_FILE_MAX: Final = ZIP_MAX + SMALL_BODY
"""Bytes of a request with one file and its fields."""
FORM_MAX: Final = 4_000_000_000
"""Bytes of one plain form with many photos: about 400 of a phone."""
SEND_MAX: Final = 1_500_000_000
"""Bytes of one plain form of a phone: about 150 photos."""
PICTURE_MAX: Final = 100_000_000
"""Bytes of one picture of the camera station."""
LOOK_MAX: Final = 3_000_000
"""Bytes of a small picture of a photo and of how its file begins."""
ROSTER_MAX: Final = 30_000_000
_FILES: Final = (
    (re.compile(r"/add|/helper"), FORM_MAX),
    (re.compile(r"/send/[^/]+"), SEND_MAX),
    (re.compile(r"/(?:add|send/[^/]+)/uploads/[^/]+|/api/batches/\d+/photos"), ONE_FILE_MAX),
    (re.compile(r"/(?:add|send/[^/]+)/uploads/[^/]+/look"), LOOK_MAX),
    (re.compile(r"(?:/api)?/camera/\d+/pictures"), PICTURE_MAX),
    (re.compile(r"/settings/roster|/api/roster"), ROSTER_MAX),
)
"""Routes that take files, and the bytes that they may bring."""
_CAMERA_PAGE: Final = re.compile(r"/camera/\d+")
"""The only page that may open a camera."""
_SAFE_METHODS: Final = frozenset({"GET", "HEAD", "OPTIONS"})
_OURS: Final = frozenset({"same-origin", "none"})


class Guard:
    """ASGI middleware around the whole app. ``on_mistake`` makes the page for our own mistakes: it is sent from here,
    because the framework would send it without these headers and raise the error on, into the log, with its values.
    """

    def __init__(
        self, app: ASGIApp, hosts: Sequence[str], on_mistake: Callable[[Request, Exception], Response]
    ) -> None:
        self.app = app
        self.hosts = frozenset(hosts)
        self.on_mistake = on_mistake

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Refuse what does not belong here; add the headers to every answer."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        begun = False

        async def send_with_headers(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                _add_headers(MutableHeaders(scope=message), scope["path"])
            await send(message)

        headers = Headers(scope=scope)
        outside = host_of(scope)
        if outside is not None and not (outside and is_for_phones(scope["path"])):
            await _refuse(scope, send_with_headers, "photos-only", item="This page", status=403)
        elif _host_name(headers.get("host", "")) not in (self.hosts if outside is None else {outside}):
            await _refuse(scope, send_with_headers, "from-elsewhere", item="This address", status=400)
        elif scope["method"] not in _SAFE_METHODS and not is_from_here(headers, scope["scheme"]):
            await _refuse(scope, send_with_headers, "from-elsewhere", item="This change", status=403)
        elif _is_heavy(headers, scope["path"]):
            await _refuse(scope, send_with_headers, "upload-too-heavy", item="This page", status=413)
        else:
            try:
                await self.app(scope, receive, send_with_headers)
            except Exception as error:  # noqa: BLE001  the last door of the app: our mistake, told without values
                answer = self.on_mistake(Request(scope), error)
                if begun:
                    raise RuntimeError("an answer was cut off") from None
                await answer(scope, receive, send_with_headers)


def _host_name(host: str) -> str:
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0].lower()


def is_from_here(headers: Headers, scheme: str) -> bool:
    """Whether a change was asked for by our own page."""
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site in _OURS
    origin = headers.get("origin")
    return origin is not None and origin == f"{scheme}://{headers.get('host', '')}"


def _add_headers(headers: MutableHeaders, path: str) -> None:
    """A phone's browser in plain Wi-Fi says whose form it sends only where the page may be named."""
    headers.setdefault("Content-Security-Policy", CSP)
    headers["X-Content-Type-Options"] = "nosniff"
    headers["Referrer-Policy"] = "same-origin" if path.startswith("/send/") else "no-referrer"
    headers["Cross-Origin-Opener-Policy"] = "same-origin"
    headers["Cross-Origin-Resource-Policy"] = "same-origin"
    camera = "(self)" if _CAMERA_PAGE.fullmatch(path) else "()"
    headers["Permissions-Policy"] = f"camera={camera}, microphone=(), geolocation=(), payment=()"
    if not path.startswith("/static/"):
        headers.setdefault("Cache-Control", "no-store")


def _is_heavy(headers: Headers, path: str) -> bool:
    """Whether more is announced than the route may take. A body of unknown length is counted as it comes."""
    announced = headers.get("content-length", "0")
    most = next((most for route, most in _FILES if route.fullmatch(path)), SMALL_BODY)
    return announced.isdecimal() and int(announced) > most


async def _refuse(scope: Scope, send: Send, code: str, *, item: str, status: int) -> None:
    """A refusal at the door has no page around it: the request may not even be a browser's."""
    as_json = scope["path"].startswith("/api/")
    text = say(code, item=item)
    body = problem_body(code, text, status) if as_json else text.encode()
    kind = "application/problem+json" if as_json else "text/plain; charset=utf-8"
    headers = [(b"content-type", kind.encode()), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})


def problem_body(code: str, sentence: str, status: int, *, title: str = "") -> bytes:
    """A problem object of RFC 9457 with our code and the teacher's sentence."""
    found = {
        "type": f"urn:portfolio:problem:{code}",
        "title": title or SENTENCES[code].remedy.partition(". ")[0],
        "status": status,
        "detail": sentence,
        "code": code,
    }
    return json.dumps(found, ensure_ascii=False).encode()
