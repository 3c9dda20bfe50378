"""How fast does each screen answer in a school of six years? Against the bare framework's answer in the same run.

A library of invented children and works is made with every record that a screen reads (no pictures: they are files of
their own). Each screen is asked many times through the whole app: door, guard, roles, records, template. Wall
milliseconds of one process on this machine; the ratio is to an empty page of the same framework, asked the same way.

    bench.py web                      20,000 works (about two minutes)
    bench.py web --works 2000         a small school
"""

from __future__ import annotations

import argparse
import random
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from datetime import time as clock
from pathlib import Path
from typing import Any

from benches.search import made_up, percentiles
from fastapi import FastAPI
from fastapi.responses import HTMLResponse
from fastapi.testclient import TestClient
from sqlalchemy import insert

from portfolio.archive import room, tables
from portfolio.archive.library import Library
from portfolio.flows import sign_in
from portfolio.privacy.seal import seal
from portfolio.web.app import create_app
from portfolio.web.run import open_desk, warm_up
from portfolio.web.sign_in import COOKIE

BAR_MS = 100.0
ASKED = 30
GRADES = ("K", "1", "2", "3", "4", "5")
LETTERS = "ABCD"
ROOM = 25
"""Children in a class."""
FIRST_YEAR = 2021
TODAY = date(2026, 11, 25)
DOOR = "http://127.0.0.1"


@dataclass(frozen=True)
class School:
    """What was made: ids to ask for, those of the current year last."""

    classes: Sequence[int]
    students: Sequence[int]
    works: Sequence[int]
    batches: Sequence[int]
    questions: Sequence[int]


