"""``portfolio find``: find works by words and filters."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from portfolio.archive.library import Library
from portfolio.cli.frame import JsonOption, LibraryOption, answer, library_folder
from portfolio.errors import LibraryError
from portfolio.flows.find import filters_of, found_as_json
from portfolio.flows.find import find as find_works
from portfolio.flows.indexing import Words
from portfolio.model.finding import Found

TIER_WORDS = {
    "exact": "spelled this way",
    "children": "children's spelling",
    "maybe": "maybe",
    "name": "by this child",
    "": "",
}


def find(
    words: Annotated[list[str] | None, typer.Argument(help="Words of a reflection, title, tag or observation.")] = None,
    *,
    student: Annotated[int | None, typer.Option(help="Id of a student.")] = None,
    class_: Annotated[str | None, typer.Option("--class", help="A class, e.g. 3B.")] = None,
    grade: Annotated[str | None, typer.Option(help="A grade, e.g. K or 3.")] = None,
    year: Annotated[str | None, typer.Option(help="A school year, e.g. 2026-27.")] = None,
    medium: Annotated[str | None, typer.Option(help="A medium, e.g. tempera.")] = None,
    color: Annotated[str | None, typer.Option(help="Mostly this color, e.g. blue.")] = None,
    center: Annotated[str | None, typer.Option(help="A center, e.g. drawing.")] = None,
    size: Annotated[str | None, typer.Option(help="small, medium, large, about or unmeasured.")] = None,
    limit: Annotated[int, typer.Option(min=1, max=10_000, help="How many works to list.")] = 60,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Find works.

    Example: portfolio find giraffe --grade 2 --medium tempera
    """
    asked = {"student": student, "class": class_, "grade": grade, "year": year, "medium": medium}
    filters = filters_of({**asked, "color": color, "center": center, "size": size})
    with opened_for_asking(library) as (opened, index):
        found = find_works(opened, index, " ".join(words or ()), filters=filters, limit=limit)
    value = {"total": found.total, "works": [found_as_json(one) for one in found.works]}
    answer(value, as_json=as_json, lines=_lines(found))


@contextmanager
def opened_for_asking(given: Path | None) -> Iterator[tuple[Library, Words]]:
    """The library and its index, brought up to date; beside an open app, as the app keeps them."""
    try:
        library = Library.open(library_folder(given))
    except LibraryError as error:
        if error.code != "library-in-use":
            raise
        with Library.open(library_folder(given), write=False) as beside:
            yield beside, Words(beside, write=False)
        return
    with library:
        index = Words(library)
        index.catch_up()
        yield library, index
        index.close()


def _lines(found: Found) -> Iterator[str]:
    if found.showing_for:
        yield f"No work has this word. Showing '{found.showing_for}'."
    if not found.total:
        yield "No work has this word. Try one letter less, or a color."
        return
    for one in found.works:
        work = one.work
        said = f"  ({TIER_WORDS[one.tier]})" if TIER_WORDS[one.tier] else ""
        what = f"{work.title or 'no title yet'}, {work.medium or 'medium not known'}"
        yield f"{work.class_label}-{work.number:<3} {work.made_on}  {what}{said}"
    if found.total > len(found.works):
        yield f"{len(found.works)} of {found.total} works. Use --limit to see more."
