"""The reader of batches over an open library: photos are read by the library's executor, behind its guard."""

from __future__ import annotations

import threading
from concurrent.futures import Executor

from portfolio.archive.library import Library
from portfolio.flows.batch_report import BatchReport
from portfolio.flows.executors import make_executor
from portfolio.flows.first_look import renew_pictures
from portfolio.flows.read_photos import make_pictures_again, read_batch
from portfolio.flows.take_in import file_early, finish_unfinished, settle_batch
from portfolio.web.reader import BatchReader


class PhotoWorkers:
    """The executor that the library's settings ask for. It starts with the first photo, so opening costs nothing."""

    def __init__(self, library: Library) -> None:
        self._settings = library.settings
        self._executor: Executor | None = None
        self._lock = threading.Lock()

    def get(self) -> Executor:
        """The one executor of this app."""
        with self._lock:
            if self._executor is None:
                self._executor = make_executor(self._settings.executor, self._settings.workers or None)
            return self._executor

    def close(self) -> None:
        """Finish what is at hand and let the workers go."""
        if self._executor is not None:
            self._executor.shutdown(wait=True, cancel_futures=True)


def reader_for(library: Library, workers: PhotoWorkers) -> BatchReader:
    """A reader of batches that uses these workers."""

    def settle(batch_id: int) -> BatchReport:
        return settle_batch(library, batch_id, executor=workers.get(), numbers_first=True)

    def read_ahead(batch_id: int) -> None:
        renew()
        read_batch(library, batch_id, executor=workers.get(), numbers_first=True)

    def early(batch_id: int) -> None:
        file_early(library, batch_id, executor=workers.get())

    def renew() -> None:
        for batch_id in renew_pictures(library, executor=workers.get()):
            settle(batch_id)

    def finish() -> None:
        renew()
        finish_unfinished(library, executor=workers.get())
        make_pictures_again(library, executor=workers.get())

    return BatchReader(settle, read_ahead=read_ahead, file_early=early, finish=finish, close=workers.close)
