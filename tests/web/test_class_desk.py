"""The class's page: centers with their days and newcomers; the quick entry of what the teacher sees."""

from __future__ import annotations

import re
from datetime import date

import pytest

from portfolio.archive import history, words
from portfolio.flows.centers import see_centers
from portfolio.flows.observe import observe, see_observing
from tests.web.room import GIVEN, TODAY


@pytest.fixture
def class_id(app):
    return app.room.classes["3B"]


def saw(app, class_id, **fields):
    given = {"number": "4", "what": "observe", "level": "needs support"} | fields
    return app.client.post(f"/classes/{class_id}/saw", data=given, follow_redirects=True)


def kept(app, class_id):
    with app.room.library.reading() as session:
        return words.observations_of(session, class_id=class_id)


def test_a_number_a_word_and_it_is_kept(app, class_id):
    """Two taps and "Keep it": it is there for the right child, told back, and stands in the list of today."""
    answer = saw(app, class_id, note="Looked twice.")
    assert answer.status_code == 200
    assert "Kept: number 4, observe, needs support, Looked twice." in answer.text
    last = kept(app, class_id)[-1]
    assert (last.student_id, last.what, last.level, last.note) == (
        app.room.students[3],
        "observe",
        "needs support",
        "Looked twice.",
    )
    assert last.seen_on == TODAY


def test_what_was_noted_can_be_taken_back(app, class_id):
    """Undo beside the line takes exactly this one back."""
    saw(app, class_id, number="5", what="reflect")
    before = len(kept(app, class_id))
    entry = next(one for one in see_observing(app.room.library, class_id, today=TODAY).today if one.number == 5)
    answer = app.client.post(f"/classes/{class_id}/saw/undo", data={"action_id": entry.action_id})
    assert answer.status_code == 200
    assert len(kept(app, class_id)) == before - 1
    assert all(one.what != "reflect" for one in kept(app, class_id))


def test_own_words_win_and_come_first_next_time(app, class_id):
    """Something else is kept as typed (spaces evened), and what is noted most is offered first."""
    for number in ("1", "2"):
        saw(app, class_id, number=number, what="observe", other="  holds the   brush low ")
    seen = see_observing(app.room.library, class_id, today=TODAY)
    assert seen.offered[0] in {"holds the brush low", "observe"}
    assert "holds the brush low" in seen.offered[:2]


@pytest.mark.parametrize(
    "fields",
    [
        {"number": ""},
        {"number": "39"},
        {"what": "", "other": ""},
        {"level": ""},
        {"level": "excellent"},
        {"other": "x" * 61},
        {"note": "x" * 501},
    ],
)
def test_what_does_not_fit_is_told_and_nothing_typed_is_lost(app, class_id, fields):
    """No number, nobody's number, no words, no level, one that grades, too long: told, and the words still stand."""
    before = len(kept(app, class_id))
    answer = saw(app, class_id, **({"note": "Almost there"} | fields))
    assert 400 <= answer.status_code < 500
    assert len(kept(app, class_id)) == before
    if "note" not in fields:
        assert "Almost there" in answer.text


def test_nothing_is_chosen_beforehand_and_what_was_chosen_stays(app, class_id):
    """A judgment is never kept by accident: no number, word or level is chosen; after a refusal all that was is."""
    page = app.client.get(f"/classes/{class_id}/saw").text
    assert page.count('type="radio"') > 12
    assert " checked" not in page
    refused = saw(app, class_id, level="").text
    assert "it does not say how it is going (needs support, getting there, secure)" in refused
    assert refused.count(" checked") == 2, "the number and the word"
    assert 'value="secure" required checked' in saw(app, class_id, number="", level="secure").text


def test_the_step_can_be_undone_by_the_newest_undo(app, class_id):
    """Noting is a step of the teacher: "undo" without a number means it."""
    done = observe(app.room.library, class_id, number=6, what="express", level="secure", today=TODAY)
    with app.room.library.reading() as session:
        assert history.newest_to_undo(session) == done


def test_centers_tell_their_day_and_to_whom_they_are_new(app, class_id):
    """Nothing said: all are open. A day in the past opens, one to come does not; the class's own day wins."""
    seen = see_centers(app.room.library, class_id, today=TODAY)
    assert not seen.dated
    first, second = seen.centers[:2]
    post = f"/classes/{class_id}/centers"
    assert app.client.post(f"{post}/{first.centre_id}", data={"opens": "2026-09-01"}).status_code == 200
    late = {"opens": "2026-11-02", "every": "yes"}
    assert app.client.post(f"{post}/{second.centre_id}", data=late).status_code == 200
    seen = see_centers(app.room.library, class_id, today=TODAY)
    assert [one.is_open for one in seen.centers[:3]] == [True, False, False]
    assert (seen.centers[1].for_all, seen.centers[0].for_all) == (True, False)
    text = app.client.get(f"/classes/{class_id}").text
    assert "Open since September 1." in text
    assert "Opens November 2." in text
    assert "No day yet." in text
    assert "All children were here last year or before." in text


def test_what_was_said_about_a_center_is_taken_back(app, class_id):
    """Undo stands beside the word that the day is kept; after it the days before hold again."""
    before = see_centers(app.room.library, class_id, today=TODAY)
    third = before.centers[2]
    said = app.client.post(f"/classes/{class_id}/centers/{third.centre_id}", data={"opens": "2026-12-01"})
    assert "The day is kept." in said.text
    assert see_centers(app.room.library, class_id, today=TODAY) != before
    action = re.search(r'centers/undo" method="post".*?name="action_id" value="(\d+)"', said.text)[1]
    back = app.client.post(f"/classes/{class_id}/centers/undo", data={"action_id": action})
    assert back.status_code == 200
    assert "The day is kept." not in back.text
    assert see_centers(app.room.library, class_id, today=TODAY) == before


def test_a_child_who_worked_there_before_is_not_new_to_it(app, class_id):
    """Works of every year count: who has a kept work from a center is returning to it."""
    seen = see_centers(app.room.library, class_id, today=TODAY)
    by_center = {one.centre_id: set(one.new_to) for one in seen.centers}
    assert by_center[1] | by_center[2] | by_center[3] != set(range(1, 13))
    assert by_center[8] == set(range(1, 13))


def test_a_center_needs_a_day_of_the_year(app, class_id):
    """No day, no date, a day outside the school year, closing before opening: refused with a sentence."""
    centre_id = see_centers(app.room.library, class_id, today=TODAY).centers[0].centre_id
    for fields in (
        {"opens": ""},
        {"opens": "soon"},
        {"opens": "2031-01-01"},
        {"opens": "2026-10-01", "closes": "2026-09-01"},
    ):
        answer = app.client.post(f"/classes/{class_id}/centers/{centre_id}", data=fields)
        assert 400 <= answer.status_code < 500


def test_a_class_of_another_year_shows_no_entry(app):
    """Nothing is noted about a year that is over."""
    text = app.client.get(f"/classes/{app.room.classes['2A']}").text
    assert "Note what you see" not in text
    assert date(2026, 6, 12) < TODAY


def test_the_entry_shows_number_and_name_to_the_teacher_only(app, class_id):
    """Names stand under the numbers for the teacher; a stranger gets the way to sign in."""
    assert GIVEN[0] in app.client.get(f"/classes/{class_id}/saw").text
    assert app.stranger.get(f"/classes/{class_id}/saw").status_code == 303
