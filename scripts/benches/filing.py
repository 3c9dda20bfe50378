"""Is anything misfiled, and how much is asked? Simulated class batches through the filing rules.

Bars: nothing misfiled in 2,000 class batches; at most 8 % of the photos asked about when the card stays in every shot;
and at most 0.05 % of the photos left under another child when 1 % of the cards laid are wrong, after the teacher has
answered and acted on the count at the end of the class. The rates are assumptions and printed along; what the teacher
is taken to do stands in ``tests/support/teacher.py``. Counted apart as unseeable: a wrong card laid down by a child,
and a camera clock an hour off where neither a card nor a choice says the class.
"""

from __future__ import annotations

import argparse
import json
import os
import random
from collections import Counter
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import asdict, dataclass, field, fields

from portfolio.filing import decide_batch
from portfolio.model.filing import Decision, Outcome, What
from tests.support.batches import Rates, SimulatedBatch, school_roll, simulate
from tests.support.teacher import settle

BAR_MISFILED = 0
BAR_ASKED = 0.08
BAR_LEFT = 0.0005
PART = 100
"""Stacks that one process measures at a time."""
SCENES = (
    ("card in every shot", Rates(no_card=0.0)),
    ("card missing from 3 % of works", Rates()),
    ("and from all second views", Rates(card_stays=False)),
    ("5 % of uploads: clock an hour off", Rates(no_card=0.0, clock_wrong=0.05)),
    ("half the stacks taken at lunch", Rates(no_card=0.0, lunch=0.5)),
    ("1 % wrong cards laid", Rates(no_card=0.0, wrong_card=0.01)),
    ("the same, absent children ticked", Rates(no_card=0.0, wrong_card=0.01, ticked=True)),
)
WRONG_CARDS = ("1 % wrong cards laid", "the same, absent children ticked")


@dataclass(slots=True)
class Tally:
    """Counts over the photos of works (slates are not counted)."""

    photos: int = 0
    filed: int = 0
    asked: int = 0
    answers: int = 0
    """Questions when those that can be answered together count as one."""
    misfiled: int = 0
    unseeable: int = 0
    """Misfiled where nothing could show it: a wrong card lay there, or a wrong clock was the only word on the class."""
    wrong_work: int = 0
    """The right child, but joined to another of the child's works."""
    guess_right: int = 0
    left_before: int = 0
    """Under another child once all questions are answered."""
    left: int = 0
    """The same after the teacher has acted on the count of the class."""
    looked_at: int = 0
    """Works that she looked at because of the count."""
    batches: int = 0
    kinds: Counter[str] = field(default_factory=Counter)

    def add(self, other: Tally) -> None:
        """Count another part in."""
        for one in fields(self):
            mine, theirs = getattr(self, one.name), getattr(other, one.name)
            setattr(self, one.name, mine + theirs)


def judge(batch: SimulatedBatch, tally: Tally) -> None:
    """Compare every decision of one batch with the truth."""
    decided = decide_batch(batch.photos, batch.context).decisions
    tally.batches += batch.stacks
    made = {one.photo_id: one for one in decided}
    together: set[str] = set()
    for one in decided:
        truth = batch.truth[one.photo_id]
        if truth.student_id is None:
            continue
        tally.photos += 1
        if one.outcome is Outcome.ASK and one.asked is not None:
            tally.asked += 1
            together.add(one.asked.group or str(one.photo_id))
            tally.kinds[one.asked.kind.value] += 1
            tally.guess_right += one.asked.guess.student_ids == (truth.student_id,)
        else:
            tally.filed += 1
            _judge_filed(one, batch, made, tally)
    tally.answers += len(together)
    settled = settle(batch, decided)
    tally.left_before += settled.wrong_before
    tally.left += settled.wrong_after
    tally.looked_at += settled.looked_at


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


def measure(rates: Rates, *, batches: int, seed: int, part: int) -> Tally:
    """Simulate one part, until ``batches`` stacks of a class are through."""
    roll = school_roll(random.Random(seed))  # noqa: S311  a simulation needs no secret chance
    tally = Tally()
    turn = part * PART
    while tally.batches < batches:
        judge(simulate(seed * 1_000_003 + turn, rates=rates, roll=roll), tally)
        turn += 1
    return tally


def measure_all(batches: int, seed: int) -> dict[str, Tally]:
    """All scenes, on all cores."""
    sizes = [min(PART, batches - start) for start in range(0, batches, PART)]
    tallies = {name: Tally() for name, _ in SCENES}
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        parts = [
            (name, pool.submit(measure, rates, batches=size, seed=seed, part=part))
            for name, rates in SCENES
            for part, size in enumerate(sizes)
        ]
        for name, measured in parts:
            tallies[name].add(measured.result())
    return tallies


def run(argv: Sequence[str]) -> int:
    """Measure, print, and say by the exit status whether the bars hold (0 = they do)."""
    parser = argparse.ArgumentParser(prog="bench filing", description=__doc__)
    parser.add_argument("--batches", type=int, default=2000, help="class stacks for each scene")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args(argv)
    tallies = measure_all(asked.batches, asked.seed)
    if asked.json:
        print(json.dumps({name: {**asdict(tally), "kinds": dict(tally.kinds)} for name, tally in tallies.items()}))
    else:
        _print(tallies)
    return 0 if all(held for *_, held in _bars(tallies)) else 1


def _bars(tallies: Mapping[str, Tally]) -> list[tuple[str, str, str, bool]]:
    misfiled = sum(tally.misfiled + tally.wrong_work for tally in tallies.values())
    first = tallies[SCENES[0][0]]
    share = first.asked / first.photos
    bars = [
        (f"misfiled, {len(tallies)} scenes", str(misfiled), str(BAR_MISFILED), misfiled <= BAR_MISFILED),
        (f"asked, {SCENES[0][0]}", f"{share:.1%}", f"{BAR_ASKED:.0%}", share <= BAR_ASKED),
    ]
    for name in WRONG_CARDS:
        left = tallies[name].left / tallies[name].photos
        bars.append((f"left after the class check, {name}", f"{left:.3%}", f"{BAR_LEFT:.2%}", left <= BAR_LEFT))
    return bars


def _print(tallies: Mapping[str, Tally]) -> None:
    print(
        f"{'scene':34}{'stacks':>7}{'photos':>8}{'misfiled':>10}{'unseeable':>11}{'asked':>7}{'answers':>9}"
        f"{'guess right':>13}{'left':>8}{'after count':>13}{'looked at':>11}"
    )
    for name, tally in tallies.items():
        print(
            f"{name:34}{tally.batches:>7}{tally.photos:>8}{tally.misfiled + tally.wrong_work:>10}"
            f"{tally.unseeable:>11}{tally.asked / tally.photos:>7.1%}{tally.answers / tally.photos:>9.1%}"
            f"{tally.guess_right / max(1, tally.asked):>13.0%}{tally.left_before / tally.photos:>8.3%}"
            f"{tally.left / tally.photos:>13.3%}{tally.looked_at / tally.photos:>11.1%}"
        )
        print(f"    asked: {', '.join(f'{kind} {count}' for kind, count in tally.kinds.most_common())}")
    print("Assumed in the second scene:", ", ".join(f"{key} {value}" for key, value in asdict(SCENES[1][1]).items()))
    for what, measured, bar, held in _bars(tallies):
        print(f"{what} · {measured} · {bar} · {'ok' if held else 'short'}")
