"""The class grid: numbers × media or centers for a span of days; and what is worth knowing before the next lesson."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date

from portfolio.model.finding import WorkShown
from portfolio.model.growth import Cell, Grid, Row, WorthKnowing
from portfolio.model.people import RollEntry
from portfolio.model.phrases import listed
from portfolio.model.words import LEVELS, Observed

FEW = 4
"""Up to so many numbers are named in a sentence; more are counted. So many observations or fewer are said to be few."""
NAMED = 3
"""Of the columns that nobody has used so many are named."""
MOST_NEEDS = 2
NEEDS_SUPPORT = LEVELS[0]


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
    """The grid of one class. ``works`` outside the span are not counted, earlier ones only say when a column was last
    used; a work counts for each of its makers.

    ``columns`` in the order of the room; a medium that was used but is not listed gets its own column at the end.
    ``opened``: column → whether it was open to this class; not said = open.
    """
    entries = sorted(roll, key=lambda entry: entry.number)
    everything = list(works)
    span = [work for work in everything if from_day <= work.made_on <= to_day]
    used = {name for work in span if (name := column_of(work))}
    names = (*columns, *sorted(used - set(columns)))
    rows = tuple(_row(entry, span, names, column_of=column_of, opened=opened or {}) for entry in entries)
    unknown = sum(column_of(work) is None for work in span)
    before = _last_before(everything, names, {entry.student_id for entry in entries}, from_day, column_of)
    return Grid(class_label, names, rows, from_day, to_day, unknown, before)


def _last_before(
    works: Iterable[WorkShown],
    names: Sequence[str],
    children: set[int],
    from_day: date,
    column_of: Callable[[WorkShown], str | None],
) -> dict[str, date]:
    last: dict[str, date] = {}
    for work in works:
        name = column_of(work)
        if name is not None and name in names and work.made_on < from_day and not children.isdisjoint(work.student_ids):
            last[name] = max(last.get(name, work.made_on), work.made_on)
    return last


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


def worth_knowing(grid: Grid, observations: Iterable[Observed] = ()) -> tuple[WorthKnowing, ...]:
    """Sentences for planning, each with the counts behind it; at most one a subject, small numbers said as small.

    Of ``observations`` those of the grid's children and days count, whatever else is given.
    """
    found = [_nothing_kept(grid), *_untried(grid), *_needs(grid, observations), _medium_unknown(grid)]
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
        return WorthKnowing(f"{listed(numbers)} {verb} nothing kept in these weeks.", numbers, counts)
    text = f"{len(numbers)} of {len(grid.rows)} children have nothing kept in these weeks."
    return WorthKnowing(text, numbers, counts)


def _untried(grid: Grid) -> list[WorthKnowing]:
    """Open columns that nobody, or nearly nobody, has used while the class kept works."""
    found: list[WorthKnowing] = []
    never: list[str] = []
    if len(grid.nothing_kept) == len(grid.rows):
        return found
    for name in grid.columns:
        cells = grid.column(name)
        if not any(cell.open for cell in cells):
            continue
        users = [row.number for row, cell in zip(grid.rows, cells, strict=True) if cell.count]
        counts = {"children": len(users), "of": len(grid.rows)}
        if not users and not _last(grid, name):
            never.append(name)
        elif not users:
            text = f"Nobody has kept {_work_of(name)} in these weeks{_last(grid, name)}."
            found.append(WorthKnowing(text, (), counts))
        elif len(users) == 1 and len(grid.rows) >= 10:
            text = f"Only number {users[0]} has kept {_work_of(name)} in these weeks."
            found.append(WorthKnowing(text, tuple(users), counts))
    return [*found, *_never(never, of=len(grid.rows))][:3]


def _never(names: Sequence[str], *, of: int) -> list[WorthKnowing]:
    """Columns that nobody has used, in one sentence: the first three by name, the rest counted."""
    if not names:
        return []
    more = len(names) - NAMED
    said = [*names[:NAMED], *([f"{more} others"] if more > 1 else names[NAMED:])]
    either = f"{', '.join(said[:-1])} or {said[-1]}" if len(said) > 1 else said[0]
    return [WorthKnowing(f"Nobody has kept a work in {either} in these weeks.", (), {"children": 0, "of": of})]


def _last(grid: Grid, name: str) -> str:
    day = grid.last_before.get(name)
    return f"; the last was in {day:%B} {day.year}" if day else ""


def _needs(grid: Grid, observations: Iterable[Observed]) -> list[WorthKnowing]:
    """What was seen most often to need support: with how many children, never with which, for it is a thing to show
    again to all. Equal counts stand by the alphabet.
    """
    there = {row.student_id for row in grid.rows}
    seen: dict[str, list[int]] = {}
    for one in observations:
        if one.level == NEEDS_SUPPORT and one.student_id in there and grid.from_day <= one.seen_on <= grid.to_day:
            seen.setdefault(one.what, []).append(one.student_id)
    often = sorted(seen.items(), key=lambda need: (-len(set(need[1])), need[0]))[:MOST_NEEDS]
    return [_need(what, children, of=len(grid.rows)) for what, children in often]


def _need(what: str, children: list[int], *, of: int) -> WorthKnowing:
    who, times = len(set(children)), len(children)
    few = f" That rests on {'one observation' if times == 1 else f'{times} observations'} only." if times <= FEW else ""
    text = f"“{what}” was seen to need support with {who} of {of} children in these weeks.{few}"
    return WorthKnowing(text, (), {"children": who, "of": of, "observations": times})


def _work_of(column: str) -> str:
    return f"a work in {column}"


def _medium_unknown(grid: Grid) -> WorthKnowing | None:
    count = grid.without_column
    if not count:
        return None
    works = "work has" if count == 1 else "works have"
    return WorthKnowing(f"{count} {works} no medium yet, so the grid may show too little.", (), {"works": count})
