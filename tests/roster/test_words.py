"""Grades, dates, times and names as people write them."""

import json
from datetime import date, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.privacy.seal import unseal_for_storage
from portfolio.roster.names import child_name, name_order, split_name
from portfolio.roster.words import date_of, grade_in_label, grade_of, is_day_first, time_of, yes_or_no
from tests.support.outside import outside


@pytest.mark.parametrize(
    ("text", "grade"),
    [
        ("KG", "K"),
        ("03", "3"),
        ("Grade 3", "3"),
        ("3rd", "3"),
        ("3.0", "3"),
        ("Kindergarten", "K"),
        ("PK", "PK"),
        ("TK", "TK"),
        ("first", "1"),
        ("12", "12"),
        ("99", None),
        ("UG", None),
        ("", None),
        ("Gr. 5", "5"),
    ],
)
def test_grades_as_people_write_them(text, grade):
    """What is known becomes our grade; what is not is not guessed."""
    assert grade_of(text) == grade


def test_every_ceds_grade_is_known_or_told():
    """CEDS Entry Grade Level, as listed for OneRoster (1EdTech): K-12 are known, the rest are no elementary grade."""
    listed = json.loads(outside("facts", "oneroster.json").read_text())["enums"]["grades_ceds"]
    known = {code: grade_of(code) for code in listed}
    assert [known[code] for code in ("PK", "TK", "KG")] == ["PK", "TK", "K"]
    assert [known[f"{n:02}"] for n in range(1, 13)] == [str(n) for n in range(1, 13)]
    assert {code for code, grade in known.items() if grade is None} == {"IT", "13", "PS", "UG", "Other"}


@pytest.mark.parametrize(
    ("label", "grade"),
    [
        ("3B", "3"),
        ("K-Smyx", "K"),
        ("Grade 2 Room 5", "2"),
        ("TK1", "TK"),
        ("Art Club", None),
        ("4th grade blue", "4"),
        ("Kindergarten A", "K"),
        ("Kroll", None),
        ("10-2", "10"),
        ("Room 12", None),
    ],
)
def test_a_class_label_may_tell_the_grade(label, grade):
    """Only a label that begins with a grade or names one tells it."""
    assert grade_in_label(label) == grade


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-09-07", date(2026, 9, 7)),
        ("9/7/2026", date(2026, 9, 7)),
        ("9/7/26", date(2026, 9, 7)),
        ("Sep 7, 2026", date(2026, 9, 7)),
        ("Monday, September 7, 2026", date(2026, 9, 7)),
        ("7 September 2026", date(2026, 9, 7)),
        ("2026-09-07T00:00:00.000Z", date(2026, 9, 7)),
        ("2/30/2026", None),
        ("soon", None),
        ("", None),
    ],
)
def test_dates_as_people_write_them(text, day):
    """A date that does not exist is not bent into one that does."""
    assert date_of(text) == day


@given(st.dates(date(2000, 1, 1), date(2090, 12, 31)))
def test_dates_come_back(day):
    """Every way of writing a date gives the same date."""
    assert date_of(day.isoformat()) == day
    assert date_of(f"{day.month}/{day.day}/{day.year}") == day
    assert date_of(f"{day.day}.{day.month}.{day.year}", day_first=True) == day


def test_a_column_says_whether_the_day_comes_first():
    """24/12 can only be day first; dots always are; 9/7 alone is month first."""
    assert is_day_first(["9/7/2026", "24/12/2026"])
    assert is_day_first(["7.9.2026"])
    assert not is_day_first(["9/7/2026", "12/24/2026"])


@pytest.mark.parametrize(
    ("text", "bell"),
    [
        ("8:15", time(8, 15)),
        ("8.15", time(8, 15)),
        ("0815", time(8, 15)),
        ("8:15 AM", time(8, 15)),
        ("1:05", time(13, 5)),
        ("1:05 pm", time(13, 5)),
        ("12:10 pm", time(12, 10)),
        ("12:10 am", time(0, 10)),
        ("9 am", time(9, 0)),
        ("25:00", None),
        ("13:05 pm", None),
        ("9", None),
        ("recess", None),
    ],
)
def test_bells_as_people_write_them(text, bell):
    """Without am or pm, one to six is afternoon (common practice, no source)."""
    assert time_of(text) == bell


def test_yes_and_no():
    """A word that is neither stays neither."""
    assert [yes_or_no(word) for word in ("Yes", "X", "opt out", "no", "maybe", "")] == [
        True,
        True,
        False,
        False,
        None,
        None,
    ]


# --- names ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cell", "given_name", "family"),
    [
        ("Quorrab, Zyx", "Zyx", "Quorrab"),
        ("Zyx Quorrab", "Zyx", "Quorrab"),
        ("Zyx Ana de la Quorrab", "Zyx Ana", "de la Quorrab"),
        ("Smyx, Jr., Tob", "Tob", "Smyx Jr"),
        ("Mononym", "Mononym", ""),
        ("王小明", "王小明", ""),
        ("O'Quor, Zoë", "Zoë", "O'Quor"),
    ],
)
def test_names_in_one_cell(cell, given_name, family):
    """A comma means family name first; single names and other scripts stay whole."""
    assert split_name(cell, family_first=False) == (given_name, family)


def test_a_nickname_in_brackets_is_the_preferred_name():
    """ "Zyxander (Zyx)" is called Zyx."""
    name = child_name("Zyxander (Zyx)", "Quorrab")
    assert (unseal_for_storage(name.given), unseal_for_storage(name.preferred)) == ("Zyxander", "Zyx")


def test_no_letters_is_no_name():
    """Digits, formulas and signs are no name; a family name alone becomes the name."""
    assert child_name("", "") is None
    assert child_name("=1+2", "—") is None
    single = child_name("", "Quorrab")
    assert (unseal_for_storage(single.given), bool(single.family)) == ("Quorrab", False)


@given(st.text(max_size=30), st.text(max_size=30))
def test_a_name_never_shows_itself(given_name, family):
    """Whatever the cells hold, the value prints as kept back and cannot be written out."""
    name = child_name(given_name, family)
    if name is not None:
        assert "kept back" in repr(name)
        with pytest.raises(TypeError):
            json.dumps(name.given)


def test_order_is_by_family_then_given_without_accents_and_apostrophes():
    """O'Brem comes before Ogg, Łuk among the L's is left as it folds, capitals don't matter."""
    people = [("Zoë", "Ogg"), ("Ana", "ogg"), ("Tob", "O'Brem"), ("Mononym", "")]
    ordered = sorted(people, key=lambda one: name_order(*one))
    assert ordered == [("Mononym", ""), ("Tob", "O'Brem"), ("Ana", "ogg"), ("Zoë", "Ogg")]
