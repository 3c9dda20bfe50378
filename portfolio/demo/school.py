"""Set the invented school up as a teacher does in August: years, calendar, timetable, cards, centers, releases.

Everything that a school has as a file is written as a file and imported.
"""

from __future__ import annotations

import csv
import random
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from portfolio.archive.library import Library
from portfolio.demo.plan import (
    CYCLE_DAYS,
    GRADES,
    ROSTER_AFTER,
    SCHOOL_NAME,
    Child,
    SchoolPlan,
    YearPlan,
    class_label,
    is_there,
    slots_of,
)
from portfolio.flows import roster, school
from portfolio.model.calendar import DayKind, MarkedDay, Term
from portfolio.model.school import CLASS_CARD_MIN

OPENINGS = {"drawing": 0, "collage": 21, "painting": 42, "printmaking": 70, "fiber": 98, "clay": 98, "building": 126}
"""Center → days after the first day of school on which it opens for all classes."""


def set_up_school(library: Library, plan: SchoolPlan, folder: Path) -> int:
    """Everything but the photos; gives the number of children this year. ``folder``: for the files to import."""
    school.start(library, school_name=SCHOOL_NAME)
    children = 0
    for year, of_year in enumerate(plan.years):
        _year(library, of_year)
        children = _rosters(library, plan, year, folder)
        _timetable(library, of_year, folder)
        for grade in range(len(GRADES)):
            school.map_card(library, CLASS_CARD_MIN + grade, class_label(grade), year=of_year.label)
        for center, after in OPENINGS.items():
            school.open_centre(library, center, opens_on=of_year.starts_on + timedelta(days=after))
    _releases(library, plan, folder)
    return children


def _year(library: Library, year: YearPlan) -> None:
    school.set_up_year(library, year.label, starts_on=year.starts_on, ends_on=year.ends_on, cycle_days=CYCLE_DAYS)
    turn = date(year.ends_on.year, 1, 20)
    terms = (Term("Fall", year.starts_on, turn), Term("Spring", turn + timedelta(days=1), year.ends_on))
    school.set_terms(library, terms, year=year.label)
    for day, note in year.holidays:
        school.mark_day(library, MarkedDay(day, DayKind.HOLIDAY, note))
    for day in year.snow_days:
        school.mark_day(library, MarkedDay(day, DayKind.SNOW, "snow"))


def _rosters(library: Library, plan: SchoolPlan, year: int, folder: Path) -> int:
    """The office's lists of one year, imported on the day they came; gives the number of children on the last."""
    of_year = plan.years[year]
    students = 0
    for after in ROSTER_AFTER:
        day = of_year.starts_on + timedelta(days=after)
        if day > plan.today:
            break
        path = folder / f"roster-{day}.csv"
        _write(path, _roster_lines(_there(plan.children, year, day), year))
        students = roster.apply(library, path, year=of_year.label, today=day).students
    return students


def _there(children: Iterable[Child], year: int, day: date) -> list[Child]:
    return [child for child in children if year in child.grade_at and is_there(child, day)]


def _roster_lines(children: Iterable[Child], year: int) -> Iterable[Sequence[Any]]:
    yield ("Student ID", "First Name", "Last Name", "Preferred Name", "Class", "Grade")
    for child in children:
        grade, name = child.grade_at[year], child.name
        yield (child.source_id, name.given, name.family, name.preferred, class_label(grade), GRADES[grade])


def _timetable(library: Library, year: YearPlan, folder: Path) -> None:
    lines = [("Class", "Cycle Day", "Start", "End")]
    for grade in range(len(GRADES)):
        lines += [
            (class_label(grade), str(day), f"{start:%H:%M}", f"{end:%H:%M}") for day, start, end in slots_of(grade)
        ]
    path = folder / f"timetable-{year.label}.csv"
    _write(path, lines)
    school.import_timetable(library, path, year=year.label)


def _releases(library: Library, plan: SchoolPlan, folder: Path) -> None:
    """What the families of the newest year have allowed: most let works be shown, some a first name, a few nothing."""
    chance = random.Random(f"releases {plan.years[-1].label}")
    lines: list[Sequence[Any]] = [("Student ID", "Audience", "Allowed", "Name form", "From", "Source")]
    newest = len(plan.years) - 1
    since = plan.years[-1].starts_on
    for child in plan.children:
        if newest not in child.grade_at:
            continue
        draw = chance.random()
        if draw < 0.1:
            continue
        source = f"registration form {plan.years[-1].label}"
        lines.append((child.source_id, "family", "yes", "full", since, source))
        lines.append((child.source_id, "school", "yes", "first initial", since, source))
        if draw > 0.25:
            lines.append((child.source_id, "community", "yes", "first", since, source))
        if draw > 0.62:
            form = "first" if draw > 0.9 else "none"
            lines.append((child.source_id, "public", "yes", form, since, source))
    path = folder / "releases.csv"
    _write(path, lines)
    school.import_releases(library, path, year=plan.years[-1].label, today=plan.today)


def _write(path: Path, lines: Iterable[Sequence[Any]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows(lines)
