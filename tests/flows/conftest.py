"""What the tests of the flows share: an empty library."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from portfolio.archive.library import Library
from tests.support.school import make_library


@pytest.fixture
def library(tmp_path: Path) -> Iterator[Library]:
    """A new library with nothing in it, closed afterwards."""
    with make_library(tmp_path) as opened:
        yield opened
