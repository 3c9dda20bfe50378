"""Where photos are read: a pool of processes, threads, this process, or a cluster, behind one standard interface."""

from __future__ import annotations

import importlib
import multiprocessing
import os
import sys
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from typing import ParamSpec, TypeVar

from portfolio.errors import PortfolioError

P = ParamSpec("P")
Result = TypeVar("Result")


class InlineExecutor(Executor):
    """Runs every call at once, here. For tests and for a single photo."""

    def submit(self, fn: Callable[P, Result], /, *args: P.args, **kwargs: P.kwargs) -> Future[Result]:
        """Run ``fn`` now; its result or its exception is in the future that comes back."""
        future: Future[Result] = Future()
        try:
            future.set_result(fn(*args, **kwargs))
        except Exception as error:  # noqa: BLE001 - it belongs to the future, as in every executor
            future.set_exception(error)
        return future


def make_executor(kind: str = "process", workers: int | None = None) -> Executor:
    """An executor for ``see_photo``.

    ``kind``: "process" (default), "thread", "inline", or "module:callable" for a cluster: the callable is given the
    number of workers (or ``None``) and gives back a ``concurrent.futures.Executor``, such as Dask's
    ``client.get_executor()``. Refuses any other word.
    """
    match kind:
        case "process":
            return _process_pool(workers)
        case "thread":
            return ThreadPoolExecutor(workers or os.cpu_count(), thread_name_prefix="photo")
        case "inline":
            return InlineExecutor()
    return _from_setting(kind, workers)


def _process_pool(workers: int | None) -> Executor:
    """Workers begin from a fresh process: forking the app itself, which has threads, could leave a lock held."""
    context = multiprocessing.get_context("spawn" if sys.platform == "win32" else "forkserver")
    if sys.platform != "win32":
        context.set_forkserver_preload(["portfolio.flows.worker"])
    return ProcessPoolExecutor(workers or os.cpu_count() or 1, mp_context=context)


def _from_setting(kind: str, workers: int | None) -> Executor:
    module, _, name = kind.partition(":")
    try:
        made = getattr(importlib.import_module(module), name)(workers)
    except (ImportError, AttributeError, ValueError) as error:
        raise PortfolioError(
            "bad-request", "The setting for where photos are read", f"'{kind}' is not there"
        ) from error
    if not isinstance(made, Executor):
        raise PortfolioError("bad-request", "The setting for where photos are read", f"'{kind}' makes no executor")
    return made
