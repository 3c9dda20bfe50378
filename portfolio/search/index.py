"""The search index: a cache of the archive's words that can be thrown away and rebuilt.

One process writes, any number of threads and processes read. A batch is one commit, and the outbox position that
it brings the index to is written in that same commit: after a crash the index tells by itself where to go on.
Whatever is torn, missing, of another version or not readable is ``IndexDamaged``; the flow answers by rebuilding
from the archive, which is the truth.

The index file format holds pickles: an index is opened only where this program made it, never from a backup
or a stick. It holds children's sentences (without the names on the roll): it belongs in no export.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import shutil
import threading
import time
from collections.abc import Collection, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, Final

from portfolio.errors import DiskError
from portfolio.search import engine, seal
from portfolio.search.asking import read_question
from portfolio.search.engine import FileStorage, LockError, fields, index, query
from portfolio.search.entry import MAYBE, SURE, Known, entry_of
from portfolio.search.finding import HOMOPHONES, Finder
from portfolio.search.spelling import Speller, model_digest, shipped_speller
from portfolio.search.values import Document, IndexBusy, IndexDamaged, SearchResult
from portfolio.search.view import POSITION_ID, View
from portfolio.search.words import fold, words_of

SCHEMA_VERSION: Final = 2
"""Raise it when an entry's fields or the cutting of words change."""
INDEX_NAME: Final = "words"
SHORTEST_PREFIX: Final = 2
BUILD_MEMORY_MB: Final = 256
BATCH_MEMORY_MB: Final = 32
SEAL_PATIENCE_S: Final = 2.0
"""How long a reader waits for another process to seal the commit it has just made."""
_FULL: Final = {errno.ENOSPC, errno.EDQUOT}
_UNWRITABLE: Final = {errno.EACCES, errno.EPERM, errno.EROFS}


def current_stamp() -> str:
    """Names the version of everything that shapes an index: fields, cutting, spelling model, search library."""
    parts = (SCHEMA_VERSION, model_digest(), engine.whoosh_version(), SURE, MAYBE, HOMOPHONES)
    return hashlib.sha256(repr(parts).encode()).hexdigest()[:24]


