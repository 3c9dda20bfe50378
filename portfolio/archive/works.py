"""Works, their makers and views in the records; and where the pictures made from them lie."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from sqlmodel import Session, col, select

from portfolio.archive import tables
from portfolio.archive.photos import PhotoKept
from portfolio.archive.rows import existing
from portfolio.errors import NotFound
from portfolio.model.cards import Polygon
from portfolio.model.filing import FiledWork, Filing, Role
from portfolio.model.finding import COLORS
from portfolio.model.photo import SizeMm
from portfolio.model.seen_json import as_polygon, regions_as_json


@dataclass(frozen=True, slots=True)
class ViewKept:
    """One view of a work."""

    view_id: int
    work_id: int
    photo_id: int
    role: str
    crop: dict[str, Any] | None
    quarter_turns: int
    derived_key: str | None


def derived_path(folder: Path, key: str, rung: int) -> Path:
    """Where the picture of a rung (2016, 672, 336) lies below ``library.derived``."""
    return folder / key[:2] / f"{key}-{rung}.jpg"


def add_work(session: Session, filing: Filing, photo: PhotoKept, *, solid: bool = False) -> int:
    """A new work of a photo, as filing decided; gives its id. ``filing`` must be complete."""
    assert filing.class_id is not None
    assert filing.day is not None
    seen = photo.reading or {}
    crop = seen.get("crop")
    size = seen.get("size_mm") if crop and crop["sure"] else None
    work = tables.Work(
        class_id=filing.class_id,
        number=filing.numbers[0],
        made_on=filing.day,
        medium_id=filing.medium_id,
        centre_id=filing.centre_id,
        width_mm=round(size[0], 1) if size else None,
        height_mm=round(size[1], 1) if size else None,
        size_about=bool(size and seen.get("size_about")),
        sheet=seen.get("sheet") if size else None,
        solid=solid,
        group_work=len(filing.numbers) > 1,
    )
    session.add(work)
    session.flush()
    assert work.id is not None
    session.add_all(tables.Maker(work_id=work.id, student_id=key) for key in filing.student_ids)
    shares = {name: int(seen.get("colors", {}).get(name, 0)) for name in COLORS}
    session.add(tables.WorkColor(work_id=work.id, **shares))
    add_view(session, work.id, photo, role=Role.FRONT)
    return work.id


def add_view(session: Session, work_id: int, photo: PhotoKept, *, role: Role) -> int:
    """A photo becomes a view of a work; gives the view's id. An unsure edge is not shown until the teacher has seen it,
    unless the rest of the photo shows other children's works.
    """
    existing(session, tables.Work, work_id, item=f"Work {work_id}")
    there = session.exec(select(tables.View.id).where(tables.View.work_id == work_id)).all()
    crop = (photo.reading or {}).get("crop")
    view = tables.View(
        work_id=work_id,
        photo_id=photo.photo_id,
        role=role.value,
        position=len(there),
        crop=crop if crop and (crop["sure"] or photo.part) else None,
        quarter_turns=photo.quarter_turns or 0,
        masks=regions_as_json(photo.hidden) or None,
        derived_key=photo.derived_key,
    )
    session.add(view)
    session.flush()
    assert view.id is not None
    return view.id


def work_of_photo(session: Session, photo_id: int) -> int | None:
    """The work that a photo is a view of."""
    return session.exec(select(tables.View.work_id).where(tables.View.photo_id == photo_id)).first()


def works_of_photos(session: Session, photo_ids: Collection[int]) -> Mapping[int, int]:
    """Photo → work."""
    asked = select(tables.View.photo_id, tables.View.work_id).where(col(tables.View.photo_id).in_(list(photo_ids)))
    return dict(session.exec(asked).all())


def derived_keys(session: Session) -> set[str]:
    """The keys of all pictures that a photo or a view speaks of."""
    keys: set[str] = set()
    for column in (tables.Photo.derived_key, tables.View.derived_key):
        keys |= {key for key in session.exec(select(column).distinct()).all() if key}
    return keys


def all_views(session: Session) -> list[ViewKept]:
    """Every view of every work, so that pictures that are gone can be made again."""
    return [_view(row) for row in session.exec(select(tables.View).order_by(col(tables.View.id)))]


def views_of_photos(session: Session, photo_ids: Collection[int]) -> list[ViewKept]:
    """The views that these photos are."""
    asked = select(tables.View).where(col(tables.View.photo_id).in_(list(photo_ids)))
    return [_view(row) for row in session.exec(asked.order_by(col(tables.View.id)))]


def move_work(session: Session, work_id: int, *, number: int, student_id: int) -> None:
    """A work of one child turns out to be another's of the same class: its card lay wrong."""
    work = existing(session, tables.Work, work_id, item=f"Work {work_id}")
    work.number = number
    for maker in session.exec(select(tables.Maker).where(tables.Maker.work_id == work_id)).all():
        session.delete(maker)
    session.flush()
    session.add(tables.Maker(work_id=work_id, student_id=student_id))


def work_facts(session: Session, work_id: int) -> tuple[int, int, date]:
    """Class id, number and day of a work."""
    row = existing(session, tables.Work, work_id, item=f"Work {work_id}")
    return row.class_id, row.number, row.made_on


def view_of_photo(session: Session, photo_id: int) -> ViewKept:
    """The view that a photo is."""
    row = session.exec(select(tables.View).where(tables.View.photo_id == photo_id)).first()
    if row is None or row.id is None:
        raise NotFound("not-found", item=f"The work of photo {photo_id}")
    return _view(row)


def _view(row: tables.View) -> ViewKept:
    assert row.id is not None
    return ViewKept(row.id, row.work_id, row.photo_id, row.role, row.crop, row.quarter_turns, row.derived_key)


