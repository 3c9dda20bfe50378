"""Whose is it? A photo is filed only on evidence that nothing contradicts; anything else is asked."""

from dataclasses import replace
from datetime import date, datetime, time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.model.calendar import SlotMatch
from portfolio.model.cards import CardKind, CardSeen, CardStatus, Control
from portfolio.model.filing import Chosen, FiledWork, Filing, Outcome, Role, What
from portfolio.model.people import RollEntry
from portfolio.model.photo import Taken, TakenSource
from tests.support.batches import YEAR
from tests.support.rows import (
    CLASS,
    DAY,
    NEXT_CLASS,
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
    roll,
    row,
    student,
    the,
)

SUMMER = datetime(2027, 7, 20, 10, 0)  # noqa: DTZ001  wall time
SATURDAY = datetime(2026, 8, 29, 10, 0)  # noqa: DTZ001  wall time


# --- filed ------------------------------------------------------------------------------------------------------------


def test_a_sure_card_minutes_after_the_bell_is_filed_by_the_timetable():
    """Number from the card, class from the lesson that has just ended; the reason says both."""
    decided = decide(row(number(3)))
    assert is_filed(the(decided, 1), CLASS, 3)
    assert "number card 3" in the(decided, 1).reason.lower()
    assert "timetable" in the(decided, 1).reason


def test_a_class_card_sets_the_class_for_the_photos_that_follow():
    """At lunch no lesson is near: the slate alone says the class, until the next one."""
    lunch = datetime.combine(DAY, time(11, 50))
    photos = row(class_card(CLASS), number(1), number(2), class_card(NEXT_CLASS), number(1), start=lunch)
    decided = decide(photos)
    assert kinds(decided) == ["slate", "file", "file", "slate", "file"]
    assert is_filed(the(decided, 3), CLASS, 2)
    assert is_filed(the(decided, 5), NEXT_CLASS, 1)


def test_a_chosen_class_is_enough_when_no_lesson_is_near():
    """The teacher's own word at the upload."""
    photos = row(number(2), start=datetime.combine(DAY, time(16, 30)))
    assert is_filed(the(decide(photos, context(Chosen(class_id=OTHER_CLASS))), 1), OTHER_CLASS, 2)


def test_the_same_crop_again_is_another_view_of_the_same_work():
    """Two photos of one work, four bits apart: one work with two views, nothing asked."""
    decided = decide(row(number(3), number(3), hashes={1: 0b1010, 2: 0b0101}))
    assert kinds(decided) == ["file", "file"]
    again = the(decided, 2).filing
    assert (again.what, again.role, again.joins_photo) == (What.VIEW, Role.ANGLE, 1)


@pytest.mark.parametrize(
    ("word", "role"),
    [
        (Control.ANOTHER_VIEW, Role.ANGLE),
        (Control.BACK, Role.BACK),
        (Control.DETAIL, Role.DETAIL),
        (Control.SLIP, Role.SLIP),
    ],
)
def test_a_control_card_beside_a_number_adds_to_the_work_before(word, role):
    """Another view, back, detail and slip join the work of that number, whatever the pictures look like."""
    decided = decide(row(number(3), number(4), (number(3), control(word))))
    assert kinds(decided) == ["file", "file", "file"]
    added = the(decided, 3).filing
    assert (added.what, added.role, added.joins_photo) == (What.VIEW, role, 1)


def test_a_slip_card_alone_makes_a_stack_of_slips():
    """Slips are photographed in a stack: each joins its own number's work until the class ends."""
    decided = decide(row(number(1), number(2), control(Control.SLIP), number(2), number(1)))
    assert kinds(decided) == ["file", "file", "slate", "file", "file"]
    assert [the(decided, place).filing.joins_photo for place in (4, 5)] == [2, 1]
    assert the(decided, 4).filing.role is Role.SLIP


def test_a_view_card_alone_counts_only_for_the_same_number():
    """After the word "another view", a photo of another number is a new work."""
    decided = decide(row(number(1), control(Control.ANOTHER_VIEW), number(1), number(2)))
    assert the(decided, 3).filing.what is What.VIEW
    assert the(decided, 4).filing.what is What.WORK


def test_the_group_card_makes_one_work_of_several_children():
    """Two sure number cards and the group card: one work, both children."""
    decided = decide(row((number(2), number(4), control(Control.GROUP_WORK))))
    assert is_filed(the(decided, 1), CLASS, 2, 4)


