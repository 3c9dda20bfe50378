"""The ways in which photos come into Add photos in a real browser, and what the page says when it cannot go on."""

from __future__ import annotations

import os
import re
from base64 import b64encode
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlmodel import select

from portfolio.archive.tables import Photo
from tests.support.browser import Pages, axe_violations
from tests.web.conftest import PASSWORD, App, Served
from tests.web.room import painted

pytestmark = pytest.mark.browser

ADDED = re.compile(r"/add/\d+$")
HEAVY_BYTES = 3_000_000_000
_PASTE = """([name, bytes]) => {
  const file = new File([Uint8Array.from(atob(bytes), (one) => one.charCodeAt(0))], name, { type: "image/jpeg" });
  const clipboardData = new DataTransfer();
  clipboardData.items.add(file);
  document.activeElement.dispatchEvent(new ClipboardEvent("paste", { clipboardData, bubbles: true }));
}"""


def _kept(served: Served, page: Any) -> set[str]:
    """Names of the photos of the batch whose page is open, once it is."""
    page.wait_for_url(ADDED, timeout=30_000)
    return set(_files(served, int(page.url.rpartition("/")[2])))


def _files(served: Served, batch_id: int) -> dict[str, bytes]:
    with served.room.library.reading() as session:
        rows = session.exec(select(Photo.file_name, Photo.sha256).where(Photo.batch_id == batch_id)).all()
    return {name: served.room.library.originals.path(sha256).read_bytes() for name, sha256 in rows}


def _photos(folder: Path, seed: int, count: int) -> list[Path]:
    folder.mkdir(parents=True, exist_ok=True)
    paths = [folder / f"IMG_{seed + place:04}.JPG" for place in range(count)]
    for place, path in enumerate(paths):
        path.write_bytes(painted(seed + place, 96, 72) + os.urandom(300_000))
    return paths


def _drop(page: Any, paths: list[Path], *, at: tuple[float, float]) -> None:
    """Files and folders of the disk let go over the page, by the browser's own way."""
    cdp = page.context.new_cdp_session(page)
    data = {"items": [], "files": [str(path) for path in paths], "dragOperationsMask": 1}
    for kind in ("dragEnter", "dragOver", "drop"):
        cdp.send("Input.dispatchDragEvent", {"type": kind, "x": at[0], "y": at[1], "data": data})


def test_photos_come_by_dropping_a_folder_by_choosing_one_and_by_pasting(
    served: Served, browser_pages: Pages, tmp_path: Path
) -> None:
    """A folder in a folder is searched, what is no photo stays where it is; a drop beside the place counts too, for the
    browser would leave the page for it; a picture that was copied is pasted.
    """
    upper, lower = _photos(tmp_path / "stack", 6000, 2), _photos(tmp_path / "stack" / "more", 6010, 1)
    (tmp_path / "stack" / "list.txt").write_text("not a photo", encoding="utf-8")
    chosen = _photos(tmp_path / "chosen" / "deep", 6020, 2)
    names = {path.name for path in (*upper, *lower)}
    with browser_pages.opened(f"{served.url}/add", **served.cookies) as page:
        box = page.locator("#drop").bounding_box()
        _drop(page, [tmp_path / "stack"], at=(box["x"] + 50, box["y"] + 20))
        assert _kept(served, page) == names
        page.goto(f"{served.url}/add")
        _drop(page, [upper[0]], at=(box["x"] + 50, 20))
        page.wait_for_url(ADDED, timeout=30_000)
        page.goto(f"{served.url}/add")
        with page.expect_file_chooser() as asked:
            page.get_by_role("button", name="Choose a folder").click()
        asked.value.set_files(str(tmp_path / "chosen"))
        assert _kept(served, page) == {path.name for path in chosen}
        page.goto(f"{served.url}/add")
        page.evaluate(_PASTE, ["copied.jpg", b64encode(painted(6030, 96, 72)).decode()])
        assert _kept(served, page) == {"copied.jpg"}
        page.goto(f"{served.url}/add")
        _drop(page, [tmp_path / "stack" / "list.txt"], at=(box["x"] + 50, box["y"] + 20))
        page.get_by_text("Among these is no photo.").wait_for()
    browser_pages.errors.clear()


