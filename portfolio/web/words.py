"""Days, times, counts and sizes in the words of the screen."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Final

from portfolio.model.calendar import SchoolYear

_MONTHS: Final = "January February March April May June July August September October November December".split()  # noqa: SIM905  a list of words reads better as words
_DAYS: Final = "Monday Tuesday Wednesday Thursday Friday Saturday Sunday".split()  # noqa: SIM905  as above
MM_PER_INCH: Final = 25.4


def day_long(day: date) -> str:
    """Like "Tuesday, February 11"."""
    return f"{_DAYS[day.weekday()]}, {_MONTHS[day.month - 1]} {day.day}"


def day_short(day: date) -> str:
    """Like "Feb 5"."""
    return f"{_MONTHS[day.month - 1][:3]} {day.day}"


def day_plain(day: date, *, today: date) -> str:
    """Like "today", "yesterday", "October 9" or, in another year, "October 9, 2024"."""
    if day == today:
        return "today"
    if day == today - timedelta(days=1):
        return "yesterday"
    plain = f"{_MONTHS[day.month - 1]} {day.day}"
    return plain if abs((today - day).days) < 300 else f"{plain}, {day.year}"


def days(first: date, last: date, *, today: date) -> str:
    """Like "September 3 to January 31"."""
    return f"{day_plain(first, today=today)} to {day_plain(last, today=today)}"


def month(day: date) -> str:
    """Like "September 2022"."""
    return f"{_MONTHS[day.month - 1]} {day.year}"


def clock(moment: time | datetime) -> str:
    """Like "1:10": lessons are by day, so the half of the day is clear."""
    return f"{(moment.hour - 1) % 12 + 1}:{moment.minute:02d}"


def span(first: date, last: date, *, year: SchoolYear, today: date) -> str:
    """What a span of days within a school year is called: "this term", "last term", "this year", "in 2024–25"."""
    if not year.holds(today):
        return f"in {year.label.replace('-', '–')}"
    if (first, last) == (year.starts_on, year.ends_on):
        return "this year"
    return "this term" if first <= today <= last else "last term"


def moment(at: datetime, *, today: date) -> str:
    """Like "today, 1:10": a moment of the world in this computer's time, or wall time as it stands."""
    local = at.astimezone() if at.tzinfo else at
    return f"{day_plain(local.date(), today=today)}, {clock(local)}"


def count(number: int, one: str, many: str = "") -> str:
    """Like "1 work", "23 works"."""
    return f"{number:,} {one if number == 1 else many or one + 's'}"


def listed(words: list[str]) -> str:
    """Like "7", "7 and 19", "7, 12 and 19"."""
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"


def year(label: str) -> str:
    """Like "2024–25", with the dash that belongs between two figures."""
    return label.replace("-", "–")


def size(width_mm: float | None, height_mm: float | None, *, about: bool = False) -> str:
    """Like "12 × 9 in"; empty when it was not measured. The spaces in it do not break."""
    if not width_mm or not height_mm:
        return ""
    words = f"{_inches(width_mm)}\u00a0×\u00a0{_inches(height_mm)}\u00a0in"
    return f"about {words}" if about else words


def _inches(mm: float) -> str:
    """Rounded to half an inch, the way paper is bought."""
    halves = max(1, round(mm / MM_PER_INCH * 2))
    whole = halves // 2
    return f"{whole or ''}½" if halves % 2 else str(whole)


def between(first: date, last: date) -> str:
    """Like "2 years 5 months", "5 months", "3 weeks": whole months, at least one part."""
    months = (last.year - first.year) * 12 + last.month - first.month - (last.day < first.day)
    years, months = divmod(months, 12)
    parts = [count(years, "year") if years else "", count(months, "month") if months else ""]
    words = " ".join(part for part in parts if part)
    weeks = (last - first).days // 7
    return words or (count(weeks, "week") if weeks else count((last - first).days, "day"))


def bytes_in_words(size_bytes: int) -> str:
    """Like "3.4 MB"."""
    for unit, step in (("GB", 1_000_000_000), ("MB", 1_000_000), ("kB", 1000)):
        if size_bytes >= step:
            return f"{size_bytes / step:.1f} {unit}"
    return f"{size_bytes} bytes"


def grade_order(grade: str) -> int:
    """Where a grade stands among the others: preschool and kindergarten before grade 1, unknown ones last."""
    return int(grade) if grade.isdecimal() else {"PK": -2, "TK": -1, "K": 0}.get(grade, 99)


def grade(label: str) -> str:
    """Like "Grade 3", "Kindergarten"."""
    return f"Grade {label}" if label.isdecimal() else {"K": "Kindergarten"}.get(label, label)


def capital(text: str | None) -> str:
    """A label as it begins a line: "Oil pastel". Only the first letter is touched."""
    return f"{text[0].upper()}{text[1:]}" if text else ""
