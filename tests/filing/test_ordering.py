"""The order of numbers: only when chosen, and only when everything fits."""

from dataclasses import replace

from portfolio.model.cards import CardStatus, Control
from portfolio.model.filing import BatchMode, Chosen, Filing, What
from tests.support.rows import (
    CLASS,
    OTHER_CLASS,
    answered,
    class_card,
    context,
    control,
    decide,
    is_filed,
    kinds,
    medium_card,
    number,
    row,
    the,
)

ORDER = Chosen(class_id=CLASS, mode=BatchMode.ORDER)


def test_photos_without_cards_are_filed_in_the_order_of_numbers():
    """Five children, five photos; the reason says that the order was chosen."""
    decided = decide(row((), (), (), (), ()), context(ORDER))
    assert all(is_filed(the(decided, place), CLASS, place) for place in range(1, 6))
    assert "order of numbers" in the(decided, 1).reason


def test_absent_numbers_are_left_out():
    """The teacher ticked 2 and 5: three photos are 1, 3 and 4."""
    decided = decide(row((), (), ()), context(replace(ORDER, absent=frozenset({2, 5}))))
    assert [one.filing.numbers for one in decided.decisions] == [(1,), (3,), (4,)]


def test_the_mode_must_be_chosen():
    """Without it, photos without cards are asked, however well the count fits."""
    assert kinds(decide(row((), (), (), (), ()), context(Chosen(class_id=CLASS)))) == ["no-card"] * 5


def test_one_photo_too_many_or_too_few_asks_about_all():
    """A shift by one would misfile everybody behind it."""
    for count in (4, 6):
        decided = decide(row(*[()] * count), context(ORDER))
        assert kinds(decided) == ["order"] * count
        assert the(decided, 1).asked.guess.numbers == (1,)


def test_a_card_that_fits_confirms_and_one_that_does_not_asks():
    """Cards in the row are read all the same; one that says another number breaks the order."""
    assert kinds(decide(row((), number(2), (), (), ()), context(ORDER))) == ["file"] * 5
    decided = decide(row((), number(3), (), (), ()), context(ORDER))
    assert kinds(decided) == ["order", "file", "order", "order", "order"]


def test_slates_and_marked_views_take_no_place():
    """A class card and a further view, marked by its card, do not shift the row."""
    photos = row(class_card(CLASS), (), number(2), (number(2), control(Control.BACK)), (), (), ())
    assert kinds(decide(photos, context(ORDER))) == ["slate", *["file"] * 6]


def test_the_same_picture_twice_in_a_row_breaks_the_order():
    """The count fits only because one work was taken twice and one child was absent: asked, not shifted."""
    same = {2: 7, 3: 7}
    photos = [replace(one, crop_hash=same.get(one.photo_id, one.photo_id << 40)) for one in row(*[()] * 5)]
    assert kinds(decide(photos, context(ORDER))) == ["order"] * 5


def test_what_the_teacher_has_answered_keeps_its_place_in_the_row():
    """One half card is asked and the rest filed by their order; her answer leaves the rest filed."""
    photos = row((), number(2, CardStatus.CHECK), (), (), ())
    assert kinds(decide(photos, context(ORDER))) == ["file", "half-card", "file", "file", "file"]
    decided = decide([answered(one, 2) if one.photo_id == 2 else one for one in photos], context(ORDER))
    assert kinds(decided) == ["file", "keep", "file", "file", "file"]
    assert is_filed(the(decided, 3), CLASS, 3)


def test_an_answer_that_does_not_fit_the_row_asks_about_the_rest():
    """She says that the second photo is 3's, or of another class: then the others do not lie in order either."""
    for settled in (answered(row((), ())[1], 3), answered(row((), ())[1], 2, class_id=OTHER_CLASS)):
        photos = [settled if one.photo_id == 2 else one for one in row(*[()] * 5)]
        assert kinds(decide(photos, context(ORDER))) == ["order", "keep", "order", "order", "order"]


def test_what_the_teacher_set_aside_or_filed_as_a_further_view_takes_no_place():
    """Seven photos for five children, two of them dealt with otherwise: the rest fits."""
    photos = row(*[()] * 7)
    aside, view = replace(photos[1], closed=True), replace(photos[3], fixed=Filing(What.VIEW, joins_photo=3))
    decided = decide([photos[0], aside, photos[2], view, *photos[4:]], context(ORDER))
    assert kinds(decided) == ["file", "keep", "file", "keep", "file", "file", "file"]


def test_medium_and_center_are_those_of_the_row_not_of_the_work_before():
    """A medium card beside one work speaks of that work only; the others keep what was chosen for all."""
    chosen = replace(ORDER, medium_id=3, centre_id=8)
    photos = row((), (number(2), medium_card(7)), (), (), ())
    decided = decide(photos, context(chosen, centre_of={7: 5}))
    assert [(one.filing.medium_id, one.filing.centre_id) for one in decided.decisions] == [
        (3, 8),
        (7, 5),
        *[(3, 8)] * 3,
    ]


def test_a_medium_card_before_the_row_gives_its_center_too():
    """The slate says clay, and only one center has clay."""
    decided = decide(row(medium_card(7), *[()] * 5), context(ORDER, centre_of={7: 5}))
    assert {(one.filing.medium_id, one.filing.centre_id) for one in decided.decisions[1:]} == {(7, 5)}
