"""Works for share time, large, before the whole class: by number only. No name leaves this module, also none that
stands in a title.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from portfolio.archive import desk, finding, school
from portfolio.archive.library import Library
from portfolio.flows.reflections import name_finder
from portfolio.model.finding import Filters, WorkShown

MOST: Final = 60
"""Works of one share time; a class has about thirty."""


@dataclass(frozen=True, slots=True)
class Projected:
    """The works of one day, of one class or of all, by class and number; and the classes that have works that day."""

    day: date
    class_label: str
    works: tuple[WorkShown, ...]
    classes: tuple[str, ...]


def see_projected(library: Library, *, today: date, day: date | None = None, class_label: str = "") -> Projected:
    """The works of a day (the last one with works when none is said). A title that may name a child is left out."""
    with library.reading() as session:
        shown_day = day or desk.last_day(session, today) or today
        year = school.year_of_day(session, shown_day)
        on_day = Filters(from_day=shown_day, to_day=shown_day, year=year.label if year else None)
        works = [one for one in finding.shown(session, finding.matching_ids(session, on_day)) if one.derived_key]
        classes = tuple(sorted({one.class_label for one in works}))
        if class_label:
            works = [one for one in works if one.class_label == class_label]
        works.sort(key=lambda one: (one.class_label, one.number, one.work_id))
        finder = name_finder(session)
        bare = tuple(replace(one, title="") if finder.places(one.title) else one for one in works[:MOST])
    return Projected(shown_day, class_label, bare, classes)