def test_media_come_from_the_card_beside_then_from_the_card_before_then_from_the_choice():
    """The nearest card wins, an unclear one leaves the medium open, a new class card ends it."""
    photos = row(
        number(1),
        medium_card(7),
        number(2),
        (number(3), medium_card(9)),
        (number(4), medium_card(9, CardStatus.CHECK)),
        class_card(CLASS),
        number(5),
    )
    decided = decide(photos, context(Chosen(medium_id=2)))
    media = [one.filing.medium_id for one in decided.decisions if one.filing]
    assert media == [2, 7, 9, None, 2]


def test_a_photo_without_time_is_filed_when_the_number_never_changed_hands():
    """Class chosen, no time in the file: who it is does not hang on the day."""
    decided = decide(row(number(2), timed=False), context(Chosen(class_id=CLASS)))
    assert is_filed(the(decided, 1), CLASS, 2)
    assert the(decided, 1).filing.day == DAY


def test_a_chosen_day_counts_and_the_camera_clock_is_not_held_against_it():
    """Works of last week photographed today: the teacher said the day."""
    given = context(Chosen(class_id=CLASS, day=date(2026, 9, 1)))
    decided = decide(row(number(2), start=datetime.combine(DAY, time(10, 0))), given)
    assert is_filed(the(decided, 1), CLASS, 2)
    assert the(decided, 1).filing.day == date(2026, 9, 1)


def test_a_weekend_is_not_asked_about_when_the_class_is_said():
    """Stacks are also photographed on Saturdays."""
    assert kinds(decide(row(number(2), start=SATURDAY), context(Chosen(class_id=CLASS)))) == ["file"]


# --- asked ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cards", "kind"),
    [
        ((number(3, CardStatus.CHECK),), "half-card"),
        ((number(3, CardStatus.CONFLICT),), "cards-disagree"),
        ((number(3), number(3)), "cards-disagree"),
        ((number(3), number(4)), "two-numbers"),
        ((number(3), number(4, CardStatus.CHECK)), "two-numbers"),
        ((number(3), control(Control.GROUP_WORK)), "group-of-one"),
        ((number(3), number(4, CardStatus.CHECK), control(Control.GROUP_WORK)), "half-card"),
        ((number(3), control(Control.BACK, CardStatus.CHECK)), "half-card"),
        ((number(3), control(Control.BACK), control(Control.SLIP)), "cards-disagree"),
        ((number(3), CardSeen(CardKind.CONTROL, 109, CardStatus.SURE)), "cards-disagree"),
        ((number(3), control(Control.BACK)), "nothing-before"),
        ((number(9),), "number-nobody"),
        ((), "no-card"),
    ],
)
def test_doubtful_cards_are_asked(cards, kind):
    """Half a card, cards that disagree, two numbers, nobody's number, nothing to add to, no card: never filed."""
    assert kinds(decide(row(cards))) == [kind]


def test_a_class_card_against_the_chosen_class_is_asked_with_both():
    """Neither the card nor the choice wins; the class that the timetable says stands first."""
    decided = decide(row(class_card(OTHER_CLASS), number(2)), context(Chosen(class_id=CLASS)))
    assert kinds(decided) == ["slate", "class-chosen"]
    asked = the(decided, 2).asked
    assert [asked.guess.class_id, *(one.class_id for one in asked.options)] == [CLASS, OTHER_CLASS]
    assert asked.guess.is_complete


@pytest.mark.parametrize("how", ["card", "chosen"])
def test_a_class_against_a_sure_timetable_is_asked(how):
    """One class card alone never overrules the clock, nor the clock the card."""
    photos = row(class_card(NEXT_CLASS), number(2)) if how == "card" else row(number(2))
    given = context() if how == "card" else context(Chosen(class_id=NEXT_CLASS))
    assert kinds(decide(photos, given))[-1] == "class-timetable"


def test_an_unclear_class_card_ends_the_class_before_it():
    """A half-read or unmapped class card: what follows is not filed under the old class."""
    lunch = datetime.combine(DAY, time(11, 50))
    for unclear in (class_card(NEXT_CLASS, CardStatus.CHECK), class_card(50)):
        photos = row(class_card(CLASS), number(1), unclear, number(2), start=lunch)
        assert kinds(decide(photos)) == ["slate", "file", "slate", "class-card"]


