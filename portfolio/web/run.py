"""Run the app: one process, this computer only, its library locked while it is open."""

from __future__ import annotations

import gc
import threading
import webbrowser
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Final

import uvicorn

from portfolio.archive.library import Library
from portfolio.errors import Refused
from portfolio.flows import arriving, sign_in
from portfolio.flows.find import count_ahead
from portfolio.flows.indexing import Words
from portfolio.web.app import LOOPBACK_HOSTS, create_app
from portfolio.web.desk import Desk
from portfolio.web.listening import bound, is_loopback
from portfolio.web.reader import guarded
from portfolio.web.reading_batches import PhotoWorkers, reader_for
from portfolio.web.roster_shelf import RosterShelf

USUAL_PORT: Final = 8765
_CLOSING_SECONDS: Final = 10
COLLECT_AFTER: Final = (10_000, 20, 20)
"""When the garbage collector looks again: new objects of the youngest, rounds of the next two ages. By its usual
numbers (700, 10, 10) it looked some ten times at each page, and one answer in 25 waited 14 to 40 ms for a look at
everything (20,000 works, 2026-11-26).
"""


def serve(
    folder: Path,
    *,
    host: str = "127.0.0.1",
    port: int | None = None,
    open_browser: bool = True,
    demo: bool = False,
    today: date | None = None,
    alongside: Callable[[Desk], object] | None = None,
    say: Callable[[str], object] = print,
) -> None:
    """Open the library in ``folder`` and serve it until Ctrl+C.

    ``port``: ``None`` takes the usual one, or a free one when that is taken; 0 takes a free one.
    ``demo`` signs the visitor in by a one-time link: nobody should have to choose a password for an invented school.
    ``today`` lets the invented school stand on a day of its own year. ``alongside`` runs in a thread of its own once
    the app is open (the invented school fills itself there).
    Refuses an address that other devices could reach.
    """
    if not is_loopback(host):
        raise Refused("only-this-computer", item="This address")
    with Library.open(folder) as library, bound(host, port, usual=USUAL_PORT) as listening:
        desk = open_desk(library, demo=demo, today=today)
        address = f"http://{_in_url(host)}:{listening.getsockname()[1]}/"
        arriving.recover(library)
        desk.reader.start_unfinished()
        threading.Thread(target=warm_up, args=(desk,), daemon=True, name="words").start()
        first = _first_words(desk, address, say)
        config = uvicorn.Config(
            create_app(desk, hosts=LOOPBACK_HOSTS),
            log_level="warning",
            access_log=False,
            server_header=False,
            proxy_headers=False,
            timeout_graceful_shutdown=_CLOSING_SECONDS,
        )
        if open_browser:
            threading.Timer(0.6, webbrowser.open, [first]).start()
        if alongside is not None:
            threading.Thread(target=alongside, args=(desk,), daemon=True, name="alongside").start()
        uvicorn.Server(config).run(sockets=[listening])


def warm_up(desk: Desk) -> None:
    """Open the index of words and count the works, so that the first Find is quick too. What is loaded by then stays
    for good, so the garbage collector need not look at it again (a whole look paused an answer for 0.2 s, measured
    2026-11-25). Should this stop, the first Find does it.
    """
    guarded(desk.words.catch_up, "the index of words")
    guarded(lambda: count_ahead(desk.library), "the count of works")
    gc.collect()
    gc.freeze()
    gc.set_threshold(*COLLECT_AFTER)


def open_desk(library: Library, *, demo: bool = False, today: date | None = None) -> Desk:
    """Everything that lives as long as the app over an open library."""
    words, workers = Words(library), PhotoWorkers(library)
    return Desk(
        library=library,
        words=words,
        reader=reader_for(library, workers),
        workers=workers,
        rosters=RosterShelf(),
        today=(lambda: today) if today else date.today,
        demo=demo,
    )


def _in_url(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def _first_words(desk: Desk, address: str, say: Callable[[str], object]) -> str:
    """Say where the app is and how to get in; gives the address to open first."""
    say(f"Portfolio is open at {address}   Ctrl+C closes it.")
    if desk.demo:
        say("It opens in your browser by itself, signed in once. The school and everyone in it are invented.")
        link = f"{address}enter/{desk.links.new()}"
        say(f"If no browser opens: {link}")
        return link
    if not sign_in.has_teacher(desk.library):
        say(f"Set-up code: {sign_in.new_setup_code(desk.library)}   (once, within 30 minutes, on this computer)")
    return address
