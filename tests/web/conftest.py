"""The small art room, opened as an app: once for looking, and fresh for tests that change it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from portfolio.flows import sign_in
from portfolio.web.app import create_app
from portfolio.web.desk import Desk
from portfolio.web.run import open_desk
from portfolio.web.sign_in import COOKIE
from tests.support.browser import browser_pages
from tests.support.serving import serving
from tests.web.lesson import photograph_lesson
from tests.web.room import TODAY, Room, open_room

__all__ = ["browser_pages"]

OURS = {"Origin": "http://127.0.0.1"}
PASSWORD = "four odd violet goats"


@dataclass
class App:
    """A running app without a port: the room, the desk, a signed-in client and one that is not."""

    room: Room
    desk: Desk
    client: TestClient
    stranger: TestClient


@pytest.fixture(scope="module")
def app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[App]:
    """The small art room with the teacher signed in; shared by the tests of one file."""
    with open_room(tmp_path_factory.mktemp("room")) as room:
        desk = open_desk(room.library, today=TODAY)
        asgi = create_app(desk)
        with (
            TestClient(asgi, base_url="http://127.0.0.1", headers=OURS, client=("127.0.0.1", 5)) as client,
            TestClient(
                asgi, base_url="http://127.0.0.1", headers=OURS, client=("127.0.0.1", 6), follow_redirects=False
            ) as stranger,
        ):
            client.cookies.set(COOKIE, sign_in.open_demo(room.library).secret)
            yield App(room, desk, client, stranger)


@pytest.fixture(scope="session")
def lesson(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The photos of one simulated lesson."""
    return photograph_lesson(tmp_path_factory.mktemp("lesson"))


@dataclass
class Served:
    """The app on a port of this computer, with the secret of a signed-in browser."""

    url: str
    secret: str
    room: Room
    desk: Desk

    @property
    def cookies(self) -> dict[str, object]:
        """For a browser's context."""
        cookie = {"name": COOKIE, "value": self.secret, "domain": "127.0.0.1", "path": "/"}
        kind = {"expires": -1, "httpOnly": True, "secure": False, "sameSite": "Lax"}
        return {"storage_state": {"cookies": [{**cookie, **kind}], "origins": []}}


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """The small art room served on a free port."""
    with open_room(tmp_path_factory.mktemp("served")) as room:
        desk = open_desk(room.library, today=TODAY)
        with serving(desk) as url:
            opened = sign_in.set_up(room.library, sign_in.new_setup_code(room.library), password=PASSWORD)
            yield Served(url, opened.secret, room, desk)
