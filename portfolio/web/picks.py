"""What may be chosen for a whole batch, in the words of its lists: for photos that are added and for the camera."""

from __future__ import annotations

from portfolio.flows.desk import Picks
from portfolio.web import words
from portfolio.web.answers import Choice


def class_choices(picks: Picks, chosen: str = "") -> tuple[Choice, ...]:
    """The classes of the year, by grade; ``chosen``: the label that is chosen already."""
    ordered = sorted(picks.classes, key=lambda one: words.grade_order(one.grade))
    labels = (Choice(str(one.class_id), one.label, one.label == chosen) for one in ordered)
    return Choice("", "From cards and timetable", not chosen), *labels


def medium_choices(picks: Picks) -> tuple[Choice, ...]:
    """The media in use."""
    labels = (Choice(str(one.medium_id), words.capital(one.label)) for one in picks.media)
    return Choice("", "From the cards", True), *labels
