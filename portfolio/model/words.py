"""What children say and what the teacher sees, as values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

WRITERS = ("child", "teacher", "helper")
"""Who wrote a reflection down; "teacher" = the child spoke, the teacher wrote."""

LEVELS = ("needs support", "getting there", "secure")
"""How secure a habit or skill is; never the worth of a work."""


@dataclass(frozen=True, slots=True)
class Said:
    """A child's words, letter for letter, on a day."""

    student_id: int
    text: str
    said_on: date
    language: str = "en"
    written_by: str = "child"


@dataclass(frozen=True, slots=True)
class AskedReflection:
    """An open question: which work are these words about?"""

    question_id: int
    reflection_id: int
    student_id: int
    text: str
    said_on: date
    options: tuple[int, ...]
    state: str


@dataclass(frozen=True, slots=True)
class Observed:
    """What the teacher saw: a habit or skill of a child, how secure, and a note."""

    student_id: int
    what: str
    level: str
    seen_on: date
    note: str = ""
    work_id: int | None = None
    class_id: int | None = None
