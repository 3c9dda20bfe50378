"""Put a staged site where it is wanted, in one step; never over anything that is not a site of ours."""

from __future__ import annotations

import json
import secrets
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from portfolio.errors import Refused
from portfolio.publish.build import NOTE


def refuse_foreign(folder: Path) -> None:
    """Refuse a place that holds anything but a site built by this program, whole or in part."""
    if not folder.exists():
        return
    if not folder.is_dir():
        raise Refused("site-place-taken", item="The place for the site")
    there = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir()}
    if there and not there <= _listed(folder) | {NOTE}:
        raise Refused("site-place-taken", item="The place for the site")


def _listed(folder: Path) -> set[str]:
    try:
        note = json.loads((folder / NOTE).read_text(encoding="utf-8"))
        return set(note["files"]) if note["made_by"] == "Portfolio" else set()
    except (OSError, ValueError, KeyError, TypeError):
        return set()


@contextmanager
def staging(target: Path) -> Iterator[Path]:
    """An empty folder beside ``target``, gone again afterwards whatever happens. Clears what a crash left there."""
    target.parent.mkdir(parents=True, exist_ok=True)
    for left in target.parent.glob(f".{target.name}.new-*"):
        shutil.rmtree(left, ignore_errors=True)
    staged = target.parent / f".{target.name}.new-{secrets.token_hex(4)}"
    staged.mkdir()
    try:
        yield staged
    finally:
        shutil.rmtree(staged, ignore_errors=True)


def move_into_place(staged: Path, target: Path) -> None:
    """The staged folder becomes ``target``; the one that stood there goes only once the new one stands."""
    old = target.parent / f".{target.name}.old-{secrets.token_hex(4)}"
    if target.exists():
        target.rename(old)
    try:
        staged.rename(target)
    except OSError:
        if old.exists():
            old.rename(target)
        raise
    shutil.rmtree(old, ignore_errors=True)
