"""School years, by label and by the sessions of a OneRoster set."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from portfolio.errors import PortfolioError
from portfolio.model.calendar import Term
from portfolio.roster.values import YearTold
from portfolio.roster.words import date_of


@dataclass(frozen=True, slots=True)
class Sessions:
    """The school year that a set tells, and to which year each of its sessions belongs."""

    year: YearTold | None
    year_of: Mapping[str, str]
    """sourcedId of a session → label of its school year."""
    note: str = ""

    def is_other_year(self, session_ids: Iterable[str]) -> bool:
        """Whether all these sessions are known and none belongs to the year."""
        labels = [self.year_of.get(key) for key in session_ids]
        return self.year is not None and bool(labels) and all(one and one != self.year.label for one in labels)


@dataclass(frozen=True, slots=True)
class _Session:
    source_id: str
    kind: str
    title: str
    starts_on: date
    ends_on: date
    label: str


def year_label(ends_in: int) -> str:
    """Give ``2026-27`` for the school year that ends in 2027."""
    return f"{ends_in - 1}-{ends_in % 100:02}"


def read_year_label(text: str) -> str:
    """A school year as people write it ("2026-27", "2026/27", "2026–2027") in our form; refused when it is none."""
    match = re.fullmatch(r"(\d{4})\s*[-/–]\s*(\d{2}|\d{4})", text.strip())
    if match is None or (int(match.group(1)) + 1) % 100 != int(match.group(2)) % 100:
        raise PortfolioError("bad-request", item="The school year", found="write it as 2026-27")
    return year_label(int(match.group(1)) + 1)


def default_year(label: str) -> YearTold:
    """A school year of which only the label is known: 1 August to 31 July (our default, said when it is used)."""
    first = int(read_year_label(label)[:4])
    return YearTold(year_label(first + 1), date(first, 8, 1), date(first + 1, 7, 31))


def year_holding(day: date) -> YearTold:
    """The default school year that holds a day."""
    return default_year(year_label(day.year + 1 if day.month >= 8 else day.year))


def read_sessions(rows: Iterable[tuple[int, Mapping[str, str]]], *, year: str | None = None, today: date) -> Sessions:
    """Choose the school year: the one asked for, else the one that holds ``today``, else the newest.

    ``schoolYear`` is the year in which the school year ends, and ``endDate`` the day after the last day (OneRoster).
    Sessions that cannot be read are left out. A year asked for wins over what the set tells, and the note says so.
    """
    sessions = [one for one in (_session(row) for _, row in rows) if one is not None]
    year_of = {one.source_id: one.label for one in sessions}
    spans: dict[str, tuple[date, date]] = {}
    for one in sorted(sessions, key=lambda one: one.kind == "schoolyear", reverse=True):
        if one.kind == "schoolyear" or one.label not in spans:
            spans[one.label] = _union(spans.get(one.label), one)
    label = year if year is not None else _current(spans, today)
    if label is None or label not in spans:
        other = ", ".join(sorted(spans))
        return Sessions(None, {}, f"The set tells the school year {other}; it was taken as {label}." if other else "")
    starts_on, ends_on = spans[label]
    return Sessions(YearTold(label, starts_on, ends_on, _terms(sessions, label, spans[label])), year_of)


def _session(row: Mapping[str, str]) -> _Session | None:
    starts_on, ends_on = date_of(row["startDate"]), date_of(row["endDate"])
    if starts_on is None or ends_on is None or ends_on <= starts_on or row["status"] == "tobedeleted":
        return None
    last = ends_on - timedelta(days=1)
    label = _label(row["schoolYear"], starts_on, last)
    return _Session(row["sourcedId"], row["type"].casefold(), row["title"], starts_on, last, label)


def _label(told: str, starts_on: date, ends_on: date) -> str:
    """The year told, unless the session's own days contradict it (some systems write the year of the start)."""
    if re.fullmatch(r"(19|20)\d\d", told):
        ends_in = int(told)
        if date(ends_in - 1, 6, 1) <= starts_on and ends_on <= date(ends_in, 9, 30):
            return year_label(ends_in)
    return year_holding(starts_on).label


def _union(span: tuple[date, date] | None, one: _Session) -> tuple[date, date]:
    if span is None:
        return one.starts_on, one.ends_on
    return min(span[0], one.starts_on), max(span[1], one.ends_on)


def _current(spans: Mapping[str, tuple[date, date]], today: date) -> str | None:
    holding = [label for label, (starts_on, ends_on) in spans.items() if starts_on <= today <= ends_on]
    return max(holding or spans, default=None)


def _terms(sessions: Iterable[_Session], label: str, span: tuple[date, date]) -> tuple[Term, ...]:
    """The report periods: grading periods if there are any, else terms, else semesters."""
    for kind in ("gradingperiod", "term", "semester"):
        found = [
            Term(one.title or f"Term {one.starts_on}", one.starts_on, one.ends_on)
            for one in sessions
            if one.kind == kind and one.label == label and span[0] <= one.starts_on and one.ends_on <= span[1]
        ]
        if found:
            return tuple(sorted(found, key=lambda term: (term.starts_on, term.ends_on)))
    return ()
