"""A camera's clock that runs wrong is learned from class cards of several classes, never from one."""

from dataclasses import replace
from datetime import datetime, time, timedelta

from portfolio.filing.clock import ClassCardShot, learn_clocks
from portfolio.model.filing import Chosen
from tests.support.rows import CLASS, DAY, NEXT_CLASS, class_card, context, decide, is_filed, kinds, number, row, the

SLOTS = context().slots_on


def _shot(hour: int, minute: int, class_id: int, camera: str = "camera") -> ClassCardShot:
    return ClassCardShot(camera, datetime.combine(DAY, time(hour, minute)), class_id)


def test_an_hour_slow_is_learned_from_two_classes():
    """Forgotten summer time: both cards lie an hour before their lessons."""
    shots = [_shot(8, 20, CLASS), _shot(9, 15, NEXT_CLASS)]
    assert learn_clocks(shots, SLOTS) == {"camera": 60}


def test_one_class_card_is_a_contradiction_not_a_clock():
    """A wrong class card must not move the clock."""
    assert learn_clocks([_shot(8, 20, CLASS), _shot(8, 21, CLASS)], SLOTS) == {}


def test_a_clock_that_is_right_is_left_alone():
    """Most cards lie in their own lessons."""
    assert learn_clocks([_shot(9, 20, CLASS), _shot(10, 15, NEXT_CLASS)], SLOTS) == {"camera": 0}


def test_cards_that_ask_for_different_shifts_teach_nothing():
    """No shift brings both cards into their lessons."""
    assert learn_clocks([_shot(6, 0, CLASS), _shot(15, 0, NEXT_CLASS)], SLOTS) == {}


def test_each_camera_has_its_own_clock():
    """The phone is right, the old camera is an hour fast."""
    shots = [_shot(9, 20, CLASS, "phone"), _shot(10, 15, NEXT_CLASS, "phone")]
    shots += [_shot(10, 20, CLASS, "old"), _shot(11, 15, NEXT_CLASS, "old")]
    assert learn_clocks(shots, SLOTS) == {"phone": 0, "old": -60}


def test_a_learned_clock_files_a_whole_day_and_says_so():
    """Two stacks with an hour-slow camera: filed under the right classes, and the reason tells of the clock."""
    first = row(class_card(CLASS), number(1), start=datetime.combine(DAY, time(8, 22)))
    second = row(class_card(NEXT_CLASS), number(1), start=datetime.combine(DAY, time(9, 18)))
    second = [replace(photo, photo_id=photo.photo_id + 10) for photo in second]
    decided = decide([*first, *second])
    assert kinds(decided) == ["slate", "file", "slate", "file"]
    assert is_filed(the(decided, 2), CLASS, 1)
    assert is_filed(the(decided, 4), NEXT_CLASS, 1)
    assert "60 minutes slow" in the(decided, 2).reason
    assert decided.clocks == {"phone": 60}


def test_seconds_of_drift_are_nothing():
    """A clock half a minute off stays as it is."""
    late = [
        ClassCardShot("camera", shot.taken_local + timedelta(seconds=30), shot.class_id)
        for shot in (_shot(9, 20, CLASS), _shot(10, 15, NEXT_CLASS))
    ]
    assert learn_clocks(late, SLOTS) == {"camera": 0}


# --- what an earlier batch has shown ----------------------------------------------------------------------------------

SLOW = context(clocks={"phone": 60})
EARLY = datetime.combine(DAY, time(8, 22))
"""By a clock an hour slow: three minutes before the end of the lesson of CLASS."""


def test_one_class_card_is_enough_when_an_earlier_batch_showed_the_same():
    """The card lies in its lesson by the remembered clock: the photos are filed by it, nothing is asked."""
    assert learn_clocks([_shot(8, 22, CLASS)], SLOTS, before={"camera": 60}) == {"camera": 60}
    decided = decide(row(class_card(CLASS), number(1), start=EARLY), SLOW)
    assert kinds(decided) == ["slate", "file"]
    assert "60 minutes slow, as its class cards show" in the(decided, 2).reason


def test_one_class_card_shows_that_the_clock_was_set_right():
    """It lies in its own lesson as the camera says: what was remembered is over."""
    assert learn_clocks([_shot(9, 20, CLASS)], SLOTS, before={"camera": 60}) == {"camera": 0}


def test_a_remembered_clock_never_files_by_the_timetable_alone():
    """The clock may have been set right since: asked, with the class by the remembered clock as the guess."""
    decided = decide(row(number(1), start=EARLY), SLOW)
    assert kinds(decided) == ["no-class"]
    assert the(decided, 1).asked.guess.class_id == CLASS
    assert "60 minutes slow in an earlier batch" in the(decided, 1).reason


def test_a_remembered_clock_agrees_or_disagrees_with_the_class_chosen():
    """The choice and the remembered clock agree: filed. They contradict each other: asked."""
    agreed = decide(row(number(1), start=EARLY), replace(SLOW, chosen=Chosen(class_id=CLASS)))
    assert kinds(agreed) == ["file"]
    assert "as an earlier batch showed" in the(agreed, 1).reason
    against = decide(row(number(1), start=EARLY), replace(SLOW, chosen=Chosen(class_id=NEXT_CLASS)))
    assert kinds(against) == ["class-timetable"]
