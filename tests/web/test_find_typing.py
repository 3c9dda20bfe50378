"""Find answers while the teacher types."""

from __future__ import annotations

from tests.support.browser import Pages
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
