"""Which work belongs to which card: by nearness, by the usual side, and large things before scraps."""

from __future__ import annotations

import numpy as np

from portfolio.straighten.belonging import (
    Owner,
    apart_mm_of,
    in_one_order,
    may_be_scrap,
    owners_of,
    side_of,
    usual_side,
    walked,
)


def box(x, y, width, height):
    """An outline round a middle, with points along its sides."""
    ends = [(x - width / 2, y - height / 2), (x + width / 2, y - height / 2)]
    ends += [(x + width / 2, y + height / 2), (x - width / 2, y + height / 2)]
    sides = zip(ends, ends[1:] + ends[:1], strict=True)
    return np.array([np.add(a, np.subtract(b, a) * t) for a, b in sides for t in np.linspace(0, 1, 40, endpoint=False)])


def card(x, y):
    """The corners of a card round a middle, upright."""
    return np.array([(x - 70, y - 30), (x + 70, y - 30), (x + 70, y + 30), (x - 70, y + 30)], float)


def test_each_card_gets_the_work_beside_it():
    """Far apart and near by: clear."""
    owners = owners_of([card(0, 0), card(600, 0)], [box(600, 120, 150, 150), box(0, 120, 150, 150)])
    assert [(one.thing, one.clear) for one in owners] == [(1, True), (0, True)]


def test_a_work_nearest_to_one_card_is_left_to_the_card_that_has_no_other():
    """The first card lies 5 mm from the second's work and 13 mm from its own; the second has nothing else near."""
    cards = [card(0, 0), card(-176, -110)]
    assert [one.thing for one in owners_of(cards, [box(0, -110, 200, 150), box(183, 0, 200, 150)])] == [1, 0]


def test_a_card_without_a_work_takes_none_from_the_others():
    """The second of three works was not seen: its card is left with nothing, the others keep theirs."""
    cards = [card(x, 0) for x in (0, 300, 600)]
    owners = owners_of(cards, [box(0, 120, 200, 150), box(600, 120, 200, 150)])
    assert [one and one.thing for one in owners] == [0, None, 1]


def test_the_four_sides_of_a_card():
    """Right, below, left, above, also of a card that lies on its head."""
    things = [box(200, 0, 80, 80), box(0, 120, 80, 80), box(-200, 0, 80, 80), box(0, -120, 80, 80)]
    assert [side_of(card(0, 0), one) for one in things] == [0, 1, 2, 3]
    assert [side_of(np.roll(card(0, 0), 2, axis=0), one) for one in things] == [2, 3, 0, 1]


def column(between):
    """Three works in a column, each with its card ``between`` mm below it; the next work lies 20 mm below the card."""
    cards, things = [], []
    for row in range(3):
        y = row * (150 + between + 60 + 20)
        things.append(box(0, y, 200, 150))
        cards.append(card(0, y + 75 + between + 30))
    return cards, things


def test_the_usual_side_tells_whose_a_work_between_two_cards_is():
    """Each card lies nearer to the next work than to its own; the last, with nothing below, and the first tell."""
    cards, things = column(18)
    assert usual_side(cards, things, apart_mm_of(cards, things)) == 3
    assert [one.thing for one in owners_of(cards, things)] == [0, 1, 2]


def test_scraps_do_not_tell_the_usual_side():
    """Each of four cards has its work above it; three have a scrap below, nearer than that."""
    cards = [card(x, 0) for x in (0, 400, 800, 1200)]
    works = [box(x, -130, 200, 150) for x in (0, 400, 800, 1200)]
    scraps = [box(x, 65, 90, 60) for x in (0, 400, 800)]
    things = [*works[:3], *scraps]  # the last work was not seen
    assert usual_side(cards, things, apart_mm_of(cards, things)) == 3


def test_what_lies_between_two_cards_is_never_clear():
    """The guess is right, but it stays a question."""
    cards, things = column(18)
    assert not any(one.clear for one in owners_of(cards, things)[:2])


def test_a_scrap_nearer_than_the_work_is_not_taken_for_it():
    """A small scrap touches the card; the sheet lies 25 mm away: the sheet is proposed, not surely."""
    (owner,) = owners_of([card(0, 0)], [box(0, 70, 60, 60), box(0, -130, 200, 150)])
    assert (owner.thing, owner.clear) == (1, False)


def test_nothing_near_is_nobodys():
    """A thing farther than the farthest is not even guessed; a card that was not wholly read gets none."""
    assert owners_of([card(0, 0), None], [box(0, 400, 100, 100)]) == [None, None]
    assert owners_of([card(0, 0)], []) == [None]


def test_a_side_is_near_where_no_corner_is():
    """Of a sheet only four corners are known: walked, it lies left of its card and 20 mm away, not below it."""
    corners = np.array([(-290, -110), (-90, -110), (-90, 40), (-290, 40)], float)
    outline = walked(corners)
    assert side_of(card(0, 0), outline) == 2
    assert abs(apart_mm_of([card(0, 0)], [outline])[0, 0] - 20) < 0.5
    steps = np.linalg.norm(np.roll(outline, -1, axis=0) - outline, axis=1)
    assert steps.max() <= 2.001
    assert all(np.abs(outline - corner).sum(axis=1).min() < 1e-9 for corner in corners)


def test_an_order_is_three_works_at_the_same_side():
    """Every card with a work that is no scrap, all at one side: then other things do not matter."""
    cards, things = column(18)
    things = [*things, box(500, 0, 60, 60)]
    owners = [Owner(place, clear=True) for place in range(3)]
    assert in_one_order(cards, things, owners)
    assert not in_one_order(cards, things, [*owners[:2], None])
    assert not in_one_order(cards[:2], things, owners[:2])
    assert not in_one_order(cards, [*things[:2], box(0, things[2][:, 1].mean(), 90, 90)], owners)
    assert not in_one_order(cards, [*things[:2], box(220, cards[2][:, 1].mean(), 140, 140)], owners)


def test_what_may_be_a_scrap():
    """Small, or at another side than the other works."""
    assert may_be_scrap(card(0, 0), box(0, 100, 80, 80), None)
    assert not may_be_scrap(card(0, 0), box(0, 130, 150, 150), None)
    assert may_be_scrap(card(0, 0), box(0, 130, 150, 150), usual=3)


def test_in_a_row_the_side_with_a_work_for_every_card_is_the_usual_one():
    """Works left of their cards in one row: each card but the last lies between two works, a little nearer the next."""
    things = [box(x, 0, 150, 150) for x in (0.0, 340.0, 680.0, 1020.0)]
    cards = [card(x + 172, 0) for x in (0.0, 340.0, 680.0)] + [card(1020.0 + 172, 0)]
    assert usual_side(cards, things, apart_mm_of(cards, things)) == 2
    assert [one.thing for one in owners_of(cards, things)] == [0, 1, 2, 3]
