"""Is anything misfiled, and how much is asked? Simulated class batches through the filing rules.

Bars: nothing misfiled in 200 class batches, and at most 8 % of the photos asked about when the card stays in every
shot. The rates are assumptions and printed along. Counted apart as unseeable: a wrong card laid down by a child, and a
camera clock an hour off where neither a card nor a choice says the class.
"""

from __future__ import annotations

import argparse
import json
import random
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field

from portfolio.filing import decide_batch
from portfolio.model.filing import Decision, Outcome, What
from tests.support.batches import Rates, SimulatedBatch, school_roll, simulate

BAR_MISFILED = 0
BAR_ASKED = 0.08
SCENES = (
    ("card in every shot", Rates(no_card=0.0)),
    ("card missing from 3 % of works", Rates()),
    ("and from all second views", Rates(card_stays=False)),
    ("5 % of uploads: clock an hour off", Rates(no_card=0.0, clock_wrong=0.05)),
    ("half the stacks taken at lunch", Rates(no_card=0.0, lunch=0.5)),
    ("1 % wrong cards laid", Rates(no_card=0.0, wrong_card=0.01)),
)


@dataclass(slots=True)
class Tally:
    """Counts over the photos of works (slates are not counted)."""

    photos: int = 0
    filed: int = 0
    asked: int = 0
    misfiled: int = 0
    unseeable: int = 0
    """Misfiled where nothing could show it: a wrong card lay there, or a wrong clock was the only word on the class."""
    wrong_work: int = 0
    """The right child, but joined to another of the child's works."""
    guess_right: int = 0
    batches: int = 0
    kinds: Counter[str] = field(default_factory=Counter)


def judge(batch: SimulatedBatch, tally: Tally) -> None:
    """Compare every decision of one batch with the truth."""
    decided = decide_batch(batch.photos, batch.context).decisions
    tally.batches += batch.stacks
    made = {one.photo_id: one for one in decided}
    for one in decided:
        truth = batch.truth[one.photo_id]
        if truth.student_id is None:
            continue
        tally.photos += 1
        if one.outcome is Outcome.ASK and one.asked is not None:
            tally.asked += 1
            tally.kinds[one.asked.kind.value] += 1
            tally.guess_right += one.asked.guess.student_ids == (truth.student_id,)
        else:
            tally.filed += 1
            _judge_filed(one, batch, made, tally)


def _judge_filed(one: Decision, batch: SimulatedBatch, made: dict[int, Decision], tally: Tally) -> None:
    truth = batch.truth[one.photo_id]
    assert one.filing is not None
    if one.filing.student_ids != (truth.student_id,):
        unseeable = truth.wrong_card or truth.clock_alone
        tally.unseeable += unseeable
        tally.misfiled += not unseeable
    elif one.filing.what is What.VIEW and one.filing.joins_photo is not None:
        joined = batch.truth[one.filing.joins_photo]
        tally.wrong_work += joined.work != truth.work and not joined.wrong_card
        assert made[one.filing.joins_photo].outcome is Outcome.FILE


def measure(rates: Rates, *, batches: int, seed: int) -> Tally:
    """Simulate until ``batches`` stacks of a class are through."""
    roll = school_roll(random.Random(seed))  # noqa: S311  a simulation needs no secret chance
    tally = Tally()
    turn = 0
    while tally.batches < batches:
        judge(simulate(seed * 100_003 + turn, rates=rates, roll=roll), tally)
        turn += 1
    return tally


def run(argv: Sequence[str]) -> int:
    """Measure, print, and say by the exit status whether the bars hold (0 = they do)."""
    parser = argparse.ArgumentParser(prog="bench filing", description=__doc__)
    parser.add_argument("--batches", type=int, default=200, help="class stacks for each scene")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args(argv)
    tallies = {name: measure(rates, batches=asked.batches, seed=asked.seed) for name, rates in SCENES}
    if asked.json:
        print(json.dumps({name: {**asdict(tally), "kinds": dict(tally.kinds)} for name, tally in tallies.items()}))
    else:
        _print(tallies)
    return 0 if all(held for *_, held in _bars(tallies)) else 1


def _bars(tallies: Mapping[str, Tally]) -> list[tuple[str, str, str, bool]]:
    misfiled = sum(tally.misfiled + tally.wrong_work for tally in tallies.values())
    first = tallies[SCENES[0][0]]
    share = first.asked / first.photos
    return [
        (f"misfiled, {len(tallies)} scenes", str(misfiled), str(BAR_MISFILED), misfiled <= BAR_MISFILED),
        (f"asked, {SCENES[0][0]}", f"{share:.1%}", f"{BAR_ASKED:.0%}", share <= BAR_ASKED),
    ]


def _print(tallies: Mapping[str, Tally]) -> None:
    print(f"{'scene':34}{'stacks':>7}{'photos':>8}{'misfiled':>10}{'unseeable':>12}{'asked':>8}{'guess right':>13}")
    for name, tally in tallies.items():
        print(
            f"{name:34}{tally.batches:>7}{tally.photos:>8}{tally.misfiled + tally.wrong_work:>10}"
            f"{tally.unseeable:>12}{tally.asked / tally.photos:>8.1%}{tally.guess_right / max(1, tally.asked):>13.0%}"
        )
        print(f"    asked: {', '.join(f'{kind} {count}' for kind, count in tally.kinds.most_common())}")
    print("Assumed in the second scene:", ", ".join(f"{key} {value}" for key, value in asdict(SCENES[1][1]).items()))
    for what, measured, bar, held in _bars(tallies):
        print(f"{what} · {measured} · {bar} · {'ok' if held else 'short'}")
