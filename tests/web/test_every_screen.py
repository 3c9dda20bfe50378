"""Every screen under what a reader may ask of a browser: more space in the text, the other direction, no script."""

from __future__ import annotations

from typing import Any

import pytest

from portfolio.flows.plan_show import new_show
from portfolio.flows.take_in import open_batch
from portfolio.model.filing import Chosen
from tests.support.browser import Pages, barriers_at, sideways_scroll_px, spacing_troubles
from tests.web.asked import ask_about_two_numbers
from tests.web.conftest import Served

pytestmark = pytest.mark.browser

_DEAD = """() => [...document.querySelectorAll("button, input, select, textarea")]
  .filter((one) => one.checkVisibility() && one.type !== "hidden")
  .filter((one) => !one.form || (one.localName === "button" && one.type !== "submit"))
  .map((one) => one.outerHTML.slice(0, 120))"""
"""What can be pressed or filled in, and leads nowhere without a script."""
_UNSENT = """() => [...document.forms].filter((one) => one.checkVisibility() && [...one.elements].length)
  .filter((one) => !one.hasAttribute("action") || !one.querySelector("button:not([type]), button[type=submit]"))
  .map((one) => one.outerHTML.slice(0, 120))"""
"""Forms that say no place to go, or have no press."""
_HURRIES = """() => [...document.querySelectorAll("*")].filter((one) => {
  const style = getComputedStyle(one);
  const times = `${style.transitionDuration},${style.animationDuration}`.matchAll(/[\\d.]+/g);
  return [...times].some(([one]) => Number(one));
}).map((one) => one.outerHTML.slice(0, 80))"""
"""What moves by itself or on a change."""

_OPENED = """() => {
  const parts = [...document.querySelectorAll("details")];
  for (const one of parts) one.open = true;
  return parts.length;
}"""
"""Opens what can be opened; gives how many there were."""
_LINE = """(which) => {
  const { borderBlockEndStyle, borderBlockEndWidth } = getComputedStyle(document.querySelector(which));
  return [borderBlockEndStyle, borderBlockEndWidth];
}"""
_EDGELESS = """() => [...document.querySelectorAll(".press, .field input, .field select, .field textarea")]
  .filter((one) => one.checkVisibility() && one.type !== "file")
  .filter((one) => { const { borderBlockEndStyle, borderBlockEndWidth, borderBlockEndColor, backgroundColor } =
    getComputedStyle(one); return borderBlockEndStyle === "none" || parseFloat(borderBlockEndWidth) < 1
    || borderBlockEndColor === backgroundColor; })
  .map((one) => one.outerHTML.slice(0, 100))"""
"""Presses and fields whose lower edge cannot be seen."""


@pytest.fixture(scope="module")
def screens(served: Served) -> list[str]:
    """Addresses of the teacher's screens, with something on each."""
    library, room = served.room.library, served.room
    asked = ask_about_two_numbers(room)
    show = new_show(library, "Spring", year="2026-27").show_id
    batch = open_batch(library, Chosen(class_id=room.classes["3B"]), source="camera")
    child, group, work = room.students[0], room.classes["3B"], room.works[9]
    return [
        "/", "/more", "/add", "/add/1", "/phone", "/camera", f"/camera/{batch}", f"/check?ask={asked}",
        f"/check/{asked}/edge", f"/check/{asked}/hide", "/find?words=wind", f"/works/{work}", "/students",
        "/students?class=3B", f"/students/{child}", "/classes", f"/classes/{group}", f"/classes/{group}?by=center",
        f"/classes/{group}?opened=1",
        f"/classes/{group}/saw", "/projector", f"/projector?work={work}", "/shows", f"/shows/{show}", "/reports",
        "/settings", "/settings/people", "/settings/devices", "/settings/year",
        f"/settings/timetable?class_id={group}", "/settings/days", "/settings/media?open=2", "/settings/centers",
        "/settings/cards", f"/settings/releases?class_id={group}", "/settings/password", "/settings/about",
        "/settings/backup",
    ]  # fmt: skip