class Index:
    """The open index. ``search`` and ``suggest`` may be called from any thread, also while one thread applies."""

    def __init__(self, folder: Path, stamp: str, *, known: Known) -> None:
        self._folder = folder
        self._stamp = stamp
        self._known = known
        self._speller: Speller = shipped_speller()
        self._reading = threading.RLock()
        self._writing = threading.Lock()
        self._place = Path()
        self._whoosh: Any = None
        self._view: View | None = None
        self._prints: dict[str, seal.Print] = {}

    # --- opening and building --------------------------------------------------------------------------------------

    @classmethod
    def open(cls, folder: Path, stamp: str, *, known_words: Collection[str] = ()) -> Index:
        """The index that counts in ``folder``. ``stamp``: :func:`current_stamp`. ``known_words``: the names on the
        roll, kept in memory only; they are never corrected and never stored.

        Raises ``IndexDamaged`` when there is none, or none that this version can read whole.
        """
        opened = cls(folder, stamp, known=Known.of(known_words))
        with opened._reading, _damage_told():
            opened._follow()
        return opened

    @classmethod
    def build(
        cls,
        folder: Path,
        stamp: str,
        *,
        documents: Iterable[Document],
        position: int,
        known_words: Collection[str] = (),
    ) -> Index:
        """Make a new index of all documents beside the old one, then let it count in one step. ``position``: the
        outbox position at which the documents were read. Readers of the old one find the new one by themselves.
        """
        built = cls(folder, stamp, known=Known.of(known_words))
        with _disk_told():
            place = seal.new_folder(folder)
        try:
            with _disk_told(), _damage_told():
                made = index.create_in(str(place), _schema(), indexname=INDEX_NAME)
                built._commit(
                    made,
                    documents,
                    gone=(),
                    position=position,
                    roll=built._known.digest,
                    memory_mb=BUILD_MEMORY_MB,
                )
                seal.write_stamp(place, stamp)
                seal.seal(place, prints={})
                seal.point_at(folder, place)
        except BaseException:
            shutil.rmtree(place, ignore_errors=True)
            raise
        return cls.open(folder, stamp, known_words=known_words)

    def close(self) -> None:
        """Let go of the files. The index cannot be asked afterwards."""
        with self._reading:
            if self._view is not None:
                self._view.close()
            self._view, self._whoosh = None, None

    def know_words(self, known_words: Collection[str]) -> bool:
        """Take a new roll, and give whether the entries hold by it. If not, build the index anew: a word that has
        become a name stands in it, or what was left out as a name is none any more.

        Raises as :meth:`apply`.
        """
        known = Known.of(known_words)
        with self._reading, _damage_told():
            before, self._known, view = self._known, known, self._now()
            position, written = view.position(), view.roll()
            new = known.since(before) if before.digest == written else None
            holds_by_it = new is not None and not any(map(new.names, view.vocabulary))
        if known.digest == written:
            return True
        if holds_by_it:
            self._write((), gone=(), position=position, roll=known.digest)
        return holds_by_it

    # --- writing -------------------------------------------------------------------------------------------------

    def apply(self, upserts: Sequence[Document], deletes: Collection[str], position: int) -> None:
        """Bring the index to an outbox position, in one commit: all of it is seen, or nothing. Applying the same
        batch twice changes nothing. A work both deleted and given is kept as given; given twice, the last counts.

        Raises ``IndexBusy`` when another process writes, ``DiskError`` when the disk is full, ``IndexDamaged`` when
        the index is torn.
        """
        newest = {document.work_id: document for document in upserts}
        self._write(newest.values(), gone={*newest, *deletes}, position=position)

    def compact(self) -> None:
        """Rewrite the whole index without what was deleted: after an erasure no byte of the words is left. Costs about
        as much as a rebuild.
        """
        self._write((), gone=(), position=self.position(), optimize=True)

    def _write(
        self,
        documents: Iterable[Document],
        *,
        gone: Collection[str],
        position: int,
        roll: str | None = None,
        optimize: bool = False,
    ) -> None:
        with self._writing, _disk_told(), _damage_told():
            with self._reading:
                roll = roll or self._now().roll()
                place, made, prints = self._place, self._whoosh, self._prints
            self._commit(
                made,
                documents,
                gone=gone,
                position=position,
                roll=roll,
                memory_mb=BATCH_MEMORY_MB,
                optimize=optimize,
            )
            self._prints = seal.seal(place, prints=prints)

    def _commit(
        self,
        made: Any,
        documents: Iterable[Document],
        *,
        gone: Collection[str],
        position: int,
        roll: str,
        memory_mb: int,
        optimize: bool = False,
    ) -> None:
        writer = _writer(made, memory_mb)
        try:
            # Deleting once by one query and adding plainly costs a tenth of updating one by one.
            writer.delete_by_query(query.Or([query.Term("id", work_id) for work_id in sorted({*gone, POSITION_ID})]))
            for document in documents:
                entry = entry_of(document, speller=self._speller, known=self._known)
                writer.add_document(
                    id=document.work_id,
                    raw=list(entry.raw),
                    text=sorted(entry.text),
                    head=sorted(entry.head),
                    sure=sorted(entry.sure),
                    maybe=sorted(entry.maybe),
                )
            writer.add_document(id=POSITION_ID, position=position, roll=roll)
            writer.commit(optimize=optimize)
        except BaseException:
            _give_up(writer)
            raise

    # --- asking ----------------------------------------------------------------------------------------------------

    def search(self, words: str, *, limit: int | None = 50, allowed_ids: Collection[str] | None = None) -> SearchResult:
        """The works that answer all the words, best first; see :mod:`portfolio.search.finding`."""
        question = read_question(words)
        with self._reading, _damage_told():
            finder = Finder(self._now(), self._speller, self._known)
            return finder.find(question, limit=limit, allowed_ids=allowed_ids)

    def suggest(self, prefix: str, *, limit: int = 10) -> list[str]:
        """Words of the archive that begin as the last word typed, for the box while the teacher types. Fewer than
        two letters suggest nothing. Names on the roll are never suggested.
        """
        typed = words_of(prefix)
        if not typed or prefix[-1:].isspace() or len(fold(typed[-1])) < SHORTEST_PREFIX:
            return []
        with self._reading, _damage_told():
            found = self._now().beginning(typed[-1], limit=limit + len(self._known.words))
        return [word for word in found if not self._known.names(word)][:limit]

    def position(self) -> int:
        """The outbox position that the index has reached."""
        with self._reading, _damage_told():
            return self._now().position()

    # --- following the writer ---------------------------------------------------------------------------------------

    def _now(self) -> View:
        """The newest state. Looking whether there is a newer one costs two short reads of the folder."""
        self._follow()
        newest = int(self._whoosh.latest_generation())
        if self._view is None or self._view.generation != newest:
            kept = self._view.facts if self._view is not None else {}
            fresh = View(self._whoosh.searcher(), speller=self._speller, kept=kept)
            if self._view is not None:
                self._view.close()
            self._view = fresh
        return self._view

    def _follow(self) -> None:
        """Go where the pointer points; check the seal of an index met for the first time."""
        place = seal.pointed_at(self._folder)
        if place == self._place and self._whoosh is not None:
            return
        seal.check_stamp(place, self._stamp)
        prints = _checked(place)
        opened = index.open_dir(str(place), indexname=INDEX_NAME)
        if self._view is not None:
            self._view.close()
        self._place, self._whoosh, self._view, self._prints = place, opened, None, prints


