"""Reads batches in the background, one at a time, so that the page answers at once while photos are being read."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

log = logging.getLogger(__name__)


class BatchReader:
    """A queue with one worker. ``read`` does the work of one batch; what it cannot do stays to be asked again."""

    def __init__(self, read: Callable[[int], object]) -> None:
        self._read = read
        self._pool = ThreadPoolExecutor(1, thread_name_prefix="batch")
        self._busy: set[int] = set()
        self._lock = threading.Lock()

    def start(self, batch_id: int) -> None:
        """Queue a batch; asked twice while it waits, it is read once more afterwards only if needed."""
        with self._lock:
            if batch_id in self._busy:
                return
            self._busy.add(batch_id)
        self._pool.submit(self._work, batch_id)

    def _work(self, batch_id: int) -> None:
        try:
            self._read(batch_id)
        except Exception as error:  # noqa: BLE001  one batch must not stop the next; the program's own mistake is logged
            log.exception("batch %d stopped: %s", batch_id, type(error).__name__)
        finally:
            with self._lock:
                self._busy.discard(batch_id)

    def is_busy(self, batch_id: int) -> bool:
        """Whether this batch is being read or waits its turn."""
        with self._lock:
            return batch_id in self._busy

    def close(self) -> None:
        """Finish the batch at hand, drop those that wait; they are read when the app starts again."""
        self._pool.shutdown(wait=True, cancel_futures=True)