def run(argv: Sequence[str]) -> int:
    """Print one line a screen; 0 when every one keeps the bar."""
    words = argparse.ArgumentParser(
        prog="bench.py web", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    words.add_argument("--works", type=int, default=20_000)
    words.add_argument("--only", help="only screens whose name holds this")
    words.add_argument("--asked", type=int, default=ASKED, help="how often each screen is asked")
    given = words.parse_args(argv)
    good = True
    with tempfile.TemporaryDirectory() as folder, opened(Path(folder) / "library", given.works) as (client, school):
        bare = percentiles(_times(lambda _: _bare().get("/"), 3 * given.asked))
        print(f"{'bare framework, empty page, ms: median, p95':<46} {bare['p50']:>8.1f} {bare['p95']:>8.1f}")
        print(f"{given.works:,} works; ms to answer{'':<23} {'median':>8} {'p95':>8}   bar p95   times bare (medians)")
        for name, address in screens(school):
            if given.only and given.only not in name:
                continue
            seen = percentiles(_times(lambda at, to=address: _page(client, to(at)), given.asked))  # type: ignore[misc]
            met = seen["p95"] <= BAR_MS
            good &= met
            times = seen["p50"] / max(0.1, bare["p50"])
            line = f"{name:<46} {seen['p50']:>8.1f} {seen['p95']:>8.1f}   <= {BAR_MS:<6.0f} {'ok' if met else 'short'}"
            print(f"{line}   {times:.0f} ×", flush=True)
    return 0 if good else 1


def screens(school: School) -> Iterator[tuple[str, Callable[[int], str]]]:
    """Every screen and the address to ask for the n-th time."""

    def one(keys: Sequence[int], at: int) -> int:
        return keys[(at * 7919) % len(keys)]

    words = ("house", "dragon", "sea", "girafe", "my cat", "blue", "wind")
    now = school.classes[-len(GRADES) * len(LETTERS) :]
    yield "Today", lambda _: "/"
    yield "Add photos", lambda _: "/add"
    yield "a batch of 30", lambda at: f"/add/{one(school.batches, at)}"
    yield "To check", lambda _: "/check"
    yield "Find, nothing asked", lambda _: "/find"
    yield "Find, words", lambda at: f"/find?words={words[at % len(words)]}"
    yield "Find, filters", lambda at: f"/find?grade={GRADES[at % 6]}&color=blue"
    yield "a work", lambda at: f"/works/{one(school.works, at)}"
    yield "Students", lambda at: f"/students?class={GRADES[at % 6]}A"
    yield "a child of six years", lambda at: f"/students/{one(school.students, at)}"
    yield "Classes", lambda _: "/classes"
    yield "a class, its grid", lambda at: f"/classes/{one(now, at)}"
    yield "What I see", lambda at: f"/classes/{one(now, at)}/saw"
    yield "Shows", lambda _: "/shows"
    yield "Report galleries", lambda _: "/reports"
    yield "Settings", lambda _: "/settings"
    yield "Use a phone", lambda _: "/phone"
    yield "Use the camera", lambda _: "/camera"
    yield "the projector's wall", lambda _: "/projector"
    yield "a class by center", lambda at: f"/classes/{one(now, at)}?by=center"
    yield "Settings, the timetable", lambda at: f"/settings/timetable?class_id={one(now, at)}"
    yield "Settings, days off", lambda _: "/settings/days"
    yield "Settings, media", lambda _: "/settings/media"
    yield "Settings, centers", lambda _: "/settings/centers"
    yield "Settings, cards", lambda _: "/settings/cards"
    yield "Settings, releases", lambda at: f"/settings/releases?class_id={one(now, at)}"
    yield "Settings, browsers and stations", lambda _: "/settings/devices"
    yield "Settings, people", lambda _: "/settings/people"
    yield "Settings, backup", lambda _: "/settings/backup"
    yield "Settings, about", lambda _: "/settings/about"


def _page(client: TestClient, address: str) -> None:
    answer = client.get(address)
    assert answer.status_code == 200, (address, answer.status_code)


def _times(ask: Callable[[int], Any], count: int) -> list[float]:
    ask(0)
    found = []
    for at in range(count):
        before = time.perf_counter()
        ask(at)
        found.append((time.perf_counter() - before) * 1000)
    return found


_BARE: list[TestClient] = []


def _bare() -> TestClient:
    """The framework alone, with one page of a few words."""
    if not _BARE:
        app = FastAPI()
        app.add_api_route("/", lambda: HTMLResponse("<!doctype html><title>Empty</title>"))
        _BARE.append(TestClient(app, base_url=DOOR))
    return _BARE[0]


# --- a school of six years --------------------------------------------------------------------------------------------


@contextmanager
def opened(folder: Path, works: int) -> Iterator[tuple[TestClient, School]]:
    """The app over a library with so many works, and a signed-in client."""
    Library.create(folder).close()
    with Library.open(folder) as library:
        school = fill(library, works)
        desk = open_desk(library, today=TODAY)
        warm_up(desk)
        with TestClient(create_app(desk), base_url=DOOR, headers={"Origin": DOOR}, client=("127.0.0.1", 5)) as client:
            client.cookies.set(COOKIE, sign_in.open_demo(library).secret)
            yield client, school


def fill(library: Library, works: int) -> School:
    """Six years, 24 classes a year of 25 children each, the works spread over them with words, views and makers."""
    chance = random.Random(5)  # noqa: S311 - invented records need no secret chance
    with library.writing(who="program", what="made a school") as writing:
        session = writing.session
        room.add_starter(session)
        room.put_setting(session, "school_name", "Bench School")
        kinds = [(one.medium_id, one.label) for one in room.media(session)]
        centers = [one.centre_id for one in room.centres(session)]
        classes, held, students = _people(session)
        rows = _Rows()
        documents = made_up(works)
        for key in range(1, works + 1):
            class_id, year = classes[(key * 17) % len(classes)]
            number = key * 31 % ROOM + 1
            day = date(year, 9, 1) + timedelta(days=chance.randrange(260))
            rows.add_work(
                key,
                class_id=class_id,
                number=number,
                student_id=held[class_id, number],
                day=_past(day),
                medium_id=chance.choice(kinds)[0],
                centre_id=chance.choice(centers),
                document=next(documents),
            )
        rows.put(session)
    return School([key for key, _ in classes], students, range(1, works + 1), rows.batches, rows.questions)


def _past(day: date) -> date:
    """The day itself, or one of the last sixty for a day to come: no day holds more works than lessons bring."""
    return day if day <= TODAY else TODAY - timedelta(days=(day - TODAY).days % 60)


def _people(session: Any) -> tuple[list[tuple[int, int]], dict[tuple[int, int], int], list[int]]:
    """Years, classes, lessons, children who move up a grade each year; gives (class, year), (class, number) → child."""
    classes: list[tuple[int, int]] = []
    held: dict[tuple[int, int], int] = {}
    enrolments, students = [], []
    cohorts: dict[tuple[int, str], list[int]] = {}
    for at, year in enumerate(range(FIRST_YEAR, FIRST_YEAR + 6), start=1):
        first, last = date(year, 8, 24), date(year + 1, 6, 11)
        row = tables.SchoolYear(id=at, label=f"{year}-{(year + 1) % 100}", starts_on=first, ends_on=last)
        session.add_all([row, tables.Term(year_id=at, label="Fall", starts_on=first, ends_on=date(year + 1, 1, 20))])
        session.flush()
        for grade in range(6):
            for letter in LETTERS:
                key = len(classes) + 1
                label = f"{GRADES[grade]}{letter}"
                session.add(tables.ClassGroup(id=key, year_id=at, label=label, grade=GRADES[grade]))
                classes.append((key, year))
                own = cohorts.setdefault((year - grade, letter), [])
                while len(own) < ROOM:
                    students.append(len(students) + 1)
                    own.append(students[-1])
                for number, student in enumerate(own, start=1):
                    held[key, number] = student
                    enrolments.append({"student_id": student, "class_id": key, "number": number, "from_day": first})
                start = clock(8 + grade, 10 * LETTERS.index(letter))
                ends = clock(8 + grade, 10 * LETTERS.index(letter) + 9)
                session.add(tables.Slot(class_id=key, cycle_day=key % 6 + 1, starts_at=start, ends_at=ends))
    names = [{"id": key, "given": seal(f"Given{key}"), "family": seal(f"Family{key % 400}")} for key in students]
    session.flush()
    session.execute(insert(tables.Student), names)
    session.execute(insert(tables.Enrolment), enrolments)
    return classes, held, students[-ROOM * 24 :]


class _Rows:
    """Rows of works, put into the tables at once."""

    def __init__(self) -> None:
        self.tables: dict[Any, list[dict[str, Any]]] = {}
        self.batches: list[int] = []
        self.questions: list[int] = []

    def _add(self, table: Any, **row: Any) -> None:
        self.tables.setdefault(table, []).append(row)

    def add_work(self, key: int, *, student_id: int, document: Any, day: date, **work: Any) -> None:
        """One work with its photo, view, maker, colors, and often words; now and then a question."""
        at, utc = datetime.combine(day, clock(10, 0)), datetime.combine(day, clock(15, 0), UTC)
        batch = (key - 1) // 30 + 1
        if batch not in self.batches[-1:]:
            self.batches.append(batch)
            self._add(tables.Batch, id=batch, created_utc=utc, source="app", mode="cards", state="done", expected=30)
        asks = key % 1000 == 0
        self._add(
            tables.Photo,
            id=key,
            sha256=f"{key:064x}",
            batch_id=batch,
            position=key % 30,
            file_name=f"IMG_{key}.JPG",
            state="question" if asks else "filed",
            stored_utc=utc,
            taken_local=at,
            reading={"cards": [], "crop": None},
            derived_key=f"bench-{key}",
        )
        if asks:
            self.questions.append(len(self.questions) + 1)
            guess = {"what": "work", "class_id": work["class_id"], "numbers": [work["number"]], "day": day.isoformat()}
            rest = {"student_ids": [student_id], "role": "front", "medium_id": None, "centre_id": None}
            rest |= {"joins_photo": None, "joins_work": None}
            self._add(
                tables.QuestionRow,
                kind="half-card",
                batch_id=batch,
                photo_id=key,
                evidence="Only one half of the card can be seen.",
                guess=guess | rest,
                state="open",
                asked_utc=utc,
            )
        size = {"width_mm": 305.0, "height_mm": 229.0}
        self._add(tables.Work, id=key, title=document.title, made_on=day, **size, **work)
        self._add(tables.View, work_id=key, photo_id=key, derived_key=f"bench-{key}")
        self._add(tables.Maker, work_id=key, student_id=student_id)
        self._add(tables.WorkColor, work_id=key, blue=key % 70, red=key % 30)
        self._add(tables.Outbox, work_id=key)
        if key % 2:
            self._add(tables.Reflection, work_id=key, student_id=student_id, text=document.reflection, said_on=day)

    def put(self, session: Any) -> None:
        """Everything, parents first."""
        order = (tables.Batch, tables.Photo, tables.Work, tables.View, tables.Maker, tables.WorkColor, tables.Outbox)
        for table in (*order, tables.Reflection, tables.QuestionRow):
            if self.tables.get(table):
                session.execute(insert(table), self.tables[table])
