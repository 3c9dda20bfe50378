"""``portfolio cards`` prints what is asked for, and says in a sentence what it cannot print."""

from __future__ import annotations

import json
from io import BytesIO

import pikepdf
import pytest
import typer
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from portfolio.cli.cards import MEDIA_LABELS, classes_in, group, media_in, numbers_in
from portfolio.errors import Exit, PortfolioError

APP = typer.Typer()
APP.add_typer(group, name="cards")


def _run(*words: str):
    return CliRunner().invoke(APP, ["cards", "--library", "no-such-library", *words])


@given(st.sets(st.integers(1, 40), min_size=1))
def test_numbers_are_read_back(numbers: set[int]) -> None:
    """A list of numbers in any order gives those numbers, each once."""
    assert numbers_in(", ".join(str(n) for n in [*numbers, min(numbers)])) == sorted(numbers)


@given(st.integers(1, 40), st.integers(1, 40))
def test_a_span_has_both_its_ends(low: int, high: int) -> None:
    """A span 4-9 is 4, 5, 6, 7, 8, 9; one that runs backwards is refused, not taken as nothing."""
    if low > high:
        with pytest.raises(PortfolioError, match="span"):
            numbers_in(f"{low}-{high}")
    else:
        assert numbers_in(f"{low}-{high}") == list(range(low, high + 1))


@pytest.mark.parametrize("words", ["0", "41", "3-50", "x", "1-", "-4", "1.5", "①", "1-99999999999"])
def test_a_number_without_a_card_is_refused(words: str) -> None:
    """No page is made for a number that has no card."""
    with pytest.raises(PortfolioError) as refused:
        numbers_in(words)
    assert refused.value.exit is Exit.USAGE


def test_media_go_by_their_word() -> None:
    """Words in any case find their card; an unknown word is named."""
    assert media_in("Crayon, clay", MEDIA_LABELS) == {61: "crayon", 77: "clay"}
    assert media_in("all", MEDIA_LABELS) == MEDIA_LABELS
    with pytest.raises(PortfolioError, match="velvet"):
        media_in("crayon,velvet", MEDIA_LABELS)


def test_classes_take_slots_in_order_or_as_said() -> None:
    """The first label is slot 1 (card 301) unless a slot is given; no slot is given twice."""
    assert classes_in("3A, 3B") == {301: "3A", 302: "3B"}
    assert classes_in("7=3A,60=K Blue") == {307: "3A", 360: "K Blue"}
    for words in ("61=3A", "0=3A", "x=3A", "2=3A,3B"):
        with pytest.raises(PortfolioError, match="slot"):
            classes_in(words)


def test_the_pages_are_written(tmp_path) -> None:
    """Five numbers, two classes, one medium and the six controls: 2 + 1 + 1 + 3 pages."""
    out = tmp_path / "cards.pdf"
    words = ("--numbers", "1-5", "--classes", "3A,3B", "--media", "clay", "--controls", "--paper", "a4", "--json")
    done = _run(*words, "--out", str(out))
    assert done.exit_code == 0, done.output
    assert json.loads(done.stdout) == {"cards": 14, "paper": "a4", "mapped": 0}
    with pikepdf.open(BytesIO(out.read_bytes())) as pdf:
        assert len(pdf.pages) == 7


def test_without_a_choice_a_class_set_is_printed(tmp_path) -> None:
    """Numbers 1-30 and the controls; and the how-to is one page."""
    for words, pages in (((), 8 + 3), (("--how-to",), 1)):
        out = tmp_path / "out.pdf"
        assert _run(*words, "--out", str(out)).exit_code == 0
        with pikepdf.open(out) as pdf:
            assert len(pdf.pages) == pages


def test_a_place_that_cannot_be_written_is_said(tmp_path) -> None:
    """A folder in the file's place gives the disk's sentence, not a traceback."""
    done = _run("--numbers", "1", "--out", str(tmp_path))
    assert isinstance(done.exception, PortfolioError)
    assert done.exception.code == "disk-unwritable"
