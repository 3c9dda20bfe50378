"""A camera's clock that runs wrong is learned from the class cards: they say which lesson it was, the timetable says
when that was.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from statistics import median
from types import MappingProxyType

from portfolio.model.calendar import TimetableSlot

AFTER_BELL_MIN = 10
"""Photos are often taken in the minutes after a lesson; a class card then still belongs to it."""
HOUR_MIN = 60
LEAST_CLASSES = 2
"""One class card against the timetable is a contradiction; two that ask for the same shift are a clock."""


@dataclass(frozen=True, slots=True)
class ClassCardShot:
    """A sure class card in a photo: which camera, at what time by its own clock, which class."""

    camera: str
    taken_local: datetime
    class_id: int


def learn_clocks(
    shots: Iterable[ClassCardShot],
    slots_on: Callable[[date], tuple[TimetableSlot, ...]],
    *,
    before: Mapping[str, int] = MappingProxyType({}),
) -> Mapping[str, int]:
    """Camera → minutes to add to its clock (0 = it is right), for cameras whose class cards in this batch tell it.

    A clock is right when most of its class cards lie in their own lessons. Else, what an earlier batch has shown
    (``before``) holds when it brings every card into its lesson. Else the median of the shifts that would
    bring each card into the middle of its lesson is taken (rounded to a whole hour if that fits too: a forgotten
    change to summer time is the common case, common practice, no source), but only if it brings **every** card into
    its lesson and the cards are of at least two classes.
    """
    by_camera: dict[str, list[ClassCardShot]] = defaultdict(list)
    for shot in shots:
        by_camera[shot.camera].append(shot)
    learned = {camera: _learn(own, slots_on, before.get(camera, 0)) for camera, own in by_camera.items()}
    return {camera: minutes for camera, minutes in learned.items() if minutes is not None}


def _learn(
    shots: list[ClassCardShot], slots_on: Callable[[date], tuple[TimetableSlot, ...]], before: int
) -> int | None:
    """``None`` when the cards tell nothing about the clock."""
    spans = [span for shot in shots if (span := _span(shot, slots_on)) is not None]
    if spans and sum(low <= 0 <= high for low, high in spans) * 2 >= len(shots):
        return 0
    if not spans or len(spans) < len(shots):
        return None
    if before and all(low <= before <= high for low, high in spans):
        return before
    if len({shot.class_id for shot in shots}) < LEAST_CLASSES:
        return None
    shift = median((low + high - AFTER_BELL_MIN) / 2 for low, high in spans)
    for candidate in (round(shift / HOUR_MIN) * HOUR_MIN, round(shift)):
        if candidate and all(low <= candidate <= high for low, high in spans):
            return candidate
    return None


def _span(shot: ClassCardShot, slots_on: Callable[[date], tuple[TimetableSlot, ...]]) -> tuple[float, float] | None:
    """The shifts, in minutes, that would bring the card into its own nearest lesson of that day."""
    now = _minutes(shot.taken_local.time())
    own = [slot for slot in slots_on(shot.taken_local.date()) if slot.class_id == shot.class_id]
    spans = [(_minutes(slot.starts_at) - now, _minutes(slot.ends_at) + AFTER_BELL_MIN - now) for slot in own]
    return min(spans, key=lambda span: abs(span[0] + span[1]), default=None)


def _minutes(moment: time) -> float:
    return moment.hour * 60 + moment.minute + moment.second / 60
