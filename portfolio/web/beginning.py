"""What a new library still needs before the first lesson: told on Today until the first work is filed."""

from __future__ import annotations

from dataclasses import replace

from portfolio.flows.desk import DaySeen
from portfolio.web import words
from portfolio.web.answers_today import BeginStep


def begin_steps(seen: DaySeen) -> tuple[BeginStep, ...]:
    """The four steps in order, the first that is not done as the next one; none once a work is filed."""
    if seen.latest_day is not None:
        return ()
    has_roster = bool(seen.labels)
    steps = (
        BeginStep(
            "Import the roster",
            f"{words.count(len(seen.labels), 'class is', 'classes are')} in, with a number for every child."
            if has_roster
            else "A spreadsheet with classes and names, or the file of the office. Every child gets a number.",
            "/settings#roster",
            "Import a roster",
            done=has_roster,
        ),
        BeginStep(
            "Set the timetable",
            "Every lesson knows its class."
            if seen.has_timetable
            else "Then the clock of a photo says which class it is.",
            "/settings/timetable",
            "Set the timetable",
            done=seen.has_timetable,
        ),
        BeginStep(
            "Print the number cards",
            "One set serves every class: a number card lies beside each work in its photo.",
            "/settings/cards",
            "Print cards",
        ),
        BeginStep(
            "Photograph the first lesson",
            "One work and its card in each photo; then add the whole stack.",
            "/add",
            "Add photos",
        ),
    )
    return _with_next(steps)


def _with_next(steps: tuple[BeginStep, ...]) -> tuple[BeginStep, ...]:
    """The first step that is not done carries the page's main press."""
    ahead = next(at for at, one in enumerate(steps) if not one.done)
    return tuple(replace(one, is_next=at == ahead) for at, one in enumerate(steps))
