"""A child's page: then and now, what was tried, and the years with their grades."""

from __future__ import annotations

import re

from tests.support.browser import Pages, axe_violations, barriers_at
from tests.web.conftest import App, Served


def test_then_and_now_stands_on_the_page_without_script(app: App) -> None:
    """Both pictures are named with year and medium, side by side, and the two are told why."""
    page = app.client.get(f"/students/{app.room.students[4]}").text
    assert re.search(r'alt="Then, 2025–26: [^"]+, [A-Z][^"]+"', page)
    assert re.search(r'alt="Now, 2026–27: [^"]+, [A-Z][^"]+"', page)
    assert "Why these two: " in page
    assert "11 months" in page
    assert "Grade 3 · 3B, number 5" in page
    assert "Grade 2 · 2A, number 8" in page


def test_the_teacher_picks_two_others(app: App) -> None:
    """Any two works of this child; what is no such pair is said, and the usual pair stays."""
    path = f"/students/{app.room.students[0]}"
    page = app.client.get(path).text
    offered = re.findall(r'<option value="(\d+)"', page[page.index('id="pick-now"') :])
    picked = app.client.get(f"{path}?then={offered[-1]}&now={offered[-2]}").text
    assert "You picked these two." in picked
    caps = picked[picked.index("then-now-caps") :]
    assert re.findall(r'href="/works/(\d+)"', caps)[:2] == offered[-2:], "the older one is then"
    other = app.room.works[12]
    for query in (f"then={offered[0]}&now={offered[0]}", f"then={offered[0]}&now={other}"):
        refused = app.client.get(f"{path}?{query}").text
        assert "These are not two works of this child with a picture." in refused
        assert "You picked" not in refused


def test_what_was_seen_is_noted_from_the_childs_page(app: App) -> None:
    """One press leads to the entry of the child's class with its number tapped already."""
    page = app.client.get(f"/students/{app.room.students[4]}").text
    href = re.search(r'<a class="press" href="(/classes/\d+/saw\?number=\d+)">Note what you see</a>', page)[1]
    entry = app.client.get(href).text
    assert re.findall(r'name="number" value="(\d+)" required checked', entry) == ["5"]


def test_what_was_tried_is_drawn_and_told(app: App) -> None:
    """One stroke a work, in a real table with the count in words; what was not tried is one sentence, no rank."""
    page = app.client.get(f"/students/{app.room.students[0]}").text
    table = page[page.index('class="tried"') : page.index("Not yet:")]
    kept = sum(int(one) for one in re.findall(r">(\d+) works?<", table))
    strokes = sum(one.count("l") for one in re.findall(r'<path d="([^"]*)"', table))
    assert kept == strokes
    assert kept == int(re.search(r"works kept: (\d+)", page).group(1))
    media = re.findall(r'<th scope="row">([^<]+)<', table)
    assert media
    assert not any(f", {one.lower()}," in page[page.index("Not yet:") :] for one in media)


def test_the_slider_goes_from_then_to_now(served: Served, browser_pages: Pages) -> None:
    """By keyboard and by mouse on the pictures; both are at one scale; side by side is one press away."""
    browser_pages.errors.clear()
    shown = "getComputedStyle(document.querySelector('.over-frame .later')).clipPath"
    url = f"{served.url}/students/{served.room.students[4]}"
    with browser_pages.opened(url, **served.cookies) as page:
        slider = page.get_by_role("slider", name="Slide from then to now")
        slider.focus()
        half = page.evaluate(shown)
        page.keyboard.press("ArrowRight")
        assert page.evaluate(shown) != half
        page.keyboard.press("End")
        assert slider.get_attribute("aria-valuetext") == "100 percent then, 0 percent now"
        box = slider.bounding_box()
        page.mouse.click(box["x"] + box["width"] * 0.25, box["y"] + box["height"] / 2)
        assert 15 < int(slider.input_value()) < 30
        widths = page.evaluate(
            "[...document.querySelectorAll('.over-frame img')].map((one) =>"
            " one.getBoundingClientRect().width / getComputedStyle(one).getPropertyValue('--mm'))"
        )
        assert abs(widths[0] - widths[1]) < 0.01, "both works stand at one scale"
        assert barriers_at(page) == []
        page.get_by_role("button", name="Side by side").click()
        assert page.locator("#pair-beside").is_visible()
        assert not slider.is_visible()
        assert axe_violations(page) == []
    with browser_pages.opened(url, script=False, **served.cookies) as page:
        assert page.locator("#pair-beside").is_visible()
        assert not page.locator("#over-place").is_visible()
    assert browser_pages.errors == []
