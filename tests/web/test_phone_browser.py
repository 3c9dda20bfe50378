"""A phone's page in a real browser, over plain HTTP under a name that is no secure place: with a script and without."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from sqlmodel import select

from portfolio.archive.tables import Photo
from portfolio.web import outside, phone
from tests.support.browser import FLAGS, Pages, barriers_at, chromium_path
from tests.web.conftest import Served
from tests.web.room import FAMILY, GIVEN, painted

pytestmark = pytest.mark.browser

HERE = "127.0.0.2"
NAME = "art-room.test"
"""To a browser a loopback address is a secure place, an address in a Wi-Fi is not; so is a name that it is told."""


@contextmanager
def _phones() -> Iterator[Pages]:
    """A browser to which the name means this computer."""
    from playwright.sync_api import sync_playwright

    flags = (*FLAGS, f"--host-resolver-rules=MAP {NAME} {HERE}")
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=chromium_path(), args=flags)
        try:
            yield Pages(browser)
        finally:
            browser.close()


@pytest.fixture
def named(monkeypatch: pytest.MonkeyPatch) -> None:
    """The socket on the second loopback address counts as the Wi-Fi, and goes by the name."""
    monkeypatch.setattr(phone, "lan_addresses", lambda: (HERE,))
    real = outside.Outside
    monkeypatch.setattr(outside, "Outside", lambda app, _: real(app, NAME))
    monkeypatch.setattr(outside, "LINGER_SECONDS", 60)


def _kept(served: Served, batch_id: int) -> dict[str, bytes]:
    with served.room.library.reading() as session:
        rows = session.exec(select(Photo.file_name, Photo.sha256).where(Photo.batch_id == batch_id)).all()
    return {name: served.room.library.originals.path(sha256).read_bytes() for name, sha256 in rows}


def _photos(folder: Path, seed: int, count: int) -> list[Path]:
    paths = [folder / f"IMG_{seed + place:04}.JPG" for place in range(count)]
    for place, path in enumerate(paths):
        path.write_bytes(painted(seed + place, 320, 240) + os.urandom(200_000))
    return paths


def _looked_at(page: Any) -> None:
    """No barrier and no sideways scroll, in light and dark; the presses are large enough for a thumb."""
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        assert barriers_at(page, (320, 390)) == []
    page.emulate_media(color_scheme="light")
    page.set_viewport_size({"width": 390, "height": 844})
    for press in page.locator("button.press:visible").all():
        assert press.bounding_box()["height"] >= 52


def test_a_phone_sends_photos_by_the_code_on_the_teachers_screen(served: Served, named: None, tmp_path: Path) -> None:
    """The teacher shows a code; the phone chooses photos, leaves the Wi-Fi in the middle and comes back, one photo is
    removed from it meanwhile; without a script a form does it; the teacher sees the count and ends the code, and the
    phone says so.
    """
    paths = _photos(tmp_path, 5000, 4)
    gone, first, second, third = paths
    with _phones() as phones, phones.opened(f"{served.url}/phone", **served.cookies) as desk:
        assert barriers_at(desk, (320, 1280)) == []
        desk.get_by_role("button", name="Show the code").click()
        desk.wait_for_url(re.compile(r"/phone/\d+\?code="))
        for scheme in ("light", "dark"):
            desk.emulate_media(color_scheme=scheme)
            assert barriers_at(desk, (320, 1280)) == []
        batch_id = int(re.search(r"/phone/(\d+)", desk.url)[1])
        address = desk.inner_text(".phone-address").replace("\u200b", "").replace(HERE, NAME)
        with phones.opened(address, width=390) as device:
            assert device.evaluate("isSecureContext") is False
            _looked_at(device)
            _leaves_and_comes_back(device, gone, first)
            device.set_input_files("#take", str(second))
            device.get_by_text("2", exact=True).wait_for()
            device.get_by_text("1 not kept.", exact=True).wait_for()
            _looked_at(device)
            with phones.opened(address, width=390, script=False) as plain:
                plain.set_input_files("#pick", str(third))
                plain.get_by_role("button", name="Send them").click()
                plain.get_by_text("1 photo kept.").wait_for()
                assert not [name for name in (*GIVEN, *FAMILY) if name in plain.content()]
            desk.locator("#phone-state .num", has_text="3").wait_for()
            assert not [name for name in (*GIVEN, *FAMILY) if name in device.content()]
            desk.get_by_role("button", name="End, and file the photos").click()
            device.get_by_role("heading", name="Nothing more can be sent with this code.").wait_for(timeout=20_000)
            assert "it was ended" in device.inner_text("#over")
            assert not device.get_by_role("button", name="Take a photo").is_visible()
            _looked_at(device)
            device.reload()
            assert "This code is over" in device.content()
            _looked_at(device)
    assert _kept(served, batch_id) == {one.name: one.read_bytes() for one in (first, second, third)}


def _leaves_and_comes_back(device: Any, gone: Path, stays: Path) -> None:
    """Both are announced; before their bytes come through there is no network, and one is removed from the phone."""
    held: list[Any] = []

    def hold(route: Any) -> None:
        held.append(route)

    device.route("**/uploads/*", hold)
    device.set_input_files("#pick", [str(gone), str(stays)])
    while len(held) < 2:
        device.wait_for_timeout(20)
    device.context.set_offline(True)
    for route in held:
        route.abort()
    device.unroute("**/uploads/*")
    device.get_by_text("Is this phone still in the Wi-Fi?").first.wait_for(timeout=20_000)
    assert "Keep this page open." in device.inner_text("#lead")
    device.get_by_role("button", name="I am done").click()
    assert "still being sent" in device.inner_text("#not-yet")
    gone.unlink()
    device.context.set_offline(False)
    device.get_by_text("Pick this photo again.").wait_for(timeout=30_000)
    device.locator("#lines > li.here").wait_for(timeout=30_000)
