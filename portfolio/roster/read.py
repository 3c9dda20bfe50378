"""Read a roster, whatever it is: a OneRoster folder or zip file, or one CSV from any spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path

from portfolio.errors import NotFound
from portfolio.roster.columns import Form, guess_columns
from portfolio.roster.oneroster import FILES, NEEDED, read_oneroster
from portfolio.roster.parts import is_zip, open_parts, read_file
from portfolio.roster.spreadsheet import guess_roster, read_spreadsheet
from portfolio.roster.table import Table, read_table
from portfolio.roster.values import Guess, RosterFile


def is_oneroster(path: Path) -> bool:
    """Whether a path is read as a OneRoster set: a folder, a zip file, or one of a set's files beside the others."""
    if not path.exists():
        raise NotFound("path-missing", item=path.name)
    if path.is_dir() or is_zip(path):
        return True
    return path.name.casefold() in NEEDED and all((path.parent / name).is_file() for name in NEEDED)


def look_at_roster(
    path: Path, *, columns: Mapping[str, int] | None = None, class_label: str | None = None
) -> Guess | None:
    """How a spreadsheet would be read, to be shown before it is applied; ``None`` for a OneRoster set."""
    if is_oneroster(path):
        return None
    return guess_roster(_table(path), named=columns, class_label=class_label)


def read_roster(
    path: Path,
    *,
    today: date,
    year: str | None = None,
    columns: Mapping[str, int] | None = None,
    class_label: str | None = None,
    grade: str | None = None,
) -> RosterFile:
    """Everything a roster tells that may be kept.

    ``columns`` (meaning → column, from 1) wins over the guess; ``class_label`` and ``grade`` stand in for a list of
    one class. What cannot be read at all is refused with a sentence; bad lines are problems, good ones come in.
    """
    if is_oneroster(path):
        folder = path.parent if path.is_file() and not is_zip(path) else path
        return read_oneroster(open_parts(folder, wanted=FILES), file=path.name, year=year, today=today)
    table = _table(path)
    guess = guess_roster(table, named=columns, class_label=class_label)
    return read_spreadsheet(table, guess, class_label=class_label, grade=grade)


def read_form(path: Path, form: Form, *, columns: Mapping[str, int] | None = None) -> tuple[Table, Guess]:
    """A calendar, timetable or list of releases as a table, with what its columns are taken for."""
    table = _table(path)
    return table, guess_columns(table, form, named=columns)


def _table(path: Path) -> Table:
    return read_table(read_file(path), file=path.name)
