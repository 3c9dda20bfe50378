"""The invented school: which children, classes, lessons and works there are. Nothing is painted here.

Six classes, one a grade, for three school years. Children move up a grade each June; some join, some leave. Every
choice comes from one seed, and dates are counted back from "today", so that the newest lesson was just held.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

from portfolio.demo.names import PlainName, draw_names

SCHOOL_NAME = "Tern Point School"
GRADES = ("K", "1", "2", "3", "4", "5")
CHILDREN = 22
CYCLE_DAYS = 6
MEDIA_BY_MONTH = (
    ("crayon", "marker", "colored pencil", "pencil"),
    ("crayon", "oil pastel", "marker", "collage"),
    ("tempera", "collage", "oil pastel", "chalk"),
    ("tempera", "watercolor", "print", "stencil"),
    ("watercolor", "print", "weaving", "clay"),
    ("clay", "paper sculpture", "mixed media", "tempera"),
)
ROSTER_AFTER = (0, 50, 130)
"""Days after the first day of school on which the office hands out a new list: the first, with joiners, without
leavers."""
OPEN_AT_ONCE = 4
"""Media that lie out in one lesson."""


@dataclass(frozen=True, slots=True)
class Child:
    """One child: an id in the school's own books, a name, a seed of its hand, and the years it is here."""

    source_id: str
    name: PlainName
    seed: int
    first_year: int
    """0 = the oldest of the three years."""
    last_year: int
    grade_at: dict[int, int]
    """Year index → grade index."""
    joins_on: date | None = None
    leaves_on: date | None = None


@dataclass(frozen=True, slots=True)
class PlannedWork:
    """One work that a child made in a lesson."""

    child: Child
    grade: int
    month: int
    """Months since the start of the school year."""
    medium: str
    work_seed: int


@dataclass(frozen=True, slots=True)
class Lesson:
    """One class on one day: the works that were photographed after it."""

    year: int
    class_label: str
    grade: int
    starts: datetime
    works: tuple[PlannedWork, ...]
    seed: int


@dataclass(frozen=True, slots=True)
class YearPlan:
    """One school year."""

    label: str
    starts_on: date
    ends_on: date
    holidays: tuple[tuple[date, str], ...]
    snow_days: tuple[date, ...]


@dataclass(frozen=True, slots=True)
class SchoolPlan:
    """The whole invented school."""

    today: date
    years: tuple[YearPlan, ...]
    children: tuple[Child, ...]
    lessons: tuple[Lesson, ...] = field(default=())


def class_label(grade: int) -> str:
    """The only class of a grade: KA, 1A … 5A."""
    return f"{GRADES[grade]}A"


STARTS = (time(8, 20), time(9, 10), time(10, 5), time(11, 0), time(13, 10), time(14, 5))
LESSON_MIN = 40


def slots_of(grade: int) -> tuple[tuple[int, time, time], ...]:
    """Cycle day, start and end of a class's art lessons: every second day of the cycle, three classes a day."""
    starts = STARTS[grade]
    ends = (datetime.combine(date.min, starts) + timedelta(minutes=LESSON_MIN)).time()
    return tuple((day, starts, ends) for day in range(1, CYCLE_DAYS + 1) if day % 2 == grade % 2)


def plan_school(*, today: date, works: int = 300, seed: int = 1) -> SchoolPlan:
    """The school as it stands on ``today``, with about ``works`` works over three years, most in the newest."""
    years = _years(today)
    children = _children(years, seed=seed)
    lessons = _lessons(years, children, today=today, works=works, seed=seed)
    return SchoolPlan(today, years, children, lessons)


def _years(today: date) -> tuple[YearPlan, ...]:
    first = today.year - (today.month < 8) - 2
    return tuple(_year(first + step) for step in range(3))


def _year(start: int) -> YearPlan:
    opens = _on_weekday(date(start, 8, 24), 0)
    thanks = _on_weekday(date(start, 11, 22), 3)
    return YearPlan(
        label=f"{start}-{(start + 1) % 100:02d}",
        starts_on=opens,
        ends_on=_on_weekday(date(start + 1, 6, 8), 4),
        holidays=(
            (_on_weekday(date(start, 9, 1), 0), "first Monday of September"),
            (thanks, "autumn break"),
            (thanks + timedelta(days=1), "autumn break"),
            *((date(start, 12, 21) + timedelta(days=step), "winter break") for step in range(12)),
            *((_on_weekday(date(start + 1, 4, 5), 0) + timedelta(days=step), "spring break") for step in range(5)),
        ),
        snow_days=(_on_weekday(date(start + 1, 2, 9), 1),),
    )


def _on_weekday(day: date, weekday: int) -> date:
    """The first day on or after ``day`` that is this weekday (0 = Monday)."""
    return day + timedelta(days=(weekday - day.weekday()) % 7)


