"""Files that are still on their way: each partial file beside a note of what was announced.

They lie below ``arriving/``, apart from the originals: a half photo never gets there. ``<key>.part`` holds the bytes
that came so far, and its size is how many those are; ``<key>.json`` is the note. Both outlive a restart, so that a
phone goes on where it was cut off; what nobody went on with for :data:`KEPT_DAYS` is deleted.
"""

from __future__ import annotations

import contextlib
import json
import os
import re
import secrets
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, BinaryIO, Final

from portfolio.archive.originals import full_disk, sync_folder
from portfolio.errors import NotFound

KEPT_DAYS: Final = 7
_KEY_BYTES: Final = 18
_KEY: Final = re.compile(r"\d{1,19}-[A-Za-z0-9_-]{24}")


@dataclass(frozen=True, slots=True)
class Announced:
    """What was said of a file before its first byte. ``modified_ms``: the phone's word, only to tell files apart."""

    batch_id: int
    name: str
    size_bytes: int
    modified_ms: int = 0

    @property
    def is_zip(self) -> bool:
        """Whether it brings several photos."""
        return self.name.lower().endswith(".zip")


@dataclass(frozen=True, slots=True)
class Arrival:
    """One file on its way, or one that came whole (``told``: what became of it, as JSON).

    ``key``: its batch, and letters that nobody can guess.
    """

    key: str
    announced: Announced
    told: dict[str, Any] | None = None

    @property
    def is_whole(self) -> bool:
        """Whether it came whole and was kept or refused."""
        return self.told is not None


class Arriving:
    """The store of files on their way below ``folder``. Its caller holds one key for itself while it writes."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def begin(self, announced: Announced) -> str:
        """A new key, which nobody can guess, for a file of which nothing has come yet."""
        key = f"{announced.batch_id}-{secrets.token_urlsafe(_KEY_BYTES)}"
        with full_disk(announced.name):
            self.folder.mkdir(exist_ok=True)
            self._write_note(Arrival(key, announced))  # first: a partial file without its note is swept away
            self._part(key).touch(mode=0o600)
        return key

    def arrival(self, key: str) -> Arrival:
        """What is known of it. Raises ``NotFound`` for a key that is none, was deleted, or is over its time."""
        try:
            found = json.loads(self._note(key).read_text(encoding="utf-8"))
        except (OSError, ValueError) as error:
            raise NotFound("upload-gone", item="This file") from error
        return Arrival(key, Announced(**found["announced"]), found["told"])

    def came(self, key: str) -> int:
        """How many bytes are there: the real size of the partial file."""
        arrival = self.arrival(key)
        if arrival.is_whole:
            return arrival.announced.size_bytes
        try:
            return self._part(key).stat().st_size
        except OSError as error:
            raise NotFound("upload-gone", item=arrival.announced.name) from error

    def append(self, key: str, data: bytes, *, name: str) -> None:
        """Put bytes behind those that are there. Raises ``DiskError``; what was written until then counts."""
        with full_disk(name), self._part(key).open("ab", buffering=0) as out:
            rest = memoryview(data)
            while rest:
                rest = rest[out.write(rest) :]

    def sync(self, key: str, *, name: str) -> None:
        """Make the whole file durable."""
        with full_disk(name), self._part(key).open("rb+") as out:
            os.fsync(out.fileno())

    @contextlib.contextmanager
    def opened(self, key: str) -> Iterator[BinaryIO]:
        """The bytes that came, for reading."""
        with self._part(key).open("rb") as stream:
            yield stream

    def finish(self, key: str, told: dict[str, Any]) -> None:
        """It came whole and was dealt with: note what became of it, then let its partial file go."""
        self._write_note(Arrival(key, self.arrival(key).announced, told))
        self._part(key).unlink(missing_ok=True)

    def drop(self, key: str) -> None:
        """Forget a file. Safe to call twice."""
        if _KEY.fullmatch(key):
            self._note(key).unlink(missing_ok=True)
            self._part(key).unlink(missing_ok=True)

    def of_batch(self, batch_id: int) -> int:
        """How many files were announced for a batch in the last days, whole or not."""
        return sum(1 for _ in self.folder.glob(f"{batch_id}-*.json"))

    def on_their_way(self, batch_id: int | None = None) -> list[str]:
        """The keys of the files that did not come whole yet, of one batch or of all."""
        return [part.stem for part in self.folder.glob(f"{batch_id or '*'}-*.part")]

    def sweep(self, *, now: datetime) -> int:
        """Delete what nobody went on with for :data:`KEPT_DAYS`, and partial files that a crash left after their end;
        gives how many files on their way were given up.
        """
        least = (now - timedelta(days=KEPT_DAYS)).timestamp()
        found = [path for kind in ("part", "json") for path in self.folder.glob(f"*-*.{kind}")]
        ended = 0
        for key in {path.stem for path in found if _KEY.fullmatch(path.stem)}:
            part, note = self._part(key), self._note(key)
            if max((path.stat().st_mtime for path in (part, note) if path.exists()), default=least) < least:
                ended += part.exists()
                self.drop(key)
            elif not note.exists() or (part.exists() and self.arrival(key).is_whole):
                part.unlink(missing_ok=True)
        return ended

    def expires(self, key: str) -> datetime:
        """When it is deleted if nobody goes on with it."""
        path = self._part(key) if self._part(key).exists() else self._note(key)
        return datetime.fromtimestamp(path.stat().st_mtime, UTC) + timedelta(days=KEPT_DAYS)

    def _part(self, key: str) -> Path:
        return self.folder / f"{_checked(key)}.part"

    def _note(self, key: str) -> Path:
        return self.folder / f"{_checked(key)}.json"

    def _write_note(self, arrival: Arrival) -> None:
        path = self._note(arrival.key)
        temp = path.with_suffix(".tmp")
        with full_disk(arrival.announced.name):
            temp.write_text(
                json.dumps({"announced": asdict(arrival.announced), "told": arrival.told}), encoding="utf-8"
            )
            temp.replace(path)
            sync_folder(self.folder)


def batch_of(key: str) -> int:
    """The batch that a key belongs to."""
    return int(key.partition("-")[0])


def _checked(key: str) -> str:
    """Keys come from addresses: one that could be a path of its own is none."""
    if not _KEY.fullmatch(key):
        raise NotFound("upload-gone", item="This file")
    return key
