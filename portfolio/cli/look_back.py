"""``portfolio timeline`` and ``portfolio class``: look back on a child's years and a class's term."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

import typer

from portfolio.cli.frame import JsonOption, LibraryOption, answer, open_library
from portfolio.flows import look_back
from portfolio.flows.look_back import ClassPage, StudentPage

TALLY_MAX = 5


def timeline(
    student: Annotated[str, typer.Argument(help="A student: an id, or class and number like 3B-14.")],
    *,
    year: Annotated[str | None, typer.Option(help="The school year of class and number.")] = None,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show one child's years: works, words, what was tried.

    Example: portfolio timeline 3B-14 --year 2026-27
    """
    with open_library(library, write=False) as opened:
        page = look_back.student_page(opened, look_back.resolve(opened, student, year=year))
    answer(look_back.timeline_as_json(page), as_json=as_json, lines=_timeline_lines(page))


def class_(
    label: Annotated[str, typer.Argument(metavar="CLASS", help="A class, e.g. 3B.")],
    *,
    year: Annotated[str | None, typer.Option(help="The school year.")] = None,
    whole_year: Annotated[bool, typer.Option("--whole-year", help="The whole year instead of this term.")] = False,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show the class grid: who has what, who has nothing yet.

    Example: portfolio class 3B
    """
    with open_library(library, write=False) as opened:
        page = look_back.class_page(opened, label, year=year, whole_year=whole_year)
    answer(look_back.class_as_json(page), as_json=as_json, lines=_class_lines(page))


def _timeline_lines(page: StudentPage) -> Iterator[str]:
    if not page.years:
        yield "Nothing kept yet."
    for year in page.years:
        yield f"{year.year}  {year.class_label}, number {year.number}"
        for work in year.works:
            yield f"  {work.made_on}  {work.title or 'no title yet'}, {work.medium or 'medium not known'}"
            yield from (f"      “{line.text}”" for _, line in page.said.get(work.work_id, ()))
    tried = [f"{one.medium} {one.count}" for one in page.tried if one.count]
    not_yet = [one.medium for one in page.tried if not one.count]
    if tried:
        yield f"Tried: {', '.join(tried)}."
    if not_yet:
        yield f"Not yet: {', '.join(not_yet)}."


def _class_lines(page: ClassPage) -> Iterator[str]:
    grid = page.grid
    yield f"{page.group.label}, {page.span} ({grid.from_day} to {grid.to_day})"
    yield from (one.sentence for one in page.sentences)
    used = [place for place, _ in enumerate(grid.columns) if any(row.cells[place].count for row in grid.rows)]
    yield "     " + "  ".join(grid.columns[place] for place in used)
    for row in grid.rows:
        marks = [_tally(row.cells[place].count).ljust(len(grid.columns[place])) for place in used]
        yield f"{row.number:>3}  " + "  ".join(marks).rstrip()


def _tally(count: int) -> str:
    return "·" if not count else "|" * count if count <= TALLY_MAX else str(count)
