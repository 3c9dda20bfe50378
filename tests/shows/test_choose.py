"""Choosing is fair, exact, repeatable and explained; a slow honest search over all selections agrees."""

import itertools
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.model.showing import Candidate, Mark, ShowLimits
from portfolio.shows.choose import choose


def make_works(seed: int, *, children: int = 30, most: int = 4) -> list[Candidate]:
    chance = random.Random(seed)
    works = []
    for child in range(1, children + 1):
        for _ in range(chance.randint(1, most)):
            media = chance.choice(["crayon", "crayon", "crayon", "tempera", "clay"])
            area = chance.choice([70_000, 140_000, 280_000])
            works.append(
                Candidate(len(works) + 1, (child,), str(child % 6), media, area, chance.choice([0, 0, 0, 1, 3]))
            )
    return works


def shown_children(works, chosen) -> set[int]:
    return {child for work in works if work.work_id in chosen for child in work.student_ids}


def test_every_child_once_when_there_is_room():
    """With one work each and no limit, every child with a work that may be shown is in the show, once."""
    works = make_works(1)
    choice = choose(works, ShowLimits())
    assert len(choice.chosen) == 30
    assert shown_children(works, choice.chosen) == set(range(1, 31))
    assert (choice.missing, choice.short, choice.proved) == ((), "", True)


def test_the_same_works_in_any_order_give_the_same_choice():
    """Also another run, and a run that starts from its own answer."""
    works = make_works(2)
    first = choose(works, ShowLimits(works=24))
    random.Random(5).shuffle(works)
    assert choose(works, ShowLimits(works=24)) == first
    assert choose(works, ShowLimits(works=24), stay=frozenset(first.chosen)).chosen == first.chosen


def test_musts_are_in_nevers_are_out():
    """Also when the musts go over the limit of the child and of the show."""
    works = [Candidate(key, (1,), "2", "crayon", mark=Mark.MUST) for key in (1, 2, 3)]
    works += [Candidate(4, (2,), "2", "crayon", mark=Mark.NEVER), Candidate(5, (2,), "2", "crayon")]
    choice = choose(works, ShowLimits(per_child=1, works=2))
    assert set(choice.chosen) >= {1, 2, 3}
    assert 4 not in choice.chosen
    assert choice.reasons[1].why == "You marked it to be in the show."
    assert choice.reasons[4].why == "You marked it to stay out."


def test_one_change_moves_little():
    """Taking one work out again changes at most its own child's work and what balances it."""
    works = make_works(3, children=60)
    first = choose(works, ShowLimits())
    out = first.chosen[0]
    changed = [
        Candidate(w.work_id, w.student_ids, w.grade, w.medium, w.area_mm2, w.stars, Mark.NEVER)
        if w.work_id == out
        else w
        for w in works
    ]
    again = choose(changed, ShowLimits(), stay=frozenset(first.chosen))
    assert len(set(first.chosen) ^ set(again.chosen)) <= 3


def test_a_group_work_counts_for_all_its_makers():
    """Nobody of the group is missing."""
    works = [Candidate(1, (1, 2, 3), "4", "collage"), Candidate(2, (4,), "4", "clay")]
    choice = choose(works, ShowLimits(works=2))
    assert choice.chosen == (1, 2)
    assert choice.missing == ()
    assert choice.reasons[1].why == "A group work: it shows 3 children at once."


def test_what_is_missing_is_said_in_numbers():
    """Too few places, too little wall, works without a size."""
    works = [Candidate(key, (key,), "2", "crayon", 100_000) for key in range(1, 13)]
    short = choose(works, ShowLimits(works=10)).short
    assert short == "2 children have no place. 12 works would give every child a place; the limit is 10."
    short = choose(works, ShowLimits(surface_mm2=1_000_000)).short
    assert short == "2 children have no place. 0.2 m² more wall would give every child a place."
    unmeasured = [*works, Candidate(13, (13,), "2", "crayon")]
    choice = choose(unmeasured, ShowLimits(surface_mm2=2_000_000))
    assert choice.missing == (13,)
    assert (
        choice.short == "1 child has no place. Measure the works of 1 of them: a work without a size cannot be planned."
    )
    assert choice.reasons[13].why.startswith("Its size is not measured")
    assert choose([], ShowLimits()).short == "No work may be shown to these readers yet."


def test_rare_media_are_seen():
    """Where every child has a crayon work and a few have clay too, clay is on the wall."""
    works = [Candidate(key, (key,), "2", "crayon") for key in range(1, 31)]
    works += [Candidate(100 + key, (key,), "2", "clay") for key in range(1, 5)]
    choice = choose(works, ShowLimits())
    assert sum(key > 100 for key in choice.chosen) == 4


def test_every_work_has_a_reason():
    """In or out, one sentence each, and it says the same as the choice."""
    works = make_works(4)
    choice = choose(works, ShowLimits(per_child=2, works=40))
    assert set(choice.reasons) == {work.work_id for work in works}
    for key, reason in choice.reasons.items():
        assert reason.chosen == (key in choice.chosen)
        assert reason.why.endswith(".")


@pytest.mark.parametrize("seed", range(6))
def test_fewest_children_are_missing_as_an_honest_search_finds(seed):
    """All selections of small shows tried one by one: nobody can place more children on that wall."""
    works = make_works(seed, children=5, most=2)[:10]
    limits = ShowLimits(per_child=1, surface_mm2=500_000)
    choice = choose(works, limits)
    best = 0
    for picks in itertools.product((False, True), repeat=len(works)):
        picked = [work for work, pick in zip(works, picks, strict=True) if pick]
        children = [child for work in picked for child in work.student_ids]
        if sum(work.area_mm2 for work in picked) <= 500_000 and len(children) == len(set(children)):
            best = max(best, len(children))
    assert len(shown_children(works, choice.chosen)) == best


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 1000), st.integers(1, 3), st.one_of(st.none(), st.integers(1, 30)))
def test_limits_hold_whatever_the_works(seed, per_child, places):
    """Never more than the limit of a child or of the show; a child is missing only when the limit binds."""
    works = make_works(seed, children=12)
    choice = choose(works, ShowLimits(per_child=per_child, works=places))
    for child in range(1, 13):
        assert sum(child in work.student_ids for work in works if work.work_id in choice.chosen) <= per_child
    if places is not None:
        assert len(choice.chosen) <= places
    if choice.missing:
        assert places is not None
        assert len(choice.chosen) == places
        assert choice.short
