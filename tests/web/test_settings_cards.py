"""Settings, cards: pages with the cards that were asked for; class cards then stand for their classes."""

from __future__ import annotations

from io import BytesIO

import pikepdf
import pytest

from portfolio.flows import school
from tests.web.conftest import App
from tests.web.room import TODAY


def _pages(pdf: bytes) -> int:
    with pikepdf.open(BytesIO(pdf)) as opened:
        return len(opened.pages)


def test_the_page_offers_what_the_room_has(app: App) -> None:
    """Classes and media by their own words; nothing is ticked but the control cards."""
    page = app.client.get("/settings/cards").text
    assert "A card for each class: 3B" in page
    assert 'value="1-30"' in page
    assert page.count(" checked") == 1


@pytest.mark.parametrize(
    ("typed", "pages"), [({"numbers": "1-4"}, 1), ({"numbers": "1-5, 9"}, 2), ({"numbers": "", "controls": "1"}, 3)]
)
def test_a_pdf_holds_what_was_asked_for(app: App, typed: dict[str, str], pages: int) -> None:
    """Four number cards or two large cards a page; saved under a plain name."""
    said = app.client.post("/settings/cards", data=typed)
    assert said.headers["content-type"] == "application/pdf"
    assert "cards.pdf" in said.headers["content-disposition"]
    assert _pages(said.content) == pages


def test_class_cards_stand_for_their_classes(app: App) -> None:
    """Printing them is what maps them; before, no card stands for a class."""
    assert app.client.post("/settings/cards", data={"classes": "1"}).status_code == 200
    mapped = school.class_cards(app.room.library, today=TODAY)
    assert "3B" in mapped.values()


@pytest.mark.parametrize(
    ("typed", "said"),
    [({"numbers": "0-4"}, "Write numbers from 1 to 40"), ({"numbers": ""}, "Choose at least one card.")],
)
def test_what_cannot_be_printed_is_said_beside_the_field(app: App, typed: dict[str, str], said: str) -> None:
    """The form comes back with what was typed."""
    page = app.client.post("/settings/cards", data=typed)
    assert page.status_code == 422
    assert said in page.text
    assert 'id="numbers-problem"' in page.text


def test_the_page_on_how_to_photograph(app: App) -> None:
    """One page, on either paper."""
    for paper in ("", "?paper=a4"):
        assert _pages(app.client.get(f"/settings/cards/how-to.pdf{paper}").content) == 1
