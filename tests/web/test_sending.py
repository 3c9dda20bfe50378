"""Sending photos from a page in a real browser: over a bad network, in words that say what is still to come."""

from __future__ import annotations

import os
import re
import time
from pathlib import Path
from typing import Any

import pytest
from sqlmodel import select

from portfolio.archive.tables import Photo
from tests.support.browser import Pages, axe_violations, sideways_scroll_px
from tests.support.cutting import cutting
from tests.web.conftest import Served
from tests.web.room import painted

pytestmark = pytest.mark.browser

PHOTOS = 6
WARNS = "!dispatchEvent(new Event('beforeunload', { cancelable: true }))"


def _photos(folder: Path, seed: int, count: int = PHOTOS) -> list[Path]:
    """Small pictures with 600 kB of random bytes behind their end."""
    paths = [folder / f"IMG_{seed + place:04}.JPG" for place in range(count)]
    for place, path in enumerate(paths):
        path.write_bytes(painted(seed + place, 320, 240) + os.urandom(600_000))
    return paths


def _kept(served: Served, batch_id: int) -> dict[str, bytes]:
    with served.room.library.reading() as session:
        rows = session.exec(select(Photo.file_name, Photo.sha256).where(Photo.batch_id == batch_id)).all()
    return {name: served.room.library.originals.path(sha256).read_bytes() for name, sha256 in rows}


def test_photos_come_whole_over_connections_that_break(served: Served, browser_pages: Pages, tmp_path: Path) -> None:
    """Every connection is cut after some hundred kB: each photo arrives, and the page said what was still to come,
    that it must stay open, and warned before it was left.
    """
    paths = _photos(tmp_path, 100)
    port = int(served.url.rpartition(":")[2])
    with (
        cutting(port, least=100_000, most=900_000, seed=3) as cutter,
        browser_pages.opened(f"http://127.0.0.1:{cutter.port}/add", width=390, **served.cookies) as page,
    ):
        many = [{"name": f"{at}.jpg", "mimeType": "image/jpeg", "buffer": b"x"} for at in range(1001)]
        page.set_input_files("#photos", many)
        assert "1001 photos are more than can be added at once (1000)" in page.inner_text("#not-taken")
        assert axe_violations(page) == []
        assert page.evaluate(WARNS) is False, "nothing is being sent"
        page.set_input_files("#photos", [str(path) for path in paths])
        page.get_by_text("Keep this page open.").wait_for()
        assert re.search(r"\d+ originals? still to come|No answer", page.inner_text("#sending"))
        assert page.evaluate(WARNS) is True
        page.wait_for_url(re.compile(r"/add/\d+$"), timeout=60_000)
        batch_id = int(page.url.rpartition("/")[2])
        assert cutter.cuts > PHOTOS // 2
    assert _kept(served, batch_id) == {path.name: path.read_bytes() for path in paths}
    while served.desk.reader.is_busy(batch_id):
        time.sleep(0.05)
    with browser_pages.opened(f"{served.url}/add", **served.cookies) as page:
        empty = tmp_path / "lesson.zip"
        empty.write_bytes(b"PK but no zip file")
        page.set_input_files("#photos", [str(paths[0]), str(empty)])
        page.get_by_text("1 is not kept.").wait_for(timeout=30_000)
        assert "Came before" in page.locator("#lines > li", has_text=paths[0].name).inner_text()
    browser_pages.errors.clear()


