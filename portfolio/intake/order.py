"""The order in which photos were taken: the camera's time with parts of a second, then the camera's own counter.

Never the file's modification time: copying, unzipping and syncing change it.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Hashable, Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Generic, TypeVar

from portfolio.model.photo import Taken, TakenSource

K = TypeVar("K", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Shot(Generic[K]):
    """What the order needs of one photo. ``position`` (as handed over) decides only when nothing else does."""

    key: K
    file_name: str
    taken: Taken | None = None
    position: int = 0


def taking_order(shots: Iterable[Shot[K]]) -> tuple[K, ...]:
    """The keys in the order taken.

    Photos with a time stand by it; within one moment the counter decides. A photo without a time stands behind the
    photo with the next lower counter of the same name pattern ("IMG_0412" behind "IMG_0411"); if there is none, at
    the end, by counter.
    """
    given = sorted(shots, key=lambda shot: shot.position)
    counters = _counters(given)
    timed = [shot for shot in given if _has_time(shot)]
    timed.sort(key=lambda shot: (_time(shot), counters[shot.key][1], shot.position))
    rest = [shot for shot in given if not _has_time(shot)]
    rest.sort(key=lambda shot: (*counters[shot.key], shot.position))
    return tuple(shot.key for shot in _merged(timed, rest, counters))


def _has_time(shot: Shot[K]) -> bool:
    return shot.taken is not None and shot.taken.source is not TakenSource.FILE


def _time(shot: Shot[K]) -> datetime:
    assert shot.taken is not None
    return shot.taken.local


def _merged(timed: list[Shot[K]], rest: list[Shot[K]], counters: dict[K, tuple[str, int]]) -> list[Shot[K]]:
    last_of: dict[str, list[tuple[int, int]]] = defaultdict(list)
    for place, shot in enumerate(timed):
        prefix, counter = counters[shot.key]
        last_of[prefix].append((counter, place))
    behind: dict[int, list[Shot[K]]] = defaultdict(list)
    for shot in rest:
        prefix, counter = counters[shot.key]
        before = [pair for pair in last_of[prefix] if 0 <= pair[0] < counter] if counter >= 0 else []
        behind[max(before)[1] if before else len(timed)].append(shot)
    merged: list[Shot[K]] = []
    for place, shot in enumerate(timed):
        merged += [shot, *behind[place]]
    return merged + behind[len(timed)]


def camera_counter(file_name: str) -> tuple[str, int]:
    """The name pattern and the counter: the last run of digits in the stem. ``("img_", 412)`` for "IMG_0412.JPG";
    a counter of -1 when there are no digits. Copies ("IMG_0412 (1)") count as the photo they copy.
    """
    stem = re.sub(r"\.[^.]*$", "", file_name).casefold()
    stem = re.sub(r"[ _-]*(\(\d+\)|copy|edited)$", "", stem)
    match = re.search(r"^(.*?)(\d+)(\D*)$", stem, re.DOTALL)
    if match is None:
        return stem, -1
    return match[1] + "#" + match[3], int(match[2][-18:])


def _counters(shots: list[Shot[K]]) -> dict[K, tuple[str, int]]:
    """Counters of all shots; a four-digit counter that runs over (9999 → 0001) goes on with 10000."""
    plain = {shot.key: camera_counter(shot.file_name) for shot in shots}
    seen: dict[str, list[int]] = defaultdict(list)
    for prefix, counter in plain.values():
        seen[prefix].append(counter)
    runs_over = {
        prefix for prefix, all_of in seen.items() if max(all_of) <= 9999 and max(all_of) > 9000 and _has_low(all_of)
    }
    return {
        key: (prefix, counter + 10_000 if prefix in runs_over and 0 <= counter < 1000 else counter)
        for key, (prefix, counter) in plain.items()
    }


def _has_low(counters: list[int]) -> bool:
    return any(0 <= counter < 1000 for counter in counters)
