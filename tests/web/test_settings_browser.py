"""The pages of Settings: in a new library, and in a real browser without a barrier, with and without what is wrong."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from portfolio.archive.library import Library
from portfolio.flows import sign_in
from portfolio.web.app import create_app
from portfolio.web.run import open_desk
from portfolio.web.settings_frame import pages
from portfolio.web.sign_in import COOKIE
from tests.support.browser import Pages, axe_violations, sideways_scroll_px
from tests.web.conftest import OURS, Served
from tests.web.room import TODAY

PAGES = [chip.value for chip in pages("")]
ELSEWHERE = {"/settings", "/settings/devices", "/settings/people"}
"""Pages that other tests look at."""


def test_every_page_opens_in_a_new_library(tmp_path: Path) -> None:
    """Nothing is there yet: each page says so, or offers to begin; the first year can be made from there."""
    with Library.create(tmp_path / "new") as library:
        desk = open_desk(library, today=TODAY)
        with TestClient(create_app(desk), base_url="http://127.0.0.1", headers=OURS) as client:
            client.cookies.set(COOKIE, sign_in.open_demo(library).secret)
            said = {path: client.get(path) for path in PAGES}
            assert {path: one.status_code for path, one in said.items()} == dict.fromkeys(PAGES, 200)
            for path in ("/settings/timetable", "/settings/days"):
                assert "No school year yet." in said[path].text
            assert "No classes yet." in said["/settings/releases"].text
            fields = dict(re.findall(r'name="(new_\w+)"[^>]*value="([^"]*)"', said["/settings/year"].text))
            made = client.post("/settings/year/new", data=fields)
            assert "Kept: Made a school year." in made.text
            assert "School year 2026–27" in made.text


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_barrier_on_the_pages_of_settings(served: Served, browser_pages: Pages, scheme: str) -> None:
    """axe finds nothing and nothing scrolls sideways, also at 320 px and with words beside fields."""
    browser_pages.errors.clear()
    wrong = {
        "/settings/year": "#cycle_days",
        "/settings/media?open=2": "#label-2",
        f"/settings/timetable?class_id={served.room.classes['3B']}": "#lesson-0-day",
        f"/settings/releases?class_id={served.room.classes['3B']}": "#numbers",
    }
    seen_there = {path.partition("?")[0] for path in wrong} | ELSEWHERE
    whole = [path for path in PAGES if path not in seen_there] if scheme == "light" else []
    width = 320 if scheme == "light" else 1280
    with browser_pages.opened(f"{served.url}/more", width=width, scheme=scheme, **served.cookies) as page:
        for path in [*whole, *wrong]:
            page.goto(served.url + path)
            if path in wrong:
                page.fill(wrong[path], "")
                page.evaluate("document.querySelectorAll('[required]').forEach((one) => { one.required = false; })")
                with page.expect_navigation():
                    page.press(wrong[path], "Enter")
                assert page.evaluate("document.activeElement.matches('[aria-invalid]')"), "the first that does not fit"
            assert axe_violations(page) == [], path
            assert sideways_scroll_px(page) == 0, path
    assert [line for line in browser_pages.errors if "422" not in line and not line.startswith("failed:")] == []


@pytest.mark.browser
def test_a_backup_is_watched_until_it_is_done(served: Served, browser_pages: Pages, tmp_path: Path) -> None:
    """The page follows the backup by itself; a kept step is taken back by keyboard."""
    with browser_pages.opened(f"{served.url}/settings/backup", **served.cookies) as page:
        page.fill("#folder", str(tmp_path / "stick"))
        page.get_by_role("button", name="Back up now").click()
        page.get_by_text("The backup is done and checked.").wait_for(timeout=20_000)
        assert page.locator("#backup-state[hx-get]").count() == 0
        page.goto(f"{served.url}/settings/media?open=5")
        page.get_by_role("button", name="Retire it").click()
        page.get_by_text("Kept: Retired a medium.").wait_for()
        page.locator(".kept-line button").press("Enter")
        page.get_by_text("Taken back: retired a medium.").wait_for()
    assert (tmp_path / "stick/manifest-sha256.txt").is_file()
