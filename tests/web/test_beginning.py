"""A new library: Today leads from one step to the next until the first work is filed; empty screens lead there too."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from portfolio.archive.library import Library
from portfolio.flows import sign_in
from portfolio.web.app import create_app
from portfolio.web.run import open_desk
from portfolio.web.sign_in import COOKIE
from tests.support.browser import Pages, axe_violations, sideways_scroll_px
from tests.support.serving import serving
from tests.web.conftest import OURS, App
from tests.web.room import TODAY

ROSTER = b"Class,Number,First name,Last name\n3C,1,Aino,Korhonen\n3C,2,Tomasz,Wisniewski\n"


@pytest.fixture
def new(tmp_path: Path) -> Iterator[TestClient]:
    """A library as ``portfolio init`` makes it, with the teacher signed in."""
    with Library.create(tmp_path / "new") as library:
        desk = open_desk(library, today=TODAY)
        with TestClient(create_app(desk), base_url="http://127.0.0.1", headers=OURS) as client:
            client.cookies.set(COOKIE, sign_in.open_demo(library).secret)
            yield client


def test_today_leads_step_by_step(new: TestClient) -> None:
    """The roster is the main press; once it is in, the step is done and the timetable is next."""
    first = new.get("/").text
    assert re.findall(r'<a class="press main" href="([^"]+)"', first) == ["/settings#roster"]
    assert "Nothing to check" not in first
    assert "(done)" not in first
    shown = new.post("/settings/roster", files={"file": ("r.csv", ROSTER)}, data={"year": "2026-27"}).text
    token = re.findall(r'name="token" value="([^"]+)"', shown)[0]
    assert new.post("/settings/roster/apply", data={"token": token}).status_code == 200
    second = new.get("/").text
    assert re.findall(r'<a class="press main" href="([^"]+)"', second) == ["/settings/timetable"]
    assert second.count("(done)") == 1
    assert "1 class is in, with a number for every child." in second


@pytest.mark.parametrize("path", ["/students", "/classes", "/reports"])
def test_empty_screens_lead_to_the_roster(new: TestClient, path: str) -> None:
    """An empty screen has a press that goes where it is filled."""
    assert '<a class="press' in new.get(path).text.partition("Import a roster</a>")[0]


def test_a_filled_room_does_not_begin(app: App) -> None:
    """With works filed the steps are gone and the photos are the main press again."""
    page = app.client.get("/").text
    assert "Before the first lesson" not in page
    assert 'class="press main" href="/add"' in page


def test_a_day_without_lessons_says_the_next_one(app: App) -> None:
    """On a weekend the next lesson is named with its class, day and bell."""
    day = app.desk.today()
    saturday = day.replace(day=day.day + (5 - day.weekday()))
    app.desk.today = lambda: saturday
    try:
        page = app.client.get("/").text
    finally:
        app.desk.today = lambda: day
    assert re.search(r"No school today\. Next: \w+ on Monday, October 12 at \d+:\d\d\.", page)


def test_the_invented_school_shows_its_first_work_by_itself(tmp_path: Path, app: App) -> None:
    """While it fills, Today has one sentence instead of steps; a page without works is shown anew once there is one."""
    with Library.create(tmp_path / "new") as library:
        desk = open_desk(library, today=TODAY)
        desk.tell_filling("Photos are taken in", 0, 30)
        with TestClient(create_app(desk), base_url="http://127.0.0.1", headers=OURS) as client:
            client.cookies.set(COOKIE, sign_in.open_demo(library).secret)
            page = client.get("/").text
            assert "Photos are taken in: 0 of 30." in page
            assert 'hx-get="/filling?first=1"' in page
            assert "Import a roster" not in page
            assert "HX-Refresh" not in client.get("/filling?first=1").headers
    assert app.client.get("/filling?first=1").headers["HX-Refresh"] == "true"
    assert "HX-Refresh" not in app.client.get("/filling").headers


@pytest.mark.browser
def test_no_barrier_on_the_first_steps(tmp_path: Path, browser_pages: Pages) -> None:
    """axe finds nothing on an empty Today, and nothing scrolls sideways at 320 px."""
    with Library.create(tmp_path / "new") as library:
        desk = open_desk(library, today=TODAY)
        secret = sign_in.open_demo(library).secret
        with serving(desk) as url:
            state = {"storage_state": {"cookies": [{"name": COOKIE, "value": secret, "url": url}]}}
            with browser_pages.opened(url, width=320, **state) as page:
                assert page.get_by_role("link", name="Import a roster").count() == 1
                assert axe_violations(page) == []
                assert sideways_scroll_px(page) <= 0
