"""A work's page: where its ways lead."""

from __future__ import annotations

import re

from portfolio.archive import tables
from tests.web.conftest import App


def test_the_edge_of_the_open_view_is_one_press_away(app: App) -> None:
    """The link opens the edge of the very view that is large on the page."""
    room = app.room
    with room.library.writing(who="program", what="read a photo") as writing:
        photo = writing.session.get(tables.Photo, room.photos[10])
        photo.width_px, photo.height_px = 1200, 900
    page = app.client.get(f"/works/{room.works[10]}").text
    link = re.search(r'href="(/works/\d+/edge\?view=\d+)">Set the edge anew<', page)
    assert link, "the way to the edge is missing"
    assert app.client.get(link.group(1)).status_code == 200


def test_works_without_words_are_found_and_told_on_today(app: App) -> None:
    """The chips divide all works; Today counts those of the last week and leads there."""
    every = len(app.room.works)
    client = app.client
    counted = {word: client.get(f"/find?said={word}").text for word in ("with", "without")}
    found = {word: len(set(re.findall(r'href="/works/(\d+)"', text))) for word, text in counted.items()}
    assert found["with"] + found["without"] == every
    assert min(found.values()) > 0
    assert "Without words" in client.get("/find").text
    assert len(set(re.findall(r'href="/works/(\d+)"', client.get("/find?said=maybe").text))) == every
    today = client.get("/").text
    assert re.search(r"\d works? of the last seven days ha(s|ve) no words from the child yet\.", today)
    assert 'href="/find?said=without"' in today