def test_offline_is_waited_out_and_a_photo_that_is_gone_is_said(
    served: Served, browser_pages: Pages, tmp_path: Path
) -> None:
    """Without a network it waits and says so; one photo is removed from its device meanwhile: that one is to be picked
    again, the other arrives.
    """
    stays, goes = _photos(tmp_path, 200, 2)
    with browser_pages.opened(f"{served.url}/add", width=390, **served.cookies) as page:
        held: list[Any] = []

        def hold(route: Any) -> None:
            held.append(route)

        page.route("**/add/uploads/*", hold)
        page.set_input_files("#photos", [str(stays), str(goes)])
        page.locator("#lines > li").nth(1).wait_for()
        while len(held) < 2:
            page.wait_for_timeout(20)
        page.context.set_offline(True)
        for route in held:
            route.abort()
        page.unroute("**/add/uploads/*")
        torn: list[str] = []

        def tear(route: Any) -> None:
            if route.request.method == "GET" and not torn:
                torn.append(route.request.url)
                route.fulfill(status=200, content_type="application/json", body='{"whole": tr')
            else:
                route.continue_()

        page.route("**/add/uploads/*", tear)
        page.get_by_text("Offline. It goes on by itself").first.wait_for(timeout=20_000)
        assert "Keep this page open." in page.inner_text("#sending")
        assert axe_violations(page) == []
        assert sideways_scroll_px(page) == 0
        goes.unlink()
        page.context.set_offline(False)
        page.get_by_text("1 is not kept.").wait_for(timeout=30_000)
        assert "Pick this photo again." in page.locator("#lines > li", has_text=goes.name).inner_text()
        assert "Kept" in page.locator("#lines > li", has_text=stays.name).inner_text()
        assert torn, "an answer that was cut off in its middle was asked for again"
        assert axe_violations(page) == []
        batch_id = int(page.get_by_role("link", name="See the batch").get_attribute("href").rpartition("/")[2])
    assert _kept(served, batch_id) == {stays.name: stays.read_bytes()}
    browser_pages.errors.clear()


def test_a_lid_that_was_closed_in_the_middle_is_gone_on_with(
    served: Served, browser_pages: Pages, tmp_path: Path
) -> None:
    """The lid closes while photos are sent: the page stands still as a sleeping computer's does, its connections are
    gone. Opened again it goes on by itself, and every photo is kept.
    """
    paths = _photos(tmp_path, 300, 3)
    with browser_pages.opened(f"{served.url}/add", **served.cookies) as page:
        held: list[Any] = []

        def hold(route: Any) -> None:
            if route.request.method == "PATCH":
                held.append(route)
            else:
                route.continue_()

        page.route("**/add/uploads/*", hold)
        page.set_input_files("#photos", [str(path) for path in paths])
        while len(held) < 2:
            page.wait_for_timeout(20)
        cdp = page.context.new_cdp_session(page)
        cdp.send("Page.setWebLifecycleState", {"state": "frozen"})
        for route in held:
            route.abort()
        page.unroute("**/add/uploads/*")
        time.sleep(0.5)
        cdp.send("Page.setWebLifecycleState", {"state": "active"})
        page.wait_for_url(re.compile(r"/add/\d+$"), timeout=60_000)
        batch_id = int(page.url.rpartition("/")[2])
    assert _kept(served, batch_id) == {path.name: path.read_bytes() for path in paths}
    browser_pages.errors.clear()


def test_photos_are_read_before_their_originals_are_here(
    served: Served, browser_pages: Pages, lesson: list[Path]
) -> None:
    """From another device small pictures go ahead: while no byte of an original could be sent, the batch is filed in
    another tab and its question waits; then the originals follow, and the same works stand on the wall.
    """
    with browser_pages.opened(f"{served.url}/add", width=390, **served.cookies) as page:
        held: list[Any] = []
        passes: list[bool] = []

        def hold(route: Any) -> None:
            if route.request.method == "PATCH" and not passes:
                held.append(route)
            else:
                route.continue_()

        page.route("**/add/uploads/*", hold)
        page.evaluate("document.querySelector('#add').dataset.looksFirst = ''")
        page.set_input_files("#photos", [str(path) for path in lesson])
        page.locator("#looks", has_text="All photos can be read now").wait_for(timeout=60_000)
        assert axe_violations(page) == []
        assert sideways_scroll_px(page) == 0
        with page.expect_popup() as opened:
            page.get_by_role("link", name="See the batch and answer its questions").click()
        batch = opened.value
        batch.get_by_text("originals still to come.").wait_for()
        batch.locator("#batch:not([hx-get])").wait_for(timeout=60_000)
        assert "of 4 filed" in batch.inner_text("#batch")
        assert "Keep this page open." in page.inner_text("#sending")
        passes.append(True)
        for route in held:
            route.continue_()
        page.wait_for_url(re.compile(r"/add/\d+$"), timeout=60_000)
        batch_id = int(page.url.rpartition("/")[2])
        page.locator("#batch:not([hx-get])").wait_for(timeout=60_000)
        page.reload()
        assert "Safe to close." in page.inner_text("#batch")
    assert _kept(served, batch_id) == {path.name: path.read_bytes() for path in lesson}
    browser_pages.errors.clear()
