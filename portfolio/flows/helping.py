"""What a helper does: adds the photos of a class, and says the number where the program is unsure. Own batches of today
only, by class and number; no name, no words and no other day leaves this module.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Final

from portfolio.archive import desk, history, people, photos, school, works
from portfolio.archive.desk import BatchLine
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound, PortfolioError
from portfolio.flows import settle, take_in
from portfolio.flows.pictures import photo_as_taken
from portfolio.flows.see_batch import BatchSeen, see_batch
from portfolio.flows.sign_in import HELPER, Visitor
from portfolio.model.filing import Chosen, QuestionKind

TEACHERS: Final = frozenset({QuestionKind.CROP.value, QuestionKind.NO_DAY.value, "reflection"})
"""Kinds of question that a number does not answer: they are left to the teacher."""


def open_helper_batch(library: Library, asking: Visitor, chosen: Chosen, *, expected: int) -> int:
    """Begin a batch of this helper. Refuses one without a class: a helper says whose photos they are."""
    if chosen.class_id is None:
        raise PortfolioError("bad-request", item="The class", found="none is chosen")
    with library.reading() as session:
        school.class_by_id(session, chosen.class_id)
    return take_in.open_batch(library, chosen, source=_source(asking), expected=expected)


def _source(asking: Visitor) -> str:
    return f"{HELPER} {asking.account_id}"


def own_batches(library: Library, asking: Visitor, *, now: datetime) -> tuple[BatchLine, ...]:
    """This helper's batches of today, the newest first. ``now``: in the school's time zone."""
    midnight = now.replace(hour=0, minute=0, second=0, microsecond=0)
    with library.reading() as session:
        return tuple(desk.batches_from(session, _source(asking), since_utc=midnight))


def see_own_batch(library: Library, asking: Visitor, batch_id: int, *, day: date) -> BatchSeen:
    """One of them. Refuses every other batch, whether it is there or not. ``day``: today by the clock."""
    _check_own(library, asking, batch_id, day)
    return see_batch(library, batch_id)


def _check_own(library: Library, asking: Visitor, batch_id: int, day: date) -> None:
    with library.reading() as session:
        batch = photos.batch(session, batch_id)
    if batch.source != _source(asking) or batch.added_on != day:
        raise NotFound("not-found", item=f"Batch {batch_id}")


def own_picture(library: Library, asking: Visitor, batch_id: int, photo_id: int, *, day: date, long_px: int) -> Path:
    """A photo of an own batch as it was taken. One of which the teacher has hidden a part is not shown any more."""
    _check_own(library, asking, batch_id, day)
    with library.reading() as session:
        if photos.photo(session, photo_id).batch_id != batch_id or _has_hidden_part(session, photo_id):
            raise NotFound("not-found", item="This picture")
    return photo_as_taken(library, photo_id, long_px=long_px)


def hidden_photos(library: Library, photo_ids: list[int]) -> frozenset[int]:
    """Those of these photos of which the teacher has hidden a part."""
    with library.reading() as session:
        return frozenset(key for key in photo_ids if _has_hidden_part(session, key))


def _has_hidden_part(session: Session, photo_id: int) -> bool:
    """Whether the teacher has hidden a part of this photo, in whichever of its works."""
    return works.has_hidden_part(session, photo_id)


@dataclass(frozen=True, slots=True)
class Numbers:
    """The numbers of a class that are held."""

    class_label: str
    held: tuple[int, ...]


def numbers_of(library: Library, class_id: int, *, day: date) -> Numbers:
    """The numbers of a class on a day (or the nearest of its year)."""
    with library.reading() as session:
        group = school.class_by_id(session, class_id)
        held = people.roll(session, day=school.year_by_id(session, group.year_id).clamp(day), class_id=class_id)
        return Numbers(group.label, tuple(one.number for one in held))


def say_number(library: Library, asking: Visitor, batch_id: int, question_id: int, *, number: int, day: date) -> int:
    """A helper says whose work a photo of an own batch shows; gives the action's id, for undo."""
    seen = see_own_batch(library, asking, batch_id, day=day)
    asked = {line.question.question_id: line.question for line in seen.lines if line.question}
    if question_id not in asked:
        raise NotFound("not-found", item=f"Question {question_id}")
    if asked[question_id].kind in TEACHERS:
        raise PortfolioError("bad-request", item="This photo", found="it is left to the teacher")
    given = settle.Answer(number=number, class_label=seen.class_label)
    return settle.answer(library, question_id, given, who=HELPER)


def take_back(library: Library, asking: Visitor, batch_id: int, action_id: int, *, day: date) -> None:
    """Take an own answer back. Refuses every other step."""
    _check_own(library, asking, batch_id, day)
    with library.reading() as session:
        if history.step_of(session, action_id, who=HELPER) != batch_id:
            raise NotFound("not-found", item=f"Step {action_id}")
    settle.undo(library, action_id, who=HELPER)
