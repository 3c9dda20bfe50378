"""The app on a free port of this computer, as long as a test or a walk through its screens needs it."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn

from portfolio.web.app import create_app
from portfolio.web.desk import Desk
from portfolio.web.listening import bound


@contextmanager
def serving(desk: Desk) -> Iterator[str]:
    """Its address, without a slash at the end."""
    with bound("127.0.0.1", 0) as listening:
        server = uvicorn.Server(uvicorn.Config(create_app(desk), log_level="warning", access_log=False))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.02)
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        server.should_exit = True
        thread.join(10)
