"""``portfolio demo``: the invented school, walked down the whole road and opened in the app."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Annotated

import platformdirs
import typer

from portfolio.cli.frame import JsonOption
from portfolio.errors import PortfolioError

WORKS = 300


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
    from portfolio.cli import invented_school  # noqa: PLC0415  the other commands need neither painters nor the app

    day = _day(today)
    folder = library or Path(platformdirs.user_data_dir("portfolio", appauthor=False)) / "invented-school"
    if once:
        invented_school.walk(folder, works=works, today=day, as_json=as_json)
    else:
        invented_school.show(folder, works=works, today=day, port=port, open_browser=not no_open)


def _day(text: str | None) -> date:
    try:
        return date.fromisoformat(text) if text else date.today()  # noqa: DTZ011  the school's own wall time
    except ValueError as error:
        raise PortfolioError("bad-request", item="The day", found="it is not like 2026-11-25") from error
