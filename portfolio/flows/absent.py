"""Who was absent: said before or after a batch. The count of the class becomes sharper by it, and the order of numbers
is tried again.
"""

from __future__ import annotations

from collections.abc import Collection
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from portfolio.archive import people, photos, school
from portfolio.archive.library import Library, Session
from portfolio.flows.batch_report import BatchReport
from portfolio.flows.take_in import choose, settle_batch
from portfolio.model.filing import BatchMode, ClassCheck


@dataclass(frozen=True, slots=True)
class AbsentSeen:
    """The numbers of a batch's one class that may have been absent: those without a work, and those said to be."""

    class_label: str
    may_be: tuple[int, ...]
    said: frozenset[int]
    by_order: bool = False
    """The batch goes by the order of numbers."""


def see_absent(library: Library, batch_id: int, checks: Collection[ClassCheck]) -> AbsentSeen | None:
    """Who may have been absent, by the batch's count; ``None`` when the batch is not of one class."""
    with library.reading() as session:
        batch = photos.batch(session, batch_id)
        class_id = batch.chosen.class_id or _only_class(checks)
        if class_id is None:
            return None
        own = next((check for check in checks if check.class_id == class_id), None)
        numbers = set(own.missing) if own else _on_roll(session, batch, class_id)
        label = school.class_by_id(session, class_id).label
    may_be = tuple(sorted(numbers | batch.chosen.absent))
    return AbsentSeen(label, may_be, batch.chosen.absent, batch.chosen.mode is BatchMode.ORDER)


def _only_class(checks: Collection[ClassCheck]) -> int | None:
    found = {check.class_id for check in checks}
    return found.pop() if len(found) == 1 else None


def _on_roll(session: Session, batch: photos.BatchKept, class_id: int) -> set[int]:
    day = batch.chosen.day or batch.added_on
    taken = [one.taken.local.date() for one in photos.photos_of(session, batch.batch_id) if one.taken is not None]
    day = day if batch.chosen.day or not taken else min(taken)
    return {entry.number for entry in people.roll(session, day=day, class_id=class_id)}


def say_absent(library: Library, batch_id: int, numbers: Collection[int]) -> None:
    """Keep who was absent. Settling the batch again counts, and decides what the teacher has not touched, anew."""
    with library.reading() as session:
        chosen = photos.batch(session, batch_id).chosen
    choose(library, batch_id, replace(chosen, absent=frozenset(numbers)))


def file_with_absent(library: Library, batch_id: int, numbers: Collection[int], *, executor: Executor) -> BatchReport:
    """The same, and the batch is settled again at once."""
    say_absent(library, batch_id, numbers)
    return settle_batch(library, batch_id, executor=executor)
