"""Real pictures without a card: no card may be seen in any of them.

The pictures are those that Debian packages carry, named in ``real_pictures.csv`` (package, path); they are not kept
here. Fetch and unpack them with ``apt-get download PACKAGE`` and ``dpkg-deb -x FILE.deb DIR/PACKAGE``, then say DIR; or
say ``/`` where the packages are installed.
"""

from __future__ import annotations

import csv
import multiprocessing
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import cv2

from portfolio.reading import read_photo

LIST = Path(__file__).with_name("real_pictures.csv")


def real_pictures(folders: Sequence[Path], *, processes: int) -> list[tuple[str, str, str, bool | None]]:
    """Look for cards in every picture of the list that lies in these folders."""
    with LIST.open(encoding="utf-8", newline="") as lines:
        rows = [(row["package"], row["path"]) for row in csv.DictReader(lines)]
    there = [path for package, name in rows if (path := _found(folders, package, name)) is not None]
    with ProcessPoolExecutor(processes, mp_context=multiprocessing.get_context("spawn")) as pool:
        cards = list(pool.map(_cards_in, there, chunksize=8))
    for path, count in zip(there, cards, strict=True):
        if count:
            print(f"{count} seen in {path.name}")
    read = [count for count in cards if count is not None]
    seen = sum(count > 0 for count in read)
    return [
        ("real pictures without a card, read", f"{len(read)} of {len(rows)}", ">= 500", len(read) >= 500),
        ("of those, pictures in which a card is seen", str(seen), "0", seen == 0),
    ]


def _found(folders: Sequence[Path], package: str, name: str) -> Path | None:
    places = (place for folder in folders for place in (folder / package / name, folder / name))
    return next((place for place in places if place.is_file()), None)


def _cards_in(path: Path) -> int | None:
    """How many cards are seen, whatever their status; ``None`` when the picture is refused."""
    cv2.setNumThreads(1)
    reading = read_photo(path, file=path.name)
    return None if reading.problem else len(reading.cards)
