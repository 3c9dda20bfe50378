"""The card's contract: which tag means what, and where everything lies."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.cards.geometry import (
    CARD,
    CONTROLS,
    LEGAL_IDS,
    NUMBER_BOX,
    PATCHES,
    QUIET_MM,
    TAG_CENTERS_APART_MM,
    TAGS,
    VALUES,
    WHITES,
    Rect,
    Side,
    card_of_tag,
    slot_of,
    tag_corners,
    tags_of,
)
from portfolio.model.cards import CardKind, Control

CARDS = [(kind, value) for kind, values in VALUES.items() for value in values]


@given(st.sampled_from(CARDS))
def test_a_tag_leads_back_to_its_card(card: tuple[CardKind, int]) -> None:
    """Both tags of a card lead back to that card, and each says its own side."""
    left, right = tags_of(*card)
    assert card_of_tag(left) == (*card, Side.LEFT)
    assert card_of_tag(right) == (*card, Side.RIGHT)


@given(st.integers(-1000, 1000))
def test_any_other_tag_belongs_to_nothing(tag_id: int) -> None:
    """An id that no card carries says nothing, never something near it."""
    carried = {tag for card in CARDS for tag in tags_of(*card)}
    assert (card_of_tag(tag_id) is not None) == (tag_id in carried)


def test_no_two_cards_share_a_tag() -> None:
    """The ranges of all kinds and both sides are disjoint, and every id exists among the family's 587 codes."""
    tags = [tag for card in CARDS for tag in tags_of(*card)]
    assert len(tags) == len(set(tags)) == len(LEGAL_IDS) == 2 * (40 + 30 + 10 + 60)
    assert min(tags) == 1
    assert max(tags) < 587


def test_the_ranges_are_those_of_the_contract() -> None:
    """Cards printed years ago keep their meaning."""
    spans = {kind: (values[0], values[-1]) for kind, values in VALUES.items()}
    assert spans == {
        CardKind.NUMBER: (1, 40),
        CardKind.MEDIUM: (61, 90),
        CardKind.CONTROL: (101, 110),
        CardKind.CLASS: (301, 360),
    }
    assert CONTROLS[101] is Control.ANOTHER_VIEW
    assert CONTROLS[106] is Control.END_OF_CLASS
    assert (slot_of(301), slot_of(360)) == (1, 60)


@pytest.mark.parametrize("card", [(CardKind.NUMBER, 0), (CardKind.NUMBER, 41), (CardKind.CLASS, 300)])
def test_a_card_that_does_not_exist_is_refused(card: tuple[CardKind, int]) -> None:
    """No tag is handed out for a number outside its range."""
    with pytest.raises(ValueError, match="no"):
        tags_of(*card)


def _overlap(one: Rect, other: Rect) -> bool:
    return (
        one.x_mm < other.x_mm + other.width_mm
        and other.x_mm < one.x_mm + one.width_mm
        and one.y_mm < other.y_mm + other.height_mm
        and other.y_mm < one.y_mm + one.height_mm
    )


def test_nothing_stands_in_the_quiet_zone() -> None:
    """Five millimeters round each tag stay white, inside the card, even when 3 mm are cut off a side."""
    for tag in TAGS.values():
        quiet = tag.inset(-QUIET_MM)
        assert not any(_overlap(quiet, other) for other in (*PATCHES, NUMBER_BOX))
        assert quiet.x_mm >= 3
        assert quiet.y_mm >= 3
        assert quiet.x_mm + quiet.width_mm <= CARD.width_mm - 3
        assert quiet.y_mm + quiet.height_mm <= CARD.height_mm - 3


def test_parts_do_not_touch() -> None:
    """Tags, patches, number and the white strips keep apart."""
    parts = (*TAGS.values(), *PATCHES, NUMBER_BOX, *WHITES)
    assert not any(_overlap(one, other) for one, other in itertools.combinations(parts, 2))


def test_tags_lie_as_the_contract_says() -> None:
    """Black squares of 40 mm at (8, 10) and (92, 10), centers 84 mm apart."""
    assert tag_corners(Side.LEFT) == ((8, 10), (48, 10), (48, 50), (8, 50))
    assert tag_corners(Side.RIGHT) == ((92, 10), (132, 10), (132, 50), (92, 50))
    assert math.dist(*(tag.center for tag in TAGS.values())) == TAG_CENTERS_APART_MM
