"""How a maker is called for each audience, and every form in which a name could slip out."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.model.people import Audience, NameForm
from portfolio.privacy.forms import artist_words, every_form, grade_sign, label_for, label_for_group
from portfolio.privacy.matching import forbidden_for
from tests.support.names import DAY, make_child, make_name, make_release

NAME = make_name("Ana", "Miller")


@pytest.mark.parametrize(
    ("audience", "form", "label"),
    [
        (Audience.PUBLIC, None, "Grade 2 artist"),
        (Audience.PUBLIC, NameForm.NONE, "Grade 2 artist"),
        (Audience.PUBLIC, NameForm.FIRST, "Ana"),
        (Audience.PUBLIC, NameForm.FULL, "Ana"),
        (Audience.COMMUNITY, NameForm.FIRST, "Ana"),
        (Audience.COMMUNITY, NameForm.FULL, "Ana"),
        (Audience.COMMUNITY, None, "Grade 2 artist"),
        (Audience.SCHOOL, NameForm.FIRST, "Ana"),
        (Audience.SCHOOL, NameForm.FIRST_INITIAL, "Ana M."),
        (Audience.SCHOOL, NameForm.FULL, "Ana M."),
        (Audience.SCHOOL, None, "Grade 2 artist"),
        (Audience.TEACHER, None, "Ana Miller"),
        (Audience.FAMILY, NameForm.FULL, "Grade 2 artist"),
    ],
)
def test_the_label_is_never_wider_than_the_audience(audience, form, label):
    """The table of audiences and name forms, line by line."""
    releases = () if form is None else (make_release(audience, form=form),)
    assert label_for(NAME, audience, releases=releases, grade="2", day=DAY) == label


def test_a_family_sees_the_full_name_of_its_own_child_only():
    """Without any release: the own child's page is the family's own."""
    assert label_for(NAME, Audience.FAMILY, releases=(), grade="2", day=DAY, own=True) == "Ana Miller"


def test_a_preferred_name_is_the_one_that_is_used():
    """The given name in the register is then not shown to anybody."""
    name = make_name("Robert", "Miller", preferred="Robin")
    yes = (make_release(form=NameForm.FIRST),)
    assert label_for(name, Audience.PUBLIC, releases=yes, grade="2", day=DAY) == "Robin"
    child = make_child("Robert", "Miller", preferred="Robin", releases=yes)
    forbidden = forbidden_for([child], Audience.PUBLIC, day=DAY)
    assert not forbidden.find("by Robin")
    assert forbidden.find("by Robert")


def test_grades_without_a_name():
    """Kindergarten has no number; a grade of few children hides in its band."""
    assert artist_words("K") == "Kindergarten artist"
    assert artist_words("2", several=True) == "Grade 2 artists"
    assert artist_words("2", few=True) == "K–2 artist"
    assert artist_words("", few=True) == "Young artist"
    assert [grade_sign(grade) for grade in ("PK", "2", "3", "5", "6", "?")] == [
        "K–2",
        "K–2",
        "3–5",
        "3–5",
        "6–8",
        "All grades",
    ]


def test_makers_of_a_group_work_share_the_strictest_form():
    """One maker without a released name takes all names off the label."""
    ana, ben, cy = (make_name(given, "Miller") for given in ("Ana", "Ben", "Cy"))
    yes, bare = (make_release(form=NameForm.FIRST),), (make_release(),)
    group = label_for_group([(ana, yes), (ben, yes), (cy, yes)], Audience.PUBLIC, grade="2", day=DAY)
    assert group == "Ana, Ben and Cy"
    assert label_for_group([(ana, yes), (ben, bare)], Audience.PUBLIC, grade="2", day=DAY) == "Grade 2 artists"


def test_every_form_of_a_name_with_everything_in_it():
    """Double names, apostrophes, accents, nicknames, initials and names run together are all there."""
    forms = every_form(make_name("Zoë-Ann", "O’Brien", middle="Müller", also=("Zee",)))
    for form in ("zoe ann", "zoeann", "zoe", "ann", "o brien", "obrien", "brien", "zee", "muller", "mueller"):
        assert form in forms
    for form in ("zoe ann o brien", "o brien zoe ann", "zoeannobrien", "obrienzoeann", "zobrien", "z o brien"):
        assert form in forms
    assert "zoe ann m o brien" in forms
    assert "zoe ann o" in forms


LETTERS = st.text(st.characters(categories=("Lu", "Ll")), min_size=3, max_size=9)


@given(LETTERS, LETTERS)
def test_every_way_to_write_a_name_is_found(given_name, family):
    """Whatever the letters: case, NFC/NFD, order and punctuation do not hide a name."""
    given_name, family = given_name.title(), family.title()
    forbidden = forbidden_for([make_child(given_name, family)], Audience.PUBLIC, day=DAY)
    for way in (
        given_name,
        family,
        f"{given_name} {family}",
        f"{family}, {given_name}",
        f"{given_name}_{family}",
        f"({given_name})",
    ):
        for form in ("NFC", "NFD"):
            assert forbidden.find(f"+ {unicodedata.normalize(form, way)} +"), ascii(way)
    assert forbidden.find(given_name.title())
    assert forbidden.find(f"{family}'s")


@given(st.text(st.characters(codec="ascii", categories=("Ll",)), min_size=3, max_size=8), st.sampled_from("abc"))
def test_a_name_inside_a_longer_word_is_not_that_name(name, letter):
    """ "Ana" is not found in "banana"."""
    forbidden = forbidden_for([make_child(name, "Qqquorrabxx")], Audience.PUBLIC, day=DAY)
    for word in (letter + name + letter, name + letter + "zz"):
        assert not [hit for hit in forbidden.find(word) if hit.end - hit.start != len(word)]


def test_names_in_other_scripts():
    """Cyrillic is found in its own and in Latin letters; Han names are found without word boundaries."""
    forbidden = forbidden_for(
        [make_child("Юлия", "Ковальчук"), make_child("伟明", "王", student_id=2)], Audience.PUBLIC, day=DAY
    )
    for text in ("Юлия", "ЮЛИЯ", "yuliya", "Kovalchuk", "这是王伟明画的", "伟明"):
        assert forbidden.find(text), text
    assert not forbidden.find("这是画")


def test_everyday_words_are_names_only_where_they_can_be():
    """A child called Will Green does not stop every page that says "I will use green"."""
    forbidden = forbidden_for([make_child("Will", "Green")], Audience.PUBLIC, day=DAY)
    assert not forbidden.find("i will use green")
    for text in ("Will", "WILL made it", "i did it with will", "will green", "Green", "wgreen"):
        assert forbidden.find(text), text


def test_a_released_first_name_is_free_the_rest_is_not():
    """Beyond the released form everything stays forbidden, and another child of that name still counts."""
    ana = make_child("Ana", "Miller", releases=[make_release(form=NameForm.FIRST)], also=("Annie",))
    forbidden = forbidden_for([ana], Audience.PUBLIC, day=DAY)
    assert not forbidden.find("by Ana")
    for text in ("Ana Miller", "Miller", "Ana M.", "Annie", "anamiller"):
        assert forbidden.find(text), text
    other = make_child("Ana", "Smythe", student_id=2)
    assert forbidden_for([ana, other], Audience.PUBLIC, day=DAY).find("by Ana")


def test_class_with_number_or_initials_points_at_a_child():
    """34 CFR 99.3: what lets somebody in the school tell who it is counts like a name."""
    forbidden = forbidden_for([make_child("Ana", "Miller", classes=["3B"])], Audience.PUBLIC, day=DAY)
    for text in ("3B-14", "3b, number 7", "number 9 of 3B", "A.M., 3B", "3B AM"):
        assert forbidden.find(text), text
    for text in ("3B", "pencil 3B 70", "13B-14", "3 B", "I AM 3B"[:4]):
        assert not forbidden.find(text), text


def test_names_are_never_printed():
    """What is forbidden prints only how much it is."""
    forbidden = forbidden_for([make_child()], Audience.PUBLIC, day=DAY)
    assert "zyxqel" not in repr(forbidden).lower()
    assert "zyxqel" not in repr(forbidden.find("Zyxqel")).lower()
