"""Keep the search index up with the archive: follow the outbox, rebuild when it is stale or torn."""

from __future__ import annotations

import logging
import threading
from collections.abc import Collection, Iterable, Iterator
from typing import Final

from portfolio.archive import finding, history, outbox, people
from portfolio.archive.library import Library, Session
from portfolio.errors import DiskError, LibraryError
from portfolio.model.finding import Filters
from portfolio.privacy.asking import words_of_names
from portfolio.search import Document, Index, IndexBusy, IndexDamaged, SearchResult, current_stamp

log = logging.getLogger(__name__)

BATCH = 500
"""Works in one commit of the index."""
STOPPED: Final = (DiskError, IndexDamaged, IndexBusy, OSError)
"""What keeps the index from being brought up or asked: a full disk, a folder not to be written, another process."""


class Words:
    """The search index of one open library. Any thread may ask; one at a time brings it up to date."""

    def __init__(self, library: Library, *, write: bool = True) -> None:
        self._library = library
        self._write = write
        self._lock = threading.Lock()
        self._index: Index | None = None
        self._roll_read = -1
        """The newest change in the records by which the roll was taken over into the index; -1 = none yet."""

    def catch_up(self) -> int:
        """Bring the index to the newest state of the records; gives how many works were indexed.

        A missing, torn or stale index is built anew: it is never the only copy of anything. So is one in which a
        word stands that has become a child's name.
        """
        with self._lock:
            try:
                index = self._opened()
                with self._library.reading() as session:
                    ahead = index.position() > outbox.newest(session)
                return self._rebuild() if ahead or not self._takes_roll(index) else self._follow(index)
            except IndexDamaged:
                return self._rebuild()
            except IndexBusy:  # another process is at it already
                return 0

    def is_current(self) -> bool:
        """Bring the index to the newest state; ``False`` when something keeps it from that. Then it knows what it knew,
        and the next call tries again.
        """
        try:
            self.catch_up()
        except STOPPED as error:
            log.warning("the index of words stopped: %s", type(error).__name__)
            return False
        return True

    def rebuild(self) -> int:
        """Build the index anew from the records; gives how many works it holds."""
        with self._lock:
            return self._rebuild()

    def search(
        self, words: str, *, allowed_ids: Collection[int] | None = None, limit: int | None = None
    ) -> SearchResult:
        """Ask the index; ids are those of works."""
        allowed = None if allowed_ids is None else {str(key) for key in allowed_ids}
        try:
            return self._opened().search(words, limit=limit, allowed_ids=allowed)
        except IndexDamaged as error:
            if not self._write:
                raise LibraryError("index-unready") from error
            self.rebuild()
            return self._opened().search(words, limit=limit, allowed_ids=allowed)

    def suggest(self, prefix: str) -> list[str]:
        """Words of the archive that begin like the last word typed."""
        try:
            return self._opened().suggest(prefix)
        except IndexDamaged:
            return []

    def close(self) -> None:
        """Let go of the index's files."""
        if self._index is not None:
            self._index.close()
            self._index = None

    def _opened(self) -> Index:
        if self._index is None:
            with self._library.reading() as session:
                known = _known_words(session)
            self._index = Index.open(self._library.index, current_stamp(), known_words=known)
        return self._index

    def _takes_roll(self, index: Index) -> bool:
        """Whether the index holds by today's roll. Names are read only when any record has changed: 600 of them cost
        9 ms, the look whether anything has changed 0.1 ms.
        """
        with self._library.reading() as session:
            changed = history.newest_line(session)
            if changed == self._roll_read:
                return True
            known = _known_words(session)
        if not index.know_words(known):
            return False
        self._roll_read = changed
        return True

    def _follow(self, index: Index) -> int:
        done = 0
        while True:
            with self._library.reading() as session:
                lines = outbox.waiting(session, index.position(), limit=BATCH)
                ids = sorted({work_id for _, work_id in lines})
                documents = list(_documents(session, ids))
            if not lines:
                return done
            there = {document.work_id for document in documents}
            index.apply(documents, {str(key) for key in ids} - there, position=lines[-1][0])
            done += len(ids)

    def _rebuild(self) -> int:
        self.close()
        with self._library.reading() as session:
            changed, known = history.newest_line(session), _known_words(session)
            position = outbox.newest(session)
            ids = finding.matching_ids(session, Filters())
            documents = list(_documents(session, ids))
        self._index = Index.build(
            self._library.index,
            current_stamp(),
            documents=documents,
            position=position,
            known_words=known,
        )
        self._roll_read = changed
        return len(documents)


def _known_words(session: Session) -> frozenset[str]:
    return words_of_names(people.names(session).values())


def _documents(session: Session, ids: Iterable[int]) -> Iterator[Document]:
    for key, words in finding.words_of(session, ids).items():
        yield Document(
            work_id=str(key),
            reflection=words["reflection"],
            title=words["title"],
            tags=words["tags"],
            center=words["centre"],
            observations=words["observation"],
        )
