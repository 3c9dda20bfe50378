"""The class grid: numbers × media or centers for a span of days; and what is worth knowing before the next lesson."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

from portfolio.model.finding import WorkShown
from portfolio.model.growth import Cell, Grid, Row, WorthKnowing
from portfolio.model.people import RollEntry

FEW = 4
"""Up to so many numbers are named in a sentence; more are counted."""


def class_grid(
    class_label: str,
    roll: Iterable[RollEntry],
    works: Iterable[WorkShown],
    *,
    columns: Sequence[str],
    from_day: date,
    to_day: date,
    column_of: Callable[[WorkShown], str | None] = lambda work: work.medium,
    opened: Mapping[str, bool] | None = None,
) -> Grid:
    """The grid of one class. ``works`` outside the span are left out; a work counts for each of its makers.

    ``columns`` in the order of the room; a medium that was used but is not listed gets its own column at the end.
    ``opened``: column → whether it was open to this class; not said = open.
    """
    entries = sorted(roll, key=lambda entry: entry.number)
    span = [work for work in works if from_day <= work.made_on <= to_day]
    used = {name for work in span if (name := column_of(work))}
    names = (*columns, *sorted(used - set(columns)))
    rows = tuple(_row(entry, span, names, column_of=column_of, opened=opened or {}) for entry in entries)
    unknown = sum(column_of(work) is None for work in span)
    return Grid(class_label, names, rows, from_day, to_day, unknown)


def _row(
    entry: RollEntry,
    span: Sequence[WorkShown],
    names: Sequence[str],
    *,
    column_of: Callable[[WorkShown], str | None],
    opened: Mapping[str, bool],
) -> Row:
    own = [work for work in span if entry.student_id in work.student_ids]
    cells = []
    for name in names:
        days = [work.made_on for work in own if column_of(work) == name]
        cells.append(Cell(len(days), max(days, default=None), open=bool(days) or opened.get(name, True)))
    return Row(entry.number, entry.student_id, tuple(cells), max((work.made_on for work in own), default=None))


def worth_knowing(grid: Grid) -> tuple[WorthKnowing, ...]:
    """Sentences for planning, each with the counts behind it; at most one a subject, small numbers said as small."""
    found = [_nothing_kept(grid), *_untried(grid), _medium_unknown(grid)]
    return tuple(one for one in found if one is not None)


def _nothing_kept(grid: Grid) -> WorthKnowing | None:
    numbers = grid.nothing_kept
    if not numbers or not grid.rows:
        return None
    if len(numbers) == len(grid.rows):
        return WorthKnowing("Nothing is kept of this class in these weeks yet.", (), {"children": len(numbers)})
    counts = {"children": len(numbers), "of": len(grid.rows)}
    if len(numbers) <= FEW:
        verb = "has" if len(numbers) == 1 else "have"
        return WorthKnowing(f"{_listed(numbers)} {verb} nothing kept in these weeks.", numbers, counts)
    text = f"{len(numbers)} of {len(grid.rows)} children have nothing kept in these weeks."
    return WorthKnowing(text, numbers, counts)


def _untried(grid: Grid) -> list[WorthKnowing]:
    """Open columns that nobody, or nearly nobody, has used while the class kept works."""
    found: list[WorthKnowing] = []
    if len(grid.nothing_kept) == len(grid.rows):
        return found
    for name in grid.columns:
        cells = grid.column(name)
        if not any(cell.open for cell in cells):
            continue
        users = [row.number for row, cell in zip(grid.rows, cells, strict=True) if cell.count]
        counts = {"children": len(users), "of": len(grid.rows)}
        if not users:
            found.append(WorthKnowing(f"Nobody has kept {_work_of(name)} in these weeks.", (), counts))
        elif len(users) == 1 and len(grid.rows) >= 10:
            text = f"Only number {users[0]} has kept {_work_of(name)} in these weeks."
            found.append(WorthKnowing(text, tuple(users), counts))
    return found[:3]


def _work_of(column: str) -> str:
    return f"a work in {column}"


def _medium_unknown(grid: Grid) -> WorthKnowing | None:
    count = grid.without_column
    if not count:
        return None
    works = "work has" if count == 1 else "works have"
    return WorthKnowing(f"{count} {works} no medium yet, so the grid may show too little.", (), {"works": count})


def _listed(numbers: Sequence[int]) -> str:
    words = [str(number) for number in numbers]
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
