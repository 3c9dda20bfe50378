"""Makers of small libraries for tests: plain rows, straight through the archive."""

from datetime import UTC, date, datetime, time
from pathlib import Path

from portfolio.archive import tables
from portfolio.archive.library import Library
from portfolio.privacy.seal import seal

YEAR_START, YEAR_END = date(2026, 8, 24), date(2027, 6, 11)


def given_name(label: str, number: int) -> str:
    """A made-up given name that no other text holds, e.g. "Vorndbq" for 3B-1."""
    return "Vorn" + _letters(label, number)


def family_name(label: str, number: int) -> str:
    """A made-up family name that no other text holds."""
    return "Quilm" + _letters(label, number)


def _letters(label: str, number: int) -> str:
    return "".join(chr(ord("a") + ord(sign) % 26) for sign in label) + chr(ord("a") + number % 26) + "q"


def make_library(folder: Path) -> Library:
    """An empty library below ``folder``."""
    return Library.create(folder / "library")


def make_class(library: Library, *, label: str = "3B", grade: str = "3", children: int = 24) -> tuple[int, list[int]]:
    """A year (made once), one class and ``children`` children with numbers from 1; gives class id and student ids."""
    with library.writing(who="teacher", what="made a class") as writing:
        session = writing.session
        year = session.get(tables.SchoolYear, 1)
        if year is None:
            year = tables.SchoolYear(label="2026-27", starts_on=YEAR_START, ends_on=YEAR_END, cycle_days=5)
            session.add(year)
            session.flush()
        group = tables.ClassGroup(year_id=year.id, label=label, grade=grade)
        session.add(group)
        session.flush()
        session.add(tables.Slot(class_id=group.id, cycle_day=1, starts_at=time(9, 10), ends_at=time(9, 50)))
        students = [
            tables.Student(given=seal(given_name(label, n)), family=seal(family_name(label, n)))
            for n in range(1, children + 1)
        ]
        session.add_all(students)
        session.flush()
        ids = [student.id for student in students]
        session.add_all(
            tables.Enrolment(student_id=key, class_id=group.id, number=n, from_day=YEAR_START)
            for n, key in enumerate(ids, start=1)
        )
    return group.id, ids


def make_work(
    library: Library,
    *,
    class_id: int,
    number: int,
    student_id: int,
    made_on: date = date(2026, 10, 6),
    title: str = "",
    medium_id: int | None = None,
    reflection: str = "",
) -> int:
    """A work with one view of one photo (bytes are made up from its own number); gives the work's id."""
    with library.writing(who="program", what="filed a photo") as writing:
        session = writing.session
        batch = tables.Batch(created_utc=datetime.now(UTC), source="test", class_id=class_id)
        session.add(batch)
        session.flush()
        stored = library.originals.put(_Bytes(f"{batch.id} {number} {made_on}"), name="photo.jpg")
        photo = tables.Photo(
            sha256=stored.sha256,
            batch_id=batch.id,
            file_name="photo.jpg",
            size_bytes=stored.size_bytes,
            state="filed",
            taken_local=datetime.combine(made_on, time(9, 45)),
            stored_utc=datetime.now(UTC),
        )
        work = tables.Work(class_id=class_id, number=number, made_on=made_on, title=title, medium_id=medium_id)
        session.add_all([photo, work])
        session.flush()
        session.add(tables.View(work_id=work.id, photo_id=photo.id))
        session.add(tables.Maker(work_id=work.id, student_id=student_id))
        if reflection:
            session.add(tables.Reflection(work_id=work.id, student_id=student_id, text=reflection, said_on=made_on))
        session.flush()
    return work.id


class _Bytes:
    """A readable stream of a text's bytes."""

    def __init__(self, text: str) -> None:
        self._left = text.encode()

    def read(self, _count: int) -> bytes:
        given, self._left = self._left, b""
        return given
