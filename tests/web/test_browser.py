"""The app in a real browser: the teacher's day by mouse and keyboard, and no barrier on any screen."""

from __future__ import annotations

import json
import re
import zipfile
from pathlib import Path
from typing import Any

import pytest

from tests.support.browser import AXE, AXE_RULES, Pages, axe_violations, sideways_scroll_px
from tests.web.conftest import PASSWORD, Served
from tests.web.lesson import HALF

pytestmark = pytest.mark.browser

WIDTHS = (320, 768, 1280)
SMALLEST_TARGET_PX = 44
TARGETS = "a.press, button.press, .chip, .drawer, input:not([type=hidden]):not(.heard):not([type=file]), select, .stand"


def _screens(served: Served) -> list[str]:
    room = served.room
    return [
        "/", "/more", "/add", "/check", "/find", "/find?words=wind&grade=3", "/students",
        f"/students/{room.students[0]}", "/classes", f"/classes/{room.classes['3B']}",
        f"/classes/{room.classes['3C']}", f"/works/{room.works[9]}", "/shows", "/reports", "/settings", "/works/999999",
    ]  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_barrier_on_any_screen(served: Served, browser_pages: Pages, scheme: str) -> None:
    """At three widths axe finds nothing, nothing scrolls sideways, every press is 44 px; the console stays empty."""
    browser_pages.errors.clear()
    with browser_pages.opened(f"{served.url}/more", scheme=scheme, **served.cookies) as page:
        for path in _screens(served):
            page.goto(served.url + path)
            page.evaluate(AXE.read_text(encoding="utf-8"))
            for width in WIDTHS:
                page.set_viewport_size({"width": width, "height": 900})
                assert _barriers(page) == [], (path, width)
                assert sideways_scroll_px(page) == 0, (path, width)
                assert _small_targets(page) == [], (path, width)
    assert _told(browser_pages, "404") == []


def _barriers(page: Any) -> list[str]:
    """Like ``axe_violations`` on a page that has axe already: the same page is looked at in three widths."""
    only = json.dumps({"runOnly": AXE_RULES, "resultTypes": ["violations"]})
    found = page.evaluate(f"axe.run(document, {only})")["violations"]
    return [f"{one['id']}: {node['html'][:160]}" for one in found for node in one["nodes"]]


def _told(pages: Pages, expected: str) -> list[str]:
    """Console errors, but for the status that the test asks for and requests that a change of page cut off."""
    return [line for line in pages.errors if expected not in line and not line.startswith("failed:")]


def _small_targets(page: Any) -> list[str]:
    script = """([wanted, least]) => [...document.querySelectorAll(wanted)]
        .filter((one) => one.offsetParent && one.getBoundingClientRect().height < least - 0.5
            && !(one.type === "checkbox" || one.type === "radio"))
        .map((one) => `${one.tagName}.${one.className} ${one.getBoundingClientRect().height}`)"""
    return list(page.evaluate(script, [TARGETS, SMALLEST_TARGET_PX]))


def test_signing_in_by_the_page(served: Served, browser_pages: Pages) -> None:
    """A wrong password is told where it was typed; the right one leads on to where she wanted to go."""
    browser_pages.errors.clear()
    with browser_pages.opened(f"{served.url}/classes", width=390) as page:
        assert "/sign-in?next=/classes" in page.url.replace("%2F", "/")
        assert axe_violations(page) == []
        page.fill("#password", "not this one")
        page.keyboard.press("Enter")
        page.get_by_role("heading", name="The password does not fit.").wait_for()
        assert axe_violations(page) == []
        page.fill("#password", PASSWORD)
        page.keyboard.press("Enter")
        page.wait_for_url("**/classes")
        page.goto(f"{served.url}/more")
        page.get_by_role("button", name="Sign out").click()
        page.wait_for_url("**/sign-in")
        page.goto(f"{served.url}/")
        assert "/sign-in" in page.url
    assert _told(browser_pages, "403") == []


def test_upload_check_find_by_keyboard(served: Served, browser_pages: Pages, lesson: list[Path]) -> None:
    """From Today to a work without a mouse: photos go in with their progress, the half card is answered, and the works
    are found.
    """
    browser_pages.errors.clear()
    with browser_pages.opened(f"{served.url}/", **served.cookies) as page:
        _go_to(page, "link", "Add photos")
        page.wait_for_url("**/add")
        with page.expect_file_chooser() as asked:
            _go_to(page, "button", "Choose photos")
        asked.value.set_files([str(path) for path in lesson])
        page.wait_for_url(re.compile(r"/add/\d+$"), timeout=60_000)
        page.get_by_text("Safe to close.").wait_for()
        page.locator("#batch:not([hx-get])").wait_for(timeout=60_000)
        assert "of 4 filed" in page.inner_text("#batch")
        assert axe_violations(page) == []
        _go_to(page, "link", "^Answer ")
        page.wait_for_url("**/check*")
        _answer_all(page)
        assert "Every photo has its number" in page.inner_text("main")
        _go_to(page, "link", "^Find")
        page.wait_for_url("**/find")
        page.keyboard.type(f"3B-{HALF}")
        page.keyboard.press("Enter")
        page.wait_for_url(f"**/find?words=3B-{HALF}*")
        _go_to(page, "link", f"^Number {HALF},")
        page.wait_for_url("**/works/*")
        assert f"3B, number {HALF}" in page.inner_text("main")
    assert _told(browser_pages, "nothing") == []


