"""What the teacher chooses for a batch, from her words to the records' ids."""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from datetime import date

from portfolio.archive import room, school
from portfolio.archive.library import Library
from portfolio.errors import NotFound
from portfolio.model.filing import BatchMode, Chosen


def chosen_for(
    library: Library,
    *,
    class_label: str | None = None,
    medium: str | None = None,
    centre: str | None = None,
    day: date | None = None,
    mode: BatchMode = BatchMode.CARDS,
    absent: AbstractSet[int] = frozenset(),
) -> Chosen:
    """The choice with ids. The class is looked up in the year of ``day`` (today when none is given)."""
    with library.reading() as session:
        year = school.current_year(session, day or date.today())  # noqa: DTZ011  the school's own wall time
        class_id = None
        if class_label is not None:
            if year is None:
                raise NotFound("not-found", item="A school year")
            class_id = school.class_by_label(session, class_label, year_id=year.year_id).class_id
        medium_id = room.medium_by_label(session, medium).medium_id if medium else None
        centre_id = room.centre_by_label(session, centre).centre_id if centre else None
        return Chosen(class_id, medium_id, centre_id, day, mode, frozenset(absent))
