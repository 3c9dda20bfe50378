"""What every command shares: where the library is, how an answer is printed, how trouble ends."""

from __future__ import annotations

import dataclasses
import json
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import date, datetime, time
from enum import Enum
from pathlib import Path
from typing import Annotated, Any, NoReturn

import platformdirs
import typer
from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

from portfolio.archive.library import Library
from portfolio.errors import Exit, PortfolioError, places

LibraryOption = Annotated[
    Path | None,
    typer.Option(
        "--library",
        envvar="PORTFOLIO_LIBRARY",
        help="Where the library is. Default: your data folder.",
        show_default=False,
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for machines.")]

ERR = Console(stderr=True, highlight=False, soft_wrap=True)
OUT = Console(highlight=False, soft_wrap=True)


def library_folder(given: Path | None) -> Path:
    """The folder given, or the user's data folder."""
    return given if given is not None else Path(platformdirs.user_data_dir("portfolio", appauthor=False)) / "library"


@contextmanager
def open_library(given: Path | None, *, write: bool = True) -> Iterator[Library]:
    """The library for one command."""
    with Library.open(library_folder(given), write=write) as library:
        yield library


def answer(value: Any, *, as_json: bool, lines: Iterable[str] = ()) -> None:
    """Print ``value`` as JSON, or ``lines`` for a person."""
    if as_json:
        sys.stdout.write(json.dumps(_plain(value), ensure_ascii=False) + "\n")
        return
    for line in lines:
        OUT.print(line, markup=False)


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: _plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(key): _plain(inner) for key, inner in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [_plain(inner) for inner in value]
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, date | datetime | time):
        return value.isoformat()
    return value


@contextmanager
def progress(words: str, *, total: int | None) -> Iterator[Any]:
    """A progress bar on standard error (none when it is not a terminal); call the value with how many are done."""
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=ERR, transient=True, disable=not ERR.is_terminal) as bar:
        task = bar.add_task(words, total=total)

        def done(count: int, of: int | None = None) -> None:
            bar.update(task, completed=count, total=of if of is not None else total)

        yield done


def fail(error: PortfolioError) -> NoReturn:
    """Say what went wrong in one sentence and end with the status of its kind."""
    ERR.print(error.sentence, markup=False, style=None)
    raise SystemExit(int(error.exit))


def run(app: typer.Typer) -> None:
    """Run the command line. Known trouble ends with its sentence; our own mistakes with a report without names."""
    try:
        app()
    except PortfolioError as error:
        fail(error)
    except KeyboardInterrupt:
        ERR.print("Stopped. Everything stored before is kept.")
        raise SystemExit(130) from None
    except Exception as error:  # noqa: BLE001  the last door: our mistake, told without names or paths
        words = f"Something went wrong in the program ({type(error).__name__}). Nothing was half-filed."
        ERR.print(words, markup=False)
        for place in places(error):
            ERR.print(f"  {place}", markup=False)
        raise SystemExit(int(Exit.PROGRAM)) from None
