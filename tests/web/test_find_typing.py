"""Find answers while the teacher types, and goes by keyboard alone."""

from __future__ import annotations

from tests.support.browser import Pages, barriers_at
from tests.web.conftest import Served


def test_find_answers_while_typing(served: Served, browser_pages: Pages) -> None:
    """Works and chips change without a press, the field keeps what was typed, and Back comes to the same answer."""
    browser_pages.errors.clear()
    with browser_pages.opened(f"{served.url}/find", **served.cookies) as page:
        page.locator("#words").press_sequentially("3B-1")
        page.wait_for_url("**/find?words=3B-1")
        assert page.input_value("#words") == "3B-1"
        found = page.inner_text("#found")
        assert page.locator("#counted[role=status]").text_content() in found
        page.fill("#words", "zzzzqq")
        page.locator("#counted", has_text="No work has").wait_for()
        page.fill("#words", "3B-1")
        page.wait_for_url("**/find?words=3B-1")
        page.locator("#found .tile a").first.click()
        page.wait_for_url("**/works/*")
        page.go_back()
        page.wait_for_url("**/find?words=3B-1")
        assert page.inner_text("#found") == found
    assert browser_pages.errors == []


def test_find_by_keyboard_alone(served: Served, browser_pages: Pages) -> None:
    """/ comes to the box, arrows go over the wall with one stop for Tab, Delete takes a chip away, and whoever comes
    back from a work stands where she left.
    """
    browser_pages.errors.clear()
    focused = "document.activeElement.getAttribute('href') || document.activeElement.value"
    with browser_pages.opened(f"{served.url}/find?size=large", **served.cookies) as page:
        works = page.locator("#found a.stand")
        assert works.count() > 1
        assert page.locator('#found a.stand[tabindex="0"]').count() == 1
        assert barriers_at(page) == []
        works.first.focus()
        page.keyboard.press("/")
        assert page.evaluate("document.activeElement.id") == "words"
        page.keyboard.press("/")
        assert page.input_value("#words") == "/", "in the box it is a letter like any other"
        page.locator(".chip[aria-pressed=true]").focus()
        with page.expect_navigation():
            page.keyboard.press("Delete")
        assert page.url.endswith("/find?words=%2F") or page.url.endswith("/find")
        page.goto(f"{served.url}/find")
        page.locator("#words").press("ArrowDown")
        every = [one.get_attribute("href") for one in works.all()]
        assert page.evaluate(focused) == every[0]
        page.keyboard.press("ArrowRight")
        assert page.evaluate(focused) == every[1]
        page.keyboard.press("ArrowDown")
        below = every.index(page.evaluate(focused))
        assert below > 1
        page.keyboard.press("ArrowUp")
        assert page.evaluate(focused) == every[1]
        page.keyboard.press("End")
        assert page.evaluate(focused) == every[-1]
        down = page.evaluate("scrollY")
        assert down > 0
        page.keyboard.press("Enter")
        page.wait_for_url(f"**{every[-1]}")
        page.go_back()
        page.locator("#found").wait_for()
        page.wait_for_timeout(200)
        assert page.evaluate(focused) == every[-1]
        assert abs(page.evaluate("scrollY") - down) < 4
        page.locator("#slash-switch").click()
        page.keyboard.press("/")
        assert page.evaluate("document.activeElement.id") == "slash-switch", "the key is off"
    assert [one for one in browser_pages.errors if "mark.svg" not in one] == []  # left before its icon came