def test_a_class_card_does_not_hold_overnight_nor_over_a_long_gap():
    """The next day, or hours later, the class must be said again."""
    lunch = datetime.combine(DAY, time(11, 50))
    first, second, third = row(class_card(CLASS), number(1), number(2), start=lunch)
    late = replace(third, taken=Taken(datetime.combine(DAY, time(17, 0)), TakenSource.ORIGINAL))
    assert kinds(decide([first, second, late]))[-1] == "no-class"
    tomorrow = replace(third, taken=Taken(datetime.combine(date(2026, 8, 25), time(17, 0)), TakenSource.ORIGINAL))
    assert kinds(decide([first, second, tomorrow]))[-1] == "no-class"


def test_the_end_of_class_card_ends_the_class():
    """After it, nothing is filed under that class by its card."""
    lunch = datetime.combine(DAY, time(11, 50))
    photos = row(class_card(CLASS), number(1), control(Control.END_OF_CLASS), number(2), start=lunch)
    assert kinds(decide(photos)) == ["slate", "file", "slate", "no-class"]


def test_two_cameras_have_each_their_own_class():
    """A helper's class card says nothing about the photos of another camera."""
    lunch = datetime.combine(DAY, time(11, 50))
    slate, mine, theirs = row(class_card(CLASS), number(1), number(2), start=lunch)
    assert kinds(decide([slate, replace(theirs, camera="tablet"), mine])) == ["slate", "no-class", "file"]


def test_no_time_and_no_class_is_asked():
    """The file says no time, nobody says a class."""
    assert kinds(decide(row(number(2), timed=False))) == ["no-class"]


def test_the_time_of_the_file_is_no_time():
    """A modification time never says which lesson it was."""
    photo = row(number(2))[0]
    photo = replace(photo, taken=Taken(photo.taken.local, TakenSource.FILE))
    assert kinds(decide([photo])) == ["no-class"]


def test_a_photo_in_the_holidays_is_asked_even_with_a_class():
    """A day without school hints at a wrong clock: who held the number then may be somebody else."""
    assert kinds(decide(row(number(2), start=SUMMER), context(Chosen(class_id=CLASS)))) == ["no-school"]


def test_a_number_that_changed_hands_goes_to_who_held_it_that_day():
    """The enrolment of the day counts; without a day it is asked."""
    entries = (
        RollEntry(1, CLASS, 3, YEAR.starts_on, date(2026, 12, 31)),
        RollEntry(2, CLASS, 3, date(2027, 1, 1)),
    )
    given = context(Chosen(class_id=CLASS), roll=entries)
    assert the(decide(row(number(3)), given), 1).filing.student_ids == (1,)
    later = row(number(3), start=datetime(2027, 2, 1, 16, 30))  # noqa: DTZ001  wall time
    assert the(decide(later, given), 1).filing.student_ids == (2,)
    asked = the(decide(row(number(3), timed=False), given), 1).asked
    assert asked.kind.value == "no-day"
    assert [one.student_ids for one in asked.options] == [(1,), (2,)]


def test_a_number_that_two_children_hold_is_held_by_nobody():
    """A mistake in the roll is never settled by chance."""
    given = context(roll=(*roll(CLASS), RollEntry(999, CLASS, 3, YEAR.starts_on)))
    assert kinds(decide(row(number(3)), given)) == ["number-nobody"]


def test_the_same_number_twice_with_other_pictures_is_asked_with_the_first_beside_it():
    """A second work, or a wrong card: the second is asked, the first is shown."""
    decided = decide(row(number(3), number(3)))
    assert kinds(decided) == ["file", "number-twice"]
    asked = the(decided, 2).asked
    assert asked.beside == (1,)
    assert {asked.guess.what, asked.options[0].what} == {What.WORK, What.VIEW}


def test_a_gray_look_is_asked_with_the_view_first():
    """14 of 64 bits apart: probably the same work, but only probably."""
    decided = decide(row(number(3), number(3), hashes={1: 0, 2: 2**14 - 1}))
    assert the(decided, 2).asked.guess.what is What.VIEW


