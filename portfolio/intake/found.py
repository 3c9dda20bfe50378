"""What was found among the paths handed over: candidates, trouble, and what was left where it is."""

from __future__ import annotations

import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, cast

from portfolio.errors import Problem
from portfolio.intake.steady import Steady


@dataclass(frozen=True, slots=True)
class Candidate:
    """One file that may be a photo. ``name`` is the file's own name, never its path.

    ``entry`` is the member's name when the file lies in the zip at ``path``; nothing is ever unpacked to disk by it.
    """

    name: str
    path: Path
    size_bytes: int
    modified_ns: int
    entry: str | None = None

    @contextmanager
    def opened(self) -> Iterator[BinaryIO]:
        """The bytes as a stream that raises ``StillChanging`` at its end if the file changed since it was found.

        A member of a zip gives at most the size it declared: one byte more raises ``zipfile.BadZipFile``.
        """
        if self.entry is None:
            with self.path.open("rb") as file:
                yield cast(BinaryIO, Steady(file, size_bytes=self.size_bytes, modified_ns=self.modified_ns))
            return
        with zipfile.ZipFile(self.path) as archive, archive.open(self.entry) as member:
            yield cast(BinaryIO, _Bounded(cast(BinaryIO, member), limit_bytes=self.size_bytes))


@dataclass(frozen=True, slots=True)
class Found:
    """Everything that came out of the paths. ``left_out`` are own names of files that are obviously no photos."""

    candidates: tuple[Candidate, ...] = ()
    problems: tuple[Problem, ...] = ()
    left_out: tuple[str, ...] = ()

    def plus(self, other: Found) -> Found:
        """Both together, in this order."""
        return Found(self.candidates + other.candidates, self.problems + other.problems, self.left_out + other.left_out)


class _Bounded:
    """A stream that refuses to give more than it promised, whatever the zip's own index says."""

    def __init__(self, stream: BinaryIO, *, limit_bytes: int) -> None:
        self._stream = stream
        self._left = limit_bytes

    def read(self, size: int = -1) -> bytes:
        try:
            block = self._stream.read(self._left + 1 if size < 0 else size)
        except (zlib.error, EOFError) as error:
            raise zipfile.BadZipFile("it cannot be unpacked") from error
        self._left -= len(block)
        if self._left < 0:
            raise zipfile.BadZipFile("more bytes than the zip file says")
        return block
