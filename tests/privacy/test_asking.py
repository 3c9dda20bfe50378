"""A child is found by name however it is typed, and two spellings of one name are one name."""

import pytest

from portfolio.privacy.alike import alike
from portfolio.privacy.asking import asked_for, words_of_names
from tests.support.names import make_name

OKINAS = "'\u2018\u2019\u02bb\u02bc\u02b9`"


@pytest.mark.parametrize(
    ("given", "family", "typed"),
    [
        ("Ka\u02bbiulani", "Vexdro", "kaiulani"),
        ("Kaiulani", "Vexdro", "ka\u02bbiu"),
        ("Ka\u2019iulani", "Vexdro", "Ka\u02bcIulani vex"),
        ("Mary-Jane", "de la Cruz", "jane cruz"),
        ("Mary-Jane", "de la Cruz", "maryjane"),
        ("Mary-Jane", "de la Cruz", "Mary Jane De La"),
        ("Łucja", "Bjørnsen", "lucja bjorn"),
        ("Zoe\u0308", "Nguyễn", "Zoë nguyen"),
        ("रवि", "कुमार", "रवि कु"),
        ("ज़ोया", "ख़ान", "ज\u093cोया"),
        ("Rafiq 2", "Vexdro", "rafiq 2"),
    ],
)
def test_a_child_is_found_however_the_name_is_typed(given, family, typed):
    """Capitals, accents, apostrophes, hyphens and the vowel signs of Indic scripts; the beginning is enough."""
    assert asked_for(typed, {7: make_name(given, family)}) == (7,)


@pytest.mark.parametrize(
    ("given", "family", "typed"),
    [("रवि", "कुमार", "रवा"), ("Rafiq 2", "Vexdro", "rafiq 3"), ("Ana", "Vexdro", "a"), ("Ana", "Vexdro", "anan")],
)
def test_another_name_is_another_child(given, family, typed):
    """Another vowel sign, another digit, one letter more, one letter alone: nobody."""
    assert asked_for(typed, {7: make_name(given, family)}) == ()


@pytest.mark.parametrize("sign", OKINAS)
def test_two_spellings_of_a_name_are_alike(sign):
    """A roster's okina by any sign, and any capitals and accents, is the child that is known already."""
    assert alike(make_name(f"Ka{sign}iulani", "O'VÉXDRO")) == alike(make_name("Kaiulani", "o\u2019vexdro"))


def test_names_that_differ_in_a_vowel_sign_are_not_alike():
    """ "रवि" and "रवा" are two names; composed and decomposed letters are one."""
    assert alike(make_name("रवि", "कुमार")) != alike(make_name("रवा", "कुमार"))
    assert alike(make_name("\u095b\u094bया", "कुमार")) == alike(make_name("ज\u093c\u094bया", "कुमार"))
    assert alike(make_name("र वा", "कुमार")) != alike(make_name("रवा", "कुमार"))


def test_the_words_of_a_name_are_whole_and_in_every_form():
    """Vowel signs do not cut a name; the run-together, the accentless and the umlaut's long form are there too."""
    words = words_of_names([make_name("रवि", "Müller-Vexdro"), make_name("Mary-Jane", "O'Brien")])
    assert {"रवि", "mueller", "muller", "vexdro", "maryjane", "mary", "obrien"} <= words
    assert not any(len(word) < 2 for word in words)
