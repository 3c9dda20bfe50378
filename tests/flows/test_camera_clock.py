"""What class cards show of a camera's clock is kept for its next batch, told, and forgotten with the batch."""

from __future__ import annotations

from datetime import datetime, time, timedelta

import pytest

from portfolio.archive import tables
from portfolio.flows.take_in import take_in, undo_batch
from portfolio.model.filing import Chosen
from tests.support.notes import ReadsNotes, note
from tests.support.school import YEAR_START, make_class, make_library


@pytest.fixture
def library(tmp_path):
    """Class 3B has art from 9:10 to 9:50, class 4A from 10:10 to 10:50, both on cycle day 1."""
    with make_library(tmp_path) as opened:
        first, _ = make_class(opened, children=4)
        second, _ = make_class(opened, label="4A", grade="4", children=4)
        with opened.writing(who="teacher", what="made a timetable") as writing:
            slot = writing.session.get(tables.Slot, 2)
            slot.starts_at, slot.ends_at = time(10, 10), time(10, 50)
            for card, class_id in ((301, first), (302, second)):
                writing.session.add(tables.ClassCard(year_id=1, card=card, class_id=class_id))
        yield opened


def _take(library, tmp_path, folder: str, *shots: tuple[str, time], chosen: Chosen | None = None):
    for place, (card, at) in enumerate(shots, start=1):
        moment = datetime.combine(YEAR_START, at) + timedelta(seconds=place)
        crop_hash = (place + len(folder)) * 0x9E3779B97F4A7C15 & (2**64 - 1)
        note(tmp_path / folder, f"{folder}{place}.JPG", card, at=moment, crop_hash=crop_hash)
    return take_in(library, [tmp_path / folder], executor=ReadsNotes(), chosen=chosen, quiet_s=0)


def _slow_day(library, tmp_path):
    """A camera an hour slow: both classes with their cards."""
    shots = (("301", time(8, 48)), ("1", time(8, 49)), ("302", time(9, 48)), ("1", time(9, 49)))
    return _take(library, tmp_path, "day", *shots)


def _codes(report):
    return [line.code for line in report.photos]


def test_a_clock_learned_from_one_batch_is_told_and_serves_the_next(library, tmp_path):
    """The hint names the camera and the minutes; next time one class card is enough."""
    learned = _slow_day(library, tmp_path)
    assert [line.class_label for line in learned.photos] == [None, "3B", None, "4A"]
    assert [hint.code for hint in learned.hints] == ["camera-clock"]
    assert "60 minutes slow" in learned.hints[0].sentence
    again = _take(library, tmp_path, "next", ("302", time(9, 51)), ("2", time(9, 52)))
    assert _codes(again) == [None, None]
    assert "60 minutes slow" in again.photos[1].reason


def test_a_batch_that_was_taken_back_teaches_nothing(library, tmp_path):
    """Its clock is forgotten with it: one class card against the timetable is a contradiction again."""
    undo_batch(library, _slow_day(library, tmp_path).batch_id)
    again = _take(library, tmp_path, "next", ("302", time(9, 48)), ("2", time(9, 49)))
    assert _codes(again) == [None, "class-timetable"]


def test_a_clock_set_right_is_noticed_by_the_next_class_card(library, tmp_path):
    """The card lies in its own lesson again: filed without a word about the clock, and so is the batch after."""
    _slow_day(library, tmp_path)
    right = _take(library, tmp_path, "right", ("302", time(10, 48)), ("2", time(10, 49)))
    assert _codes(right) == [None, None]
    assert right.hints == ()
    later = _take(library, tmp_path, "later", ("3", time(10, 49)))
    assert _codes(later) == [None]
