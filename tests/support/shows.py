"""Makers of libraries with works, pictures and releases, for shows; and of finished labels for sites."""

import io
import shutil
import tempfile
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path

from PIL import Image, ImageDraw
from sqlmodel import select

from portfolio.archive import tables
from portfolio.archive.library import Library
from portfolio.archive.works import derived_path
from portfolio.model.people import Audience, NameForm
from portfolio.model.showing import Label, Picture, SiteText
from portfolio.privacy.seal import seal
from tests.support.school import make_class, make_library, make_work

DAY = date(2027, 3, 1)
RUNGS = (336, 672, 2016)


def make_jpeg(width_px: int, height_px: int, *, hue: int = 0, **save) -> bytes:
    """A picture with two colored halves, so that a turned or mirrored one is seen."""
    image = Image.new("RGB", (width_px, height_px), (200, 60 + hue % 120, 60))
    ImageDraw.Draw(image).rectangle((width_px // 2, 0, width_px, height_px), fill=(40, 90, 60 + hue % 160))
    out = io.BytesIO()
    image.save(out, "JPEG", quality=85, **save)
    return out.getvalue()


def make_derivatives(library: Library, work_id: int, *, width_px: int = 800, height_px: int = 600) -> None:
    """The main view of a work gets its pictures."""
    key = f"work{work_id:08}-1"
    with library.writing(who="program", what="made pictures") as writing:
        view = writing.session.exec(select(tables.View).where(tables.View.work_id == work_id)).one()
        view.derived_key = key
    for rung in RUNGS:
        scale = min(1.0, rung / max(width_px, height_px))
        path = derived_path(library.derived, key, rung)
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(make_jpeg(round(width_px * scale), round(height_px * scale), hue=work_id))


def allow(
    library: Library,
    student_id: int,
    audience=Audience.PUBLIC,
    *,
    allowed=True,
    form=NameForm.NONE,
    from_day=date(2026, 9, 1),
):
    """A family says yes or no."""
    with library.writing(who="teacher", what="recorded a release") as writing:
        writing.session.add(
            tables.ReleaseRecord(
                student_id=student_id,
                audience=audience.value,
                allowed=allowed,
                name_form=form.value,
                from_day=from_day,
                source="form",
                recorded_utc=datetime.now(UTC),
            )
        )


def make_show_school(folder: Path, *, children: int = 12) -> tuple[Library, list[int], list[int]]:
    """A class with one pictured work a child, all families allow the web without a name; library, works, students."""
    kept, works, students = _show_school(children)
    shutil.copytree(Path(kept.name) / "library", folder / "library")
    return Library.open(folder / "library"), list(works), list(students)


@cache
def _show_school(children: int) -> tuple[tempfile.TemporaryDirectory, tuple[int, ...], tuple[int, ...]]:
    """Made once in a test run, then copied."""
    kept = tempfile.TemporaryDirectory()
    library = make_library(Path(kept.name))
    class_id, students = make_class(library, children=children)
    works = []
    for number, student_id in enumerate(students, start=1):
        title = f"Boat {number}"
        works.append(make_work(library, class_id=class_id, number=number, student_id=student_id, title=title))
        make_derivatives(library, works[-1])
        allow(library, student_id)
    library.close()
    return kept, tuple(works), tuple(students)


def rename(library: Library, student_id: int, given: str, family: str) -> None:
    """Give a child a name for the test."""
    with library.writing(who="teacher", what="corrected a name") as writing:
        row = writing.session.get(tables.Student, student_id)
        row.given, row.family = seal(given), seal(family)


def make_labels(folder: Path, count: int = 6, **more) -> tuple[Label, ...]:
    """Finished labels with pictures in ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    media = ("Crayon", "Tempera", "Clay", "Collage")
    labels = []
    for index in range(count):
        files = []
        for rung, size in ((336, (336, 252)), (672, (672, 504)), (800, (800, 600))):
            path = folder / f"w{index}-{rung}.jpg"
            path.write_bytes(make_jpeg(*size, hue=40 * index))
            files.append(path)
        values = {
            "key": f"k{index % 10}t2z{index // 10}",
            "maker": "Grade 2 artist",
            "artist": "Grade 2 artist",
            "sign": "K–2" if index % 2 == 0 else "3–5",
            "title": "" if index == 4 else f"Boat on the sea {index}",
            "medium": media[index % 4],
            "words": "I pressd hard so it stayd." if index % 3 == 0 else "",
            "width_mm": 305,
            "height_mm": 229,
            "picture": Picture(tuple(files)),
        }
        labels.append(Label(**{**values, **more}))
    return tuple(labels)


def make_text(audience=Audience.PUBLIC, **more) -> SiteText:
    """The rest of a site."""
    values = {"title": "The Long Wall", "intro": "Our spring show.", "school": "Harbor Road School", "year": "2026–27"}
    return SiteText(audience=audience, **{**values, **more})
