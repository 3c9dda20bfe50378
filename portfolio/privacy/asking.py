"""A teacher asks for a child by name: the name is compared here and only an id comes out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from portfolio.model.names import SealedName
from portfolio.model.people import ChildName
from portfolio.privacy.forms import forms_of
from portfolio.privacy.letters import fold_name


def words_of_names(names: Iterable[ChildName]) -> frozenset[str]:
    """The parts of these names as written, and each run of letters of every form of them: for the memory of the
    search index, which must neither "correct" a name nor hold one.
    """
    found: set[str] = set()
    for name in names:
        found.update(_open(part) for part in _parts(name))
        found.update(run for form in forms_of(name) for run in form.runs if len(run) > 1)
    return frozenset(found)


def asked_for(typed: str, names: Mapping[int, ChildName]) -> tuple[int, ...]:
    """Ids of the children whose name holds every word typed (each word from its beginning), in order of id.

    One letter alone asks for nobody.
    """
    wanted = fold_name(typed).split()
    if not any(len(word) > 1 for word in wanted):
        return ()
    return tuple(sorted(key for key, name in names.items() if _holds(name, wanted)))


def _holds(name: ChildName, wanted: list[str]) -> bool:
    parts = [fold_name(_open(part)) for part in _parts(name)]
    words = [word for part in parts for word in (part.replace(" ", ""), *part.split())]
    return all(any(word.startswith(asked) for word in words) for asked in wanted)


def _parts(name: ChildName) -> Iterable[SealedName]:
    return (part for part in (name.given, name.family, name.preferred, name.middle, *name.also) if part)


def _open(name: SealedName) -> str:
    return name._sealed  # noqa: SLF001  compared here, never given out
