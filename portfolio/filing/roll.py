"""The roll, ready to be asked: who holds which number in which class on which day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date

from portfolio.model.people import RollEntry


class Roll:
    """An index over enrolments. A number that two children hold on one day is held by nobody: that must be asked."""

    def __init__(self, entries: Iterable[RollEntry]) -> None:
        self._by_class: dict[int, list[RollEntry]] = defaultdict(list)
        for entry in entries:
            self._by_class[entry.class_id].append(entry)

    def holder(self, class_id: int, number: int, *, day: date) -> int | None:
        """The child that holds the number on this day."""
        found = {
            entry.student_id for entry in self._by_class[class_id] if entry.number == number and entry.holds_on(day)
        }
        return found.pop() if len(found) == 1 else None

    def only_holder(self, class_id: int, number: int) -> int | None:
        """The one child that ever held the number in this class: who it is does not hang on the day."""
        found = {entry.student_id for entry in self._by_class[class_id] if entry.number == number}
        return found.pop() if len(found) == 1 else None

    def holders(self, class_id: int, number: int) -> tuple[RollEntry, ...]:
        """Everyone who ever held the number in this class, the first holder first."""
        found = [entry for entry in self._by_class[class_id] if entry.number == number]
        return tuple(sorted(found, key=lambda entry: entry.from_day))

    def numbers(self, class_id: int, *, day: date) -> tuple[int, ...]:
        """The numbers that are held on this day, in order."""
        return tuple(sorted({entry.number for entry in self._by_class[class_id] if entry.holds_on(day)}))

    def classes_with(self, number: int, *, day: date) -> tuple[int, ...]:
        """The classes in which somebody holds this number on this day."""
        return tuple(sorted(key for key in self._by_class if self.holder(key, number, day=day) is not None))
