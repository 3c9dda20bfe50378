"""``portfolio doctor``, ``verify`` and ``reindex``: look after a library."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

import typer

from portfolio.archive import doctor as archive_doctor
from portfolio.archive.doctor import Health, Rebuilt
from portfolio.cli.frame import JsonOption, LibraryOption, answer, library_folder, open_library
from portfolio.errors import Exit
from portfolio.flows.indexing import Words


def doctor(
    *,
    rebuild_from_sidecars: Annotated[
        bool, typer.Option("--rebuild-from-sidecars", help="Make the records anew from the sidecar files.")
    ] = False,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Check a library; or make its records anew when the database is lost.

    Example: portfolio doctor --rebuild-from-sidecars
    """
    if rebuild_from_sidecars:
        rebuilt = archive_doctor.rebuild(library_folder(library))
        answer(rebuilt, as_json=as_json, lines=_rebuilt_lines(rebuilt))
        return
    _check(library, as_json=as_json, whole=False)


def verify(*, library: LibraryOption = None, as_json: JsonOption = False) -> None:
    """Read every original again and compare it with its digest.

    Example: portfolio verify
    """
    _check(library, as_json=as_json, whole=True)


def reindex(*, library: LibraryOption = None, as_json: JsonOption = False) -> None:
    """Build the search index anew. Nothing else is touched.

    Example: portfolio reindex
    """
    with open_library(library) as opened:
        words = Words(opened)
        count = words.rebuild()
        words.close()
    answer({"works": count}, as_json=as_json, lines=[f"The words of {count} works are ready to be searched."])


def _check(library: LibraryOption, *, as_json: bool, whole: bool) -> None:
    with open_library(library) as opened:
        health = archive_doctor.check(opened, whole=whole)
    problems = [{"code": one.code, "item": one.item, "sentence": one.sentence} for one in health.problems]
    value = {"works": health.works, "photos": health.photos, "originals": health.originals, "problems": problems}
    answer(value, as_json=as_json, lines=_health_lines(health, whole=whole))
    if health.problems:
        raise typer.Exit(int(Exit.ITEMS))


def _health_lines(health: Health, *, whole: bool) -> Iterator[str]:
    looked = "every byte read again" if whole else "records compared with the originals"
    yield f"{health.works} works, {health.photos} photos, {health.originals} originals; {looked}."
    yield from (problem.sentence for problem in health.problems)
    if not health.problems:
        yield "Nothing is missing."


def _rebuilt_lines(rebuilt: Rebuilt) -> Iterator[str]:
    yield f"Brought back: {rebuilt.rows.get('work', 0)} works, {rebuilt.rows.get('student', 0)} children."
    if rebuilt.recovered:
        yield f"{rebuilt.recovered} originals had no sidecar; they are kept and will be read again with the next batch."
    if rebuilt.damaged:
        yield f"{len(rebuilt.damaged)} sidecar files could not be read: {', '.join(rebuilt.damaged)}."
    if rebuilt.left_out:
        yield f"{rebuilt.left_out} rows were left out because what they belong to is missing."
    yield "The old database is kept beside the new one. History starts anew."
