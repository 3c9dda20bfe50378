"""The site in a real browser, from a folder: axe finds nothing, nothing scrolls sideways, it works without script."""

import json
import re
from dataclasses import replace

import pytest

from portfolio.model.assets import asset
from portfolio.publish.build import build
from tests.support.browser import SCHEMES, WIDTHS, axe_violations, sideways_scroll_px
from tests.support.outside import outside
from tests.support.shows import make_labels, make_text


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    base = tmp_path_factory.mktemp("looks")
    site = base / "site"
    site.mkdir()
    build(make_text(), make_labels(base / "pictures", 8), site)
    return site


def urls(folder):
    works = sorted((folder / "works").iterdir())
    return [(folder / "index.html").as_uri(), works[0].as_uri(), (folder / "find.html").as_uri()]


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("width", WIDTHS)
def test_axe_finds_nothing_and_nothing_scrolls_sideways(browser_pages, folder, width, scheme):
    """WCAG 2.2 AA rules and best practice on every kind of page; no console error, no missing file."""
    browser_pages.errors.clear()
    for url in urls(folder):
        with browser_pages.opened(url, width=width, scheme=scheme) as page:
            assert axe_violations(page) == []
            assert sideways_scroll_px(page) == 0
    assert browser_pages.errors == []


def test_targets_are_large_enough(browser_pages, folder):
    """Links of the head and of pages are at least 44 px high; the picture is the link on the wall (WCAG 2.5.8: 24)."""
    for url in urls(folder):
        with browser_pages.opened(url, width=320) as page:
            heights = page.eval_on_selector_all(
                ".ways a, .steps a, .back a, .find li a",
                "links => links.map(one => one.getBoundingClientRect().height)",
            )
            assert heights
            assert min(heights) >= 44
            tiles = page.eval_on_selector_all("a.stand .mat", "all => all.map(o => o.getBoundingClientRect().width)")
            assert all(width >= 24 for width in tiles)


def test_everything_stands_on_one_line(browser_pages, folder):
    """In each row of the wall, pictures, signs and words end on the same line, whatever the captions below."""
    with browser_pages.opened(urls(folder)[0], width=1280) as page:
        ends = page.eval_on_selector_all(
            ".tile", "all => all.map(o => [Math.round(o.querySelector('.caption').getBoundingClientRect().top)])"
        )
        lines = page.eval_on_selector_all(
            ".tile .on-line", "all => all.map(o => [Math.round(o.getBoundingClientRect().bottom)])"
        )
    assert len(set(map(tuple, ends))) < len(ends)
    assert all(abs(end[0] - line[0]) <= 1 for end, line in zip(ends, lines, strict=True))


def test_works_are_drawn_at_one_scale(browser_pages, tmp_path):
    """A sheet twice as wide is twice as wide on the wall."""
    small, large = make_labels(tmp_path / "pictures", 2, sign="K–2")
    site = tmp_path / "site"
    site.mkdir()
    build(make_text(), (replace(small, width_mm=200), replace(large, width_mm=400)), site)
    with browser_pages.opened((site / "index.html").as_uri(), width=1280) as page:
        widths = page.eval_on_selector_all(".tile img", "all => all.map(o => o.getBoundingClientRect().width)")
    assert widths[1] / widths[0] == pytest.approx(2, rel=0.02)


def test_find_narrows_and_says_how_many(browser_pages, folder):
    """Typing hides what does not fit and says the count; accents and case do not matter."""
    with browser_pages.opened((folder / "find.html").as_uri()) as page:
        page.fill("#find-words", "CLÁY")
        assert page.locator(".find li:visible").count() == 2
        assert page.inner_text("#find-count") == "2 works"
        page.fill("#find-words", "pressd boat 3")
        assert page.locator(".find li:visible").count() == 1
        page.fill("#find-words", "giraffe")
        assert page.inner_text("#find-count") == "No work has this word. Try one letter less."
        page.fill("#find-words", "")
        assert page.locator(".find li:visible").count() == 8


def test_it_works_without_script(browser_pages, folder):
    """The list of all works is there, the field that would do nothing is not."""
    with browser_pages.opened((folder / "find.html").as_uri(), script=False) as page:
        assert page.locator(".find li").count() == 8
        assert page.locator(".find form").is_hidden()
        page.click(".find li a >> nth=0")
        assert "/works/" in page.url


def test_text_spacing_loses_nothing(browser_pages, folder):
    """WCAG 1.4.12: line 1.5, letters 0.12, words 0.16: still no sideways scroll, no caption over another work."""
    style = "* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important; }"
    with browser_pages.opened(urls(folder)[0], width=320, bypass_csp=True) as page:
        page.add_style_tag(content=style)
        assert sideways_scroll_px(page) == 0
        bottoms = page.eval_on_selector_all(
            ".tile",
            "all => all.map(o => o.scrollHeight - o.clientHeight)",
        )
        assert max(bottoms) <= 1


def test_on_paper_it_is_a_list_to_tick(browser_pages, folder):
    """Printed: no links to press, a box before each work."""
    with browser_pages.opened(urls(folder)[0]) as page:
        page.emulate_media(media="print")
        assert page.locator(".ways").is_hidden()
        box = page.evaluate("getComputedStyle(document.querySelector('article.tile'), '::before').borderTopWidth")
        assert float(box.removesuffix("px")) > 0


def _luminance(color: str) -> float:
    parts = [int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, relative luminance and contrast ratio (w3c/wcag, guidelines/terms/20)."""
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula_agrees_with_the_published_pairs():
    """Pairs worked out from the standard's formula (outside test data)."""
    pairs = json.loads(outside("facts/computed.json").read_text())["contrast"]
    for pair, ratio in pairs.items():
        one, other = pair.split(" on ")
        assert contrast(one, other) == pytest.approx(ratio, abs=1e-4)


def test_tones_of_the_site_have_contrast():
    """Text 4.5 : 1, lines and focus 3 : 1 (WCAG 1.4.3, 1.4.11), light and dark."""
    text = asset("site", "site.css").read_text()
    blocks = [dict(re.findall(r"--(\w+): (#\w{6})", block)) for block in re.findall(r":root \{([^}]*)\}", text)]
    light, dark = (block for block in blocks if "ink" in block)
    for tones in (light, dark):
        for ground in ("paper", "sheet"):
            assert contrast(tones["ink"], tones[ground]) >= 4.5
            assert contrast(tones["pencil"], tones[ground]) >= 4.5
            assert contrast(tones["mark"], tones[ground]) >= 3
            assert contrast(tones["line"], tones[ground]) >= 3
