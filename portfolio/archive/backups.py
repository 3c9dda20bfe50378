"""What a library knows of its own backups: its identity, and when the last one was done. Plain files beside the
database, so that a backup can be noted while another Portfolio has the library open.
"""

from __future__ import annotations

import json
import secrets
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Final

IDENTITY_FILE: Final = "library.id"
_DONE_FILE: Final = "last-backup.json"


@dataclass(frozen=True, slots=True)
class Done:
    """A backup that was finished and checked: when, into which folder, how many works and originals it holds."""

    at_utc: datetime
    folder: Path
    works: int
    originals: int


def identity(library: Path) -> str:
    """The library's own random id, made the first time it is asked for. It tells one library's backups from
    another's, and says nothing else.
    """
    path = library / IDENTITY_FILE
    if not path.exists():
        _put(path, f"{secrets.token_hex(16)}\n")
    return path.read_text(encoding="ascii").strip()


def note_done(library: Path, done: Done) -> None:
    """Keep that a backup was done."""
    facts = {
        "at_utc": done.at_utc.isoformat(),
        "folder": str(done.folder),
        "works": done.works,
        "originals": done.originals,
    }
    _put(library / _DONE_FILE, json.dumps(facts))


def last_done(library: Path) -> Done | None:
    """The last backup; ``None`` when there was none, or what was kept of it cannot be read."""
    try:
        facts = json.loads((library / _DONE_FILE).read_text(encoding="utf-8"))
        at_utc = datetime.fromisoformat(facts["at_utc"])
        return Done(at_utc, Path(facts["folder"]), int(facts["works"]), int(facts["originals"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _put(path: Path, text: str) -> None:
    temp = path.with_suffix(".new")
    temp.write_text(text, encoding="utf-8")
    temp.replace(path)
