"""A whole stack in doubt: its class hangs on one thing alone, and the numbers in it say that this may be wrong."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import pairwise

from portfolio.filing.place import Place
from portfolio.model.filing import Asked, Decision, Outcome, QuestionKind, What

LEAST_REPEATS = 3
"""So many numbers must come again, with other pictures and not right after their first photo, …"""
LEAST_SHARE = 0.5
"""… and be so large a share of the photos from the first repeat on. Second works of single children stay below it."""

FORGOTTEN = "Many numbers come twice with other pictures, so a class card may have been forgotten."
NOT_THEIRS = "Only the timetable says the class, and a number in this stack is held by nobody there."


def doubt_stacks(decided: Sequence[Decision], *, places: Mapping[int, Place]) -> list[Decision]:
    """Ask about a whole stack when its class hangs on one class card and its numbers begin to repeat (the next class
    card was forgotten), or on the timetable alone and holds a number of nobody (the camera's clock may be wrong).
    """
    on_card: dict[tuple[int, date], list[Decision]] = defaultdict(list)
    on_clock: dict[tuple[int, date], list[Decision]] = defaultdict(list)
    for decision in decided:
        place = places.get(decision.photo_id)
        if place is None or place.class_id is None or place.day is None or place.doubt is not None:
            continue
        if place.by_state and not place.confirmed:
            on_card[(place.class_id, place.day)].append(decision)
        elif place.by_clock:
            on_clock[(place.class_id, place.day)].append(decision)
    why = {one.photo_id: FORGOTTEN for stack in on_card.values() if _begins_again(stack) for one in stack}
    why |= {one.photo_id: NOT_THEIRS for stack in on_clock.values() if any(map(_is_nobody, stack)) for one in stack}
    return [_doubted(one, why[one.photo_id]) if one.photo_id in why else one for one in decided]


def _begins_again(stack: list[Decision]) -> bool:
    shots = [one for one in stack if _is_repeat(one) or (one.filing is not None and one.filing.what is What.WORK)]
    comes_again = [_is_repeat(one) and _numbers(one) != _numbers(before) for before, one in pairwise(shots)]
    first = comes_again.index(True) if True in comes_again else len(comes_again)
    rest = comes_again[first:]
    return sum(rest) >= LEAST_REPEATS and sum(rest) >= LEAST_SHARE * len(rest)


def _numbers(decision: Decision) -> tuple[int, ...]:
    filing = decision.meant
    return filing.numbers if filing else ()


def _is_repeat(decision: Decision) -> bool:
    return decision.asked is not None and decision.asked.kind is QuestionKind.SAME_NUMBER


def _is_nobody(decision: Decision) -> bool:
    return decision.asked is not None and decision.asked.kind is QuestionKind.NOBODY


def _doubted(decision: Decision, evidence: str) -> Decision:
    """The same as a question; what was asked for another reason keeps its own words and joins the stack's group."""
    group = f"stack-{decision.evidence.get('class_timetable') or 0}-{'card' if evidence is FORGOTTEN else 'clock'}"
    if decision.asked is not None and not _is_repeat(decision):
        return decision
    filing = decision.meant
    if filing is None:
        return decision
    options = decision.asked.options if decision.asked else ()
    beside = decision.asked.beside if decision.asked else ()
    asked = Asked(QuestionKind.CLASS_DOUBT, evidence, filing, options, group, beside)
    return replace(decision, outcome=Outcome.ASK, reason=evidence, filing=None, asked=asked)
