"""The committed show of the invented school: build it, and compare a fresh one with it."""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray
from PIL import Image

from portfolio.archive.library import Library
from portfolio.demo.fill import fill
from portfolio.demo.plan import plan_school
from portfolio.demo.show import make_show
from portfolio.flows.executors import make_executor

Dots = NDArray[np.int16]

DAY: Final = date(2026, 11, 25)
FOLDER: Final = Path("demo_gallery")
SCREENS: Final = FOLDER / "screens"
"""Pictures of the app for README.md; no part of the show."""
MAX_BYTES: Final = 4_000_000
_KEY: Final = re.compile(r"works/([a-z0-9]+)\.html")
_NOTE: Final = "about-this-folder.json"
_MEAN_MAX: Final = 3.0
"""Mean difference of two pictures, of 255 levels, that another processor may make (own judgment, no source)."""


def build(folder: Path) -> dict[str, object]:
    """Fill a library that is thrown away afterwards, and publish its show into ``folder``; gives the counts."""
    with tempfile.TemporaryDirectory(prefix="portfolio-gallery-") as place:
        plan = plan_school(today=DAY)
        with Library.create(Path(place) / "library") as library, make_executor("process") as executor:
            counts = fill(library, plan, executor=executor, told=_tell)
            counts.show = make_show(library, plan, folder, light=True)
    return counts.as_json()


def _tell(words: str, done: int, of: int) -> None:
    sys.stderr.write(f"\r{words}: {done} of {of} ")
    sys.stderr.flush()


def differences(one: Path, other: Path) -> Iterator[str]:
    """Where two builds of the show differ, one sentence each; nothing when they are the same show."""
    first, second = _texts(one), _texts(other)
    for name in sorted(first.keys() | second.keys()):
        if name not in first or name not in second:
            yield f"{name} is only in one of them."
        elif first[name] != second[name]:
            yield f"{name} differs."
    yield from _pictures_apart(one, other)


def keys_in_order(folder: Path) -> list[str]:
    """The opaque addresses of the works, in the order of the wall."""
    return list(dict.fromkeys(_KEY.findall((folder / "index.html").read_text(encoding="utf-8"))))


def _texts(folder: Path) -> dict[str, set[str]]:
    """What each kind of page says, as a set of pieces without addresses.

    The order of a wall hangs on the random addresses, and so do the children's words picked for its front page;
    the words of every work are compared on its own page.
    """
    known = re.compile("|".join(map(re.escape, keys_in_order(folder))) or "$^")
    found: dict[str, set[str]] = {}
    for path in sorted(folder.rglob("*")):
        if path.suffix in {".html", ".css", ".js"}:
            name = known.sub("work", path.relative_to(folder).as_posix())
            pieces = re.split(r"[<>{}\n]", known.sub("work", path.read_text(encoding="utf-8")))
            found.setdefault(name, set()).update(
                piece.strip(" ,[]") for piece in pieces if not (name == "index.html" and piece.startswith("“"))
            )
    return found


def _pictures_apart(one: Path, other: Path) -> Iterator[str]:
    """Each picture of one show must have a picture like it in the other, whatever address it has there."""
    others = _pictures(other).values()
    for name, dots in _pictures(one).items():
        apart = min((_apart(dots, fellow) for fellow in others), default=255.0)
        if apart > _MEAN_MAX:
            yield f"{name} differs from every picture of the other by {apart:.1f} levels on average or more."


def _pictures(folder: Path) -> dict[str, Dots]:
    """Each small picture of a show, decoded, under its file's name."""
    found: dict[str, Dots] = {}
    for path in sorted((folder / "pictures").glob("*.jpg")):
        with Image.open(path) as picture:
            found[path.name] = np.asarray(picture.convert("RGB"), np.int16)
    return found


def _apart(one: Dots, other: Dots) -> float:
    return float(np.abs(one - other).mean()) if one.shape == other.shape else 255.0


def _renew(folder: Path) -> dict[str, object]:
    """Build elsewhere, then put the show in the last one's place: a show is never built into a folder that holds
    anything else, and the pictures of the app stay. Gives the counts.
    """
    with tempfile.TemporaryDirectory(prefix="portfolio-gallery-new-") as place:
        fresh = Path(place) / "gallery"
        counts = build(fresh)
        _emptied(folder)
        shutil.copytree(fresh, folder, dirs_exist_ok=True)
    return counts


def _emptied(folder: Path) -> None:
    """Nothing of the last show stays."""
    for path in folder.iterdir() if folder.is_dir() else ():
        if path.is_dir() and path != SCREENS:
            shutil.rmtree(path)
        elif path.is_file():
            path.unlink()


def main(words: list[str]) -> int:
    """Build the gallery, or with ``--check`` compare it with a fresh one."""
    if "--check" not in words:
        counts = _renew(FOLDER)
        weight = sum(path.stat().st_size for path in FOLDER.rglob("*") if path.is_file())
        sys.stdout.write(f"{counts}\n{weight / 1e6:.2f} MB in {FOLDER}\n")
        return 0 if weight <= MAX_BYTES else 1
    with tempfile.TemporaryDirectory(prefix="portfolio-gallery-check-") as place:
        fresh = Path(place) / "gallery"
        build(fresh)
        found = list(differences(FOLDER, fresh))
    sys.stdout.write("".join(f"{line}\n" for line in found) or "The gallery is what the program makes.\n")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
