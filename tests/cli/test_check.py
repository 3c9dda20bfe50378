"""``portfolio ingest`` and ``portfolio check``: what a person reads, and what a machine reads."""

import json
from datetime import datetime, time

import pytest
from typer.testing import CliRunner

from portfolio.cli import check as check_command
from portfolio.cli import ingest as ingest_command
from portfolio.cli.app import app
from portfolio.errors import PortfolioError
from tests.support.notes import ReadsNotes, note
from tests.support.school import YEAR_START, family_name, given_name, make_class, make_library

AT = datetime.combine(YEAR_START, time(9, 48))


@pytest.fixture
def run(tmp_path, monkeypatch):
    """Run one command over a small library whose photos are notes."""
    with make_library(tmp_path) as library:
        make_class(library, children=5)
        folder = library.folder
    for module in (ingest_command, check_command):
        monkeypatch.setattr(module, "make_executor", lambda *_given: ReadsNotes())

    def running(*words: str, status: int = 0):
        result = CliRunner().invoke(app, [*words, "--library", str(folder)])
        if isinstance(result.exception, PortfolioError):
            assert int(result.exception.exit) == status
            return result.exception
        assert result.exit_code == status, result.output
        return json.loads(result.stdout) if "--json" in words else result.stdout

    return running


@pytest.fixture
def stack(tmp_path):
    """Number 2, half a card of 3, a photo without a card, number 9 of nobody."""
    for place, cards in enumerate((["2"], ["3?"], [], ["9"]), start=1):
        note(tmp_path / "in", f"IMG_{place}.JPG", *cards, at=AT.replace(second=place * 5), crop_hash=place << 40)
    return tmp_path / "in"


def test_a_person_reads_counts_and_choices_but_no_name_and_no_path(run, stack, tmp_path):
    """What was filed, what is missing, and for each question the words that answer it."""
    told = run("ingest", str(stack), "--class", "3B") + run("check")
    assert "1 filed, 3 to check" in told
    assert "1 of 5 numbers; 1, 3, 4 and 5 missing; 3 photos to check" in told
    assert "best guess: a work of number 3 of 3B   (--yes)" in told
    assert "say whose it is   (--number N, or --aside)" in told
    assert not any(given_name("3B", n) in told or family_name("3B", n) in told for n in range(1, 6))
    assert str(tmp_path) not in told


def test_questions_are_answered_and_undone_in_json(run, stack):
    """List, answer by number, undo: each says in JSON what it did."""
    taken = run("ingest", str(stack), "--class", "3B", "--json")
    assert (taken["filed"], taken["questions"]) == (1, 3)
    listed = run("check", "list", "--json")
    assert [one["kind"] for one in listed] == ["half-card", "no-card", "number-nobody"]
    answered = run("check", "answer", str(listed[2]["question"]), "--number", "4", "--json")
    assert answered["left"] == 2
    assert run("check", "undo", "--json").keys() == {"undone_by"}
    assert len(run("check", "list", "--json")) == 3


def test_each_number_in_a_photo_can_have_its_own_work(run, tmp_path):
    """Two cards in one photo: listed with that answer; answered so, two edges are asked for. Half a card has none."""
    note(tmp_path / "two", "IMG_1.JPG", "2", "4", at=AT)
    note(tmp_path / "two", "IMG_2.JPG", "3?", at=AT.replace(second=30), crop_hash=7)
    run("ingest", str(tmp_path / "two"), "--class", "3B")
    assert run("check").count("(--each)") == 1
    two, half = sorted(run("check", "list", "--json"), key=lambda one: one["kind"] != "two-numbers")
    assert run("check", "answer", str(half["question"]), "--each", status=2).code == "bad-request"
    run("check", "answer", str(two["question"]), "--each")
    left = run("check", "list", "--json")
    assert sorted(one["kind"] for one in left) == ["crop", "crop", "half-card"]


def test_the_order_of_numbers_and_the_absent_are_said_on_the_command_line(run, tmp_path):
    """Three photos without cards, two children absent: filed by their order."""
    for place in (1, 2, 3):
        note(tmp_path / "row", f"IMG_{place}.JPG", at=AT.replace(second=place))
    words = ("--class", "3B", "--order-of-numbers", "--absent", "2,5", "--json")
    told = run("ingest", str(tmp_path / "row"), *words)
    assert [photo["number"] for photo in told["photos"]] == [1, 3, 4]


def test_who_was_absent_can_be_said_after_a_batch(run, tmp_path):
    """Too few photos for the class: all asked. Saying who was absent files them by their order."""
    for place in (1, 2, 3):
        note(tmp_path / "row", f"IMG_{place}.JPG", at=AT.replace(second=place))
    told = run("ingest", str(tmp_path / "row"), "--class", "3B", "--order", "--json")
    assert told["questions"] == 3
    again = run("check", "absent", str(told["batch"]), "2,5", "--json")
    assert [photo["number"] for photo in again["photos"]] == [1, 3, 4]
    assert again["checks"][0]["of"] == 3


def test_sizes_are_corrected_by_the_scale_of_the_cards(run, tmp_path):
    """Five sheets that measure 5 % too large: told as a hint; corrected when the teacher says so."""
    for value in range(1, 6):
        at, crop_hash = AT.replace(second=value), value * 0x9E3779B97F4A7C15 & (2**64 - 1)
        note(tmp_path / "row", f"IMG_{value}.JPG", str(value), at=at, crop_hash=crop_hash, size_mm=(320.8, 240.6))
    told = run("ingest", str(tmp_path / "row"), "--class", "3B", "--json")
    assert [hint["code"] for hint in told["hints"]] == ["card-scale"]
    assert run("check", "sizes", str(told["batch"]), "--json").keys() == {"batch", "action"}
    assert run("check", "sizes", str(told["batch"]), status=2).code == "bad-request"


@pytest.mark.parametrize(
    ("words", "code", "status"),
    [
        (("ingest", "nowhere.jpg"), "path-missing", 5),
        (("ingest", ".", "--class", "9Z"), "not-found", 5),
        (("ingest", ".", "--absent", "three"), "bad-request", 2),
        (("ingest", ".", "--order"), "bad-request", 2),
        (("check", "absent", "77", "3"), "not-found", 5),
        (("ingest", ".", "--day", "yesterday"), "bad-request", 2),
        (("check", "answer", "77", "--yes"), "not-found", 5),
        (("check", "undo", "9999"), "not-found", 5),
    ],
)
def test_words_that_do_not_fit_are_refused_by_code(run, words, code, status):
    """One sentence, one status, nothing changed."""
    assert run(*words, status=status).code == code
