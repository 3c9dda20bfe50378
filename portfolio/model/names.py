"""A child's name is sealed: it prints as "(name kept back)" and refuses to be written out.

Only ``privacy`` opens it, for a stated audience; an import contract and a test hold that.
"""

from __future__ import annotations

from typing import Any, Final, NoReturn

KEPT_BACK: Final = "(name kept back)"


class SealedName:
    """One name or part of a name. Equality and hashing work, so that names can be compared unopened."""

    __slots__ = ("_sealed",)
    _sealed: str

    def __init__(self, text: str) -> None:
        object.__setattr__(self, "_sealed", text)

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise AttributeError("a sealed name cannot be changed")

    def __str__(self) -> str:
        return KEPT_BACK

    __repr__ = __str__

    def __format__(self, spec: str) -> str:
        return format(KEPT_BACK, spec)

    def __bool__(self) -> bool:
        return bool(self._sealed)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, SealedName) and self._sealed == other._sealed

    def __hash__(self) -> int:
        return hash((SealedName, self._sealed))

    def __reduce_ex__(self, protocol: Any) -> NoReturn:
        raise TypeError("a sealed name cannot be serialised")
