"""``portfolio backup`` and ``portfolio restore``: the whole library into a folder of plain files, and back."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from portfolio.cli.frame import ERR, JsonOption, LibraryOption, answer, library_folder, open_library, progress
from portfolio.errors import Exit, LibraryError, Problem
from portfolio.flows import backup as flow
from portfolio.flows.backup import BackedUp, Restored, Told

NAMES = "It holds the children's names and has no password: keep it where you keep class lists."


def backup(
    dest: Annotated[Path, typer.Argument(metavar="DEST", help="A new or empty folder, or the last backup's.")],
    *,
    check: Annotated[
        bool, typer.Option("--check", help="Make none; read every file of the backup again and compare it.")
    ] = False,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Copy the whole library to another disk: records, photos, settings. The app may be open meanwhile.

    Only photos that are new are copied again. Check it with no program of ours: 'sha256sum -c manifest-sha256.txt'.

    Example: portfolio backup /media/stick/art-room
    """
    folder = dest.expanduser().absolute()
    if check:
        with _told() as told:
            bad = flow.check_backup(folder, told=told)
        answer({"bad": _as_json(bad)}, as_json=as_json, lines=_check_lines(bad))
        if bad:
            raise typer.Exit(int(Exit.ITEMS))
        return
    with open_library(library, write=False) as opened, _told() as told:
        done = flow.back_up(opened, folder, told=told)
    answer(_done_as_json(done), as_json=as_json, lines=_done_lines(done))
    if done.problems:
        raise typer.Exit(int(Exit.ITEMS))


def restore(
    source: Annotated[Path, typer.Argument(metavar="FROM", help="The folder of a backup.")],
    target: Annotated[
        Path | None, typer.Argument(metavar="TO", help="A new or empty folder. Default: where the library is.")
    ] = None,
    *,
    leave_out_damaged: Annotated[
        bool, typer.Option("--leave-out-damaged", help="Bring back everything else when files are damaged.")
    ] = False,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make the library of a backup anew in an empty folder. The backup is read and compared first, and never changed.

    Example: portfolio restore /media/stick/art-room ~/art-room
    """
    wanted = (target or library_folder(library)).expanduser().absolute()
    try:
        with _told() as told:
            done = flow.restore(source.expanduser().absolute(), wanted, leave_out_damaged=leave_out_damaged, told=told)
    except LibraryError as error:
        for sentence in flow.told_of_damage(error):
            ERR.print(sentence, markup=False)
        raise
    answer(_restored_as_json(done), as_json=as_json, lines=_restored_lines(done))
    if done.left_out:
        raise typer.Exit(int(Exit.ITEMS))


@contextmanager
def _told() -> Iterator[Told]:
    with progress("Files", total=None) as bar:
        yield lambda _what, done, of: bar(done, of)


def _as_json(problems: tuple[Problem, ...]) -> list[dict[str, str]]:
    return [{"code": one.code, "item": one.item, "sentence": one.sentence} for one in problems]


def _check_lines(bad: tuple[Problem, ...]) -> Iterator[str]:
    yield from (one.sentence for one in bad)
    if not bad:
        yield "Every file of the backup is as it was written."


def _done_as_json(done: BackedUp) -> dict[str, object]:
    return {
        "at": done.at_utc,
        "works": done.works,
        "children": done.children,
        "originals": done.originals,
        "new_originals": done.new_originals,
        "new_bytes": done.new_bytes,
        "problems": _as_json(done.problems),
    }


def _done_lines(done: BackedUp) -> Iterator[str]:
    photos = f"{done.originals} photos, {done.new_originals} of them new"
    yield f"The backup is done and checked: {done.works} works, {photos}."
    yield from (one.sentence for one in done.problems)
    yield NAMES


def _restored_as_json(done: Restored) -> dict[str, object]:
    return {
        "at": done.at,
        "works": done.works,
        "children": done.children,
        "originals": done.originals,
        "rebuilt": done.rebuilt,
        "left_out": _as_json(done.left_out),
    }


def _restored_lines(done: Restored) -> Iterator[str]:
    yield f"The library is back: {done.works} works, {done.children} children, {done.originals} photos."
    yield from (one.sentence for one in done.left_out)
    if done.rebuilt:
        yield "Its records were damaged and were made anew from the files beside the photos. History starts anew."
    yield "Pictures for the screen are made again when the app is opened: portfolio serve"
