"""A teacher asks for a child by name: the name is compared here and only an id comes out."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping

from portfolio.model.names import SealedName
from portfolio.model.people import ChildName

_WORD = re.compile(r"[^\W\d_]+(?:['’ʻ`´-][^\W\d_]+)*")


def folded(text: str) -> str:
    """Lower case, without marks: é = e, ʻ = nothing, so that a name is found however it is typed."""
    apart = unicodedata.normalize("NFKD", text.casefold())
    return "".join(mark for mark in apart if unicodedata.category(mark)[0] == "L" or mark.isspace())


def words_of_names(names: Iterable[ChildName]) -> frozenset[str]:
    """Every single word of these names, for the memory of the speller (which must not "correct" a name)."""
    return frozenset(word for name in names for part in _parts(name) for word in _WORD.findall(_open(part)))


def asked_for(typed: str, names: Mapping[int, ChildName]) -> tuple[int, ...]:
    """Ids of the children whose name holds every word typed (each word from its beginning), in order of id.

    One letter alone asks for nobody.
    """
    wanted = [folded(word) for word in _WORD.findall(typed)]
    if not any(len(word) > 1 for word in wanted):
        return ()
    return tuple(sorted(key for key, name in names.items() if _holds(name, wanted)))


def _holds(name: ChildName, wanted: list[str]) -> bool:
    words = [folded(word) for part in _parts(name) for word in re.split(r"[\s-]+", _open(part)) if word]
    whole = [folded(_open(part)) for part in _parts(name)]
    return all(any(word.startswith(asked) for word in (*words, *whole)) for asked in wanted)


def _parts(name: ChildName) -> Iterable[SealedName]:
    return (part for part in (name.given, name.family, name.preferred, name.middle, *name.also) if part)


def _open(name: SealedName) -> str:
    return name._sealed  # noqa: SLF001  compared here, never given out
