"""What other devices reach: one more listening socket on this computer's address in the Wi-Fi, over plain HTTP, open
only while an upload ticket is. Behind it nothing answers but the ticket's own routes and files.

It runs in the event loop of the app, so that one file on its way has one sender, whichever socket it comes by.
"""

from __future__ import annotations

import asyncio
import contextlib
import re
import time
from collections.abc import Callable, Iterator
from typing import Final

import uvicorn
from starlette.types import ASGIApp, Receive, Scope, Send

from portfolio.errors import PortfolioError, Refused
from portfolio.web.listening import bound, is_loopback

OUTSIDE: Final = "portfolio.outside"
"""The key of a request's scope that holds the address of the socket in the Wi-Fi by which it came."""
USUAL_PORT: Final = 8766
LINGER_SECONDS: Final = 300
"""So long after a ticket ended its phone is still told so."""
_ROUTES: Final = re.compile(
    r"/send/.*|/static/fonts/[\w.-]+|/static/desk/(tokens\.css|press\.css|add\.css|send\.css|send\.js|sending\.js|first-look\.js|mark\.svg)"
)
_CLOSING_SECONDS: Final = 3
_TICK_SECONDS: Final = 0.05
_AT_ONCE_MAX: Final = 60
"""Requests that are answered at once: a few phones with a few photos each."""


class Outside:
    """The app as the socket in the Wi-Fi sees it: every request is marked with the address it came by."""

    def __init__(self, app: ASGIApp, host: str) -> None:
        self.app = app
        self.host = host

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand the request on, marked. Nothing but requests comes in here."""
        if scope["type"] == "http":
            await self.app({**scope, OUTSIDE: self.host}, receive, send)


def host_of(scope: Scope) -> str | None:
    """The address in the Wi-Fi by which a request came; ``None`` when it came from this computer or encrypted.

    What came neither way has an address at which nothing answers.
    """
    marked: str | None = scope.get(OUTSIDE)
    if marked is not None:
        return marked
    here = scope.get("server")
    is_private = scope["scheme"] == "https" or (here is not None and is_loopback(str(here[0])))
    return None if is_private else ""


def is_for_phones(path: str) -> bool:
    """Whether other devices may ask for this path over plain HTTP."""
    return _ROUTES.fullmatch(path) is not None


class _Listener(uvicorn.Server):
    """A server beside the app's own, which alone hears Ctrl+C."""

    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        """Leave the signals where they are."""
        yield


class PhoneDoor:
    """Opens and closes the socket in the Wi-Fi. ``host``: where it is, "192.168.1.20:8766"; empty when closed."""

    def __init__(self) -> None:
        self.host = ""
        self._listener: _Listener | None = None
        self._tasks: list[asyncio.Task[None]] = []

    async def open(self, app: ASGIApp, address: str, *, is_needed: Callable[[], bool]) -> None:
        """Listen on an address of this computer until nobody needs it any more, asked every second, and some minutes
        longer, so that a phone is told. Refuses an address that is not there.
        """
        if self.host.partition(":")[0] == address:
            return
        await self.close()
        try:
            listening = bound(address, None, usual=USUAL_PORT)
        except (OSError, PortfolioError) as error:
            raise Refused("no-network", item="This computer") from error
        config = uvicorn.Config(
            Outside(app, address),
            lifespan="off",
            ws="none",
            log_level="warning",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            limit_concurrency=_AT_ONCE_MAX,
            timeout_graceful_shutdown=_CLOSING_SECONDS,
        )
        listener = self._listener = _Listener(config)
        self.host = f"{address}:{listening.getsockname()[1]}"
        serving = asyncio.create_task(listener.serve(sockets=[listening]))
        self._tasks = [serving, asyncio.create_task(self._watch(listener, is_needed))]
        while not (listener.started or serving.done()):
            await asyncio.sleep(_TICK_SECONDS)

    async def _watch(self, listener: _Listener, is_needed: Callable[[], bool]) -> None:
        needed = asked = time.monotonic()
        while not listener.should_exit and time.monotonic() - needed < LINGER_SECONDS:
            await asyncio.sleep(_TICK_SECONDS)
            if time.monotonic() - asked >= 1:
                asked = time.monotonic()
                needed = asked if await asyncio.to_thread(is_needed) else needed
        listener.should_exit = True
        self.host = ""

    async def close(self) -> None:
        """Close it now; safe when it is closed."""
        if self._listener is not None:
            self._listener.should_exit = True
        while not all(task.done() for task in self._tasks):
            await asyncio.sleep(_TICK_SECONDS)
        self._listener, self._tasks, self.host = None, [], ""
