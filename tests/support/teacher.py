"""A simulated teacher who answers what she is asked and acts on the count at the end of a class.

What she is taken to do, and no more:

- asked about a number that came twice, she sees both photos and says whose each is;
- asked about a card (half read, two in view), she goes by the card that lies there: a wrong card stays wrong;
- asked about a photo without a card, she knows whose it is;
- then she reads the count. For a number that is there more than once, and for one whose child was absent, she looks at
  its works and says whose each is; she does so again while the count changes.

She never looks at a number that is there once and whose child was there: two children who swapped their cards stay.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

from portfolio.model.filing import Decision, Outcome, QuestionKind, What
from tests.support.batches import SimulatedBatch, Truth

SHOWS_BOTH = frozenset({QuestionKind.SAME_NUMBER, QuestionKind.NO_CARD, QuestionKind.NOTHING_BEFORE})


@dataclass(frozen=True, slots=True)
class Settled:
    """A batch after the teacher: photos under another child before and after the count, and works she looked at."""

    wrong_before: int
    wrong_after: int
    looked_at: int


def settle(batch: SimulatedBatch, decided: Sequence[Decision]) -> Settled:
    """Answer the questions, then act on the count."""
    given = _answered(batch, decided)
    before = _wrong(batch, given)
    looked: set[int] = set()
    while odd := _odd_works(batch, given) - looked:
        looked |= odd
        for photo_id, truth in batch.truth.items():
            if truth.work in odd and truth.student_id is not None:
                given[photo_id] = truth.student_id
    return Settled(before, _wrong(batch, given), len(looked))


def _answered(batch: SimulatedBatch, decided: Sequence[Decision]) -> dict[int, int]:
    """Photo -> child, once every question is answered."""
    given: dict[int, int] = {}
    seen_again: set[int] = set()
    for one in decided:
        truth = batch.truth[one.photo_id]
        if truth.student_id is None:
            continue
        if one.outcome is Outcome.FILE and one.filing is not None:
            given[one.photo_id] = one.filing.student_ids[0]
        elif one.asked is not None:
            given[one.photo_id] = _said(one.asked.kind, truth)
            seen_again |= set(one.asked.beside) if one.asked.kind is QuestionKind.SAME_NUMBER else set()
    for photo_id in seen_again:
        given[photo_id] = batch.truth[photo_id].student_id or 0
    return _with_their_work(decided, given)


def _said(kind: QuestionKind, truth: Truth) -> int:
    child = truth.student_id if kind in SHOWS_BOTH else truth.laid
    assert child is not None
    return child


def _with_their_work(decided: Sequence[Decision], given: dict[int, int]) -> dict[int, int]:
    """A view stays with the work that it was joined to."""
    for one in decided:
        filing = one.filing
        if filing is not None and filing.what is What.VIEW and filing.joins_photo is not None:
            given[one.photo_id] = given[filing.joins_photo]
    return given


def _odd_works(batch: SimulatedBatch, given: dict[int, int]) -> set[int]:
    """Works that the count points at: of a child with several, or of one who was absent."""
    works: dict[int, set[int]] = defaultdict(set)
    for photo_id, child in given.items():
        works[child].add(batch.truth[photo_id].work or 0)
    return {work for child, own in works.items() if len(own) > 1 or child in batch.away for work in own}


def _wrong(batch: SimulatedBatch, given: dict[int, int]) -> int:
    return sum(child != batch.truth[photo_id].student_id for photo_id, child in given.items())
