"""A small art room for the app's tests: two years, three classes, works with pictures, words, and a question."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path

from PIL import Image, ImageDraw

from portfolio.archive import room, settings, tables
from portfolio.archive.library import Library
from portfolio.archive.settings import Settings
from portfolio.archive.works import derived_path
from portfolio.privacy.seal import seal

TODAY = date(2026, 10, 6)
CHILDREN = 12
GIVEN = (
    "Oluwaseun",
    "Marisol",
    "Thaddeus",
    "Linnea",
    "Kofi",
    "Anneliese",
    "Dashiell",
    "Priyanka",
    "Bao",
    "Wilhelmina",
    "Jorge",
    "Saoirse",
)
FAMILY = (
    "Zellweger",
    "Quintanilla",
    "Abernathy",
    "Okonkwo",
    "Vandermeer",
    "Lindqvist",
    "Castellano",
    "Bhattacharya",
    "Nguyen",
    "Fitzwilliam",
    "Ybarra",
    "Delacroix",
)
SHEETS = ((305.0, 229.0), (229.0, 305.0), (457.0, 305.0), (150.0, 140.0))
TITLES = ("Dragon with six legs", "", "My house in wind", "The sea", "Fox", "Kites for my sister")
WORDS = (
    "I made the wind go sidways. The house is brav becus it has a red cote.",
    "",
    "It is seeds when they are still asleep.",
)


@dataclass(frozen=True)
class Room:
    """What was made: ids to ask for."""

    library: Library
    classes: dict[str, int]
    students: tuple[int, ...]
    works: tuple[int, ...]
    photos: tuple[int, ...]


@contextmanager
def open_room(folder: Path) -> Iterator[Room]:
    """A library with the small art room in it, closed afterwards."""
    with Library.create(folder / "library"):
        settings.save(folder / "library", Settings(executor="thread", workers=1, free_space_mb=1))
    with Library.open(folder / "library") as library:
        yield furnish(library)


def furnish(library: Library) -> Room:
    """Fill an empty library."""
    with library.writing(who="teacher", what="made a school") as writing:
        session = writing.session
        room.put_setting(session, "school_name", "Tern Street School")
        room.add_starter(session)
        years = [
            tables.SchoolYear(label="2025-26", starts_on=date(2025, 8, 25), ends_on=date(2026, 6, 12)),
            tables.SchoolYear(label="2026-27", starts_on=date(2026, 8, 24), ends_on=date(2027, 6, 11)),
        ]
        session.add_all(years)
        session.flush()
        session.add(
            tables.Term(year_id=years[1].id, label="Fall term", starts_on=date(2026, 8, 24), ends_on=date(2027, 1, 22))
        )
        groups = {
            "2A": tables.ClassGroup(year_id=years[0].id, label="2A", grade="2"),
            "3B": tables.ClassGroup(year_id=years[1].id, label="3B", grade="3"),
            "3C": tables.ClassGroup(year_id=years[1].id, label="3C", grade="3"),
        }
        session.add_all(groups.values())
        session.flush()
        cycle = 30 % 6 + 1
        for day in range(1, 7):
            session.add(
                tables.Slot(class_id=groups["3B"].id, cycle_day=day, starts_at=time(9, 10), ends_at=time(9, 55))
            )
            session.add(
                tables.Slot(class_id=groups["3C"].id, cycle_day=day, starts_at=time(10, 5), ends_at=time(10, 50))
            )
        assert cycle
        students = [tables.Student(given=seal(g), family=seal(f)) for g, f in zip(GIVEN, FAMILY, strict=True)]
        session.add_all(students)
        session.flush()
        for number, student in enumerate(students, start=1):
            session.add(
                tables.Enrolment(
                    student_id=student.id,
                    class_id=groups["2A"].id,
                    number=CHILDREN + 1 - number,
                    from_day=years[0].starts_on,
                )
            )
            session.add(
                tables.Enrolment(
                    student_id=student.id, class_id=groups["3B"].id, number=number, from_day=years[1].starts_on
                )
            )
        ids = {label: group.id for label, group in groups.items()}
        keys = tuple(student.id for student in students)
    works, photos = _works(library, ids, keys)
    return Room(library, ids, keys, works, photos)


def _works(
    library: Library, classes: dict[str, int], students: tuple[int, ...]
) -> tuple[tuple[int, ...], tuple[int, ...]]:
    works, photos = [], []
    plan = [("2A", date(2025, 10, 7), n) for n in range(1, 9)] + [("3B", TODAY, n) for n in range(1, 8)]
    plan += [("3B", date(2026, 9, 15), n) for n in (1, 2, 3, 1, 1)]
    for at, (label, day, number) in enumerate(plan):
        student = students[CHILDREN - number] if label == "2A" else students[number - 1]
        work, photo = make_work(library, at=at, class_id=classes[label], number=number, student_id=student, day=day)
        works.append(work)
        photos.append(photo)
    return tuple(works), tuple(photos)


def make_work(library: Library, *, at: int, class_id: int, number: int, student_id: int, day: date) -> tuple[int, int]:
    """One work with its photo, its pictures, a medium and sometimes words; gives work and photo."""
    size = SHEETS[at % len(SHEETS)]
    text = WORDS[at % len(WORDS)]
    with library.writing(who="program", what="filed a photo") as writing:
        session = writing.session
        batch = tables.Batch(created_utc=datetime.now(UTC), source="test", class_id=class_id, state="done", expected=1)
        session.add(batch)
        session.flush()
        stored = library.originals.put(io.BytesIO(painted(at, 1200, 900)), name="photo.jpg")
        photo = tables.Photo(
            sha256=stored.sha256,
            batch_id=batch.id,
            file_name=f"IMG_{at:04}.jpg",
            size_bytes=stored.size_bytes,
            state="filed",
            taken_local=datetime.combine(day, time(9, 40)),
            stored_utc=datetime.now(UTC),
            reading={"cards": []},
            reason=f"Both halves of the card say {number}.",
        )
        work = tables.Work(
            class_id=class_id,
            number=number,
            made_on=day,
            title=TITLES[at % len(TITLES)],
            medium_id=at % 5 + 1,
            centre_id=at % 3 + 1,
            width_mm=size[0],
            height_mm=size[1],
        )
        session.add_all([photo, work])
        session.flush()
        key = f"{stored.sha256[:24]}"
        session.add(tables.View(work_id=work.id, photo_id=photo.id, derived_key=key))
        session.add(tables.Maker(work_id=work.id, student_id=student_id))
        session.add(tables.WorkColor(work_id=work.id, blue=60, white=30))
        session.add(tables.Outbox(work_id=work.id))
        if text:
            session.add(tables.Reflection(work_id=work.id, student_id=student_id, text=text, said_on=day))
        session.flush()
        found = work.id, photo.id
    scale = max(size)
    for rung in (336, 672, 2016):
        path = derived_path(library.derived, key, rung)
        path.parent.mkdir(parents=True, exist_ok=True)
        px = min(rung, 700)
        path.write_bytes(painted(at, round(px * size[0] / scale), round(px * size[1] / scale)))
    return found


def painted(seed: int, width: int, height: int) -> bytes:
    """A plain made-up picture as JPEG bytes; another seed gives another picture."""
    picture = Image.new("RGB", (width, height), (248, 246, 240))
    pen = ImageDraw.Draw(picture)
    for step in range(7):
        mixed = (seed * 7919 + step * 104729) % 2**20
        x, y, r = mixed % width, (mixed // 7) % height, width // 12 + mixed % (width // 8)
        pen.ellipse((x - r, y - r, x + r, y + r), fill=(mixed % 200, (mixed // 3) % 200, (mixed // 11) % 220))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=80)
    return out.getvalue()
