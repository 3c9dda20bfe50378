"""Where photos are read: chosen by one setting."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from portfolio.errors import PortfolioError
from portfolio.flows.executors import InlineExecutor, make_executor


def test_inline_runs_at_once_and_keeps_exceptions():
    """Results and exceptions are in the future, as in every executor."""
    with InlineExecutor() as executor:
        assert executor.submit(pow, 2, 5).result() == 32
        with pytest.raises(ZeroDivisionError):
            executor.submit(divmod, 1, 0).result()


def test_a_cluster_is_named_by_its_callable():
    """ "module:callable" is called with the number of workers and gives any standard executor."""
    with make_executor("concurrent.futures:ThreadPoolExecutor", 1) as executor:
        assert isinstance(executor, ThreadPoolExecutor)
        assert executor.submit(pow, 2, 5).result() == 32


@pytest.mark.parametrize("kind", ["dask", "no.such.module:x", "os:no_such_name", "builtins:str"])
def test_other_words_are_refused(kind):
    """A setting that names nothing usable is said to be so."""
    with pytest.raises(PortfolioError) as refused:
        make_executor(kind)
    assert refused.value.code == "bad-request"
