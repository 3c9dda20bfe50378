"""What the teacher chooses for a batch, from her words to the records' ids."""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from datetime import date

from portfolio.archive import photos, room, school
from portfolio.archive.library import Library
from portfolio.errors import NotFound, PortfolioError
from portfolio.model.cards import CARD_VALUES, CardKind
from portfolio.model.filing import BatchMode, Chosen


def numbers_in(text: str, *, what: str = "The absent numbers") -> frozenset[int]:
    """Numbers as typed, e.g. "3, 11". Raises ``PortfolioError`` for anything that is no number on a card."""
    try:
        found = frozenset(int(part) for part in text.replace(",", " ").split())
    except ValueError as error:
        raise PortfolioError("bad-request", item=what, found="they are not like 3,11") from error
    if not found <= set(CARD_VALUES[CardKind.NUMBER]):
        raise PortfolioError("bad-request", item=what, found="numbers go from 1 to 40")
    return found


def check_batch(library: Library, batch_id: int) -> None:
    """Refuses a batch that is not there, before anything is written."""
    with library.reading() as session:
        photos.batch(session, batch_id)


def check_order(chosen: Chosen) -> None:
    """Refuses the order of numbers without a class: whose numbers would they be?"""
    if chosen.mode is BatchMode.ORDER and chosen.class_id is None:
        raise PortfolioError("bad-request", item="The order of numbers", found="the class is not chosen")


def chosen_for(
    library: Library,
    *,
    class_label: str | None = None,
    medium: str | None = None,
    centre: str | None = None,
    day: date | None = None,
    mode: BatchMode = BatchMode.CARDS,
    absent: AbstractSet[int] = frozenset(),
    today: date | None = None,
) -> Chosen:
    """The choice with ids. The class is looked up in the year of ``day``, or of ``today`` when none is given."""
    with library.reading() as session:
        year = school.current_year(session, day or today or date.today())  # noqa: DTZ011  the school's own wall time
        class_id = None
        if class_label is not None:
            if year is None:
                raise NotFound("not-found", item="A school year")
            class_id = school.class_by_label(session, class_label, year_id=year.year_id).class_id
        medium_id = room.medium_by_label(session, medium).medium_id if medium else None
        centre_id = room.centre_by_label(session, centre).centre_id if centre else None
    chosen = Chosen(class_id, medium_id, centre_id, day, mode, frozenset(absent))
    check_order(chosen)
    return chosen
