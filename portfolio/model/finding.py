"""What can be asked of the archive, and a work as it is shown to the teacher."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

COLORS = ("red", "orange", "yellow", "green", "blue", "purple", "pink", "brown", "black", "white", "gray")
"""The basic color terms of English (Berlin and Kay, 1969), in the order in which they are shown."""

MOSTLY_PERCENT = 25
"""A work is "mostly blue" when at least this share of it is blue, paper excluded."""

SMALL_UNDER_MM = 254.0
LARGE_OVER_MM = 381.0
"""10 and 15 inches of the longer side, which part the usual sheets: 6 × 9, 9 × 12, 12 × 18 in (own judgment)."""
SIZES = ("small", "medium", "large", "about", "unmeasured")
"""By the longer side as it was measured; "about" = measured, but not surely, so it is of one of the first three too."""


@dataclass(frozen=True, slots=True)
class Filters:
    """Every filter narrows; ``None`` = not asked."""

    student_id: int | None = None
    class_label: str | None = None
    grade: str | None = None
    year: str | None = None
    medium: str | None = None
    centre: str | None = None
    color: str | None = None
    tag: str | None = None
    sheet: str | None = None
    size: str | None = None
    """One of ``SIZES``."""
    from_day: date | None = None
    to_day: date | None = None
    with_words: bool | None = None
    """Only works with (true) or without (false) a reflection."""


@dataclass(frozen=True, slots=True)
class WorkShown:
    """One work, ready to be shown to the teacher: facts only, no name."""

    work_id: int
    title: str
    class_id: int
    class_label: str
    number: int
    grade: str
    year: str
    medium: str | None
    centre: str | None
    made_on: date
    width_mm: float | None = None
    height_mm: float | None = None
    size_about: bool = False
    sheet: str | None = None
    solid: bool = False
    group_work: bool = False
    student_ids: tuple[int, ...] = ()
    derived_key: str | None = None
    """Names the main view's pictures; ``None`` when it has none yet."""
    photo_id: int | None = None
    has_words: bool = False


@dataclass(frozen=True, slots=True)
class FoundWork:
    """A work that was found, and how: "exact" · "children" · "maybe" · "name"; empty when no words were given."""

    work: WorkShown
    tier: str = ""


@dataclass(frozen=True, slots=True)
class Found:
    """An answer: how many in all, this page of them, and how many there would be for each further filter."""

    total: int
    works: tuple[FoundWork, ...]
    facets: dict[str, tuple[tuple[str, int], ...]] = field(default_factory=dict)
    """Filter name → (value, count), in a fixed order: media by count, grades and years by their own order."""
    showing_for: str | None = None
    """The word that was searched instead of one that no work holds."""
    behind: bool = False
    """The index of words could not be brought up to date: works may be missing here whose words are newer."""
