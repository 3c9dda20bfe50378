from collections import Counter
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portfolio.growth import art_words, class_grid, explored, side_by_side, then_and_now, timeline, worth_knowing
from portfolio.model.finding import WorkShown
from portfolio.model.people import RollEntry
from portfolio.model.standards import STUDIO_HABITS, is_standard_code

START = date(2024, 9, 2)
MEDIA = ("crayon", "tempera", "clay")


def make(
    work_id: int, *, child: int = 1, days: int = 0, medium: str | None = "crayon", year: str = "2024-25"
) -> WorkShown:
    """A work of one child, ``days`` after the first day of school."""
    return WorkShown(
        work_id=work_id,
        title="",
        class_id=1,
        class_label="3B",
        number=child,
        grade="3",
        year=year,
        medium=medium,
        centre=None,
        made_on=START + timedelta(days=days),
        student_ids=(child,),
        derived_key=f"key{work_id}",
    )


works_of_one = st.lists(st.tuples(st.integers(0, 900), st.sampled_from((*MEDIA, None))), max_size=25).map(
    lambda found: [
        make(key, days=days, medium=medium, year=f"{2024 + days // 365}-{25 + days // 365}")
        for key, (days, medium) in enumerate(found, start=1)
    ]
)


@given(works_of_one)
def test_every_work_stands_in_the_timeline_once_and_in_order(works: list[WorkShown]) -> None:
    """Nothing is lost or doubled; newest year first, oldest work first within it."""
    years = timeline(works)
    assert Counter(work.work_id for year in years for work in year.works) == Counter(work.work_id for work in works)
    assert [year.year for year in years] == sorted({work.year for work in works}, reverse=True)
    for year in years:
        assert list(year.works) == sorted(year.works, key=lambda work: (work.made_on, work.work_id))


@given(works_of_one, st.randoms())
def test_then_and_now_does_not_hang_on_the_order_and_prefers_one_medium(works: list[WorkShown], chance) -> None:
    """The same works give the same pair; a pair of one medium wins over any other that is far apart enough."""
    pair = then_and_now(works)
    mixed = list(works)
    chance.shuffle(mixed)
    assert then_and_now(mixed) == pair
    days = [(other.made_on - one.made_on).days for one in works for other in works]
    assert (pair is None) == (max(days, default=0) < 120)
    if pair is not None:
        assert pair.days >= 120
        same = any(
            one.medium == other.medium is not None and (other.made_on - one.made_on).days >= 120
            for one in works
            for other in works
        )
        assert (pair.then.medium == pair.now.medium is not None) == same


def test_a_group_work_or_a_work_without_a_picture_is_not_put_side_by_side() -> None:
    """A pair shows one child's own hand, and needs two pictures."""
    old, new = make(1), make(2, days=400)
    assert then_and_now([old, replace(new, group_work=True)]) is None
    assert then_and_now([old, replace(new, derived_key=None)]) is None
    assert then_and_now([old, new]).why == "both are crayon"


@given(
    st.lists(
        st.tuples(st.integers(1, 12), st.integers(-40, 200), st.sampled_from((*MEDIA, "weaving", None))), max_size=60
    )
)
def test_the_grid_counts_every_work_of_the_span_once_for_its_maker(found) -> None:
    """Row sums are the child's works in the span with a medium; a medium that is not listed still gets a column."""
    works = [
        make(key, child=child, days=days, medium=medium) for key, (child, days, medium) in enumerate(found, start=1)
    ]
    roll = [RollEntry(child, 1, child, START) for child in range(1, 13)]
    grid = class_grid("3B", roll, works, columns=MEDIA, from_day=START, to_day=START + timedelta(days=100))
    span = [work for work in works if START <= work.made_on <= START + timedelta(days=100)]
    for row in grid.rows:
        own = [work for work in span if work.number == row.number]
        assert row.kept == sum(work.medium is not None for work in own)
        assert row.last_seen == max((work.made_on for work in own), default=None)
    assert [row.number for row in grid.rows] == list(range(1, 13))
    assert grid.without_column == sum(work.medium is None for work in span)
    assert set(grid.nothing_kept) == set(range(1, 13)) - {work.number for work in span}