def test_what_is_wrong_in_the_fields_is_told_and_they_stay(
    served: Served, browser_pages: Pages, tmp_path: Path
) -> None:
    """ "No cards" without a class: the sentence of the library, the fields as they were, and the photos go in then."""
    (photo,) = _photos(tmp_path, 6100, 1)
    with browser_pages.opened(f"{served.url}/add", **served.cookies) as page:
        page.click("summary")
        page.check("[name=by_order]")
        page.set_input_files("#photos", str(photo))
        page.locator("#not-taken", has_text="Then choose the photos once more.").wait_for()
        assert "class" in page.inner_text("#not-taken")
        assert page.is_checked("[name=by_order]")
        assert not page.locator("#sending").is_visible()
        assert axe_violations(page) == []
        page.select_option("#class", label="3B")
        page.set_input_files("#photos", str(photo))
        assert _kept(served, page) == {photo.name}
    browser_pages.errors.clear()


def _sign_in_beside(served: Served, context: Any) -> Any:
    """Sign in in another tab of the same browser; gives its cookies."""
    tab = context.new_page()
    tab.goto(f"{served.url}/sign-in")
    tab.fill("#password", PASSWORD)
    tab.keyboard.press("Enter")
    tab.wait_for_url(f"{served.url}/")
    tab.close()
    return context.cookies()


def test_a_session_that_ended_is_said_and_waited_out(served: Served, browser_pages: Pages, tmp_path: Path) -> None:
    """Signed out before the photos were chosen, again in the middle, and at the end: the page says so each time; after
    a sign-in elsewhere it goes on by itself, and every photo is kept.
    """
    paths = _photos(tmp_path, 6200, 3)
    with browser_pages.opened(f"{served.url}/add", **served.cookies) as page:
        context = page.context
        said = page.locator("#keep-words", has_text="You were signed out. Sign in again in another tab")

        def sign_out_at(wanted: str, at: str) -> Callable[[], None]:
            """From now on this is held back; called, what came is let through without a session."""
            held: list[Any] = []
            page.route(at, lambda one: held.append(one) if one.request.method == wanted else one.continue_())

            def let_through() -> None:
                while not held:
                    page.wait_for_timeout(20)
                context.clear_cookies()
                for route in held:
                    route.continue_()
                page.unroute(at)

            return let_through

        context.clear_cookies()
        page.set_input_files("#photos", [str(path) for path in paths])
        said.wait_for()
        assert "Keep this page open." in page.inner_text("#sending")
        page.on("dialog", lambda asked: asked.accept())
        assert axe_violations(page) == []
        in_the_middle = sign_out_at("PATCH", "**/add/uploads/*")
        cookies = _sign_in_beside(served, context)
        in_the_middle()
        said.wait_for(timeout=20_000)
        at_the_end = sign_out_at("POST", "**/close")
        context.add_cookies(cookies)
        at_the_end()
        said.wait_for(timeout=30_000)
        context.add_cookies(cookies)
        page.wait_for_url(ADDED, timeout=30_000)
        batch_id = int(page.url.rpartition("/")[2])
        page.locator("#batch:not([hx-get])").wait_for(timeout=60_000)
        assert "Every photo is kept as it was taken." in page.inner_text("#batch")
    assert _files(served, batch_id) == {path.name: path.read_bytes() for path in paths}
    browser_pages.errors.clear()


def test_a_file_of_three_gigabytes_stays_where_it_is(served: Served, browser_pages: Pages, tmp_path: Path) -> None:
    """Not a byte of it is sent; the photos beside it are kept, and the page says which file was left and why."""
    (photo,) = _photos(tmp_path, 6300, 1)
    heavy = tmp_path / "IMG_6399.JPG"
    with heavy.open("wb") as out:
        out.truncate(HEAVY_BYTES)
    sent: list[str] = []
    with browser_pages.opened(f"{served.url}/add", **served.cookies) as page:
        page.on("request", lambda one: sent.append(one.method) if "/add/uploads" in one.url else None)
        page.set_input_files("#photos", [str(heavy), str(photo)])
        page.get_by_text("1 is not kept.").wait_for(timeout=30_000)
        lines = {line.split("\n")[0]: line for line in page.locator("#lines > li").all_inner_texts()}
        assert "it was left where it is" in lines[heavy.name]
        assert "Kept" in lines[photo.name]
        assert sent.count("POST") == sent.count("PATCH") == 1
    browser_pages.errors.clear()


def test_a_batch_that_cannot_begin_is_refused_for_a_script(app: App) -> None:
    """In a form that a script reads; closing answers a script plainly, and a plain form with the way to the report."""
    refused = app.client.post("/add/batches", data={"by_order": "1"})
    assert (refused.status_code, refused.json()["code"]) == (422, "bad-request")
    batch = app.client.post("/add/batches", data={}).json()["batch"]
    closed = app.client.post(f"/add/{batch}/close", headers={"Accept": "application/json"}, follow_redirects=False)
    assert (closed.status_code, closed.json()) == (200, {"batch": batch})
    assert app.client.post(f"/add/{batch}/close", follow_redirects=False).status_code == 303
