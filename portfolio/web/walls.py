"""Works as tiles of a wall: the picture at true scale, the number, and the words under the line."""

from __future__ import annotations

from collections.abc import Callable

from portfolio.archive.photos import PhotoKept
from portfolio.model.finding import WorkShown
from portfolio.web import scale, words
from portfolio.web.answers import LineKind, Picture, Tile

UNTITLED = "No title yet"


def title_of(work: WorkShown) -> str:
    """The title, or the words that stand where none is given."""
    return work.title or UNTITLED


def by_lesson(work: WorkShown) -> str:
    """Class and medium, for a wall of the day."""
    return " · ".join(part for part in (work.class_label, words.capital(work.medium)) if part)


def by_year(work: WorkShown) -> str:
    """Class, year and medium, for a wall across the years."""
    return " · ".join(part for part in (work.class_label, str(work.made_on.year), words.capital(work.medium)) if part)


def by_size(work: WorkShown) -> str:
    """Medium and size, for a child's own ledge."""
    size = words.size(work.width_mm, work.height_mm)
    return " · ".join(part for part in (words.capital(work.medium), size) if part)


def tile_of(
    work: WorkShown,
    *,
    second: Callable[[WorkShown], str] = by_lesson,
    numbered: bool = True,
    line: LineKind = "kept",
) -> Tile:
    """A kept work on a ledge; its picture and number are one link."""
    parts = [f"Number {work.number}" if numbered else "", title_of(work), words.capital(work.medium)]
    return Tile(
        name=", ".join(part for part in parts if part),
        number=str(work.number) if numbered else "",
        title=title_of(work),
        second=second(work),
        line=line,
        href=f"/works/{work.work_id}",
        picture=picture_of(work),
    )


def picture_of(work: WorkShown) -> Picture | None:
    """The main picture of a work, as wide on the wall as the work is wide."""
    if work.derived_key is None:
        return None
    alt = ", ".join(part for part in (title_of(work), words.capital(work.medium)) if part)
    return wall_picture(work.derived_key, width_mm=work.width_mm, height_mm=work.height_mm, alt=alt)


def wall_picture(key: str, *, width_mm: float | None, height_mm: float | None, alt: str) -> Picture:
    """A picture by the key of its derivatives. Without a measured size its own shape is kept at 229 mm wide."""
    mm = scale.step(width_mm)
    ratio = height_mm / width_mm if width_mm and height_mm else 0.75
    return Picture(
        src=f"/pictures/{key}/336",
        srcset=f"/pictures/{key}/336 336w, /pictures/{key}/672 672w",
        sizes=f"{max(40, mm // 2)}px",
        width_px=336,
        height_px=max(1, round(336 * ratio)),
        mm=mm,
        alt=alt,
    )


def shown_now(photo: PhotoKept) -> Picture | None:
    """A photo that is not filed yet: as it was taken, or of several works the one it is about."""
    if not photo.part or photo.derived_key is None:
        return as_taken(photo)
    return wall_picture(photo.derived_key, width_mm=None, height_mm=None, alt="One of several works in the photo")


def as_taken(photo: PhotoKept, *, long_px: int = 400) -> Picture | None:
    """A photo as it was taken, when it could be read; ``long_px``: its longer side."""
    if not photo.was_read or photo.problem is not None:
        return None
    width, height = photo.size_px or (4, 3)
    share = long_px / max(width, height)
    return Picture(
        src=f"/photos/{photo.photo_id}/{long_px}",
        width_px=max(1, round(width * share)),
        height_px=max(1, round(height * share)),
        mm=scale.UNMEASURED_MM,
        alt="The photo as it was taken",
    )


def large_picture(key: str, work: WorkShown, *, alt: str) -> Picture:
    """A work as large as its page allows."""
    ratio = work.height_mm / work.width_mm if work.width_mm and work.height_mm else 0.75
    wide = ratio <= 1
    return Picture(
        src=f"/pictures/{key}/2016",
        width_px=1400 if wide else round(1400 / ratio),
        height_px=round(1400 * ratio) if wide else 1400,
        mm=scale.step(work.width_mm),
        alt=alt,
    )
