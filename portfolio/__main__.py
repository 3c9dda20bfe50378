"""Door: ``portfolio`` and ``python -m portfolio``."""

from __future__ import annotations

from portfolio.cli.app import app
from portfolio.cli.frame import run


def main() -> None:
    """Run the command line."""
    run(app)


if __name__ == "__main__":
    main()