def test_works_of_an_earlier_batch_count_too():
    """The same number on the same day in another upload is noticed."""
    given = context(filed=(FiledWork(77, CLASS, (3,), DAY, (0b111,)),))
    assert kinds(decide(row(number(3)), given)) == ["number-twice"]
    near = the(decide(row(number(3), hashes={1: 0b110}), given), 1)
    assert near.filing.joins_work == 77


def test_a_photo_without_a_card_is_grouped_with_the_photo_before():
    """It is never filed by itself; two of them after one work are one group, which one key can accept."""
    decided = decide(row(number(3), (), ()))
    assert kinds(decided) == ["file", "no-card", "no-card"]
    second, third = the(decided, 2).asked, the(decided, 3).asked
    assert second.group == third.group is not None
    assert (second.guess.what, second.guess.joins_photo) == (What.VIEW, 1)
    assert "5 seconds after a photo of number 3" in second.evidence


def test_a_photo_without_a_card_long_after_is_not_grouped():
    """Half an hour later it is a photo of something else."""
    decided = decide(row(number(3), (), step_s=1800, start=datetime.combine(DAY, time(8, 0))))
    assert not the(decided, 2).asked.guess.is_complete


def test_a_second_number_left_in_view_is_guessed_to_be_the_old_one():
    """The card of the work before is often still there: the other number is the best guess, but it is asked."""
    decided = decide(row(number(3), (number(3), number(4))))
    assert the(decided, 2).asked.guess.numbers == (4,)


def test_numbers_of_the_next_class_under_a_forgotten_class_card_recall_the_stack():
    """At lunch only the card says the class: when numbers begin to repeat with other pictures, all are asked."""
    lunch = datetime.combine(DAY, time(11, 50))
    stack = [number(value) for value in (1, 2, 3, 4)]
    decided = decide(row(class_card(CLASS), *stack, *stack, start=lunch))
    assert kinds(decided) == ["slate", *["class-stack"] * 8]
    assert len({one.asked.group for one in decided.decisions[1:]}) == 1


def test_a_number_of_nobody_recalls_a_stack_that_only_the_timetable_placed():
    """The camera's clock may be wrong; a class card or a choice would not be doubted for it."""
    photos = row(number(1), number(9), number(2))
    assert kinds(decide(photos)) == ["class-stack", "number-nobody", "class-stack"]
    assert kinds(decide(photos, context(Chosen(class_id=CLASS)))) == ["file", "number-nobody", "file"]


def test_a_number_that_was_said_to_be_absent_is_asked_when_its_card_is_seen():
    """The child laid another's card, or the tick is wrong: the count says it too once she has answered."""
    given = context(Chosen(class_id=CLASS, absent=frozenset({3})))
    photos = row(number(2), number(3))
    assert kinds(decide(photos, given)) == ["file", "number-absent"]
    assert "you said that number 3" in the(decide(photos, given), 2).reason.lower()
    checks = decide([photos[0], answered(photos[1], 3)], given).checks
    assert checks[0].absent_seen == (3,)
    assert "3 said to be absent but here" in checks[0].sentence


def test_absent_numbers_are_those_of_the_class_that_was_chosen():
    """A class card of another class in the same batch: its number 3 was not ticked."""
    chosen = Chosen(class_id=CLASS, absent=frozenset({3}))
    assert chosen.absent_in(CLASS) == {3}
    assert chosen.absent_in(NEXT_CLASS) == frozenset()


def test_half_read_cards_of_one_class_are_asked_together():
    """One key for all that were used nowhere else; a number that is seen in another photo is asked alone."""
    half = [number(value, CardStatus.CHECK) for value in (1, 2, 3)]
    decided = decide(row(*half, number(3)))
    groups = [one.asked.group if one.asked else None for one in decided.decisions]
    assert groups == [f"half-{CLASS}", f"half-{CLASS}", None, None]


def test_a_whole_card_begins_the_work_whose_first_photo_shows_half_a_card():
    """ "Another view" with the whole card is a sure number: filed. The half card is guessed to be a view of it."""
    photos = row(number(3, CardStatus.CHECK), (number(3), control(Control.ANOTHER_VIEW)), number(4))
    decided = decide(photos)
    assert kinds(decided) == ["half-card", "file", "file"]
    assert the(decided, 2).filing.what is What.WORK
    asked = the(decided, 1).asked
    assert (asked.guess.what, asked.guess.joins_photo, asked.options[0].what) == (What.VIEW, 2, What.WORK)


