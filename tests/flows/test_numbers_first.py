"""Numbers first, pictures after: nothing is filed before its picture is there; a stop in between is gone on with."""

from __future__ import annotations

from datetime import datetime, time, timedelta

import pytest

from portfolio.archive import photos
from portfolio.flows.file_batch import foreseen
from portfolio.flows.read_photos import read_batch
from portfolio.flows.see_batch import see_batch
from portfolio.flows.take_in import add_original, batch_report, finish_unfinished, open_batch, settle_batch
from portfolio.model.filing import Chosen, Outcome, PhotoState
from tests.support.notes import ReadsNotes, note
from tests.support.school import YEAR_START, make_class

AT = datetime.combine(YEAR_START, time(9, 48))
CARDS = ("1", "2", "2", "3?", "")


class _Stopped(Exception):
    """The app is closed here."""


@pytest.fixture
def batch_id(library, tmp_path):
    """Five photos stored: two numbers, the second again with the same picture, half a card, no card."""
    batch_id = open_batch(library, Chosen(class_id=make_class(library, children=5)[0]), expected=len(CARDS))
    for place, entry in enumerate(CARDS, start=1):
        shows = 0x9E3779B97F4A7C15 * min(place, 2) & (2**64 - 1)
        at = AT + timedelta(seconds=5 * place)
        path = note(tmp_path / "in", f"P{place}.JPG", *entry.split(), at=at, crop_hash=shows)
        with path.open("rb") as stream:
            add_original(library, batch_id, name=path.name, stream=stream)
    return batch_id


def _closed_after(count: int):
    """An executor that stops the app once so many photos were looked at."""

    def before(done: int) -> None:
        if done == count:
            raise _Stopped

    return ReadsNotes(before)


def test_all_numbers_are_read_before_the_first_picture_is_made(library, batch_id):
    """Ten looks: five at the numbers, then five for the pictures, told apart; the end is as if read at once."""
    told = []
    settle_batch(
        library,
        batch_id,
        executor=ReadsNotes(),
        numbers_first=True,
        told=lambda what, done, of: told.append((what, done)),
    )
    assert [what for what, _ in told[:10]] == ["numbers"] * 5 + ["read"] * 5
    lines = batch_report(library, batch_id).photos
    assert [(line.state, line.number) for line in lines[:3]] == [
        (PhotoState.FILED, 1),
        (PhotoState.FILED, 2),
        (PhotoState.FILED, 2),
    ]
    assert [line.code for line in lines[3:]] == ["half-card", "no-card"]


def test_stopped_between_numbers_and_pictures_it_is_gone_on_with(library, batch_id):
    """Nothing is filed, but the numbers can be seen; finishing makes the pictures without reading the numbers again."""
    with pytest.raises(_Stopped):
        settle_batch(library, batch_id, executor=_closed_after(7), numbers_first=True)
    seen = see_batch(library, batch_id)
    assert {line.photo.state for line in seen.lines} == {PhotoState.STORED}
    assert [line.photo.numbers_read for line in seen.lines] == [True] * 5
    numbers = [one.meant.numbers for one in seen.foreseen.values()]
    assert numbers[:4] == [(1,), (2,), (2,), (3,)]
    assert next(iter(seen.foreseen.values())).outcome is Outcome.FILE
    executor = ReadsNotes()
    finish_unfinished(library, executor=executor)
    assert len(executor.read) == sum(not line.photo.was_read for line in seen.lines) <= 5
    assert see_batch(library, batch_id).foreseen == {}
    assert batch_report(library, batch_id).count(PhotoState.FILED) == 3


def test_what_is_foreseen_changes_nothing(library, batch_id):
    """Looking ahead leaves photos, works and questions as they are."""
    with pytest.raises(_Stopped):
        read_batch(library, batch_id, executor=_closed_after(5), numbers_first=True)
    before = batch_report(library, batch_id)
    assert len(foreseen(library, batch_id)) == 5
    assert batch_report(library, batch_id) == before
    with library.reading() as session:
        assert not any(one.derived_key for one in photos.photos_of(session, batch_id))
