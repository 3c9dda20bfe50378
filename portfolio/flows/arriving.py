"""Photos that come piece by piece: announced, received over as many connections as it takes, then kept like any other.

A connection may break anywhere, the phone may sleep, this program may be stopped: what came stays, and the sender asks
how much that is. Only a whole file goes on to :func:`portfolio.flows.upload.keep_upload`.
"""

from __future__ import annotations

import contextlib
from collections import Counter
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from portfolio.archive import photos
from portfolio.archive.arriving import Announced as Announced  # noqa: PLC0414  the web names what it announces
from portfolio.archive.arriving import batch_of
from portfolio.archive.library import Library
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.flows.batches import check_batch
from portfolio.flows.take_in import adopt_orphans, check_space
from portfolio.flows.upload import FILES_MAX, FORM_MAX, ZIP_MAX, keep_upload, own_name

COPIES = 2
"""While a whole file becomes an original, its bytes stand on the disk twice."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of a file that came whole: its photos, how many of them came before, and sentences of trouble."""

    photos: tuple[int, ...] = ()
    before: int = 0
    problems: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Progress:
    """How far one file is. ``kept`` is there once it came whole and was dealt with."""

    announced: Announced
    came: int
    expires_utc: datetime
    kept: Kept | None = None


def begin(library: Library, announced: Announced) -> str:
    """Announce a file of a batch; gives the key under which its bytes are taken.

    Refuses, before the first byte, what is empty or too large, more files than one batch takes, a batch that is not
    there, and a file for which the disk has no space (``DiskError``).
    """
    announced = replace(announced, name=own_name(announced.name))
    check_batch(library, announced.batch_id)
    if announced.size_bytes == 0:
        raise Refused("photo-empty", item=announced.name)
    if announced.size_bytes > (ZIP_MAX if announced.is_zip else library.settings.photo_max_mb << 20):
        raise Refused("photo-too-heavy", item=announced.name, found=f"{announced.size_bytes / 1e6:.0f} MB")
    there = library.arriving.of_batch(announced.batch_id)
    if there == 0:
        library.arriving.sweep(now=datetime.now(UTC))
    check_count(there + 1)
    check_space(library, announced.name, more_bytes=COPIES * announced.size_bytes)
    return library.arriving.begin(announced)


def check_count(files: int, *, most: int = FILES_MAX) -> None:
    """Refuses more files than one batch takes."""
    if files > most:
        raise Refused("upload-too-many", item="What was chosen", found=f"more than {most:,}")


def check_chosen(files: int) -> None:
    """Refuses a plain form without photos, or with more than one form takes."""
    if not files:
        raise PortfolioError("folder-without-photos", item="What was chosen")
    check_count(files, most=FORM_MAX)


def see(library: Library, key: str) -> Progress:
    """How far a file is. Raises ``NotFound`` when nobody waits for it any more."""
    arrival = library.arriving.arrival(key)
    told = arrival.told
    kept = Kept(tuple(told["photos"]), told["before"], tuple(told["problems"])) if told is not None else None
    return Progress(arrival.announced, library.arriving.came(key), library.arriving.expires(key), kept)


def check_room(library: Library, progress: Progress) -> None:
    """Refuses (``DiskError``) when the disk has no space for the rest of a file."""
    size = progress.announced.size_bytes
    rest = 0 if progress.kept is not None else COPIES * size - progress.came
    check_space(library, progress.announced.name, more_bytes=rest)


def append(library: Library, key: str, data: bytes) -> None:
    """Put bytes behind those that came. The caller lets one sender at a time do this."""
    library.arriving.append(key, data, name=library.arriving.arrival(key).announced.name)


def finish(library: Library, key: str) -> Kept:
    """Keep a file that came whole; asked again, it says the same. Raises ``DiskError``: it can be finished later."""
    progress = see(library, key)
    if progress.kept is not None:
        return progress.kept
    announced = progress.announced
    if progress.came != announced.size_bytes:
        raise PortfolioError("upload-offset", item=announced.name, found="it is not whole yet")
    library.arriving.sync(key, name=announced.name)
    with library.arriving.opened(key) as stream:
        done = keep_upload(library, announced.batch_id, name=announced.name, stream=stream)
    kept = Kept(done.photos, done.duplicates, tuple(one.sentence for one in done.problems))
    library.arriving.finish(key, {"photos": kept.photos, "before": kept.before, "problems": kept.problems})
    _forget_earlier(library, announced)
    return kept


def recover(library: Library) -> None:
    """After the library was opened and before anything comes in: keep the files that came whole and were not kept
    before the program was stopped, then record the originals that no record speaks of.
    """
    for key in library.arriving.on_their_way():
        with contextlib.suppress(PortfolioError):  # no space yet, or no photo: whoever sends it is told
            progress = see(library, key)
            if progress.came == progress.announced.size_bytes:
                finish(library, key)
    adopt_orphans(library)


def _forget_earlier(library: Library, announced: Announced) -> None:
    """A file that was begun before, cut off, and came whole now need not be waited for any more."""
    for key in library.arriving.on_their_way():
        with contextlib.suppress(NotFound):
            earlier = library.arriving.arrival(key).announced
            if replace(earlier, batch_id=announced.batch_id) == announced:
                library.arriving.drop(key)


def give_up(library: Library, key: str) -> None:
    """The sender gives a file up. What came whole stays kept."""
    see(library, key)
    library.arriving.drop(key)


def by_batch(library: Library, batch_id: int | None = None) -> dict[int, int]:
    """Batch → files that were begun and did not come whole yet, the newest batch first (or only one batch); also those
    that are not waited for any more, as long as a small picture stands in for them.
    """
    begun = Counter(batch_of(key) for key in library.arriving.on_their_way(batch_id))
    with library.reading() as session:
        return dict(sorted((begun | photos.coming_by_batch(session, batch_id)).items(), reverse=True))