def _schema() -> Any:
    return fields.Schema(
        id=fields.ID(stored=True, unique=True),
        position=fields.STORED(),
        roll=fields.STORED(),
        raw=fields.TEXT(phrase=True),
        text=fields.ID(),
        head=fields.ID(),
        sure=fields.ID(),
        maybe=fields.ID(),
    )


def _checked(place: Path) -> dict[str, seal.Print]:
    give_up = time.monotonic() + SEAL_PATIENCE_S
    while True:
        try:
            names = [path.name for path in seal.sealed_files(place) if path.suffix == ".toc"]
            return seal.check_seal(place, newest=max(names, key=_generation, default="no table of contents"))
        except (IndexDamaged, OSError):
            if time.monotonic() > give_up or not _is_being_written(place):
                raise
            time.sleep(0.05)


def _generation(name: str) -> int:
    digits = name.removesuffix(".toc").rpartition("_")[2]
    return int(digits) if digits.isdigit() else -1


def _is_being_written(place: Path) -> bool:
    """Whether another process holds the write lock, so that an unfitting seal may only be a late one."""
    lock = FileStorage(str(place)).lock(f"{INDEX_NAME}_WRITELOCK")
    if not lock.acquire(blocking=False):
        return True
    lock.release()
    return False


def _writer(made: Any, memory_mb: int) -> Any:
    try:
        return made.writer(limitmb=memory_mb)
    except LockError as error:
        raise IndexBusy from error


def _give_up(writer: Any) -> None:
    """Cancel a write that failed. When even that fails, at least the lock is let go."""
    try:
        writer.cancel()
    except Exception:  # noqa: BLE001 - the first error is the one that is told
        with contextlib.suppress(Exception):
            writer.writelock.release()


@contextlib.contextmanager
def _damage_told() -> Iterator[None]:
    """Any exception of the search library, or of reading its files, means that the index cannot be trusted."""
    try:
        yield
    except (IndexDamaged, IndexBusy, DiskError):
        raise
    except OSError as error:
        if error.errno in _FULL | _UNWRITABLE:
            raise
        raise IndexDamaged(type(error).__name__) from error
    except Exception as error:
        raise IndexDamaged(type(error).__name__) from error


@contextlib.contextmanager
def _disk_told() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        if error.errno in _FULL:
            raise DiskError("disk-full", item="The search index") from error
        if error.errno in _UNWRITABLE:
            raise DiskError("disk-unwritable", found=type(error).__name__) from error
        raise
