"""Names taken apart and sealed. A name is plain text only inside this room's readers; what leaves them is sealed."""

from __future__ import annotations

import re
import unicodedata
from typing import Final

from portfolio.model.names import SealedName
from portfolio.model.people import ChildName
from portfolio.privacy.seal import seal

MAX_NAME: Final = 100
PARTICLES: Final = frozenset(
    re.split(
        r"\s+",
        "al ap ben bin bint da das de del della den der di do dos du el ibn la las le los mac mc san santa st st. ten "
        "ter van vande vander vom von y zu zum zur",
    )
)
"""Words that begin a family name; from memory."""


def is_name(text: str) -> bool:
    """Whether a cell can be (a part of) a name: it holds a letter of some script and is not endless."""
    return len(text) <= MAX_NAME and any(unicodedata.category(sign)[0] == "L" for sign in text)


def child_name(
    given: str, family: str, *, preferred: str = "", middle: str = "", also: tuple[str, ...] = ()
) -> ChildName | None:
    """Seal the parts of one name; ``None`` when there is no name. A single name counts as the given name."""
    given, nick = _take_nickname(given)
    preferred = preferred or nick
    if not is_name(given):
        given, family = (family, "") if is_name(family) else (preferred, "")
    if not is_name(given):
        return None
    others = tuple(seal(one) for one in also if is_name(one) and one not in (given, family, preferred, middle))
    return ChildName(
        seal(given),
        seal(family if is_name(family) else ""),
        _sealed_or_none(preferred if preferred != given else ""),
        _sealed_or_none(middle),
        others,
    )


def split_name(text: str, *, family_first: bool) -> tuple[str, str]:
    """Given and family name from a cell: "Last, First" when a comma or ``family_first`` says so, else "First Last"."""
    if "," in text:
        family, _, given = text.partition(",")
        suffix = re.match(r"\s*(jr|sr|ii|iii|iv)\.?\s*,\s*(.+)", given, re.IGNORECASE)
        if suffix:
            return suffix.group(2).strip(), f"{family.strip()} {suffix.group(1)}"
        return given.strip(), family.strip()
    text, nick = _take_nickname(text)
    back, words = f" ({nick})" if nick else "", text.split()
    if len(words) < 2:
        return text + back, ""
    if family_first:
        return " ".join(words[1:]) + back, words[0]
    start = len(words) - 1
    while start > 1 and words[start - 1].casefold() in PARTICLES:
        start -= 1
    return " ".join(words[:start]) + back, " ".join(words[start:])


def _take_nickname(text: str) -> tuple[str, str]:
    """Take "Robert (Bobby)" or 'Robert "Bobby"' apart."""
    match = re.search(r"[(\"“]\s*([^()\"“”]+?)\s*[)\"”]", text)
    if match is None:
        return text, ""
    rest = " ".join((text[: match.start()] + " " + text[match.end() :]).split())
    return (rest, match.group(1)) if rest else (match.group(1), "")


def _sealed_or_none(text: str) -> SealedName | None:
    return seal(text) if is_name(text) else None


def name_order(given: str, family: str) -> tuple[str, ...]:
    """Sort key by family, then given name: without accents, capitals and punctuation; a single name by itself."""
    first, second = (family, given) if family else (given, "")
    return (_fold(first), _fold(second), first, second)


def _fold(text: str) -> str:
    plain = "".join(sign for sign in unicodedata.normalize("NFKD", text) if not unicodedata.combining(sign))
    return "".join(sign for sign in plain.casefold() if sign.isalnum() or sign == " ")
