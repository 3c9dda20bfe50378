"""The order of numbers: the works lie in the order of the class list, and the teacher has ticked who was absent.

Only when the teacher chose this mode, and only when everything fits: the count, and every card that can be seen.
One photo too many or too few would shift all the others, so any mismatch asks about every photo without a card.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from portfolio.filing.place import Place
from portfolio.filing.register import same_picture
from portfolio.filing.roll import Roll
from portfolio.model.filing import (
    Asked,
    Decision,
    Filing,
    FilingContext,
    Outcome,
    PhotoEvidence,
    QuestionKind,
    What,
)
from portfolio.model.phrases import sentence


def by_order_of_numbers(
    decided: Sequence[Decision],
    photos: Sequence[PhotoEvidence],
    *,
    places: Mapping[int, Place],
    context: FilingContext,
    roll: Roll,
) -> list[Decision]:
    """File the photos without a card in the order of numbers, or ask about all of them if anything does not fit."""
    given = {photo.photo_id: photo for photo in photos}
    spots = [one for one in decided if _takes_a_place(one, given[one.photo_id])]
    loose = [one for one in spots if _has_no_card(one)]
    class_id, first = context.chosen.class_id, places.get(loose[0].photo_id) if loose else None
    if class_id is None or first is None or first.day is None:
        return list(decided)
    expected = [
        number for number in roll.numbers(class_id, day=first.day) if number not in context.chosen.absent_in(class_id)
    ]
    trouble = _trouble(spots, expected, photos=given, places=places, class_id=class_id)
    numbers = dict(zip((one.photo_id for one in spots), expected, strict=False))
    return [
        _placed(one, numbers.get(one.photo_id), trouble, places[one.photo_id], context=context, roll=roll)
        if _has_no_card(one)
        else one
        for one in decided
    ]


def _takes_a_place(decision: Decision, photo: PhotoEvidence) -> bool:
    """Whether this photo counts in the row: slates, further views of a work and what was set aside do not."""
    filing = decision.carried_out(photo)
    return decision.outcome is Outcome.ASK or (filing is not None and filing.what is What.WORK)


def _has_no_card(decision: Decision) -> bool:
    return decision.asked is not None and decision.asked.kind is QuestionKind.NO_CARD


def _trouble(
    spots: Sequence[Decision],
    expected: Sequence[int],
    *,
    photos: Mapping[int, PhotoEvidence],
    places: Mapping[int, Place],
    class_id: int,
) -> str | None:
    """Why the order cannot be trusted, in one clause; ``None`` when everything fits."""
    if len(spots) != len(expected):
        return f"there are {len(spots)} photos for {len(expected)} numbers, so the order cannot be trusted"
    for place, (one, number) in enumerate(zip(spots, expected, strict=True), start=1):
        settled = photos[one.photo_id].fixed
        if settled is not None and (settled.class_id, settled.numbers) != (class_id, (number,)):
            return f"photo {place} of the row is not number {number}, as you said, so the order cannot be trusted"
        filing = one.meant
        if filing is not None and not _has_no_card(one) and filing.numbers != (number,):
            return f"the card in photo {place} of the row does not say {number}, so the order cannot be trusted"
        where = places.get(one.photo_id)
        if _has_no_card(one) and (where is None or where.doubt is not None or where.class_id != class_id):
            return f"the class or the day of photo {place} of the row is in doubt"
    for crop, following in pairwise(photos[spot.photo_id].crop_hash for spot in spots):
        if same_picture(crop, following):
            return "two photos in a row show the same picture, so the order cannot be trusted"
    return None


def _placed(
    decision: Decision, number: int | None, trouble: str | None, place: Place, *, context: FilingContext, roll: Roll
) -> Decision:
    chosen = context.chosen
    child = roll.holder(chosen.class_id or 0, number, day=place.day) if number and place.day else None
    blank = _as_work(decision)
    filing = Filing(
        What.WORK,
        chosen.class_id,
        (number,) if number else (),
        place.day,
        (child,) if child is not None else (),
        medium_id=blank.medium_id,
        centre_id=blank.centre_id,
    )
    if trouble is None and child is not None:
        reason = sentence(f"by the order of numbers, as chosen: number {number}", place.clause)
        evidence = {**decision.evidence, "order": number}
        return Decision(decision.photo_id, Outcome.FILE, reason, filing=filing, evidence=evidence)
    clause = sentence("no card can be seen", trouble or "nobody has this number on that day")
    options = (decision.asked.guess,) if decision.asked else ()
    asked = Asked(QuestionKind.ORDER, clause, filing, options, group="order")
    return replace(decision, reason=clause, asked=asked)


def _as_work(decision: Decision) -> Filing:
    """What was asked about a photo without a card as a new work: its own medium and center, not those of a work
    before it that it may show again.
    """
    choices = (decision.asked.guess, *decision.asked.options) if decision.asked else ()
    return next((one for one in choices if one.what is What.WORK), Filing())
