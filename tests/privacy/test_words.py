"""Names in children's words are found and held; ordinary words are left alone."""

import pytest

from portfolio.model.showing import Decision, HeldPlace
from portfolio.privacy.words import NameFinder, hold, may_leave_the_teacher
from tests.support.names import make_child

FINDER = NameFinder(
    [
        make_child("Oliver", "Green", also=("Ollie",)),
        make_child("Penelope", "O'Brien", student_id=2),
        make_child("Will", "Marks", student_id=3),
        make_child("Mia", "Brush", student_id=4),
    ]
)


def kinds(text: str) -> list[tuple[str, str]]:
    return [(text[place.start : place.end], place.kind) for place in FINDER.places(text)]


@pytest.mark.parametrize(
    ("text", "held"),
    [
        ("I made it with Oliver.", [("Oliver", "first name")]),
        ("ollie helpt me", [("ollie", "nickname")]),
        ("me and olliver playd", [("olliver", "close to a first name")]),
        ("this is for penelopy", [("penelopy", "close to a first name")]),
        ("O’Brien was there", [("O’Brien", "family name")]),
        ("it is for will", [("will", "first name")]),
        ("Mia's cat", [("Mia", "first name")]),
        ("Oliver Green made it", [("Oliver Green", "full name")]),
    ],
)
def test_names_nicknames_and_near_misspellings_are_held(text, held):
    """Each once, with its place and kind."""
    assert kinds(text) == held


@pytest.mark.parametrize(
    "text",
    [
        "I will use green and brush it",
        "the olive tree is green",
        "a bag of olives and a marker",
        "I made the wind go sidways. The house is brav becus it has a red cote.",
        "it marks the wall. i mite do it agen",
        "my mom and me",
        "banana miaow",
    ],
)
def test_ordinary_words_are_left_alone(text):
    """Everyday words and children's own spellings of them are no names."""
    assert kinds(text) == []


def test_what_was_decided_stays_decided():
    """Held again with the same names, a place keeps the teacher's decision; a new place is undecided."""
    before = (HeldPlace(0, 5, "family name", Decision.SHOWN),)
    held = hold(FINDER, "Green grass and Mia", before=before)
    assert [(place.decided, place.kind) for place in held] == [(Decision.SHOWN, "family name"), (None, "first name")]


def test_a_text_leaves_the_teacher_only_when_every_place_is_decided():
    """Undecided or kept back: nobody else sees it. A child who came later makes an old text undecided again."""
    text = "Green grass"
    shown, kept = HeldPlace(0, 5, "family name", Decision.SHOWN), HeldPlace(0, 5, "family name", Decision.KEPT)
    assert may_leave_the_teacher(FINDER, "grass", held=())
    assert not may_leave_the_teacher(FINDER, text, held=())
    assert not may_leave_the_teacher(FINDER, text, held=(HeldPlace(0, 5, "family name"),))
    assert not may_leave_the_teacher(FINDER, text, held=(kept,))
    assert may_leave_the_teacher(FINDER, text, held=(shown,))
    assert not may_leave_the_teacher(NameFinder([make_child("Grass", "Green")]), text, held=(shown,))


def test_held_places_survive_the_record():
    """As JSON and back, nothing is lost."""
    for decided in (None, Decision.SHOWN, Decision.KEPT):
        place = HeldPlace(3, 9, "nickname", decided)
        assert HeldPlace.from_json(place.as_json()) == place
