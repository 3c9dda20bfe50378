"""For developers: write the next migration from the difference between ``tables.py`` and the migrations there are.

``python -m portfolio.archive.revise "what changes"``; read the file it writes before it is committed.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from alembic import command
from alembic.script import ScriptDirectory

from portfolio.archive import migrate
from portfolio.archive.engines import make_engine


def revise(message: str) -> str:
    """Write the next numbered migration; gives its number."""
    known = list(ScriptDirectory.from_config(migrate.config()).walk_revisions())
    number = f"{len(known) + 1:04d}"
    with tempfile.TemporaryDirectory() as folder:
        database = Path(folder) / "empty.db"
        database.touch()
        engine = make_engine(database, write=True)
        migrate.to_head(engine)
        with engine.begin() as connection:
            command.revision(migrate.config(connection), message=message, autogenerate=True, rev_id=number)
        engine.dispose()
    return number


if __name__ == "__main__":
    sys.stdout.write(revise(" ".join(sys.argv[1:])) + "\n")
