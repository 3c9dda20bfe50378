"""Reads batches in the background, one at a time, so that the page answers at once while photos are being read."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

from portfolio.errors import places

log = logging.getLogger(__name__)


class BatchReader:
    """A queue with one worker. ``settle`` reads and files a whole batch; ``read_ahead`` only reads what is there."""

    def __init__(
        self,
        settle: Callable[[int], Any],
        *,
        read_ahead: Callable[[int], object] = lambda _: None,
        file_early: Callable[[int], object] = lambda _: None,
        finish: Callable[[], object] = lambda: None,
        close: Callable[[], object] = lambda: None,
    ) -> None:
        self._settle = settle
        self._read_ahead = read_ahead
        self._file_early = file_early
        self._finish = finish
        self._close = close
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="batch")
        self._settling: set[int] = set()
        self._ahead: set[int] = set()
        self._early: set[int] = set()
        self._reports: dict[int, Any] = {}
        self._lock = threading.Lock()

    def start(self, batch_id: int) -> None:
        """All photos of this batch are there: read and file it. Asked twice while it waits, it is done once."""
        with self._lock:
            if batch_id in self._settling:
                return
            self._settling.add(batch_id)
        self._pool.submit(self._work, batch_id)

    def start_ahead(self, batch_id: int) -> None:
        """More photos of this batch may come; read those that are there already."""
        with self._lock:
            if batch_id in self._ahead or batch_id in self._settling:
                return
            self._ahead.add(batch_id)
        self._pool.submit(self._work_ahead, batch_id)

    def start_early(self, batch_id: int) -> None:
        """All photos of this batch can be read, their originals follow: file it so far. Asked twice while it waits, it
        is done once.
        """
        with self._lock:
            if batch_id in self._early or batch_id in self._settling:
                return
            self._early.add(batch_id)
        self._pool.submit(self._work_early, batch_id)

    def start_unfinished(self) -> None:
        """Go on with batches that were cut off when the app was closed."""
        self._pool.submit(guarded, self._finish, "unfinished batches")

    def _work(self, batch_id: int) -> None:
        try:
            self._reports[batch_id] = guarded(lambda: self._settle(batch_id), f"batch {batch_id}")
        finally:
            with self._lock:
                self._settling.discard(batch_id)

    def _work_ahead(self, batch_id: int) -> None:
        with self._lock:
            self._ahead.discard(batch_id)
        guarded(lambda: self._read_ahead(batch_id), f"batch {batch_id}")

    def _work_early(self, batch_id: int) -> None:
        with self._lock:
            self._early.discard(batch_id)
        guarded(lambda: self._file_early(batch_id), f"batch {batch_id}")

    def is_busy(self, batch_id: int) -> bool:
        """Whether this batch is being settled or waits its turn."""
        with self._lock:
            return batch_id in self._settling

    def report(self, batch_id: int) -> Any:
        """What settling gave, if it was done since the app was opened."""
        return self._reports.get(batch_id)

    def close(self) -> None:
        """Finish what is at hand, drop what waits; it is done when the app is opened again."""
        self._pool.shutdown(wait=True, cancel_futures=True)
        self._close()


def guarded(call: Callable[[], Any], what: str) -> Any:
    """One batch that stops must not stop the next; the program's own mistake is logged without its values."""
    try:
        return call()
    except Exception as error:  # noqa: BLE001  told in the log; the batch stays as it is and is gone on with later
        where = ", ".join(places(error))
        log.error("%s stopped: %s at %s", what, type(error).__name__, where)  # noqa: TRY400  a traceback would hold values
        return None
