"""A phone in the Wi-Fi sends small pictures first: the questions wait at the computer before any original is there."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest

from portfolio.archive import photos
from portfolio.flows import tickets
from portfolio.reading import BEGINNING_BYTES
from tests.support.browser import Pages, axe_violations
from tests.web.conftest import App, Served
from tests.web.phones import announce, new_ticket, send
from tests.web.phones import phone as phone_of
from tests.web.test_first_look import small


def _until(true: Any, seconds: float = 60) -> None:
    until = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < until
        time.sleep(0.05)


def test_a_phones_photos_are_asked_about_before_they_are_here(app: App, lesson: list[Path]) -> None:
    """With a ticket: looks of all, filed so far while the code stays open, then the originals byte for byte."""
    device = phone_of(app.client.app)
    batch_id, code = new_ticket(app.desk)
    ways = []
    for path in lesson:
        to = announce(device, code, path.stat().st_size, name=path.name).headers["location"]
        files = {"beginning": path.read_bytes()[:BEGINNING_BYTES], "look": small(path)}
        assert device.post(f"{to}/look", files=files).status_code == 201
        ways.append(to)
    assert device.post(f"/send/{code}/looked").status_code == 204

    def filed() -> int:
        with app.room.library.reading() as session:
            return sum(1 for one in photos.photos_of(session, batch_id) if one.state not in ("stored", "problem"))

    _until(lambda: filed() == len(lesson))
    state = device.get(f"/send/{code}/state").json()
    assert state["photos"] == 0, "small pictures are no photos, and the code still holds"
    assert f"{len(lesson)} originals still to come." in app.client.get(f"/add/{batch_id}").text
    for to, path in zip(ways, lesson, strict=True):
        assert send(device, to, path.read_bytes()).status_code == 204
    assert device.get(f"/send/{code}/state").json()["photos"] == len(lesson)
    assert device.post(f"/send/{code}/done").status_code == 200
    _until(lambda: tickets.is_closed(app.room.library, batch_id) and not list(app.room.library.stand_ins.all()))
    with app.room.library.reading() as session:
        kept = {one.file_name: one.sha256 for one in photos.photos_of(session, batch_id)}
    for path in lesson:
        assert app.room.library.originals.path(kept[path.name]).read_bytes() == path.read_bytes()


def test_a_look_for_another_batch_is_refused(app: App, lesson: list[Path]) -> None:
    """A ticket reaches no file of another batch, and its code alone opens the way."""
    device = phone_of(app.client.app)
    other, _ = new_ticket(app.desk)
    _, code = new_ticket(app.desk)
    files = {"beginning": lesson[0].read_bytes()[:BEGINNING_BYTES], "look": small(lesson[0])}
    assert device.post(f"/send/{code}/uploads/{other}-{'a' * 24}/look", files=files).status_code == 404
    assert device.post("/send/WRONG/looked").status_code in (403, 410, 429)


@pytest.mark.browser
def test_the_phones_page_sends_looks_before_originals(served: Served, browser_pages: Pages, lesson: list[Path]) -> None:
    """In a real browser: several photos chosen, their small pictures go first, then all are received, byte for byte."""
    batch_id, code = new_ticket(served.desk)
    asked: list[str] = []
    with browser_pages.opened(f"{served.url}/send/{code}", width=390) as page:
        page.on("request", lambda request: asked.append(f"{request.method} {request.url.rpartition('/')[2]}"))
        page.set_input_files("#pick", [str(path) for path in lesson])
        page.get_by_text("All are received.").first.wait_for(timeout=60_000)
        assert axe_violations(page) == []
    sent = [one for one in asked if one.startswith(("PATCH", "POST look"))]
    looks = [one for one in sent if one == "POST look"]
    large = sum(1 for path in lesson if path.stat().st_size >= 300_000)
    assert len(looks) == large > 1
    first_original = next(at for at, one in enumerate(sent) if one.startswith("PATCH"))
    assert len([one for one in sent[:first_original] if one == "POST look"]) >= large - 1, "small pictures go first"
    assert "POST looked" in sent
    with served.room.library.reading() as session:
        kept = {one.file_name: one.sha256 for one in photos.photos_of(session, batch_id)}
    for path in lesson:
        assert served.room.library.originals.path(kept[path.name]).read_bytes() == path.read_bytes()
    served.desk.tickets.end(batch_id)
    browser_pages.errors.clear()
