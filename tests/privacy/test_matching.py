"""Where a name stands in a text, however its letters are dressed; and when an old search no longer counts."""

import unicodedata

import pytest

from portfolio.model.people import Audience
from portfolio.privacy import matching
from portfolio.privacy.matching import forbidden_for
from tests.support.names import DAY, make_child


def test_what_was_clean_under_other_rules_is_searched_again(monkeypatch):
    """The digest that stands for "found clean before" says by which rules, not only which names."""
    before = forbidden_for([make_child()], Audience.PUBLIC, day=DAY).digest
    assert forbidden_for([make_child()], Audience.PUBLIC, day=DAY).digest == before
    monkeypatch.setattr(matching, "RULES", matching.RULES + 1)
    assert forbidden_for([make_child()], Audience.PUBLIC, day=DAY).digest != before


def spots(text: str, *children) -> set[str]:
    found = forbidden_for(children, Audience.PUBLIC, day=DAY).find(text)
    return {text[place.start : place.end] for place in found}


def dressed(first: int, *, small: int | None = None):
    """A way to write capitals (and small letters) with the signs from ``first`` on."""
    return lambda word: "".join(
        chr((small if letter.islower() and small is not None else first) + ord(letter.upper()) - ord("A"))
        for letter in word
    )


DRESSES = {
    "circles": dressed(0x24B6, small=0x24D0),
    "squares": dressed(0x1F130),
    "white on a circle": dressed(0x1F150),
    "white on a square": dressed(0x1F170),
    "letters of flags": dressed(0x1F1E6),
    "brackets": dressed(0x1F110, small=0x249C),
    "bold": dressed(0x1D400, small=0x1D41A),
    "wide": dressed(0xFF21, small=0xFF41),
    "rings": lambda word: "".join(f"{letter}\u20dd" for letter in word),
    "marks above": lambda word: "".join(f"{letter}\u1ab0" for letter in word),
    "more marks": lambda word: "".join(f"{letter}\u1dc4" for letter in word),
    "half marks": lambda word: "".join(f"{letter}\ufe20" for letter in word),
    "signs for pictures": "\ufe0f".join,
    "turns of direction": "\u2067".join,
    "tags": "\U000e0041".join,
}


@pytest.mark.parametrize("dress", DRESSES)
def test_a_name_is_found_where_it_stands_in_any_dress(dress):
    """First name, everyday word and full name, in letters that only look like letters: found, at the right place."""
    first, word, family = (DRESSES[dress](one) for one in ("Zyxqel", "Will", "Quorrab"))
    text = f"– ﬁve cats – by {first} and {word} ½ {first} {family}…"
    found = spots(text, make_child(), make_child("Will", "Vexdro", student_id=2))
    for name in (first, word, family, f"{first} {family}"):
        assert any(name in one and len(one) <= len(name) + 1 for one in found), (name, found)


def test_every_place_is_told_not_only_the_first():
    """Three times in a text without spaces: three places, each of them that name."""
    text = "½ 王伟明和王伟明…王伟明"
    found = forbidden_for([make_child("伟明", "王")], Audience.PUBLIC, day=DAY).find(text)
    assert [text[place.start : place.end] for place in found if place.end - place.start == 3] == ["王伟明"] * 3


def test_a_place_in_hangul_is_a_place_in_the_text():
    """Hangul is compared by its parts; the place is that of whole syllables, composed or not."""
    child = make_child("민준", "김")
    assert "민준" in spots("이것은 민준이 그렸다", child)
    apart = unicodedata.normalize("NFD", "이것은 민준이 그렸다")
    assert unicodedata.normalize("NFD", "민준") in spots(apart, child)


@pytest.mark.parametrize(
    "text",
    [
        "3B–14",
        "3B — № 14",
        "３Ｂ－１４",
        "③Ⓑ-⑭",
        "3B-१४",
        "3\u200bB-1\u200b4",
        "A.\u00a0M., 3B",
        "Á. M., 3B",
        "3B\u2009\U0001d400\U0001d40c",
    ],
)
def test_a_class_with_a_number_is_found_in_any_dress(text):
    """Dashes, other digits, wide and invisible signs between class and number change nothing."""
    assert spots(text, make_child("Ana", "Miller", classes=["3B"]))


def test_a_class_with_accents_is_found():
    """ "Année É2-14" and "annee e2, number 14" are the same place on the roll, also when the label came decomposed."""
    for label in ("École É2", unicodedata.normalize("NFD", "École É2")):
        child = make_child("Ana", "Miller", classes=[label])
        for text in (
            "École É2-14",
            "ecole e2, number 14",
            unicodedata.normalize("NFD", "ÉCOLE É2 – 14"),
            "A.M. École É2",
        ):
            assert spots(text, child), (label, text)
        assert not spots("École É2", child)


OKINAS = "'\u2018\u2019\u02b9\u02bb\u02bc\u02bd\u02be\u02bf\u02c8\u02ca\u02cb\u00b4"


@pytest.mark.parametrize("sign", ["", *OKINAS])
def test_an_apostrophe_by_any_sign_or_none_is_the_same_name(sign):
    """Whatever sign the roster has and whatever the text: the name is found whole."""
    for roster in ("", *OKINAS):
        for name in ("Ka{}iulani", "Мар{}яна", "O{}Brien", "D{}Angelo"):
            written = name.format(sign)
            assert written in spots(f"by {written}.", make_child(name.format(roster), "Vexdro")), (roster, name)


def test_english_endings_are_no_part_of_a_name():
    """A child called Anas, Shell or Well does not stop "Ana's", "she'll" and "we'll"."""
    for name, text in (("Anas", "Ana's cat"), ("Shell", "She'll come"), ("Well", "We’ll come"), ("Im", "I'm here")):
        assert not spots(text, make_child(name, "Vexdro"))


@pytest.mark.parametrize(
    ("given", "family", "text"),
    [
        ("טל", "כהן", "הציור של טל הוא כחול"),
        ("مي", "حداد", "رسمت مي البيت"),
        ("عمر", "حداد", "رسم عـمـر البيت"),
        ("रवि", "कुमार", "रवि ने यह बनाया"),
        ("रवि", "कुमार", "रवि२"),
        ("ज़ोया", "ख़ान", "यह ज\u093cोया का चित्र है"),
        ("நிலா", "குமார்", "நிலா வரைந்தது"),
        ("నీలా", "రావు", "ఇది నీలా గీసింది"),
    ],
)
def test_names_in_scripts_without_capitals(given, family, text):
    """Short Hebrew and Arabic names need no capital; the vowel signs of Indic scripts belong to the word."""
    assert spots(text, make_child(given, family))


def test_a_longer_indic_word_is_not_that_name():
    """ "रवि" is not found in "रविवार" (Sunday), nor "राम" in "रामा"."""
    assert not spots("रविवार", make_child("रवि", "कुमार"))
    assert not spots("रामा", make_child("राम", "कुमार"))


def test_a_stray_vowel_sign_does_not_hide_a_name():
    """A vowel sign belongs to a letter of its own scripts; behind another letter it parts words."""
    assert "Zyxqel" in spots("Zyxqel\u093e and \u093eZyxqel\u094bb", make_child())


def test_a_backtick_is_an_apostrophe():
    """Keyboards without an ʻokina or a straight apostrophe at hand give a backtick."""
    assert spots("by Ka`iulani.", make_child("Kaiulani", "Kealoha")) == {"Ka`iulani"}
    assert spots("by Ka`iulani é", make_child("Ka\u02bbiulani", "Kealoha")) >= {"Ka`iulani"}