def test_half_a_card_with_the_same_picture_is_a_view_and_with_another_is_a_work():
    """The same picture with its whole card right after: yes must not make a second work of it."""
    half, whole = number(3, CardStatus.CHECK), number(3)
    same = the(decide(row(half, whole, hashes={1: 0b11, 2: 0b01})), 1).asked
    assert (same.guess.what, same.guess.joins_photo) == (What.VIEW, 2)
    assert the(decide(row(half, whole)), 1).asked.guess.what is What.WORK


def test_a_picture_that_cannot_be_compared_right_after_the_first_is_guessed_to_be_another_view():
    """A three-dimensional work is turned round: those of one class are one question, with the view as the guess."""
    photos = row(number(1), number(1), number(2), number(2), number(1))
    solid = [replace(one, crop_hash=None) for one in photos]
    decided = decide(solid)
    assert kinds(decided) == ["file", "number-twice", "file", "number-twice", "number-twice"]
    groups = [one.asked.group if one.asked else None for one in decided.decisions]
    assert groups == [None, f"again-{CLASS}", None, f"again-{CLASS}", None]
    assert [the(decided, place).asked.guess.what for place in (2, 4, 5)] == [What.VIEW, What.VIEW, What.WORK]


def test_a_class_card_that_lay_in_its_own_lesson_is_guessed_to_be_forgotten_in_the_next():
    """The clock was right when the card lay there, so in the next lesson the timetable's class is the best guess."""
    first = row(class_card(CLASS), number(1))
    later = row((), (), number(1), number(2), start=datetime.combine(DAY, time(10, 15)))[2:]
    decided = decide([*first, *(replace(one, photo_id=one.photo_id + 10) for one in later)])
    assert kinds(decided) == ["slate", "file", "class-timetable", "class-timetable"]
    asked = the(decided, 3).asked
    assert [asked.guess.class_id, asked.options[0].class_id] == [NEXT_CLASS, CLASS]
    assert asked.group == the(decided, 4).asked.group is not None


# --- what the teacher has said, and what holds for every batch --------------------------------------------------------


def test_what_the_teacher_settled_is_kept_and_counts_for_its_neighbors():
    """A fixed photo is not decided again; a view card after it joins it."""
    first, second = row(number(3), (number(4), control(Control.BACK)))
    fixed = Filing(What.WORK, CLASS, (4,), DAY, (student(CLASS, 4),))
    decided = decide([replace(first, fixed=fixed), second])
    assert the(decided, 1).outcome is Outcome.KEEP
    assert the(decided, 2).filing.joins_photo == 1


def test_a_class_card_beside_a_settled_work_still_begins_the_class():
    """At lunch only the class card says the class; her answer about the first photo leaves the next ones filed."""
    lunch = datetime.combine(DAY, time(11, 50))
    photos = row((class_card(CLASS), number(1, CardStatus.CHECK)), number(2), number(3), start=lunch)
    assert kinds(decide(photos)) == ["half-card", "file", "file"]
    for settled in (answered(photos[0], 1), replace(photos[0], closed=True)):
        decided = decide([settled, *photos[1:]])
        assert kinds(decided) == ["keep", "file", "file"]
        assert is_filed(the(decided, 2), CLASS, 2)


def test_the_end_of_class_card_beside_a_settled_work_still_ends_the_class():
    """What follows it has no class by a card, whatever she said about the photo itself."""
    lunch = datetime.combine(DAY, time(11, 50))
    last = (number(1, CardStatus.CHECK), control(Control.END_OF_CLASS))
    photos = row(class_card(CLASS), last, number(2), start=lunch)
    assert kinds(decide(photos)) == ["slate", "half-card", "no-class"]
    for settled in (answered(photos[1], 1), replace(photos[1], closed=True)):
        assert kinds(decide([photos[0], settled, photos[2]])) == ["slate", "keep", "no-class"]


def test_a_settled_photo_keeps_the_class_card_fresh():
    """Photos 40 minutes apart: each holds the class card for the next, also the one that she settled."""
    noon = datetime.combine(DAY, time(11, 0))
    photos = row(class_card(CLASS), number(1), number(2), number(3), start=noon, step_s=40 * 60)
    plain = context(slots_on=lambda _: (), class_at=lambda _: SlotMatch(None))
    assert kinds(decide(photos, plain)) == ["slate", "file", "file", "file"]
    settled = [answered(one, 2) if one.photo_id == 3 else one for one in photos]
    assert kinds(decide(settled, plain)) == ["slate", "file", "keep", "file"]