def test_more_space_in_the_text_and_the_other_direction_lose_nothing(
    served: Served, browser_pages: Pages, screens: list[str]
) -> None:
    """Mirrored, and then with the spacing of WCAG 2.2, 1.4.12: nothing is cut off, nothing scrolls sideways. Whoever
    asked for less motion meets none.
    """
    found: dict[str, list[str]] = {}
    with browser_pages.opened(f"{served.url}/more", reduced_motion="reduce", **served.cookies) as page:
        for path in screens:
            page.goto(served.url + path)
            troubles = [f"moves: {one}" for one in page.evaluate(_HURRIES)]
            troubles += _mirrored(page)
            troubles += spacing_troubles(page)
            if troubles:
                found[path] = troubles
    browser_pages.errors.clear()
    assert found == {}


def _mirrored(page: Any) -> list[str]:
    """How far the page scrolls sideways when it is read from right to left."""
    found = []
    page.evaluate("document.documentElement.dir = 'rtl'")
    for width in (320, 1280):
        page.set_viewport_size({"width": width, "height": 900})
        if wide := sideways_scroll_px(page):
            found.append(f"right to left at {width}: scrolls sideways by {wide} px")
    page.evaluate("document.documentElement.dir = 'ltr'")
    return found


def test_every_form_works_without_a_script(served: Served, browser_pages: Pages, screens: list[str]) -> None:
    """What can be seen and pressed or filled in belongs to a form that says where it goes; what needs a script says so
    in words instead.
    """
    found: dict[str, list[str]] = {}
    with browser_pages.opened(f"{served.url}/more", script=False, **served.cookies) as page:
        for path in screens:
            page.goto(served.url + path)
            if dead := [*page.evaluate(_DEAD), *page.evaluate(_UNSENT)]:
                found[path] = dead
    browser_pages.errors.clear()
    assert found == {}


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_barrier_at_the_camera_on_the_projector_and_beside_an_undo(
    served: Served, browser_pages: Pages, screens: list[str], scheme: str
) -> None:
    """Screens that no other test looks at in this way; the camera's without a camera, which it says."""
    found: dict[str, list[str]] = {}
    with browser_pages.opened(f"{served.url}/more", scheme=scheme, **served.cookies) as page:
        for path in screens:
            if not path.startswith(("/camera", "/projector")) and "opened=" not in path:
                continue
            page.goto(served.url + path)
            if path.startswith("/camera/"):
                page.locator("#camera-note:visible").wait_for()
            if barriers := barriers_at(page):
                found[path] = barriers
    browser_pages.errors.clear()
    assert found == {}


def test_what_opens_on_a_page_has_no_barrier(served: Served, browser_pages: Pages, screens: list[str]) -> None:
    """Every part that opens is opened: axe finds nothing and nothing scrolls sideways, in a small window."""
    found: dict[str, list[str]] = {}
    with browser_pages.opened(f"{served.url}/more", **served.cookies) as page:
        for path in screens:
            page.goto(served.url + path)
            if not page.evaluate(_OPENED):
                continue
            if barriers := barriers_at(page, (320,)):
                found[path] = barriers
    browser_pages.errors.clear()
    assert found == {}


def test_with_the_systems_own_colors_the_kind_of_line_still_tells_the_state(
    served: Served, browser_pages: Pages, screens: list[str]
) -> None:
    """Forced colors: kept, asked, chosen and "write here" are told by the line's kind and weight, and every press and
    field keeps an edge.
    """
    with browser_pages.opened(f"{served.url}/", forced_colors="active", **served.cookies) as page:
        assert page.evaluate(_LINE, ".tile.kept .stand") == ["solid", "3px"]
        assert page.evaluate(_LINE, ".big.asks") == ["dashed", "5px"]
        for path in screens:
            page.goto(served.url + path)
            assert page.evaluate(_EDGELESS) == [], path
        page.goto(f"{served.url}/find?grade=3")
        assert page.evaluate(_LINE, ".chip[aria-pressed=true]")[0] == "double"
        assert page.evaluate(_LINE, "#words") == ["solid", "3px"]
    browser_pages.errors.clear()
