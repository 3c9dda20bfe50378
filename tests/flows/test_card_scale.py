"""Cards printed at the wrong scale: said once a batch, sizes only "about", corrected when the teacher says so."""

from __future__ import annotations

from datetime import datetime, time, timedelta

import pytest

from portfolio.archive import finding, works
from portfolio.errors import PortfolioError
from portfolio.flows.card_scale import correct_sizes
from portfolio.flows.settle import Answer, answer, crop_by_hand, undo, waiting
from portfolio.flows.take_in import batch_report, report_as_json, take_in
from tests.support.notes import SQUARE, ReadsNotes, note
from tests.support.school import YEAR_START, make_class, make_library

AT = datetime.combine(YEAR_START, time(9, 48))


@pytest.fixture
def library(tmp_path):
    with make_library(tmp_path) as opened:
        make_class(opened, children=12)
        yield opened


@pytest.fixture
def take(library, tmp_path):
    """Take in 9 x 12 in sheets of numbers 1, 2, … as measured with cards of this scale; the last is half read."""

    def taking(scale: float, *, count: int = 8, **said):
        for value in range(1, count + 1):
            shown = f"{value}?" if value == count else str(value)
            size = round(304.8 / scale, 1), round(228.6 / scale, 1)
            at, crop_hash = AT + timedelta(seconds=5 * value), value * 0x9E3779B97F4A7C15 & (2**64 - 1)
            note(tmp_path / "in", f"P{value:03}.JPG", shown, at=at, crop_hash=crop_hash, size_mm=size, **said)
        return take_in(library, [tmp_path / "in"], executor=ReadsNotes(), quiet_s=0)

    return taking


def _sizes(library, report):
    with library.reading() as session:
        of_photo = works.works_of_photos(session, [line.photo_id for line in report.photos])
        shown = finding.shown(session, sorted(of_photo.values()))
        return [(one.width_mm, one.height_mm, one.size_about, one.sheet) for one in shown]


def test_a_batch_of_off_scale_sheets_says_so_once_and_is_not_sure_of_sizes(library, take):
    """One hint for eight photos; the works have the measured size as "about", also the one she answered."""
    report = take(0.95)
    assert [hint.code for hint in report.hints] == ["card-scale"]
    assert report_as_json(report)["hints"][0]["code"] == "card-scale"
    answer(library, waiting(library)[0].kept.question_id, Answer(yes=True))
    assert _sizes(library, report) == [(320.8, 240.6, True, None)] * 8


def test_the_teacher_lets_the_sizes_be_corrected_and_takes_it_back(library, take):
    """Every work is a 9 x 12 in sheet again; the hint says that it was done; undo brings the measured sizes back."""
    report = take(0.95)
    action = correct_sizes(library, report.batch_id)
    for width, height, about, sheet in _sizes(library, report):
        assert (round(width), round(height), about, sheet) == (305, 229, False, "9 × 12 in")
    assert "corrected as you said" in batch_report(library, report.batch_id).hints[0].sentence
    with pytest.raises(PortfolioError):
        correct_sizes(library, report.batch_id)
    undo(library, action)
    assert _sizes(library, report)[0] == (320.8, 240.6, True, None)


def test_an_edge_set_by_hand_does_not_make_such_a_size_sure(library, take):
    """She sets the edge of a work of that batch: its size is new, and still only "about"."""
    report = take(0.95)
    crop_by_hand(library, report.photos[0].photo_id, SQUARE, executor=ReadsNotes())
    assert _sizes(library, report)[0] == (320.8, 240.6, True, None)


def test_right_cards_are_not_doubted(library, take):
    """Sizes stay sure, nothing is said, and there is nothing to correct."""
    report = take(1.0)
    assert report.hints == ()
    assert _sizes(library, report)[0] == (304.8, 228.6, False, "9 × 12 in")
    with pytest.raises(PortfolioError):
        correct_sizes(library, report.batch_id)


def test_a_card_too_bright_and_a_table_too_light_are_said_once(take):
    """Eight photos, two sentences."""
    report = take(1.0, clipped=True, light_table=True)
    assert [hint.code for hint in report.hints] == ["card-too-bright", "table-too-light"]
