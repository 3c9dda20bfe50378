"""``portfolio ingest``: take photos in."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Annotated

import typer

from portfolio.cli.frame import JsonOption, LibraryOption, answer, open_library, progress
from portfolio.errors import Exit, PortfolioError
from portfolio.flows.batches import chosen_for, numbers_in
from portfolio.flows.executors import make_executor
from portfolio.flows.indexing import Words
from portfolio.flows.take_in import BatchReport, adopt_orphans, finish_unfinished, report_as_json, take_in
from portfolio.model.filing import BatchMode, PhotoState, QuestionKind


def ingest(
    paths: Annotated[list[Path], typer.Argument(help="Photos, folders or zip files.", show_default=False)],
    *,
    class_: Annotated[str | None, typer.Option("--class", help="The class, when all photos are of one.")] = None,
    medium: Annotated[str | None, typer.Option(help="The medium, when all works are of one.")] = None,
    center: Annotated[str | None, typer.Option("--center", "--centre", help="The center where they were made.")] = None,
    day: Annotated[str | None, typer.Option(help="The day they were made, e.g. 2026-10-06.")] = None,
    order_of_numbers: Annotated[
        bool, typer.Option("--order-of-numbers", "--order", help="No cards: the photos lie in the order of numbers.")
    ] = False,
    absent: Annotated[str, typer.Option(help="Numbers that were absent, e.g. 3,11.")] = "",
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take photos in: store, read, straighten, file; ask where unsure.

    Example: portfolio ingest DCIM/100PHOTO --class 3B --medium crayon
    """
    with open_library(library) as opened:
        chosen = chosen_for(
            opened,
            class_label=class_,
            medium=medium,
            centre=center,
            day=day_of(day),
            mode=BatchMode.ORDER if order_of_numbers else BatchMode.CARDS,
            absent=numbers_in(absent),
        )
        kind, workers = opened.settings.executor, opened.settings.workers or None
        with make_executor(kind, workers) as executor, progress("Taking photos in", total=None) as bar:
            report = take_in(
                opened, paths, executor=executor, chosen=chosen, told=lambda _what, done, of: bar(done, of)
            )
            if adopt_orphans(opened):
                finish_unfinished(opened, executor=executor)
        words = Words(opened)
        words.catch_up()
        words.close()
    answer(report_as_json(report), as_json=as_json, lines=report_lines(report))
    if report.count(PhotoState.PROBLEM):
        raise typer.Exit(int(Exit.ITEMS))


def day_of(text: str | None) -> date | None:
    """A day as typed, e.g. 2026-10-06."""
    try:
        return date.fromisoformat(text) if text else None
    except ValueError as error:
        raise PortfolioError("bad-request", item="The day", found="it is not like 2026-10-06") from error


def report_lines(report: BatchReport) -> Iterator[str]:
    """What became of a batch, in sentences."""
    filed, slates = report.count(PhotoState.FILED), report.count(PhotoState.SLATE)
    yield f"Batch {report.batch_id}: {filed} filed, {report.questions} to check, {slates} with cards only."
    duplicates = report.count(PhotoState.DUPLICATE)
    if duplicates:
        yield f"{duplicates} came in before and {'was' if duplicates == 1 else 'were'} skipped."
    yield from (f"{check.label}: {check.sentence}." for check in report.checks)
    yield from (hint.sentence for hint in report.hints)
    if any(hint.code == "card-scale" for hint in report.hints):
        yield f"To correct the sizes: 'portfolio check sizes {report.batch_id}'."
    yield from (line.reason or "" for line in report.photos if line.state is PhotoState.PROBLEM)
    if report.left_out:
        yield f"Left out, kept where they are: {', '.join(report.left_out[:8])}{' …' if report.left_out[8:] else ''}."
    if any(line.code == QuestionKind.ORDER.value for line in report.photos):
        yield f"If somebody else was absent, say who: 'portfolio check absent {report.batch_id} 3,11'."
    if report.questions:
        yield "See what is to check with 'portfolio check', or in the app."
