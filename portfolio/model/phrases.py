"""Small phrases for sentences that any room may say. They hold numbers and class labels, never a name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime


def listed(items: Iterable[object]) -> str:
    """As a list is said: "3", "3 and 11", "3, 11 and 12"."""
    words = [str(item) for item in items]
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def clock(moment: datetime) -> str:
    """A wall time, e.g. "10:05"."""
    return moment.strftime("%H:%M")


def day_words(day: date) -> str:
    """A day that reads the same everywhere, e.g. "14 Oct 2026"."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def numbers(values: Sequence[int]) -> str:
    """With the noun: "number 14", "numbers 3 and 11"."""
    return f"number{'s' if len(values) != 1 else ''} {listed(values)}"


def apart(seconds: float) -> str:
    """A gap in time, e.g. "12 seconds", "3 minutes"."""
    count, unit = (round(seconds), "second") if seconds < 90 else (round(seconds / 60), "minute")
    return f"{count} {unit}{'s' if count != 1 else ''}"


def sentence(*clauses: str) -> str:
    """Clauses joined with semicolons, capital first, a full stop at the end."""
    text = "; ".join(clause for clause in clauses if clause)
    return text[:1].upper() + text[1:] + "."


_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
