"""A first look at photos whose originals are still on their way: a small picture stands in, so that cards are read and
questions come within seconds; the original takes its place when it is there.

A stand-in is never kept as an original: it lies apart, has a mark of its own, and goes when the original comes. It is
opened in the original's own size in pixels, so what was read, decided and answered holds for the original too; only
the pictures are then made anew, under the names that they had.
"""

from __future__ import annotations

import hashlib
import io
from concurrent.futures import Executor
from pathlib import Path
from typing import Final

from portfolio.archive import photos, works
from portfolio.archive.arriving import Announced
from portfolio.archive.library import Library, Session
from portfolio.archive.originals import Stored
from portfolio.archive.photos import PhotoKept
from portfolio.flows.read_photos import remake
from portfolio.model.filing import PhotoState
from portfolio.reading import BEGINNING_BYTES, stand_in_of

UNDECIDED: Final = frozenset({PhotoState.STORED, PhotoState.PROBLEM})


def take_first_look(library: Library, announced: Announced, *, beginning: bytes, look: bytes) -> int | None:
    """Let a small picture (``look``, JPEG) stand in for an announced file that begins with these bytes; gives the
    photo's id.

    ``None``: it cannot stand in (no JPEG, another shape, a shorter file), or the photo came before: then the original
    is simply waited for. Raises ``DiskError``.
    """
    stand_in = stand_in_of(beginning, look)
    if stand_in is None or announced.is_zip or len(beginning) != min(announced.size_bytes, BEGINNING_BYTES):
        return None
    with library.writing(who="program", what="took a first look", batch_id=announced.batch_id) as writing:
        session = writing.session
        word = _word(beginning)
        same = next((one for one in photos.of_size(session, announced.size_bytes) if _begins(library, one, word)), None)
        if same is not None:
            return same.photo_id if same.is_coming else None
        stored = library.stand_ins.put(io.BytesIO(stand_in.as_bytes), name=announced.name)
        position = photos.next_position(session, announced.batch_id)
        stands_for = Stored(stored.sha256, announced.size_bytes, stored.new)
        return photos.add_photo(
            session, announced.batch_id, stands_for, file_name=announced.name, position=position, coming=word
        )


def _word(beginning: bytes) -> str:
    return hashlib.sha256(beginning).hexdigest()


def _begins(library: Library, one: PhotoKept, word: str) -> bool:
    if one.is_coming:
        return one.coming == word
    path = library.originals.path(one.sha256)
    return path.is_file() and _word(_beginning(path)) == word


def _beginning(path: Path) -> bytes:
    with path.open("rb") as stream:
        return stream.read(BEGINNING_BYTES)


def take_place(library: Library, session: Session, stored: Stored) -> int | None:
    """An original was stored for which a stand-in may have been looked at: it takes its place. Gives the photo's id,
    or ``None`` when nothing stood in for it.
    """
    waiting = [one for one in photos.of_size(session, stored.size_bytes) if one.is_coming]
    if not waiting:
        return None
    word = _word(_beginning(library.originals.path(stored.sha256)))
    one = next((one for one in waiting if one.coming == word), None)
    if one is None:
        return None
    photos.arrive(session, one.sha256, stored)
    return one.photo_id


# --- when originals are there -----------------------------------------------------------------------------------------


def renew_pictures(library: Library, *, executor: Executor) -> tuple[int, ...]:
    """Make the pictures of photos whose original came anew from it; gives finished batches that are to be settled
    again.

    What was decided or answered stays, and so do the names of the pictures. A photo about which nothing is decided yet
    is read from its original as if it had come whole at once.
    """
    with library.reading() as session:
        came = photos.just_came(session)
        views = works.views_of_photos(session, photos.ids_of(came))
    if not came:
        return ()
    open_ones = [one for one in came if one.state in UNDECIDED]
    decided = [one for one in came if one.state not in UNDECIDED]
    remake(library, decided, views, executor=executor)
    with library.writing(who="program", what="made pictures from originals") as writing:
        session = writing.session
        for one in decided:
            photos.renewed(session, one.photo_id)
        for one in open_ones:
            photos.read_anew(session, one.photo_id)
        _forget_stand_ins(library, session)
        batches = {one.batch_id for one in open_ones}
        return tuple(sorted(key for key in batches if photos.batch(session, key).state == "done"))


def _forget_stand_ins(library: Library, session: Session) -> None:
    """Delete those whose original is there. Nobody can put a new one meanwhile: it is put inside a transaction."""
    for sha256 in set(library.stand_ins.all()) - photos.known_digests(session):
        library.stand_ins.path(sha256).unlink(missing_ok=True)
