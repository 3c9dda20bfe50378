"""The count at the end of a class. A child who lays down a wrong card cannot be seen by any reader; this is what
shows it: one number is missing, another has two works.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date

from portfolio.filing.roll import Roll
from portfolio.model.filing import (
    ClassCheck,
    Decision,
    Filing,
    FilingContext,
    Outcome,
    PhotoEvidence,
    What,
)
from portfolio.model.phrases import listed


def class_checks(
    decided: Sequence[Decision], photos: Sequence[PhotoEvidence], *, context: FilingContext, roll: Roll
) -> tuple[ClassCheck, ...]:
    """One count for every class and day that this batch filed a work in."""
    filed = list(_filings(decided, photos))
    waiting = Counter(
        (one.asked.guess.class_id, one.asked.guess.day)
        for one in decided
        if one.outcome is Outcome.ASK and one.asked is not None
    )
    seen = sorted({(one.class_id or 0, one.day or date.min) for one in filed})
    return tuple(
        _check(class_id, day, filed, waiting=waiting[(class_id, day)], context=context, roll=roll)
        for class_id, day in seen
    )


def _filings(decided: Sequence[Decision], photos: Sequence[PhotoEvidence]) -> Iterator[Filing]:
    for decision, photo in zip(decided, photos, strict=True):
        filing = decision.carried_out(photo)
        if filing is not None and filing.what is What.WORK:
            yield filing


def _check(
    class_id: int, day: date, filed: Sequence[Filing], *, waiting: int, context: FilingContext, roll: Roll
) -> ClassCheck:
    counts: Counter[int] = Counter()
    for filing in filed:
        if (filing.class_id, filing.day) == (class_id, day):
            counts.update(filing.numbers)
    for work in context.filed:
        if (work.class_id, work.day) == (class_id, day):
            counts.update(work.numbers)
    absent = context.chosen.absent_in(class_id)
    expected = [number for number in roll.numbers(class_id, day=day) if number not in absent]
    missing = tuple(number for number in expected if not counts[number])
    several = tuple(sorted((number, count) for number, count in counts.items() if count > 1))
    present = sum(1 for number in expected if counts[number])
    absent_seen = tuple(sorted(number for number in absent if counts[number]))
    label = context.labels.get(class_id, "this class")
    text = check_sentence(
        present, len(expected), missing=missing, several=several, absent_seen=absent_seen, waiting=waiting
    )
    return ClassCheck(
        class_id, label, day, present, len(expected), missing, several, absent_seen, waiting=waiting, sentence=text
    )


def check_sentence(
    present: int,
    of: int,
    *,
    missing: tuple[int, ...],
    several: tuple[tuple[int, int], ...],
    absent_seen: tuple[int, ...] = (),
    waiting: int,
) -> str:
    """E.g. "24 of 27 numbers; 3 and 11 missing; 12 twice; 2 photos to check"."""
    parts = [f"{present} of {of} numbers"]
    if missing:
        parts.append(f"{listed(missing)} missing")
    twice = [number for number, count in several if count == 2]
    if twice:
        parts.append(f"{listed(twice)} twice")
    parts += [f"{number} {count} times" for number, count in several if count > 2]
    if absent_seen:
        parts.append(f"{listed(absent_seen)} said to be absent but here")
    if waiting:
        parts.append(f"{waiting} photo{'s' if waiting != 1 else ''} to check")
    return "; ".join(parts)
