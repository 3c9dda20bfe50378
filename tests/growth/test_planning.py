"""Pairs by theme, what is worth knowing from earlier works and observations, art words by year, standards in words."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.growth import art_words_by_year, class_grid, shipped_vocabulary, then_and_now, worth_knowing
from portfolio.growth.timeline import themes
from portfolio.model.finding import WorkShown
from portfolio.model.people import RollEntry
from portfolio.model.standards import ANCHORS, is_standard_code, sense_of
from portfolio.model.words import LEVELS, Observed

START = date(2025, 11, 3)
MEDIA = ("crayon", "tempera", "clay")
ROLL = [RollEntry(child, 1, child, START) for child in range(1, 13)]


def make(work_id: int, *, child: int = 1, days: int = 0, medium: str | None = "crayon", title: str = "") -> WorkShown:
    return WorkShown(
        work_id=work_id,
        title=title,
        class_id=1,
        class_label="3B",
        number=child,
        grade="3",
        year="2025-26",
        medium=medium,
        centre=None,
        made_on=START + timedelta(days=days),
        student_ids=(child,),
        derived_key=f"key{work_id}",
    )


def observed(child: int, what: str, *, level: str = LEVELS[0], days: int = 0) -> Observed:
    return Observed(child, what, level, START + timedelta(days=days))


# --- then and now -----------------------------------------------------------------------------------------------------


def test_a_pair_of_one_theme_is_put_side_by_side_and_says_why():
    """ "My cats" and "The cat" meet in the cat; with the same medium too, both are said."""
    cats = make(1, title="My cats", medium="clay")
    boat = make(2, days=10, title="A boat", medium="crayon")
    cat = make(3, days=300, title="The Cat", medium="tempera")
    pair = then_and_now([cats, boat, cat])
    assert (pair.then.work_id, pair.now.work_id) == (1, 3)
    assert pair.why == "both titles say “cat”"
    assert pair.themes == ("cat",)
    same = then_and_now([cats, boat, replace(cat, medium="clay")])
    assert same.why == "both are clay and both titles say “cat”"


def test_one_medium_and_one_theme_win_over_one_medium_farther_apart():
    """Of two pairs of one medium the one that also shares its theme is shown."""
    works = [
        make(1, title="Sea"),
        make(2, days=30, title="Dragon"),
        make(3, days=400, title="dragons"),
        make(4, days=500),
    ]
    pair = then_and_now(works)
    assert (pair.then.work_id, pair.now.work_id) == (2, 3)


@given(
    st.lists(
        st.tuples(
            st.integers(0, 900), st.sampled_from(MEDIA), st.sampled_from(["cat", "my dogs", "the sea", "", "Glass"])
        ),
        max_size=15,
    )
)
def test_a_pair_is_of_given_works_in_time_order_and_its_reason_is_true(found):
    """Then lies before now; every reason given holds."""
    works = [make(key, days=days, medium=medium, title=title) for key, (days, medium, title) in enumerate(found)]
    pair = then_and_now(works)
    if pair is None:
        return
    assert pair.then in works
    assert pair.now in works
    assert pair.then.made_on < pair.now.made_on
    assert set(pair.themes) == themes(pair.then) & themes(pair.now)
    assert ("both are" in pair.why) == (pair.then.medium == pair.now.medium)
    assert ("both titles" in pair.why) == bool(pair.themes)


def test_themes_leave_small_words_and_plurals():
    """Words of three letters or more; "grass" keeps its s."""
    assert themes(make(1, title="The Dogs and my Grass by a sea!")) == {"dog", "grass", "sea"}


# --- worth knowing ----------------------------------------------------------------------------------------------------


def grid_of(works, *, columns=MEDIA):
    return class_grid("3B", ROLL, works, columns=columns, from_day=START, to_day=START + timedelta(days=60))


def test_nobody_since_october():
    """A column that was used before the span says when; earlier works are not counted."""
    works = [make(child, child=child) for child in range(1, 13)]
    grid = grid_of([*works, make(50, child=3, days=-20, medium="clay"), make(51, child=99, days=-2, medium="tempera")])
    told = [one.sentence for one in worth_knowing(grid)]
    assert "Nobody has kept a work in clay in these weeks; the last was in October 2025." in told
    assert "Nobody has kept a work in tempera in these weeks." in told
    assert sum(row.kept for row in grid.rows) == 12


def test_what_nobody_has_used_is_one_sentence():
    """Three are named, more are counted: a grid of thirty media must not fill the page with sentences."""
    works = [make(child, child=child) for child in range(1, 13)]
    unused = ["ink", "pastel", "chalk", "mosaic", "mask"]
    told = [one.sentence for one in worth_knowing(grid_of(works, columns=[*MEDIA[:1], *unused]))]
    assert told == ["Nobody has kept a work in ink, pastel, chalk or 2 others in these weeks."]
    told = [one.sentence for one in worth_knowing(grid_of(works, columns=[*MEDIA[:1], *unused[:2]]))]
    assert told == ["Nobody has kept a work in ink or pastel in these weeks."]


def test_needs_are_told_with_their_counts_and_small_numbers_as_small():
    """The need seen with most children first; how many, never who; few observations are said to be few."""
    seen = [observed(child, "cutting") for child in range(1, 6)] + [observed(1, "gluing"), observed(2, "gluing")]
    seen += [observed(99, "gluing"), observed(3, "gluing", level=LEVELS[2]), observed(4, "gluing", days=-9)]
    told = [one for one in worth_knowing(grid_of([make(1)]), seen) if "support" in one.sentence]
    assert [one.sentence for one in told] == [
        "“cutting” was seen to need support with 5 of 12 children in these weeks.",
        "“gluing” was seen to need support with 2 of 12 children in these weeks. That rests on 2 observations only.",
    ]
    assert told[0].counts == {"children": 5, "of": 12, "observations": 5}
    assert all(not one.numbers for one in told)


@given(
    st.lists(st.tuples(st.integers(1, 12), st.integers(-60, 60), st.sampled_from((*MEDIA, None))), max_size=40),
    st.lists(
        st.tuples(st.integers(1, 14), st.sampled_from(["cutting", "gluing"]), st.sampled_from(LEVELS)), max_size=9
    ),
)
def test_no_sentence_ranks_or_praises_and_every_count_holds(found, notes):
    """Numbers rise, counts lie within the class, and no word of judgment is ever used."""
    works = [make(key, child=child, days=days, medium=medium) for key, (child, days, medium) in enumerate(found)]
    told = worth_knowing(grid_of(works), [observed(child, what, level=level) for child, what, level in notes])
    for one in told:
        assert list(one.numbers) == sorted(one.numbers)
        assert one.counts.get("children", 0) <= one.counts.get("of", 12)
        assert not re.search(r"\b(best|worst|better|weak|behind|score|rank|good|bad|poor|talented)\b", one.sentence)


# --- art words --------------------------------------------------------------------------------------------------------


def test_each_year_brings_its_words_as_the_child_wrote_them():
    """First use a year, how often, how written; new only in the first year of all."""
    said = [
        (date(2024, 10, 1), "2024-25", "I like my LINES and the shape"),
        (date(2024, 12, 1), "2024-25", "more lines"),
        (date(2025, 10, 1), "2025-26", "a line, a self-portrait, I wove it"),
    ]
    first, second = art_words_by_year(reversed(said))
    assert (first.year, second.year) == ("2024-25", "2025-26")
    assert [(use.word, use.spelled, use.times, use.new) for use in first.words] == [
        ("line", "LINES", 2, True),
        ("shape", "shape", 1, True),
    ]
    assert {(use.word, use.spelled, use.new) for use in second.words} == {
        ("line", "line", False),
        ("portrait", "self-portrait", True),
        ("weave", "wove", True),
    }


@given(
    st.lists(
        st.tuples(
            st.integers(0, 900), st.lists(st.sampled_from(["my", "Lines", "wove", "still life", "é"])).map(" ".join)
        ),
        max_size=12,
    )
)
def test_what_is_told_was_written(found):
    """Every spelling told stands letter for letter in a text of that year, on the day told."""
    said = [(START + timedelta(days=days), str(days // 365), text) for days, text in found]
    told = art_words_by_year(said)
    for year in told:
        for use in year.words:
            assert any(day == use.first_on and use.spelled in text and of == year.year for day, of, text in said)
    assert sum(use.times for year in told for use in year.words if use.word == "line") == sum(
        text.split(" ").count("Lines") for _, text in found
    )


def test_the_vocabulary_has_the_seven_elements_and_no_word_twice():
    """Seven elements as US curricula list them (grsd.org, libbyclarke.com); principles vary, so they are a list."""
    vocabulary = shipped_vocabulary()
    assert set(vocabulary["element"]) == {"line", "shape", "form", "color", "value", "texture", "space"}
    assert {"balance", "emphasis", "movement", "rhythm", "proportion", "variety", "unity"} <= set(
        vocabulary["principle"]
    )
    words = [word for kind in vocabulary.values() for word in kind]
    assert len(words) == len(set(words))


def test_a_teachers_own_vocabulary_takes_its_place():
    """With a list of her own only her words are looked for."""
    (year,) = art_words_by_year([(START, "2025-26", "a squishy line")], {"own": {"squishy": ()}})
    assert [(use.word, use.kind) for use in year.words] == [("squishy", "own")]


# --- standards --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("code", "anchor"), [("VA:Cr1.1.2a", 1), ("VA:Cn10.1.HSI", 10), ("NAS.VA.Re9.1.K.a", 9)])
def test_a_code_says_its_sense_in_our_words(code, anchor):
    """Anchor numbers and their sense; the published statements are not shipped."""
    assert sense_of(code) == ANCHORS[anchor]


@given(st.text(max_size=14) | st.from_regex(r"VA:(Cr|Pr|Re|Cn)\d{1,2}\.\d\.(K|\d)[a-d]?", fullmatch=True))
def test_only_a_code_has_a_sense(text):
    """What is no code says nothing; there are eleven anchors."""
    assert (sense_of(text) is not None) == is_standard_code(text)
    assert sorted(ANCHORS) == list(range(1, 12))
