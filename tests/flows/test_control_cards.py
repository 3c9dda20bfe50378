"""Control cards from the photo to the archive: another view, back, detail and slip join a work, a group has one work
of several children; each says why in one sentence, and one undo takes it back.
"""

from __future__ import annotations

from datetime import datetime, time, timedelta

import pytest

from portfolio.archive import finding, works
from portfolio.flows.settle import undo
from portfolio.flows.take_in import batch_report, take_in
from portfolio.model.filing import PhotoState
from tests.support.notes import ReadsNotes, note
from tests.support.school import YEAR_START, make_class

AT = datetime.combine(YEAR_START, time(9, 48))


@pytest.fixture
def students(library):
    return make_class(library, children=5)[1]


def _take(library, tmp_path, *cards: str):
    for place, entry in enumerate(cards, start=1):
        crop_hash = place * 0x9E3779B97F4A7C15 & (2**64 - 1)
        at = AT + timedelta(seconds=5 * place)
        note(tmp_path / "in", f"P{place:02}.JPG", *entry.split(), at=at, crop_hash=crop_hash)
    return take_in(library, [tmp_path / "in"], executor=ReadsNotes(), quiet_s=0)


@pytest.mark.parametrize(
    ("card", "role", "said"),
    [
        ("101", "angle", "another view"),
        ("103", "slip", "reflection slip"),
        ("104", "back", "back"),
        ("105", "detail", "detail"),
    ],
)
def test_a_card_beside_the_number_joins_the_work_before(library, students, tmp_path, card, role, said):
    """One work with two photos, the second in its role; undo takes only the second out and asks about it."""
    report = _take(library, tmp_path, "2", "3", f"2 {card}")
    first, _, third = report.photos
    assert third.work_id == first.work_id
    assert said in third.reason
    with library.reading() as session:
        assert works.view_of_photo(session, third.photo_id).role == role
        assert finding.shown(session, [first.work_id])[0].photo_id == first.photo_id
    undo(library)
    lines = batch_report(library, report.batch_id).photos
    assert [line.state for line in lines] == [PhotoState.FILED, PhotoState.FILED, PhotoState.QUESTION]


def test_a_group_card_makes_one_work_of_all_its_children(library, students, tmp_path):
    """Two number cards and the group card: both children made it."""
    report = _take(library, tmp_path, "2 4 102")
    with library.reading() as session:
        work = finding.shown(session, [report.photos[0].work_id])[0]
    assert set(work.student_ids) == {students[1], students[3]}
    assert work.group_work
    assert report.checks[0].missing == (1, 3, 5)


def test_a_stack_of_slips_follows_one_card(library, students, tmp_path):
    """The slip card alone, then the slips by number: each joins its own child's work, none is a work."""
    report = _take(library, tmp_path, "1", "2", "103", "2", "1", "106", "3")
    states = [line.state for line in report.photos]
    assert states[2] is states[5] is PhotoState.SLATE
    assert report.photos[3].work_id == report.photos[1].work_id
    assert report.photos[4].work_id == report.photos[0].work_id
    assert report.photos[6].work_id not in {report.photos[0].work_id, report.photos[1].work_id}
    assert all(line.reason and line.reason.endswith(".") for line in report.photos)
