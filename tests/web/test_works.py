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
