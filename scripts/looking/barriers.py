"""Look for barriers on every screen: axe at three widths in light and dark, sideways scrolling (also at 200 % zoom, and
with the text spacing of WCAG 2.2, 1.4.12), text that is cut off by that spacing, errors in the console, and what the
first view weighs without pictures.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

from playwright.sync_api import sync_playwright

from looking.screens import SCHEMES, context_of, opened, screens_of, signed_in
from tests.support.browser import FLAGS, barriers_at, chromium_path, sideways_scroll_px, spacing_troubles

WIDTHS: Final = (320, 768, 1280)
ZOOMED_WIDTH: Final = 640
"""A window of 1280 px at 200 % zoom."""
FIRST_VIEW_MAX: Final = 150_000
"""Bytes of a first view, without pictures (issue 4)."""


def run(argv: Sequence[str]) -> int:
    """Say every barrier; 1 when there is one."""
    words = argparse.ArgumentParser(prog="screens.py --barriers", description=__doc__)
    words.add_argument("--library", type=Path)
    words.add_argument("--only", default="")
    asked = words.parse_args(argv)
    found: list[str] = []
    looked, heaviest = 0, (0, "")
    with opened(asked.library) as (url, desk), signed_in(desk) as secrets, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=list(FLAGS))
        for screen in [one for one in screens_of(desk) if asked.only in one.name]:
            for scheme in SCHEMES:
                context = context_of(browser, url, secrets[screen.role], size=(1280, 900), scheme=scheme)
                barriers, weight = _look(context.new_page(), url + screen.address)
                found += [f"{screen.name} {scheme}: {one}" for one in barriers]
                heaviest = max(heaviest, (weight, screen.name))
                if weight > FIRST_VIEW_MAX:
                    found.append(f"{screen.name}: its first view weighs {weight} bytes without pictures")
                looked += 1
                context.close()
        browser.close()
    for one in found:
        print(one)
    print(
        f"{looked} views looked at, {len(found)} barriers; the heaviest first view: {heaviest[1]}, {heaviest[0]} bytes"
    )
    return int(bool(found))


def _look(page: Any, address: str) -> tuple[list[str], int]:
    """What stands in the way on one screen, and its bytes without pictures."""
    said: list[str] = []
    sizes: list[int] = []
    page.on("console", lambda line: said.append(f"console: {line.text}") if line.type == "error" else None)
    page.on("pageerror", lambda error: said.append(f"script: {error}"))
    page.on("requestfinished", lambda request: sizes.append(_bytes(request)))
    page.goto(address)
    page.wait_for_load_state("networkidle")
    weight = sum(sizes)
    said += barriers_at(page, WIDTHS)
    page.set_viewport_size({"width": ZOOMED_WIDTH, "height": 450})
    if wide := sideways_scroll_px(page):
        said.append(f"200 % zoom: scrolls sideways by {wide} px")
    return [*said, *spacing_troubles(page, (WIDTHS[0], WIDTHS[-1]))], weight


def _bytes(request: Any) -> int:
    if request.resource_type == "image":
        return 0
    return int(request.sizes()["responseBodySize"])


if __name__ == "__main__":
    sys.exit(run(sys.argv[1:]))
