"""Settings, media and centers: added, renamed, ordered, retired, deleted only when nothing speaks of them; undone."""

from __future__ import annotations

import pytest

from portfolio.flows import art_room as flow
from tests.web.conftest import App
from tests.web.test_settings_time import beside, undo


def _labels(app: App) -> list[str]:
    return [one.one.label for one in flow.see_media(app.room.library) if one.one.active]


def _medium(app: App, label: str) -> flow.Seen:
    return next(one for one in flow.see_media(app.room.library) if one.one.label == label)


def _centre(app: App, label: str) -> flow.Seen:
    return next(one for one in flow.see_centres(app.room.library) if one.one.label == label)


def test_a_medium_is_added_with_its_aat_id_and_taken_back(app: App) -> None:
    """It stands last; all medium cards are taken by the starter media; Undo takes it away again."""
    page = app.client.post(
        "/settings/media", data={"label": " glue  resist ", "aat_id": "300053269", "solid": "1"}
    ).text
    added = _medium(app, "glue resist").one
    assert (added.aat_id, added.card, added.solid) == ("300053269", None, True)
    assert _labels(app)[-1] == "glue resist"
    assert "no works yet, no card, three-dimensional" in page
    undo(app, page)
    assert "glue resist" not in _labels(app)


@pytest.mark.parametrize(
    ("typed", "field", "said"),
    [
        ({"label": " "}, "label-new", "A name is needed."),
        ({"label": "x" * 41}, "label-new", "At most 40 letters."),
        ({"label": "CRAYON"}, "label-new", "one of this name already"),
        ({"label": "felt", "aat_id": "12345"}, "aat_id-new", "nine digits"),
    ],
)
def test_a_medium_that_does_not_fit_is_told_beside_the_field(
    app: App, typed: dict[str, str], field: str, said: str
) -> None:
    """The form stays open with what was typed; nothing is added."""
    before = _labels(app)
    answer = app.client.post("/settings/media", data=typed)
    assert answer.status_code == 422
    assert said in beside(answer.text, field)
    assert _labels(app) == before


def test_a_medium_is_renamed_everywhere_it_is_shown(app: App) -> None:
    """Its works show the new name; a name that another has is told in its own form only."""
    crayon = _medium(app, "crayon")
    assert crayon.works > 0
    address = f"/settings/media/{crayon.key}"
    page = app.client.post(address, data={"label": "wax crayon", "aat_id": "", "do": "keep"}).text
    assert _medium(app, "wax crayon").one.aat_id is None
    assert f"{crayon.works} works in all" in app.client.get("/find?medium=wax+crayon").text
    wrong = app.client.post(address, data={"label": "Pencil", "do": "keep"}).text
    assert "one of this name already" in beside(wrong, f"label-{crayon.key}")
    assert wrong.count("aria-invalid") == 1
    undo(app, page)
    assert _medium(app, "crayon").one.aat_id == "300022415"


def test_order_and_retiring(app: App) -> None:
    """Earlier, later, retired (works keep it, it is no longer offered), offered again."""
    first, second = flow.see_media(app.room.library)[:2]
    address = f"/settings/media/{second.key}"
    page = app.client.post(address, data={"do": "earlier"}).text
    assert _labels(app)[:2] == [second.one.label, first.one.label]
    assert f'id="one-{second.key}"' in page
    undo(app, page)
    app.client.post(address, data={"do": "later"})
    assert _labels(app)[2] == second.one.label
    app.client.post(address, data={"do": "earlier"})
    app.client.post(address, data={"do": "earlier"})
    app.client.post(address, data={"do": "earlier"})
    assert _labels(app)[0] == second.one.label, "the first one stays the first"
    retired = app.client.post(address, data={"do": "retire"}).text
    assert "Retired</h2>" in retired
    assert second.one.label not in _labels(app)
    assert _medium(app, second.one.label).works == second.works
    app.client.post(address, data={"do": "offer"})
    assert second.one.label in _labels(app)


def test_what_works_speak_of_is_never_deleted(app: App) -> None:
    """A medium in use has no press to delete it, and asking for it is refused in words; an unused one goes, and Undo
    brings it back into its center.
    """
    used, unused = _medium(app, "crayon"), _medium(app, "stencil")
    assert (used.removable, unused.removable) == (False, True)
    refused = app.client.post(f"/settings/media/{used.key}", data={"do": "delete"})
    assert refused.status_code == 409
    assert "Retire it" in refused.text
    printmaking = _centre(app, "printmaking").one
    page = app.client.post(f"/settings/media/{unused.key}", data={"do": "delete"}).text
    assert "stencil" not in _labels(app)
    assert unused.key not in _centre(app, "printmaking").one.medium_ids
    undo(app, page)
    assert _centre(app, "printmaking").one == printmaking
    assert app.client.post("/settings/media/99999", data={"do": "earlier"}).status_code == 404


def test_a_center_is_added_with_its_media_renamed_and_found_by_its_new_name(app: App) -> None:
    """Ticked media are at hand there; after a rename works are found by the new word, after Undo by the old one."""
    app.client.post("/settings/centers", data={"label": "light table", "medium-1": "1", "medium-99999": "1"})
    assert _centre(app, "light table").one.medium_ids == (1,)
    drawing = _centre(app, "drawing").one
    assert _centre(app, "drawing").works > 0
    ticks = {f"medium-{one}": "1" for one in drawing.medium_ids[1:]}
    address = f"/settings/centers/{drawing.centre_id}"
    app.desk.words.catch_up()
    page = app.client.post(address, data={"label": "sketching corner", "do": "keep"} | ticks).text
    assert _centre(app, "sketching corner").one.medium_ids == drawing.medium_ids[1:]
    app.desk.words.catch_up()
    assert len(app.desk.words.search("sketching").hits) == _centre(app, "sketching corner").works
    undo(app, page)
    app.desk.words.catch_up()
    assert not app.desk.words.search("sketching").hits
    assert _centre(app, "drawing").one == drawing


def test_centers_are_ordered_retired_and_deleted_when_unused(app: App) -> None:
    """As media; a retired center is not offered on a class's page."""
    clay = _centre(app, "clay").one
    address = f"/settings/centers/{clay.centre_id}"
    grid = f"/classes/{app.room.classes['3B']}"
    assert f"{grid}/centers/{clay.centre_id}" in app.client.get(grid).text
    app.client.post(address, data={"do": "retire"})
    assert f"{grid}/centers/{clay.centre_id}" not in app.client.get(grid).text
    app.client.post(address, data={"do": "offer"})
    page = app.client.post(address, data={"do": "delete"}).text
    assert "clay" not in [one.one.label for one in flow.see_centres(app.room.library)]
    undo(app, page)
    assert _centre(app, "clay").one == clay
    assert app.client.post(f"/settings/centers/{_centre(app, 'drawing').key}", data={"do": "delete"}).status_code == 409
    assert "A name is needed." in app.client.post(address, data={"label": "", "do": "keep"}).text