def test_after_a_settled_photo_a_standing_card_counts_as_after_any_other():
    """ "Another view" lay before a work that she settled as a new one: it says nothing of the photos behind that."""
    photos = row(number(3), control(Control.ANOTHER_VIEW), number(4, CardStatus.CHECK), number(4))
    before = kinds(decide(photos))
    settled = [answered(one, 4) if one.photo_id == 3 else one for one in photos]
    assert before[:3] == ["file", "slate", "half-card"]
    assert kinds(decide(settled)) == ["file", "slate", "keep", "number-twice"]


def test_a_photo_without_a_card_that_she_settled_no_longer_stands_in_the_way():
    """A view card asks when a photo of nobody lies between; when she has said whose that is, nothing is unknown."""
    photos = row(number(3), (), (number(3), control(Control.BACK)))
    assert kinds(decide(photos)) == ["file", "no-card", "nothing-before"]
    view = replace(photos[1], fixed=Filing(What.VIEW, CLASS, (3,), DAY, (student(CLASS, 3),), joins_photo=1))
    assert kinds(decide([photos[0], view, photos[2]])) == ["file", "keep", "file"]


def test_a_photo_without_a_card_is_offered_with_the_medium_and_center_of_its_row():
    """The medium card before it says clay, and only one center has clay; what was chosen for all counts as well."""
    photos = row(medium_card(7), ())
    guess = the(decide(photos, context(Chosen(class_id=CLASS), centre_of={7: 5})), 2).asked.guess
    assert (guess.medium_id, guess.centre_id) == (7, 5)
    chosen = context(Chosen(class_id=CLASS, medium_id=3, centre_id=8))
    guess = the(decide(row(()), chosen), 1).asked.guess
    assert (guess.medium_id, guess.centre_id) == (3, 8)


def _cards():
    status = st.sampled_from([CardStatus.SURE, CardStatus.SURE, CardStatus.CHECK, CardStatus.CONFLICT])
    one = st.one_of(
        st.builds(number, st.integers(1, 7), status),
        st.builds(class_card, st.sampled_from([CLASS, NEXT_CLASS, OTHER_CLASS, 50]), status),
        st.builds(medium_card, st.integers(1, 3), status),
        st.builds(control, st.sampled_from(list(Control)), status),
    )
    return st.lists(one, max_size=3).map(tuple)


@settings(max_examples=150, deadline=None)
@given(
    shots=st.lists(_cards(), max_size=12),
    chosen=st.sampled_from([None, CLASS, OTHER_CLASS]),
    timed=st.booleans(),
    minutes=st.integers(0, 400),
)
def test_whatever_lies_there_only_sure_cards_of_the_photo_itself_file_it(shots, chosen, timed, minutes):
    """For any heap of cards: every photo is decided once; filed only by sure number cards in that photo, one of them
    or the group card with all; each child filed holds that number; the same batch is decided the same way again."""
    start = datetime.combine(DAY, time(8, 40 + minutes % 20)) if minutes < 60 else datetime.combine(DAY, time(11, 50))
    photos = row(*shots, timed=timed, start=start)
    given_context = context(Chosen(class_id=chosen))
    decided = decide(photos, given_context)
    assert [one.photo_id for one in decided.decisions] == [photo.photo_id for photo in photos]
    for photo, one in zip(photos, decided.decisions, strict=True):
        cards = [card for card in photo.cards if card.kind is CardKind.NUMBER]
        assert one.reason.endswith(".")
        if one.outcome is Outcome.FILE:
            assert all(card.status is CardStatus.SURE for card in cards)
            assert one.filing.is_complete
            assert one.filing.numbers == tuple(sorted(card.value for card in cards))
            assert one.filing.student_ids == tuple(student(one.filing.class_id, n) for n in one.filing.numbers)
            assert len(cards) == 1 or control(Control.GROUP_WORK) in photo.cards
        elif one.outcome is Outcome.SLATE:
            assert photo.cards
            assert not cards
        else:
            assert one.asked is not None
    assert decide(photos, given_context) == decided