def _children(years: tuple[YearPlan, ...], *, seed: int) -> tuple[Child, ...]:
    chance = random.Random(seed)
    cohorts = len(GRADES) + len(years) - 1
    names = iter(draw_names(cohorts * (CHILDREN + 2), seed=seed))
    made: list[Child] = []
    for cohort in range(cohorts):
        # cohort 0 is in grade 5 in the oldest year; each later one is a grade below it
        grades = {year: len(GRADES) - 1 - cohort + year for year in range(len(years))}
        here = {year: grade for year, grade in grades.items() if 0 <= grade < len(GRADES)}
        size = CHILDREN + chance.choice((-1, 0, 0, 1, 2))
        made += [_child(next(names), cohort, place, here=here, years=years, chance=chance) for place in range(size)]
    return tuple(made)


def _child(
    name: PlainName,
    cohort: int,
    place: int,
    *,
    here: dict[int, int],
    years: tuple[YearPlan, ...],
    chance: random.Random,
) -> Child:
    first, last = min(here), max(here)
    joins = leaves = None
    if place == 20 and last == len(years) - 1 and first < last:
        first = last
        joins = years[last].starts_on + timedelta(days=ROSTER_AFTER[1])
    if place == 21 and first < last:
        leaves = years[last - 1].starts_on + timedelta(days=ROSTER_AFTER[2])
        last -= 1
    return Child(
        source_id=f"tp{cohort:02d}{place:02d}",
        name=name,
        seed=chance.randrange(1 << 30),
        first_year=first,
        last_year=last,
        grade_at={year: grade for year, grade in here.items() if first <= year <= last},
        joins_on=joins,
        leaves_on=leaves,
    )


def _lessons(
    years: tuple[YearPlan, ...], children: tuple[Child, ...], *, today: date, works: int, seed: int
) -> tuple[Lesson, ...]:
    shares = (0.18, 0.28, 0.54)
    made: list[Lesson] = []
    for year, share in enumerate(shares):
        wanted = round(works * share)
        made += _lessons_of_year(years[year], year, children, today=today, works=wanted, seed=seed * 100 + year)
    return tuple(sorted(made, key=lambda lesson: lesson.starts))


def _lessons_of_year(
    plan: YearPlan, year: int, children: tuple[Child, ...], *, today: date, works: int, seed: int
) -> list[Lesson]:
    chance = random.Random(seed)
    days = school_days(plan)
    held = {day for day in days if day < today}
    made = []
    per_class = works / len(GRADES)
    lessons = max(1, round(per_class / 12))
    for grade in range(len(GRADES)):
        cycle_days = {day for day, _, _ in slots_of(grade)}
        dates = [day for place, day in enumerate(days) if place % CYCLE_DAYS + 1 in cycle_days and day in held]
        pupils = sorted((child for child in children if child.grade_at.get(year) == grade), key=lambda c: c.source_id)
        chosen = _spread(dates, lessons)
        counts = _split(round(per_class), len(chosen))
        turn = chance.sample(pupils, len(pupils))
        for day, count in zip(chosen, counts, strict=True):
            there = [child for child in turn if is_there(child, day)]
            artists, turn = there[:count], [*(child for child in turn if child not in there[:count]), *there[:count]]
            month = (day.year - plan.starts_on.year) * 12 + day.month - plan.starts_on.month
            media = _open_media(month, chance)
            made.append(
                Lesson(
                    year=year,
                    class_label=class_label(grade),
                    grade=grade,
                    starts=datetime.combine(day, STARTS[grade]),
                    works=tuple(_work(child, grade, month, media, chance) for child in artists),
                    seed=chance.randrange(1 << 30),
                )
            )
    return made


def _spread(dates: list[date], count: int) -> list[date]:
    """``count`` of the dates, spread evenly, the newest always among them."""
    count = min(count, len(dates))
    return [dates[round((place + 1) * len(dates) / count) - 1] for place in range(count)]


def _split(total: int, parts: int) -> list[int]:
    return [total * (part + 1) // parts - total * part // parts for part in range(parts)]


def is_there(child: Child, day: date) -> bool:
    """Whether a child is at the school on this day."""
    return (child.joins_on is None or child.joins_on <= day) and (child.leaves_on is None or day < child.leaves_on)


def _open_media(month: int, chance: random.Random) -> list[str]:
    """What lies out in one lesson: a few media of the centers that are open by then, the newest among them."""
    rows = MEDIA_BY_MONTH[: max(1, min(len(MEDIA_BY_MONTH), month + 1))]
    newest = chance.sample(rows[-1], 2)
    rest = [medium for row in rows for medium in row if medium not in newest]
    return [*newest, *chance.sample(rest, min(OPEN_AT_ONCE - 2, len(rest)))]


def _work(child: Child, grade: int, month: int, media: list[str], chance: random.Random) -> PlannedWork:
    liked = [medium for medium in media if (child.seed >> len(medium)) % 3 == 0]
    medium = chance.choice(liked or media) if chance.random() < 0.5 else chance.choice(media)
    return PlannedWork(child, grade, month, medium, chance.randrange(1 << 30))


def school_days(plan: YearPlan) -> list[date]:
    """Every school day of the year, in order; a lost day shifts the cycle."""
    closed = {day for day, _ in plan.holidays} | set(plan.snow_days)
    span = (plan.ends_on - plan.starts_on).days + 1
    days = (plan.starts_on + timedelta(days=step) for step in range(span))
    return [day for day in days if day.weekday() < 5 and day not in closed]