def _go_to(page: Any, role: str, name: str) -> None:
    """Tab to a link or press as a person without a mouse does, and press it with Enter."""
    wanted = page.get_by_role(role, name=re.compile(name)).first
    wanted.wait_for()
    for _ in range(60):
        page.keyboard.press("Tab")
        if wanted.evaluate("one => one === document.activeElement"):
            page.keyboard.press("Enter")
            return
    raise AssertionError(f"Tab never came to {name}")


def _answer_all(page: Any) -> None:
    """Yes to every question with Enter; after the first one, back with U and the number by its digits instead."""
    keys = 0
    undone = False
    while page.locator("#question .answer").count():
        assert keys < 40
        assert page.evaluate("document.activeElement.id") == "question", "the question has the focus at once"
        assert axe_violations(page) == []
        heading = page.inner_text("#asked")
        if undone and page.get_attribute("#question", "data-digits") == "number":
            page.keyboard.type(str(HALF))
            assert page.input_value("#number") == str(HALF)
        with page.expect_navigation():
            page.keyboard.press("Enter")
        keys += 1
        if not undone:
            with page.expect_navigation():
                page.keyboard.press("u")
            assert page.inner_text("#asked") == heading, "undo asks the same question again"
            undone = True


def test_single_keys_do_nothing_outside_the_question(served: Served, browser_pages: Pages) -> None:
    """Typing letters in the search box of a page never answers anything (WCAG 2.1.4)."""
    with browser_pages.opened(f"{served.url}/find", **served.cookies) as page:
        page.keyboard.type("lul 12")
        assert page.input_value("#words") == "lul 12"
        assert page.url.partition("?")[0].endswith("/find")


def test_a_closed_connection_is_told_and_nothing_is_lost(
    served: Served, browser_pages: Pages, lesson: list[Path]
) -> None:
    """Two of four uploads cut off once: they are tried again and all arrive."""
    cut: list[str] = []

    def once(route: Any) -> None:
        if len(cut) < 2:
            cut.append(route.request.url)
            route.abort()
        else:
            route.continue_()

    with browser_pages.opened(f"{served.url}/add", **served.cookies) as page:
        page.route("**/add/uploads*", once)
        page.set_input_files("#photos", [str(path) for path in lesson])
        page.wait_for_url(re.compile(r"/add/\d+$"), timeout=60_000)
    assert len(cut) == 2
    browser_pages.errors.clear()


def test_forced_colors_and_large_text_keep_everything(served: Served, browser_pages: Pages) -> None:
    """With the system's own colors, and with text twice as large, nothing is cut off sideways."""
    with browser_pages.opened(
        f"{served.url}/", width=1280, forced_colors="active", reduced_motion="reduce", **served.cookies
    ) as page:
        for path in _screens(served):
            page.goto(served.url + path)
            assert sideways_scroll_px(page) == 0, path
    with browser_pages.opened(f"{served.url}/", width=640, **served.cookies) as page:
        for path in ("/", "/add", "/find?words=wind", f"/classes/{served.room.classes['3B']}", "/settings"):
            page.goto(served.url + path)
            page.evaluate("document.documentElement.style.fontSize = '34px'")
            assert sideways_scroll_px(page) == 0, path
    browser_pages.errors.clear()


def test_what_the_library_says_about_a_file_stands_on_its_line(
    served: Served, browser_pages: Pages, lesson: list[Path], tmp_path: Path
) -> None:
    """A zip file may weigh more than a photo; what is wrong inside it is told in the library's words."""
    whole, torn, heavy = tmp_path / "whole.zip", tmp_path / "torn.zip", tmp_path / "heavy.jpg"
    with zipfile.ZipFile(whole, "w") as packed:
        packed.write(lesson[0], "Photos/one.jpg")
        packed.writestr("Photos/empty.jpg", b"")
    torn.write_bytes(b"PK but no zip file")
    heavy.write_bytes(lesson[0].read_bytes())
    with browser_pages.opened(f"{served.url}/add", **served.cookies) as page:
        page.evaluate("document.querySelector('#add').dataset.photoMaxMb = '0.01'")
        page.set_input_files("#photos", [str(path) for path in (whole, torn, heavy)])
        page.get_by_text("2 are not kept.").wait_for(timeout=30_000)
        lines = {line.split("\n")[0]: line for line in page.locator("#lines > li").all_inner_texts()}
        assert re.search("Kept|Came before", lines["whole.zip"]), "another test may have sent the same photo"
        assert "empty.jpg is empty: it holds no bytes" in lines["whole.zip"]
        assert "Not kept" in lines["torn.zip"]
        assert "torn.zip" in lines["torn.zip"].split("\n", 1)[1], "the sentence names the file"
        assert "More than 0.01 MB" in lines["heavy.jpg"]
        assert axe_violations(page) == []
        page.get_by_role("link", name="See the batch").click()
        page.wait_for_url(re.compile(r"/add/\d+$"))
    browser_pages.errors.clear()
