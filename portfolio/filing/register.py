"""The works of a day by class and number, to notice a number that comes twice."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from portfolio.model.filing import FiledWork

NEAR_BITS = 10
"""Crops of one work differ in at most this many of 64 bits (measured on 8 works x 2 photos: 0-6 for the same work,
at least 20 for different works)."""
GRAY_BITS = 18
"""Up to here it is probably the same work, but that must be asked."""

Key = tuple[int, tuple[int, ...], date]


def same_picture(one: int | None, other: int | None) -> bool:
    """Whether two crops show the same work; a crop that is not known is like no other."""
    return one is not None and other is not None and (one ^ other).bit_count() <= NEAR_BITS


@dataclass(slots=True)
class Entry:
    """One work: known by the photo of this batch that made it, or by its id; and the crops of its views."""

    photo_id: int | None
    work_id: int | None
    crop_hashes: list[int] = field(default_factory=list)

    def bits_from(self, crop_hash: int | None) -> int | None:
        """How many bits the nearest view of this work differs in; ``None`` when there is nothing to compare."""
        if crop_hash is None or not self.crop_hashes:
            return None
        return min((crop_hash ^ other).bit_count() for other in self.crop_hashes)


class Register:
    """Works of class, numbers and day, in the order in which they came."""

    def __init__(self, filed: Iterable[FiledWork]) -> None:
        self._works: dict[Key, list[Entry]] = defaultdict(list)
        for work in filed:
            entry = Entry(None, work.work_id, list(work.crop_hashes))
            self._works[(work.class_id, tuple(sorted(work.numbers)), work.day)].append(entry)

    def add(self, class_id: int, numbers: tuple[int, ...], day: date, *, photo_id: int, crop_hash: int | None) -> None:
        """A new work of this batch."""
        hashes = [] if crop_hash is None else [crop_hash]
        self._works[(class_id, tuple(sorted(numbers)), day)].append(Entry(photo_id, None, hashes))

    def of(self, class_id: int, numbers: tuple[int, ...], day: date) -> list[Entry]:
        """The works of these numbers on this day."""
        return self._works.get((class_id, tuple(sorted(numbers)), day), [])

    def nearest(
        self, class_id: int, numbers: tuple[int, ...], day: date, *, crop_hash: int | None
    ) -> tuple[Entry, int] | None:
        """The work of these numbers that looks most like this crop, and how many bits it differs."""
        bits = [(entry, entry.bits_from(crop_hash)) for entry in self.of(class_id, numbers, day)]
        known = [(entry, count) for entry, count in bits if count is not None]
        return min(known, key=lambda pair: pair[1], default=None)
