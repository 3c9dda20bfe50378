"""The invented school behind ``portfolio demo``: made, walked down the whole road, opened in the app."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

from portfolio.archive.library import Library
from portfolio.cli.frame import ERR, OUT, answer, progress
from portfolio.demo.fill import Counts, fill, is_filled
from portfolio.demo.plan import SCHOOL_NAME, SchoolPlan, plan_school
from portfolio.demo.show import make_show
from portfolio.errors import LibraryError, PortfolioError
from portfolio.flows.executors import make_executor
from portfolio.web.desk import Desk
from portfolio.web.run import serve

MARKER = "invented-school"
"""A file that says: this library is the invented school's, and may be made anew."""


def walk(folder: Path, *, works: int, today: date, as_json: bool) -> None:
    """Walk the road once, and say the counts of each step."""
    plan = _begun(folder, works=works, today=today)
    counts = _walk(folder, plan)
    answer(counts.as_json(), as_json=as_json, lines=_lines(counts))


def show(folder: Path, *, works: int, today: date, port: int | None, open_browser: bool) -> None:
    """Open the school in the app; an empty one fills while it is looked at."""
    plan = _begun(folder, works=works, today=today)
    serve(
        folder,
        port=port,
        open_browser=open_browser,
        demo=True,
        today=today,
        alongside=None if is_filled(folder) else lambda desk: _fill_alongside(desk, plan),
        say=lambda line: OUT.print(line, markup=False),
    )


def _begun(folder: Path, *, works: int, today: date) -> SchoolPlan:
    plan = plan_school(today=today, works=works)
    if not is_filled(folder):
        _make_empty(folder)
    return plan


def _make_empty(folder: Path) -> None:
    """An empty library for the invented school; one that was begun and not finished is made anew."""
    if (folder / MARKER).is_file():
        shutil.rmtree(folder)
    elif folder.exists() and any(folder.iterdir()):
        raise LibraryError("library-exists")
    Library.create(folder).close()
    (folder / MARKER).write_text(f"{SCHOOL_NAME} is invented. This folder may be deleted.\n", encoding="utf-8")


def _walk(folder: Path, plan: SchoolPlan) -> Counts:
    with Library.open(folder) as library, make_executor("process") as executor:
        with progress("The invented school", total=len(plan.lessons)) as bar:
            counts = fill(library, plan, executor=executor, told=lambda _what, done, of: bar(done, of))
        counts.show = make_show(library, plan, folder / "published" / "show")
    return counts


def _fill_alongside(desk: Desk, plan: SchoolPlan) -> None:
    """Fill the library while the app is open. Trouble is said in the console; what is filled stays."""
    desk.tell_filling("The invented school is being set up", 0, sum(len(lesson.works) for lesson in plan.lessons))
    try:
        with make_executor("process") as executor:
            fill(desk.library, plan, executor=executor, told=desk.tell_filling)
            make_show(desk.library, plan, desk.library.published / "show")
    except PortfolioError as error:
        ERR.print(error.sentence, markup=False)
    finally:
        desk.words.catch_up()
        desk.tell_filling("", 0, 0)


def _lines(counts: Counts) -> Iterator[str]:
    value: dict[str, Any] = counts.as_json()
    yield f"{SCHOOL_NAME}: {counts.classes} classes in 3 years, {counts.children} children this year."
    yield f"{counts.photos} photos taken in: {counts.filed} filed, {counts.slates} slates, {counts.problems} problems."
    yield f"{counts.questions} questions asked; {counts.answered} answered, the rest wait in To check."
    yield f"{counts.reflections} reflections kept, {counts.reflections_asked} of them to be matched by hand."
    yield f"{counts.indexed} works can be found."
    yield f"The show: {value['show']}"
