"""Codes that a teacher may put on a lesson: the grammar is checked here, the published texts are never shipped.

Grammar: ``VA:`` process, anchor, ``.`` enduring understanding, ``.`` grade, and a letter where there are several
statements (National Core Arts Standards, visual arts, 2014, as listed at nationalartsstandards.org). The eight studio
habits are the names used by the Studio Thinking research (Project Zero, Harvard).
"""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Final

_CODE: Final = re.compile(
    r"^(?:NAS\.)?VA[:.](Cr|Pr|Re|Cn)(1[01]|[1-9])\.([1-3])\.(PK|K|[1-8]|HSI{1,3}|I{1,3})(?:\.?([a-z]))?$"
)
_ANCHORS: Final = {"Cr": range(1, 4), "Pr": range(4, 7), "Re": range(7, 10), "Cn": range(10, 12)}

STUDIO_HABITS: Final = (
    "develop craft",
    "engage and persist",
    "envision",
    "express",
    "observe",
    "reflect",
    "stretch and explore",
    "understand art worlds",
)


ANCHORS: Final = MappingProxyType(
    {
        1: "find and shape ideas",
        2: "develop and organize ideas",
        3: "refine and finish a work",
        4: "choose and interpret work to show",
        5: "prepare work for showing",
        6: "convey meaning by showing",
        7: "look closely and analyze",
        8: "read intent and meaning",
        9: "judge by criteria",
        10: "link own experience to making",
        11: "link art to society, culture and history",
    }
)
"""Anchor number → its sense in our own words; the published statements are copyrighted."""


def sense_of(code: str) -> str | None:
    """The sense of a code's anchor in our own words; ``None`` for what is no code."""
    match = _CODE.match(code.strip())
    return ANCHORS[int(match[2])] if match is not None and is_standard_code(code) else None


def is_standard_code(text: str) -> bool:
    """Whether a text is a well-formed visual-arts code, e.g. ``VA:Cr1.1.2a``."""
    match = _CODE.match(text.strip())
    return match is not None and int(match[2]) in _ANCHORS[match[1]]