def test_what_is_worth_knowing_names_few_and_counts_many() -> None:
    """Two children are named by number; a medium nobody used is said once, with its counts; never a rank."""
    roll = [RollEntry(child, 1, child, START) for child in range(1, 13)]
    works = [make(child, child=child, medium="crayon") for child in range(1, 11)] + [
        make(99, child=4, medium="tempera")
    ]
    grid = class_grid("3B", roll, works, columns=MEDIA, from_day=START, to_day=START, opened={"clay": True})
    told = worth_knowing(grid)
    assert [one.sentence for one in told] == [
        "11 and 12 have nothing kept in these weeks.",
        "Only number 4 has kept a work in tempera in these weeks.",
        "Nobody has kept a work in clay in these weeks.",
    ]
    assert told[0].counts == {"children": 2, "of": 12}


def test_a_closed_center_is_not_held_against_anybody() -> None:
    """What is not open yet is neither "not yet" nor worth a sentence; a work made there all the same is shown."""
    roll = [RollEntry(1, 1, 1, START), RollEntry(2, 1, 2, START)]
    works = [make(1, medium="crayon"), make(2, child=2, medium="clay")]
    grid = class_grid(
        "3B", roll, works, columns=MEDIA, from_day=START, to_day=START, opened={"clay": False, "tempera": False}
    )
    assert [[cell.open for cell in row.cells] for row in grid.rows] == [[True, False, False], [True, False, True]]
    assert not any("tempera" in one.sentence for one in worth_knowing(grid))


def test_two_picked_works_stand_side_by_side_however_near() -> None:
    """The older one first; the same work twice, another child's or one without a picture is no pair."""
    works = [replace(make(at, days=at), derived_key=f"key{at}" if at < 3 else None) for at in (1, 2, 3)]
    pair = side_by_side(works, 2, 1)
    assert pair is not None
    assert (pair.then.work_id, pair.now.work_id) == (1, 2)
    assert [side_by_side(works, *ids) for ids in ((1, 1), (1, 3), (1, 99))] == [None, None, None]


def test_media_are_told_in_the_rooms_order_with_none_left_out() -> None:
    """Tried, not yet, and what is no longer listed."""
    found = explored([make(1), make(2, days=9), make(3, medium="batik")], MEDIA)
    assert [(one.medium, one.count) for one in found] == [("crayon", 2), ("tempera", 0), ("clay", 0), ("batik", 1)]
    assert found[0].last == START + timedelta(days=9)


@pytest.mark.parametrize(
    ("text", "word"),
    [
        ("I made a line", "line"),
        ("the LINES go up", "line"),
        ("I overlapped it", "overlap"),
        ("blending is hard", "blend"),
        ("my pattern repeats", "pattern"),
        ("shading", "shade"),
    ],
)
def test_art_words_are_found_in_their_forms(text: str, word: str) -> None:
    """Endings count; the first day is kept."""
    later, first = START + timedelta(days=5), START
    assert [(use.word, use.day) for use in art_words([(later, text), (first, text)])] == [(word, first)]


def test_a_word_inside_another_word_is_no_art_word() -> None:
    """Words such as "online", "reform" and "spacecraft" claim no vocabulary."""
    assert art_words([(START, "online reform spacecraft unshaped")]) == ()


@pytest.mark.parametrize("code", ["VA:Cr1.1.2a", "VA:Cn10.1.HSI", "NAS.VA.Cr1.1.K.a", "VA:Re9.1.8a"])
def test_codes_of_the_national_core_arts_standards_are_known(code: str) -> None:
    """Form as listed at nationalartsstandards.org (customised handbook, 2014)."""
    assert is_standard_code(code)


@pytest.mark.parametrize("code", ["VA:Cr4.1.2a", "VA:Re12.1.3a", "VA:Cr1.1.9a", "VA:Cr1.4.2a", "MU:Cr1.1.2a", ""])
def test_what_only_looks_like_a_code_is_refused(code: str) -> None:
    """An anchor belongs to its process, a grade ends at 8 before high school."""
    assert not is_standard_code(code)


def test_the_studio_habits_are_eight() -> None:
    """Eight names, as Project Zero (Harvard) lists them for the Studio Thinking framework."""
    assert len(set(STUDIO_HABITS)) == 8
