"""Works without cards go by the order of numbers; who was absent is said before or after, and nothing is guessed."""

from __future__ import annotations

from datetime import datetime, time, timedelta

import pytest

from portfolio.errors import PortfolioError
from portfolio.flows.absent import file_with_absent, see_absent
from portfolio.flows.batches import chosen_for, numbers_in
from portfolio.flows.settle import Answer, answer, undo, waiting
from portfolio.flows.take_in import batch_report, take_in
from portfolio.model.filing import BatchMode, Chosen, PhotoState
from portfolio.straighten.nocard import WHY
from tests.support.notes import ReadsNotes, note
from tests.support.school import YEAR_START, make_class

AT = datetime.combine(YEAR_START, time(9, 48))


@pytest.fixture
def class_id(library):
    return make_class(library, children=6)[0]


@pytest.fixture
def take(library, tmp_path):
    """Take in photos, five seconds apart; an empty entry shows no card."""

    def taking(*cards: str, chosen: Chosen):
        for place, entry in enumerate(cards, start=1):
            at = AT + timedelta(seconds=5 * place)
            crop_hash = place * 0x9E3779B97F4A7C15 & (2**64 - 1)
            note(
                tmp_path / "in", f"P{place:03}.JPG", *entry.split(), at=at, crop_hash=crop_hash, crop="unsure", why=WHY
            )
        return take_in(library, [tmp_path / "in"], executor=ReadsNotes(), chosen=chosen, quiet_s=0)

    return taking


def _numbers(report):
    return [line.number for line in report.photos]


def test_a_mismatch_asks_and_saying_who_was_absent_files_in_order(library, class_id, take):
    """Four photos for six numbers: all asked. Two are said to be absent: filed by the order, each with its reason."""
    report = take("", "", "", "", chosen=Chosen(class_id=class_id, mode=BatchMode.ORDER))
    assert {line.code for line in report.photos} == {"order"}
    assert "4 photos for 6 numbers" in report.photos[0].reason
    seen = see_absent(library, report.batch_id, report.checks)
    assert (seen.class_label, seen.may_be, seen.said, seen.by_order) == ("3B", (1, 2, 3, 4, 5, 6), frozenset(), True)
    filed = file_with_absent(library, report.batch_id, {2, 5}, executor=ReadsNotes())
    assert _numbers(filed) == [1, 3, 4, 6]
    assert "by the order of numbers" in filed.photos[1].reason.lower()
    assert filed.checks[0].sentence.startswith("4 of 4 numbers")
    kinds = [one.kept.kind for one in waiting(library)]
    assert kinds == ["crop"] * 4


def test_saying_otherwise_takes_the_order_back_and_answers_stay(library, class_id, take):
    """A tick taken away makes the program's own filings questions again; what she answered is not touched."""
    chosen = Chosen(class_id=class_id, mode=BatchMode.ORDER, absent=frozenset({2, 5}))
    report = take("", "", "", "", chosen=chosen)
    assert _numbers(report) == [1, 3, 4, 6]
    again = file_with_absent(library, report.batch_id, {2}, executor=ReadsNotes())
    assert [line.state for line in again.photos] == [PhotoState.QUESTION] * 4
    first = next(one.kept for one in waiting(library) if one.kept.photo_id == again.photos[0].photo_id)
    answer(library, first.question_id, Answer(number=4))
    final = file_with_absent(library, report.batch_id, {2, 5}, executor=ReadsNotes())
    assert final.photos[0].number == 4
    assert {line.code for line in final.photos[1:]} == {"order"}


def test_edges_without_a_card_are_one_question(library, class_id, take):
    """Three edges that are only guessed: one yes sets all three, one undo asks all three again; whole does as well."""
    chosen = Chosen(class_id=class_id, mode=BatchMode.ORDER, absent=frozenset({4, 5, 6}))
    take("", "", "", chosen=chosen)
    asked = [one.kept for one in waiting(library)]
    assert [(one.kind, one.group) for one in asked] == [("crop", "edge-without-card")] * 3
    done = answer(library, asked[0].question_id, Answer(yes=True, whole_group=True), executor=ReadsNotes())
    assert waiting(library) == []
    undo(library, done)
    assert len(waiting(library)) == 3
    answer(library, asked[1].question_id, Answer(whole=True, whole_group=True))
    assert waiting(library) == []


def test_one_filing_by_order_can_be_undone(library, class_id, take):
    """The step before the last is a filing: taken back, its photo waits to be checked."""
    chosen = Chosen(class_id=class_id, mode=BatchMode.ORDER, absent=frozenset({3, 4, 5, 6}))
    report = take("", "", chosen=chosen)
    assert _numbers(report) == [1, 2]
    undo(library)
    states = [line.state for line in batch_report(library, report.batch_id).photos]
    assert sorted(states) == [PhotoState.FILED, PhotoState.QUESTION]


def test_with_cards_a_tick_makes_the_count_sharper(library, class_id, take):
    """5 of 6, then 5 of 5; a card of a child said to be absent is asked about."""
    report = take("1", "2", "3", "4", "5", chosen=Chosen(class_id=class_id))
    assert report.checks[0].sentence.startswith("5 of 6 numbers; 6 missing")
    assert see_absent(library, report.batch_id, report.checks).may_be == (6,)
    ticked = file_with_absent(library, report.batch_id, {6}, executor=ReadsNotes())
    assert ticked.checks[0].sentence.startswith("5 of 5 numbers")
    wrong = file_with_absent(library, report.batch_id, {5, 6}, executor=ReadsNotes())
    assert [line.code for line in wrong.photos] == [None] * 4 + ["number-absent"]


def test_the_order_needs_a_class_and_numbers_must_be_numbers(library, class_id):
    """Without a class nobody knows whose numbers; "3;x" and 41 are refused with a sentence."""
    with pytest.raises(PortfolioError, match="class"):
        chosen_for(library, mode=BatchMode.ORDER)
    assert numbers_in("3, 11") == {3, 11}
    for typed in ("3;x", "41", "0"):
        with pytest.raises(PortfolioError):
            numbers_in(typed)
