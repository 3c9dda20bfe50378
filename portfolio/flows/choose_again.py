"""Class, medium or day of a whole batch, chosen again after its photos were filed."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from portfolio.archive import photos
from portfolio.archive.library import Library
from portfolio.errors import NotFound
from portfolio.flows.batches import check_order
from portfolio.flows.desk import Picks
from portfolio.flows.take_in import choose
from portfolio.model.filing import Chosen


def see_chosen(library: Library, batch_id: int) -> Chosen:
    """What is chosen for a batch now."""
    with library.reading() as session:
        return photos.batch(session, batch_id).chosen


def choose_again(
    library: Library, batch_id: int, picks: Picks, *, class_id: int | None, medium_id: int | None, day: date | None
) -> None:
    """Choose these for the batch; who was absent stays. Settling it again decides anew what the teacher has not
    touched. Refuses a class or medium that is neither offered (``picks``) nor chosen now, and the order of numbers
    without a class.
    """
    now = see_chosen(library, batch_id)
    if class_id not in {None, now.class_id, *(one.class_id for one in picks.classes)}:
        raise NotFound("not-found", item=f"Class {class_id}")
    if medium_id not in {None, now.medium_id, *(one.medium_id for one in picks.media)}:
        raise NotFound("not-found", item=f"Medium {medium_id}")
    chosen = replace(now, class_id=class_id, medium_id=medium_id, day=day)
    check_order(chosen)
    choose(library, batch_id, chosen)
