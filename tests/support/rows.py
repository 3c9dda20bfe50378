"""Makers of small rows of photos for the filing rules: one class that has art, cards in view, times in seconds."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, time, timedelta

from portfolio.cards.geometry import CONTROLS
from portfolio.filing import decide_batch
from portfolio.model.cards import CardKind, CardSeen, CardStatus, Control
from portfolio.model.filing import BatchDecisions, Chosen, Decision, Filing, FilingContext, Outcome, PhotoEvidence, What
from portfolio.model.people import RollEntry
from portfolio.model.photo import Taken, TakenSource
from tests.support.batches import YEAR, context_for, number, timetable

DAY = date(2026, 8, 24)
"""The first school day, cycle day 1: class 1 has art from 8:40 to 9:25, class 7 from 9:35, class 13 from 10:30."""
AFTER_CLASS = time(9, 22)
CLASS, NEXT_CLASS, OTHER_CLASS = 1, 7, 2
CHILDREN = 5

__all__ = ["CardStatus", "number", "timetable"]


def student(class_id: int, value: int) -> int:
    """The child that holds a number."""
    return class_id * 100 + value


def roll(*classes: int, children: int = CHILDREN) -> tuple[RollEntry, ...]:
    """Numbers 1 to ``children`` of these classes, all year."""
    return tuple(
        RollEntry(student(key, value), key, value, YEAR.starts_on)
        for key in classes
        for value in range(1, children + 1)
    )


def context(chosen: Chosen | None = None, **changed: object) -> FilingContext:
    """Three classes of five children, uploaded on the day."""
    base = context_for(roll(CLASS, NEXT_CLASS, OTHER_CLASS), chosen=chosen or Chosen(), added_on=DAY)
    return replace(base, **changed)


def control(word: Control, status: CardStatus = CardStatus.SURE) -> CardSeen:
    """A control card."""
    value = next(value for value, said in CONTROLS.items() if said is word)
    return CardSeen(CardKind.CONTROL, value, status)


def class_card(class_id: int, status: CardStatus = CardStatus.SURE) -> CardSeen:
    """A class card."""
    return CardSeen(CardKind.CLASS, 300 + class_id, status)


def medium_card(medium_id: int, status: CardStatus = CardStatus.SURE) -> CardSeen:
    """A medium card."""
    return CardSeen(CardKind.MEDIUM, 60 + medium_id, status)


def row(
    *cards: tuple[CardSeen, ...] | CardSeen,
    start: datetime | None = None,
    step_s: float = 5,
    hashes: dict[int, int] | None = None,
    timed: bool = True,
) -> list[PhotoEvidence]:
    """One photo for each entry, ``step_s`` apart. ``hashes``: place (from 1) → crop hash; else one of its own."""
    begins = start or datetime.combine(DAY, AFTER_CLASS)
    made = []
    for place, entry in enumerate(cards, start=1):
        shown = (entry,) if isinstance(entry, CardSeen) else tuple(entry)
        at = Taken(begins + timedelta(seconds=step_s * place), TakenSource.ORIGINAL) if timed else None
        crop_hash = (hashes or {}).get(place, (place * 0x9E3779B97F4A7C15) & (2**64 - 1)) if shown else None
        made.append(PhotoEvidence(place, shown, at, "phone", crop_hash))
    return made


def answered(photo: PhotoEvidence, value: int, *, class_id: int = CLASS) -> PhotoEvidence:
    """The photo after the teacher has said whose work it is."""
    return replace(photo, fixed=Filing(What.WORK, class_id, (value,), DAY, (student(class_id, value),)))


def decide(photos: list[PhotoEvidence], given: FilingContext | None = None) -> BatchDecisions:
    """The decisions of a row."""
    return decide_batch(photos, given or context())


def kinds(decided: BatchDecisions) -> list[str]:
    """ "file", "slate", or the kind of the question, photo by photo."""
    return [one.asked.kind.value if one.asked else one.outcome.value for one in decided.decisions]


def the(decided: BatchDecisions, place: int) -> Decision:
    """The decision of the photo at a place, from 1."""
    return decided.decisions[place - 1]


def is_filed(one: Decision, class_id: int, *values: int) -> bool:
    """Whether a photo is filed under exactly these numbers of this class."""
    wanted = tuple(student(class_id, value) for value in values)
    return one.outcome is Outcome.FILE and one.filing is not None and one.filing.student_ids == wanted
