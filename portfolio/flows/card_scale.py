"""The scale that a batch's number cards were printed at, and the sizes that hang on it.

When the sheets of a batch show a wrong scale, the works filed from it keep their measured size as "about", without a
sheet's name; only the teacher lets them be corrected, in one step that can be undone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from portfolio.archive import desk, finding, history, photos, works
from portfolio.archive.library import Library, Session
from portfolio.archive.photos import PhotoKept
from portfolio.errors import NotFound, PortfolioError
from portfolio.filing.hints import batch_hints
from portfolio.filing.printed import printed_scale
from portfolio.flows.batches import check_batch
from portfolio.model.filing import Hint, PhotoQuality, PrintedScale
from portfolio.model.finding import WorkShown
from portfolio.model.photo import SizeMm
from portfolio.straighten.sizes import SHEETS_MM, sheet_name

ROUNDED_MM = 0.06
"""Sizes are kept to a tenth of a millimeter."""


def scale_of(kept: Iterable[PhotoKept]) -> PrintedScale | None:
    """The wrong scale that the sheets in these photos show; ``None`` when there is none."""
    return printed_scale([size for one in kept if (size := _sheet_mm(one)) is not None], sheets_mm=SHEETS_MM)


def scale_of_batch(session: Session, batch_id: int) -> PrintedScale | None:
    """The same for a batch in the records."""
    return scale_of(photos.photos_of(session, batch_id))


def not_sure_of_size(one: PhotoKept) -> PhotoKept:
    """The photo with its size as no more than "about": its card has the wrong scale."""
    return replace(one, reading={**(one.reading or {}), "size_about": True, "sheet": None})


def _sheet_mm(one: PhotoKept) -> tuple[float, float] | None:
    """The size of a sheet whose edges are sure, as measured."""
    found = one.reading or {}
    crop, size = found.get("crop"), found.get("size_mm")
    if not crop or not size or not crop["sure"] or crop["shape"] != "sheet" or found.get("size_about"):
        return None
    return size[0], size[1]


def hints_of(session: Session, ordered: Sequence[PhotoKept]) -> tuple[Hint, ...]:
    """What the teacher can change next time, from the photos of a batch in the order taken."""
    seen = [
        _quality(place, one.reading) for place, one in enumerate(ordered, start=1) if (one.reading or {}).get("cards")
    ]
    scale = scale_of(ordered)
    corrected = scale is not None and any(one.is_corrected(scale) for one in _sized(session, ordered))
    clocks = {one.camera or "": one.camera_minutes for one in ordered if one.camera_minutes}
    return batch_hints(seen, scale, sizes_corrected=corrected, clocks=clocks)


def _quality(place: int, reading: dict[str, Any] | None) -> PhotoQuality:
    found = reading or {}
    return PhotoQuality(place, bool(found.get("clipped")), bool(found.get("table_near_white")))


# --- correcting -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Sized:
    """A work of the batch and the size that its main photo gave."""

    work: WorkShown
    measured_mm: tuple[float, float]

    def is_at(self, factor: float) -> bool:
        """Whether the work's size is the measured one times this."""
        width, height = self.measured_mm
        now = self.work.width_mm or 0.0, self.work.height_mm or 0.0
        return abs(now[0] - width * factor) <= ROUNDED_MM and abs(now[1] - height * factor) <= ROUNDED_MM

    def is_corrected(self, scale: PrintedScale) -> bool:
        """Whether the correction by this scale was carried out."""
        return self.is_at(scale.scale)


def _sized(session: Session, kept: Iterable[PhotoKept]) -> Iterator[_Sized]:
    measured = {one.photo_id: one.reading["size_mm"] for one in kept if one.reading and one.reading.get("size_mm")}
    of_photo = works.works_of_photos(session, list(measured))
    for work in finding.shown(session, sorted(set(of_photo.values()))):
        if work.photo_id in measured and work.width_mm is not None:
            yield _Sized(work, tuple(measured[work.photo_id]))


def correct_sizes(library: Library, batch_id: int) -> int:
    """The teacher says that the cards were printed at the scale found: correct the sizes of the batch; gives the
    action's id. A size that she or a new edge has changed since is left alone.
    """
    check_batch(library, batch_id)
    with library.writing(who="teacher", what=history.SIZES_CORRECTED, batch_id=batch_id) as writing:
        session = writing.session
        kept = photos.photos_of(session, photos.batch(session, batch_id).batch_id)
        scale = scale_of(kept)
        as_measured = [one for one in _sized(session, kept) if one.is_at(1.0)]
        if scale is None or not as_measured:
            found = "its sheets show no common factor" if scale is None else "none of them is as it was measured"
            raise PortfolioError("bad-request", item=f"The sizes of batch {batch_id}", found=found)
        for one in as_measured:
            width, height = (round(side * scale.scale, 1) for side in one.measured_mm)
            works.set_size(session, one.work.work_id, SizeMm(width, height, sheet=sheet_name(width, height)))
        return writing.action_id


def measured_sizes(library: Library, batch_id: int) -> int:
    """Take the correction of a batch's sizes back; gives the undoing action's id."""
    check_batch(library, batch_id)
    with library.writing(who="teacher", what="undid a step", batch_id=batch_id) as writing:
        corrected_by = desk.sizes_corrected_by(writing.session, batch_id)
        if corrected_by is None:
            raise NotFound("not-found", item="A correction of these sizes")
        history.undo(writing.session, corrected_by, undoing_id=writing.action_id)
        return writing.action_id