def recrop(
    session: Session,
    view: ViewKept,
    *,
    crop: dict[str, Any] | None,
    quarter_turns: int,
    derived_key: str,
    size: SizeMm | None,
    colors: Mapping[str, int],
) -> None:
    """A view is cropped anew; the work's size and colors follow when it is its main view."""
    row = session.get(tables.View, view.view_id)
    assert row is not None
    row.crop, row.quarter_turns, row.derived_key = crop, quarter_turns, derived_key
    if row.position:
        return
    work = session.get(tables.Work, view.work_id)
    assert work is not None
    if size is not None:
        work.width_mm, work.height_mm = round(size.width_mm, 1), round(size.height_mm, 1)
        work.size_about, work.sheet = size.about, size.sheet
    shares = session.get(tables.WorkColor, view.work_id)
    if shares is not None and colors:
        for name in COLORS:
            setattr(shares, name, int(colors.get(name, 0)))


def hidden_parts(session: Session, view_id: int) -> tuple[Polygon, ...]:
    """The parts of a view's photo that nobody below the teacher sees: pixels of the upright photo."""
    row = existing(session, tables.View, view_id, item="This view")
    return tuple(as_polygon(part) for part in row.masks or ())


def has_hidden_part(session: Session, photo_id: int) -> bool:
    """Whether a part of this photo is hidden, in this row's work, in another work of the same original, or in a photo
    of it that is no work's yet.
    """
    original = session.exec(select(tables.Photo.sha256).where(tables.Photo.id == photo_id)).one()
    return any(marked for _, _, marked in regions_of(session, [original]))


def regions_of(session: Session, originals: Collection[str]) -> list[tuple[str, int | None, list[Polygon]]]:
    """What is hidden in these originals: (original, view, parts); without a view: in a photo that is no work's yet."""
    asked = (
        select(tables.Photo, tables.View)
        .join(tables.View, col(tables.Photo.id) == col(tables.View.photo_id), isouter=True)
        .where(col(tables.Photo.sha256).in_(list(originals)))
        .order_by(col(tables.View.id))
    )
    found = []
    for photo, view in session.exec(asked).all():
        marked = view.masks if view is not None else (photo.by_hand or {}).get("hidden")
        found.append((photo.sha256, view.id if view is not None else None, [as_polygon(one) for one in marked or ()]))
    return found


def set_hidden_parts(session: Session, view_id: int, parts: Sequence[Polygon]) -> None:
    """Record which parts of a view's photo are hidden; none = nothing is."""
    row = existing(session, tables.View, view_id, item="This view")
    row.masks = regions_as_json(parts) or None


def set_size(session: Session, work_id: int, size: SizeMm) -> None:
    """Another size of a work."""
    work = existing(session, tables.Work, work_id, item=f"Work {work_id}")
    work.width_mm, work.height_mm = size.width_mm, size.height_mm
    work.size_about, work.sheet = size.about, size.sheet


def filed_on_days(session: Session, class_ids: Collection[int], days: Collection[date]) -> tuple[FiledWork, ...]:
    """Works of these classes and days that are there already, with the crops of their views."""
    asked = select(tables.Work).where(
        col(tables.Work.class_id).in_(list(class_ids)),
        col(tables.Work.made_on).in_(list(days)),
        col(tables.Work.removed).is_(False),
    )
    works = session.exec(asked.order_by(col(tables.Work.id))).all()
    crops = _crops_of(session, [work.id for work in works if work.id is not None])
    return tuple(_filed(session, work, crops) for work in works)


def _crops_of(session: Session, work_ids: Collection[int]) -> dict[int, tuple[int, ...]]:
    """The crops of every view of these works."""
    asked = select(tables.View.work_id, tables.Photo.crop_hash).join(
        tables.Photo, col(tables.View.photo_id) == col(tables.Photo.id)
    )
    found: dict[int, tuple[int, ...]] = {}
    for work_id, crop in session.exec(asked.where(col(tables.View.work_id).in_(list(work_ids)))).all():
        found[work_id] = found.get(work_id, ()) + ((int(crop, 16),) if crop else ())
    return found


def _filed(session: Session, work: tables.Work, crops: Mapping[int, tuple[int, ...]]) -> FiledWork:
    assert work.id is not None
    numbers: tuple[int, ...] = (work.number,)
    if work.group_work:
        theirs = (
            select(tables.Enrolment.number)
            .join(tables.Maker, col(tables.Maker.student_id) == col(tables.Enrolment.student_id))
            .where(
                col(tables.Maker.work_id) == work.id,
                col(tables.Enrolment.class_id) == work.class_id,
                col(tables.Enrolment.from_day) <= work.made_on,
                col(tables.Enrolment.to_day).is_(None) | (col(tables.Enrolment.to_day) >= work.made_on),
            )
        )
        numbers = tuple(sorted(session.exec(theirs).all())) or numbers
    return FiledWork(work.id, work.class_id, numbers, work.made_on, crops.get(work.id, ()))


def take_back_batch(session: Session, batch_id: int) -> None:
    """Take out all works whose photos are all of this batch, and the views of this batch from other works."""
    ids = set(session.exec(select(tables.Photo.id).where(tables.Photo.batch_id == batch_id)).all())
    views = session.exec(select(tables.View).where(col(tables.View.photo_id).in_(list(ids)))).all()
    for work_id in sorted({view.work_id for view in views}):
        all_views = session.exec(select(tables.View).where(tables.View.work_id == work_id)).all()
        if all(view.photo_id in ids for view in all_views):
            work = session.get(tables.Work, work_id)
            assert work is not None
            work.removed = True
            continue
        for view in all_views:
            if view.photo_id in ids:
                session.delete(view)
