"""Serve a library in a process of its own, so that a test can kill it: ``python -m tests.support.serve_folder``."""

from __future__ import annotations

import os
import sys
from datetime import date
from pathlib import Path

from portfolio.web.run import serve


def main(folder: str, port: str, day: str) -> None:
    """The app over ``folder`` on ``port``, standing on ``day``, until the process ends."""
    serve(Path(folder), port=int(port), open_browser=False, today=date.fromisoformat(day), say=lambda _: None)


if __name__ == "__main__":
    os.environ.setdefault("PYTHONUNBUFFERED", "1")
    main(*sys.argv[1:])
