"""Cards in doubt: which half-read ones can be asked about together, and which show a work that another photo begins."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace

from portfolio.filing.register import same_picture
from portfolio.model.filing import Decision, Filing, Outcome, QuestionKind, Role, What

BEGUN_FOR = "begun_for"
"""Evidence of a work that its second photo began, because the first is in doubt: that first photo's id."""
IN_DOUBT = frozenset({QuestionKind.HALF_CARD, QuestionKind.TWO_NUMBERS})
"""The number is guessed from the photo itself, so a whole card in the next photo of the same work settles it."""


def only_lone_halves(decided: Sequence[Decision]) -> list[Decision]:
    """Half-read cards of one class are asked together, but not one whose number is seen in another photo too: it may
    be a neighbor's card at the edge of the frame.
    """
    used = Counter((one.meant.class_id, one.meant.numbers) for one in decided if one.meant is not None)
    return [_alone(one) if _is_used_half(one, used) else one for one in decided]


def _is_used_half(decision: Decision, used: Mapping[tuple[int | None, tuple[int, ...]], int]) -> bool:
    asked = decision.asked
    if asked is None or asked.kind is not QuestionKind.HALF_CARD:
        return False
    return used[(asked.guess.class_id, asked.guess.numbers)] > 1


def _alone(decision: Decision) -> Decision:
    assert decision.asked is not None
    return replace(decision, asked=replace(decision.asked, group=None))


def join_halves(decided: Sequence[Decision], hashes: Mapping[int, int | None]) -> list[Decision]:
    """A card in doubt whose work is there with a whole card: the best guess is another view of it, not a second
    work. Known by the picture, or because the other photo said that it shows the work again. ``hashes``: photo → crop.
    """
    works = [one for one in decided if one.filing is not None and one.filing.what is What.WORK]
    found = []
    for one in decided:
        work = next((other for other in works if _shows_half_of(one, other, hashes)), None)
        found.append(_as_view(one, work) if work is not None else one)
    return found


def _shows_half_of(one: Decision, work: Decision, hashes: Mapping[int, int | None]) -> bool:
    asked, filing = one.asked, work.filing
    if asked is None or filing is None or asked.kind not in IN_DOUBT or asked.guess.what is What.VIEW:
        return False
    if (asked.guess.class_id, asked.guess.numbers, asked.guess.day) != (filing.class_id, filing.numbers, filing.day):
        return False
    if work.evidence.get(BEGUN_FOR) == one.photo_id:
        return True
    return same_picture(hashes.get(one.photo_id), hashes.get(work.photo_id))


def _as_view(one: Decision, work: Decision) -> Decision:
    assert one.asked is not None
    assert work.outcome is Outcome.FILE
    own: Filing = one.asked.guess
    view = replace(own, what=What.VIEW, role=Role.ANGLE, joins_photo=work.photo_id)
    beside = (*one.asked.beside, work.photo_id)
    asked = replace(one.asked, guess=view, options=(own, *one.asked.options), group=None, beside=beside)
    return replace(one, asked=asked)
