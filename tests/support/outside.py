"""Outside test data: files that nobody here made, lying beside the project when they are there."""

from __future__ import annotations

from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parents[3] / "shared" / "data"


def outside(*parts: str) -> Path:
    """The path of an outside file or folder. Where it is missing the test is skipped and says what was not checked."""
    path = FOLDER.joinpath(*parts)
    if not path.exists():
        pytest.skip(f"outside test data not found, nothing was checked against {'/'.join(parts)}")
    return path
