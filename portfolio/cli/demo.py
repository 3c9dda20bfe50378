"""``portfolio demo``: the invented school, walked down the whole road and opened in the app.

The school and the app are imported where they are used: every other command starts without them.
"""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import platformdirs
import typer

from portfolio.archive.library import Library
from portfolio.cli.frame import ERR, OUT, JsonOption, answer, progress
from portfolio.errors import LibraryError, PortfolioError
from portfolio.flows.executors import make_executor

if TYPE_CHECKING:
    from portfolio.demo.fill import Counts
    from portfolio.demo.plan import SchoolPlan
    from portfolio.web.desk import Desk

WORKS = 300
MARKER = "invented-school"
"""A file that says: this library is the invented school's, and may be made anew."""


def demo(
    *,
    library: Annotated[Path | None, typer.Option("--library", help="Where to put it.", show_default=False)] = None,
    once: Annotated[
        bool, typer.Option("--once", help="Walk the road, print the counts of each step, and end.")
    ] = False,
    works: Annotated[int, typer.Option(min=12, max=2000, help="About how many works.")] = WORKS,
    today: Annotated[
        str | None, typer.Option(help="The day it stands on, e.g. 2026-11-25.", show_default=False)
    ] = None,
    port: Annotated[
        int | None, typer.Option(min=0, max=65535, help="Port on this computer.", show_default=False)
    ] = None,
    no_open: Annotated[bool, typer.Option("--no-open", help="Do not open the browser.")] = False,
    as_json: JsonOption = False,
) -> None:
    """Build the invented school and open it in the app.

    Its works are painted by code and photographed by a simulated camera; then they are taken in like any photos.

    Example: portfolio demo --once --library demo-library --json
    """
    from portfolio.demo.fill import is_filled  # noqa: PLC0415
    from portfolio.demo.plan import plan_school  # noqa: PLC0415
    from portfolio.web.run import serve  # noqa: PLC0415

    day = _day(today)
    folder = library or Path(platformdirs.user_data_dir("portfolio", appauthor=False)) / "invented-school"
    plan = plan_school(today=day, works=works)
    if not is_filled(folder):
        _make_empty(folder)
    if once:
        counts = _walk(folder, plan)
        answer(counts.as_json(), as_json=as_json, lines=_lines(counts))
        return
    serve(
        folder,
        port=port,
        open_browser=not no_open,
        demo=True,
        today=day,
        alongside=None if is_filled(folder) else lambda desk: _fill_alongside(desk, plan),
        say=lambda line: OUT.print(line, markup=False),
    )


def _day(text: str | None) -> date:
    try:
        return date.fromisoformat(text) if text else date.today()  # noqa: DTZ011  the school's own wall time
    except ValueError as error:
        raise PortfolioError("bad-request", item="The day", found="it is not like 2026-11-25") from error


def _make_empty(folder: Path) -> None:
    """An empty library for the invented school; one that was begun and not finished is made anew."""
    if (folder / MARKER).is_file():
        shutil.rmtree(folder)
    elif folder.exists() and any(folder.iterdir()):
        raise LibraryError("library-exists")
    from portfolio.demo.plan import SCHOOL_NAME  # noqa: PLC0415

    Library.create(folder).close()
    (folder / MARKER).write_text(f"{SCHOOL_NAME} is invented. This folder may be deleted.\n", encoding="utf-8")


def _walk(folder: Path, plan: SchoolPlan) -> Counts:
    from portfolio.demo.fill import fill  # noqa: PLC0415
    from portfolio.demo.show import make_show  # noqa: PLC0415

    with Library.open(folder) as library, make_executor("process") as executor:
        with progress("The invented school", total=len(plan.lessons)) as bar:
            counts = fill(library, plan, executor=executor, told=lambda _what, done, of: bar(done, of))
        counts.show = make_show(library, plan, folder / "published" / "show")
    return counts


def _fill_alongside(desk: Desk, plan: SchoolPlan) -> None:
    """Fill the library while the app is open. Trouble is said in the console; what is filled stays."""
    from portfolio.demo.fill import fill  # noqa: PLC0415
    from portfolio.demo.show import make_show  # noqa: PLC0415

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
    from portfolio.demo.plan import SCHOOL_NAME  # noqa: PLC0415

    value: dict[str, Any] = counts.as_json()
    yield f"{SCHOOL_NAME}: {counts.classes} classes in 3 years, {counts.children} children this year."
    yield f"{counts.photos} photos taken in: {counts.filed} filed, {counts.slates} slates, {counts.problems} problems."
    yield f"{counts.questions} questions asked; {counts.answered} answered, the rest wait in To check."
    yield f"{counts.reflections} reflections kept, {counts.reflections_asked} of them to be matched by hand."
    yield f"{counts.indexed} works can be found."
    yield f"The show: {value['show']}"
