"""The words of school lists: grades, class labels, dates, times, yes and no."""

from __future__ import annotations

import re
from datetime import date, time
from typing import Final

from portfolio.model.people import GRADES

_GRADE_WORDS: Final = {
    **{grade.casefold(): grade for grade in GRADES},
    **{f"0{number}": str(number) for number in range(1, 10)},
    **dict.fromkeys(("kg", "kdg", "kinder", "kindergarten", "00", "0"), "K"),
    **dict.fromkeys(("pr", "pre", "prek", "pre-k", "pre k", "preschool", "prekindergarten", "pre-kindergarten"), "PK"),
    **dict.fromkeys(("transitional kindergarten", "t-k"), "TK"),
    **{
        word: str(number)
        for number, words in enumerate(
            ("first 1st", "second 2nd", "third 3rd", "fourth 4th", "fifth 5th", "sixth 6th", "seventh 7th"), start=1
        )
        for word in words.split()
    },
    **{
        word: str(number)
        for number, words in enumerate(
            ("eighth 8th", "ninth 9th", "tenth 10th", "eleventh 11th", "twelfth 12th"), start=8
        )
        for word in words.split()
    },
}


def grade_of(text: str) -> str | None:
    """The grade that a cell means ("KG", "03", "Grade 3", "3rd", "3.0" → "3"); ``None`` when it means none."""
    word = " ".join(re.sub(r"\b(grades?|gr|year)\b\.?", " ", text.casefold()).replace("_", " ").split())
    word = re.sub(r"^(\d+)\.0$", r"\1", word)
    return _GRADE_WORDS.get(word)


def grade_in_label(label: str) -> str | None:
    """The grade that a class label begins with or names ("3B", "K-Smith", "Grade 2 Room 5", "TK1")."""
    text = label.casefold()
    named = re.search(r"\b(?:grade|gr\.?)\s*(pk|tk|kg?|\d{1,2})\b", text) or re.search(
        r"\b(\d{1,2})(?:st|nd|rd|th)\b", text
    )
    start = re.match(r"\s*(pre-?k|pk|tk|kg|k|\d{1,2})(?![a-z]{2})", text)
    word = next((found.group(1) for found in (named, start) if found), None)
    if word is None and "kindergarten" in text:
        word = "k"
    return grade_of(word) if word is not None else None


def label_key(label: str) -> str:
    """Two labels with the same key mean one class: capitals and spaces don't matter."""
    return "".join(label.split()).casefold()


# --- days and times ---------------------------------------------------------------------------------------

_MONTHS: Final = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


def is_day_first(cells: list[str]) -> bool:
    """Whether a column writes 24/12/2026: some first number is beyond 12, or dots stand between."""
    parts = [re.match(r"(\d{1,2})([/.-])(\d{1,2})\2\d{2,4}$", cell.strip()) for cell in cells]
    found = [match for match in parts if match]
    return any(int(match.group(1)) > 12 or match.group(2) == "." for match in found)


def date_of(text: str, *, day_first: bool = False) -> date | None:
    """A date from ISO, 9/7/2026, 7.9.2026, "Sep 7, 2026", "7 September 2026"; ``None`` when it cannot be read."""
    text = re.sub(r"[T ]\d{1,2}:\d{2}.*$", "", text.strip())
    text = re.sub(r"^(mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+", "", text, flags=re.IGNORECASE)
    for pattern, order in (
        (r"(\d{4})[-/.]?(\d{2})[-/.]?(\d{2})", "ymd"),
        (r"(\d{1,2})[/.-](\d{1,2})[/.-](\d{4}|\d{2})", "dmy" if day_first else "mdy"),
        (r"([a-z]{3})[a-z]*\.?\s+(\d{1,2})(?:st|nd|rd|th)?,?\s+(\d{4})", "mdy"),
        (r"(\d{1,2})(?:st|nd|rd|th)?[\s-]+([a-z]{3})[a-z]*\.?,?[\s-]+(\d{4})", "dmy"),
    ):
        match = re.fullmatch(pattern, text, re.IGNORECASE)
        if match:
            return _made_date(dict(zip(order, match.groups(), strict=True)))
    return None


def _made_date(parts: dict[str, str]) -> date | None:
    month = parts["m"].casefold()
    number = _MONTHS.index(month) + 1 if month in _MONTHS else int(month) if month.isdecimal() else 0
    year = int(parts["y"])
    try:
        return date(year + 2000 if year < 100 else year, number, int(parts["d"]))
    except ValueError:
        return None


def time_of(text: str) -> time | None:
    """A bell from "8:15", "8.15", "0815", "8:15 AM", "1:05 pm"; ``None`` when it cannot be read.

    Without am or pm, hours 1 to 6 are afternoon: no lesson starts at one in the night (common practice, no source).
    """
    match = re.fullmatch(
        r"(\d{1,2})(?:[:.h]?(\d{2}))?(?::\d{2})?\s*([ap])?\.?\s*(?:m\.?)?", text.strip(), re.IGNORECASE
    )
    if match is None or (match.group(2) is None and match.group(3) is None):
        return None
    hour, minute, half = int(match.group(1)), int(match.group(2) or 0), (match.group(3) or "").casefold()
    if half and not 1 <= hour <= 12:
        return None
    if half == "p" or (not half and 1 <= hour <= 6 and len(match.group(1)) == 1):
        hour = hour % 12 + 12
    elif half == "a":
        hour %= 12
    return time(hour, minute) if hour < 24 and minute < 60 else None


def yes_or_no(text: str) -> bool | None:
    """What a yes/no cell says; ``None`` when it says neither."""
    word = text.strip().casefold().rstrip(".")
    if word in (
        "yes",
        "y",
        "true",
        "t",
        "1",
        "x",
        "✓",
        "✔",
        "allowed",
        "allow",
        "granted",
        "ok",
        "okay",
        "opt in",
        "opt-in",
    ):
        return True
    if word in (
        "no",
        "n",
        "false",
        "f",
        "0",
        "not allowed",
        "denied",
        "refused",
        "never",
        "opt out",
        "opt-out",
        "withdrawn",
    ):
        return False
    return None
