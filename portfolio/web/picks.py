"""What may be chosen for a whole batch, in the words of its lists: for photos that are added and for the camera."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from portfolio.flows.desk import Picks
from portfolio.web import words
from portfolio.web.answers import Choice


def class_choices(picks: Picks, chosen: str = "") -> tuple[Choice, ...]:
    """The classes of the year, by grade; ``chosen``: the label that is chosen already."""
    ordered = sorted(picks.classes, key=lambda one: words.grade_order(one.grade))
    labels = (Choice(str(one.class_id), one.label, one.label == chosen) for one in ordered)
    return Choice("", "From cards and timetable", not chosen), *labels


def with_chosen(choices: Sequence[Choice], key: int | None, label: str) -> tuple[Choice, ...]:
    """The same list with one of it chosen by its id; what is no longer offered is added, so that it can stay chosen."""
    value = str(key or "")
    known = choices if any(one.value == value for one in choices) else (*choices, Choice(value, label))
    return tuple(replace(one, chosen=one.value == value) for one in known)


def medium_choices(picks: Picks) -> tuple[Choice, ...]:
    """The media in use."""
    labels = (Choice(str(one.medium_id), words.capital(one.label)) for one in picks.media)
    return Choice("", "From the cards", True), *labels
