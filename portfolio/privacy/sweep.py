"""The sweep: every byte of a staged output is searched for every name form that its readers may not see.

What a hit says: which kind of name, in which file, where. Never the name. What is let through is let through by
construction only (:class:`Granted`): the program's own files, byte for byte; the program's own words, together with
markup that no user text can contain, because user text is escaped; and labels in the form that a family released.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from portfolio.model.names import KEPT_BACK
from portfolio.privacy.containers import Piece, Unreadable, pieces_of
from portfolio.privacy.disguises import decodings, hidden_in_base64, undressed
from portfolio.privacy.matching import Forbidden, Found

DEPTH_MAX: Final = 5
"""A zip in a zip in a zip …: deeper than this counts as unreadable."""


@dataclass(frozen=True, slots=True)
class Hit:
    """A name that would have been shown. ``file`` is the path inside the output, with names in it kept back."""

    file: str
    where: str
    kind: str

    @property
    def sentence(self) -> str:
        """E.g. "a child's first name, in works/k3f7.html, line 12"."""
        return f"{self.kind}, in {self.file}, {self.where}"


@dataclass(frozen=True, slots=True)
class SweepResult:
    """What was searched and what was found. Clean = no hits."""

    files: int
    bytes: int
    hits: tuple[Hit, ...] = ()

    @property
    def clean(self) -> bool:
        """Whether nothing was found."""
        return not self.hits

    def as_json(self) -> dict[str, object]:
        """Plain values: ``{files, bytes, hits}``; each hit ``{file, where, kind}``."""
        hits = [{"file": hit.file, "where": hit.where, "kind": hit.kind} for hit in self.hits]
        return {"files": self.files, "bytes": self.bytes, "hits": hits}


@dataclass(frozen=True, slots=True)
class Granted:
    """What may stand although a name is in it.

    ``everywhere``: exact pieces of markup and words, allowed in every file; each must hold a character that escaped
    user text cannot (``<`` or ``"``), or it is ignored. ``in_file``: the same for one file. ``own_files``: SHA-256 of
    the program's own files, copied unchanged.
    """

    everywhere: frozenset[str] = frozenset()
    in_file: Mapping[str, frozenset[str]] = field(default_factory=dict)
    own_files: frozenset[str] = frozenset()

    def for_file(self, name: str) -> tuple[str, ...]:
        """The pieces allowed in one file: its own first, for a common piece may hold the beginning of one."""
        own, common = self.in_file.get(name, frozenset()), self.everywhere
        parts = [sorted(part, key=lambda piece: (-len(piece), piece)) for part in (own, common - own)]
        return tuple(piece for part in parts for piece in part if "<" in piece or '"' in piece)


def sweep(
    folder: Path, forbidden: Forbidden, *, granted: Granted | None = None, clean: Iterable[str] = ()
) -> SweepResult:
    """Search every file below ``folder``, its name and every folder's name.

    ``clean``: SHA-256 of files that this same search found clean before; they count as searched. Links are not
    followed: a link is itself a hit, because it could lead anywhere.
    """
    granted = granted or Granted()
    known = frozenset(clean) | granted.own_files
    files = size = 0
    hits: list[Hit] = []
    there = list(_everything(folder))
    names = "\n".join(name for name, _, _ in there)
    odd_names = any(forbidden.may_hold(bare) for bare in undressed(names))
    for name, is_link, is_file in there:
        if odd_names:
            hits += _in_name(name, forbidden)
        if is_link:
            hits.append(Hit(shown_name(name, forbidden), "the file itself", "a link out of the folder"))
        elif is_file:
            with open(os.path.join(folder, name), "rb") as opened:  # noqa: PTH118,PTH123  thousands of files
                data = opened.read()
            files, size = files + 1, size + len(data)
            if not known or hashlib.sha256(data).hexdigest() not in known:
                hits += sweep_bytes(data, forbidden, name=name, allowed=granted.for_file(name))
    return SweepResult(files, size, tuple(dict.fromkeys(hits)))


def _everything(folder: Path) -> Iterator[tuple[str, bool, bool]]:
    """Name below ``folder``, is it a link, is it a file; by name, folders before what is in them."""
    waiting = [""]
    while waiting:
        below = waiting.pop()
        with os.scandir(os.path.join(folder, below)) as entries:  # noqa: PTH118  thousands of files
            for entry in sorted(entries, key=lambda entry: entry.name):
                name = f"{below}{entry.name}"
                yield name, entry.is_symlink(), entry.is_file(follow_symlinks=False)
                if entry.is_dir(follow_symlinks=False):
                    waiting.append(f"{name}/")


def sweep_bytes(data: bytes, forbidden: Forbidden, *, name: str, allowed: tuple[str, ...] = ()) -> list[Hit]:
    """Search one file's bytes. What cannot be opened is a hit too: nobody can say that it is clean."""
    shown = shown_name(name, forbidden)
    try:
        found = list(_in_piece(Piece("", data), forbidden, allowed=allowed, depth=0))
    except Unreadable as error:
        return [Hit(shown, str(error), "a part that cannot be opened")]
    return [Hit(shown, where, f"a child's {kind}") for where, kind in dict.fromkeys(found)]


def shown_name(name: str, forbidden: Forbidden) -> str:
    """A file's path with every forbidden name in it kept back."""
    for place in reversed(forbidden.find(name)):
        name = name[: place.start] + KEPT_BACK + name[place.end :]
    return name


def _in_name(name: str, forbidden: Forbidden) -> Iterator[Hit]:
    own = name.rsplit("/", 1)[-1]
    for text in undressed(own):
        for place in forbidden.find(text):
            yield Hit(shown_name(name, forbidden), "its own name", f"a child's {place.kind.value}")


def _in_piece(piece: Piece, forbidden: Forbidden, *, allowed: tuple[str, ...], depth: int) -> Iterator[tuple[str, str]]:
    if depth > DEPTH_MAX:
        raise Unreadable(piece.where)
    apart = None if piece.flat else pieces_of(piece.data)
    if apart is not None:
        for inner in apart:
            where = ", ".join(part for part in (piece.where, inner.where) if part)
            yield from _in_piece(
                Piece(where, inner.data, inner.loose, inner.flat), forbidden, allowed=(), depth=depth + 1
            )
        return
    for text, reads in decodings(piece.data):
        small = reads or (not piece.loose and len(piece.data) < 65536)
        yield from _in_text(text, forbidden, where=piece.where, small=small, allowed=allowed)
        for hidden in hidden_in_base64(text):
            where = ", ".join(part for part in (piece.where, "text in base64") if part)
            yield from _in_piece(Piece(where, hidden), forbidden, allowed=(), depth=depth + 1)


def _in_text(
    text: str, forbidden: Forbidden, *, where: str, small: bool, allowed: tuple[str, ...]
) -> Iterator[tuple[str, str]]:
    if not any(forbidden.may_hold(bare) for bare in undressed(text)):
        return
    text = _without(text, allowed)
    for bare in undressed(text):
        for place in forbidden.find(bare, small=small):
            yield _place(bare, place, where=where), place.kind.value


def _without(text: str, allowed: tuple[str, ...]) -> str:
    """``text`` with what is granted blanked out, line breaks kept so that line numbers stay true."""
    for piece in allowed:
        if piece in text:
            text = text.replace(piece, " | " + "\n" * piece.count("\n") + " | ")
    return text


def _place(text: str, place: Found, *, where: str) -> str:
    line = f"line {text.count(chr(10), 0, place.start) + 1}"
    return where or line
