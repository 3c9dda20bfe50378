"""Whole simulated classes: nothing is misfiled, and little is asked when the card stays in every shot.

The full bench is ``scripts/bench.py filing``; this is a part of it, with its bars.
"""

import random
from collections import Counter

import pytest

from portfolio.filing import decide_batch
from portfolio.model.filing import Outcome, What
from tests.support.batches import Rates, school_roll, simulate
from tests.support.teacher import settle

STACKS = 120


def _count(rates: Rates, seed: int) -> Counter[str]:
    school, seen, turn = school_roll(random.Random(seed)), Counter(), 0
    while seen["stacks"] < STACKS:
        batch = simulate(seed * 1000 + turn, rates=rates, roll=school)
        turn += 1
        seen["stacks"] += batch.stacks
        for one in decide_batch(batch.photos, batch.context).decisions:
            truth = batch.truth[one.photo_id]
            if truth.student_id is None:
                seen["slate filed"] += one.outcome is Outcome.FILE
                continue
            seen["photos"] += 1
            seen["asked"] += one.outcome is Outcome.ASK
            if one.outcome is Outcome.FILE and not truth.wrong_card:
                seen["misfiled"] += one.filing.student_ids != (truth.student_id,)
                joined = batch.truth.get(one.filing.joins_photo or 0)
                seen["misfiled"] += one.filing.what is What.VIEW and joined is not None and joined.work != truth.work
    return seen


@pytest.mark.parametrize(
    ("rates", "most_asked"),
    [
        (Rates(no_card=0.0), 0.08),
        (Rates(), 0.12),
        (Rates(card_stays=False), 0.18),
        (Rates(no_card=0.0, lunch=0.6, slate_forgotten=0.1), 0.16),
    ],
    ids=["card in every shot", "some without a card", "views without a card", "at lunch, cards forgotten"],
)
def test_nothing_is_misfiled(rates, most_asked):
    """Forgotten and unread class cards, half and stale cards, further views, second works: asked or right."""
    seen = _count(rates, seed=11)
    assert seen["photos"] > 2000
    assert seen["misfiled"] == seen["slate filed"] == 0
    assert seen["asked"] <= most_asked * seen["photos"]


def test_the_measure_can_fail():
    """With wrong cards laid down, which nobody can see, the same count finds misfiled photos."""
    school = school_roll(random.Random(11))
    wrong = 0
    for turn in range(60):
        batch = simulate(turn, rates=Rates(wrong_card=0.1), roll=school)
        for one in decide_batch(batch.photos, batch.context).decisions:
            truth = batch.truth[one.photo_id]
            wrong += one.outcome is Outcome.FILE and one.filing.student_ids != (truth.student_id,)
    assert wrong > 0


def test_the_count_at_the_end_of_a_class_shows_the_wrong_cards():
    """With 1 % wrong cards, questions alone leave some photos under another child; the count leaves almost none."""
    school, photos, before, after = school_roll(random.Random(11)), 0, 0, 0
    for turn in range(120):
        batch = simulate(11_000 + turn, rates=Rates(no_card=0.0, wrong_card=0.01), roll=school)
        settled = settle(batch, decide_batch(batch.photos, batch.context).decisions)
        photos += len(batch.photos)
        before += settled.wrong_before
        after += settled.wrong_after
    assert photos > 2000
    assert before > 0
    assert after <= 0.0005 * photos
