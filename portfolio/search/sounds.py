"""How an English word sounds, roughly: a key that a word shares with the ways a child may spell it.

Vowels fall away except at the start, letters that sound alike become one (``ph`` and ``f``, ``ck`` and ``k``,
hard and soft ``c``), silent pairs lose their silent half. The idea is that of Lawrence Philips' Metaphone
(1990): this is a small table of our own in its spirit, not his. It never decides by itself; it only
adds a bonus to a correction or a hit under "maybe".
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

# Tried in this order at each letter; the first that fits is taken. Upper case on the right are sounds:
# X = sh/ch, 0 = th, J = soft g, A = any vowel at the start.
_RULES: Final[tuple[tuple[str, str], ...]] = (
    (r"^(?:kn|gn|pn)", "N"),
    (r"^wr", "R"),
    (r"^ps", "S"),
    (r"^wh", "W"),
    (r"^x", "S"),
    (r"^[aeiouy]", "A"),
    (r"tch", "X"),
    (r"sch(?=[^aeiouy]|$)", "X"),
    (r"sch", "SK"),
    (r"[ts]ion|cian", "XN"),
    (r"[ts]ure$", "XR"),
    (r"(?:ci|ti|si)(?=[ao])", "X"),
    (r"sh|ch(?!r)", "X"),
    (r"th", "0"),
    (r"ph", "F"),
    (r"gh", ""),
    (r"ch(?=r)", "K"),
    (r"ck|cq|cc(?![eiy])|q|k|c(?![eiyh])", "K"),
    (r"sc(?=[eiy])|c|ss|s|z+", "S"),
    (r"dg(?=[eiy])|j|g(?=[eiy])", "J"),
    (r"gn$", "N"),
    (r"g+", "K"),
    (r"mb$", "M"),
    (r"x", "KS"),
    (r"[td]+", "T"),
    (r"[pb]+", "P"),
    (r"[fv]+", "F"),
    (r"w(?=[aeiouy])", "W"),
    (r"l+", "L"),
    (r"m+", "M"),
    (r"n+", "N"),
    (r"r+", "R"),
    (r"[aeiouyhw]", ""),
)
_COMPILED: Final = tuple((re.compile(pattern), sound) for pattern, sound in _RULES)
_SOFT_G: Final = re.compile(r"g(?=[eiy])")


def _sounds(word: str) -> str:
    out: list[str] = []
    at = 0
    while at < len(word):
        for pattern, sound in _COMPILED:
            found = pattern.match(word, at)  # "^" fits at the real start only, also when a place is given
            if found is not None and found.end() > at:
                if not (out and sound and out[-1][-1:] == sound):
                    out.append(sound)
                at = found.end()
                break
        else:
            at += 1
    return "".join(out)


@lru_cache(maxsize=100_000)
def sound_keys(word: str) -> frozenset[str]:
    """The keys of a folded word; two words sound alike when they share one. A ``g`` before e, i, y counts as
    soft and as hard ("giraffe", "give"). A word without sounds, or with other letters than a-z, has none.
    """
    keys = {_sounds(word)}
    if _SOFT_G.search(word):
        keys.add(_sounds(_SOFT_G.sub("k", word)))
    return frozenset(key for key in keys if key)


def sound_alike(one: str, other: str) -> bool:
    """Whether two folded words share a key."""
    return not sound_keys(one).isdisjoint(sound_keys(other))
