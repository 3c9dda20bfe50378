"""A real browser for looking at pages: one Chromium a session, axe on demand, every console error kept.

Use the fixture ``browser_pages`` (import it in a ``conftest.py``); it skips loudly where no Chromium is installed.
The page's own content security policy stays on: ``evaluate`` gets past it, the page itself does not.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

FLAGS = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync", "--disable-dev-shm-usage"),
)
AXE = Path(__file__).parents[1] / "vendor" / "axe.min.js"
AXE_RULES = ["wcag2a", "wcag2aa", "wcag21aa", "wcag22aa", "best-practice"]
WIDTHS = (320, 390, 1280)
SCHEMES = ("light", "dark")
_ICON_WAITS, _ICON_WAIT_MS = 50, 20


def chromium_path() -> str | None:
    """The installed Chromium, or ``None``. ``PORTFOLIO_CHROMIUM`` overrides."""
    named = os.environ.get("PORTFOLIO_CHROMIUM")
    found = (shutil.which(word) for word in ("chromium", "chromium-browser", "google-chrome"))
    return named or next((path for path in found if path), None)


@dataclass
class Pages:
    """Opens pages in fresh contexts and collects what went wrong in them."""

    browser: Any
    errors: list[str] = field(default_factory=list)

    @contextmanager
    def opened(
        self, url: str, *, width: int = 1280, scheme: str = "light", script: bool = True, **context: Any
    ) -> Iterator[Any]:
        """One page at ``url``; console errors, page errors and failed requests are added to ``errors``."""
        height = 844 if width < 600 else 900
        ctx = self.browser.new_context(
            viewport={"width": width, "height": height}, color_scheme=scheme, java_script_enabled=script, **context
        )
        page = ctx.new_page()
        page.on("console", lambda line: self.errors.append(line.text) if line.type == "error" else None)
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("requestfailed", lambda request: self.errors.append(f"failed: {request.url}"))
        came: list[str] = []
        page.on("requestfinished", lambda request: came.append(request.resource_type))
        try:
            page.goto(url)
            _wait_for_icon(page, came)
            yield page
        finally:
            ctx.close()


def _wait_for_icon(page: Any, came: Sequence[str]) -> None:
    """Wait until the browser has the page's icon, which it asks for after everything else: a page that is left sooner
    makes it give that up, and that looks like an error of the page.
    """
    for _ in range(_ICON_WAITS if page.locator("link[rel=icon]").count() else 0):
        if "other" in came:
            return
        page.wait_for_timeout(_ICON_WAIT_MS)


def axe_violations(page: Any) -> list[str]:
    """What axe finds on the open page, one line a node; empty = nothing."""
    source = AXE.read_text(encoding="utf-8")
    run = f"{source};axe.run(document,{{runOnly:{json.dumps(AXE_RULES)},preload:false}})"
    result = page.evaluate(run)
    return [
        f"{found['id']}: {node['html'][:160]} {node['failureSummary'][:200]}"
        for found in result["violations"]
        for node in found["nodes"]
    ]


def barriers_at(page: Any, widths: Sequence[int] = (320, 768, 1280)) -> list[str]:
    """What axe finds on the open page at each width, and how far it scrolls sideways there; empty = nothing. axe is
    brought into the page once: that is half of its time.
    """
    page.evaluate(AXE.read_text(encoding="utf-8"))
    only = json.dumps({"runOnly": AXE_RULES, "resultTypes": ["violations"]})
    found = []
    for width in widths:
        page.set_viewport_size({"width": width, "height": 900})
        for one in page.evaluate(f"axe.run(document, {only})")["violations"]:
            found += [f"{width}: {one['id']}: {node['html'][:160]}" for node in one["nodes"]]
        if wide := sideways_scroll_px(page):
            found.append(f"{width}: scrolls sideways by {wide} px")
    return found


_SPACING = """() => {
  const sheet = new CSSStyleSheet();
  sheet.replaceSync("* { line-height: 1.5 !important; letter-spacing: .12em !important; }"
    + " * { word-spacing: .16em !important } p { margin-bottom: 2em !important }");
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
}"""
_CUT_OFF = """() => [...document.querySelectorAll("main *, nav *")].filter(one => {
  const style = getComputedStyle(one);
  const hides = ["hidden", "clip"].includes(style.overflowX) || ["hidden", "clip"].includes(style.overflowY);
  const holds = [...one.childNodes].some(node => node.nodeType === 3 && node.textContent.trim());
  const tiny = one.clientWidth < 5 || one.clientHeight < 5;
  return hides && holds && !tiny
    && (one.scrollWidth > one.clientWidth + 1 || one.scrollHeight > one.clientHeight + 1);
}).map(one => one.outerHTML.slice(0, 120))"""
_DRAWN = """async () => {
  await new Promise((yes) => requestAnimationFrame(() => requestAnimationFrame(yes)));
  await Promise.allSettled(document.getAnimations().map((one) => one.finished));
}"""
"""Waits until the page is laid out and nothing in it moves to its place any more."""


def spacing_troubles(page: Any, widths: Sequence[int] = (320, 1280)) -> list[str]:
    """What the open page loses with the text spacing of WCAG 2.2, 1.4.12: sideways scrolling, text that is cut off;
    empty = nothing. The spacing stays.
    """
    found = []
    page.evaluate(_SPACING)
    for width in widths:
        page.set_viewport_size({"width": width, "height": 900})
        page.evaluate(_DRAWN)
        if wide := sideways_scroll_px(page):
            found.append(f"text spacing at {width}: scrolls sideways by {wide} px")
        found += [f"text spacing at {width}: cut off: {one}" for one in page.evaluate(_CUT_OFF)]
    return found


def sideways_scroll_px(page: Any) -> int:
    """How many pixels the page is wider than its window; 0 = no sideways scroll."""
    wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    return int(page.evaluate(wide))


@pytest.fixture(scope="module")
def browser_pages() -> Iterator[Pages]:
    """One Chromium for the tests of one file; closed after it, because its event loop would stop the next one's."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is needed to look at pages")
    path = chromium_path()
    if path is None:
        pytest.skip("no Chromium is installed, so pages cannot be looked at")
    with sync_api.sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=FLAGS)
        try:
            yield Pages(browser)
        finally:
            browser.close()
