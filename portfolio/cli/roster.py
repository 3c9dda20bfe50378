"""``portfolio init``, ``portfolio roster …`` and ``portfolio cards map``: the school, its children and its days."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Annotated

import typer

from portfolio.archive.library import Library
from portfolio.cli.frame import ERR, JsonOption, LibraryOption, answer, library_folder, open_library
from portfolio.errors import Exit, PortfolioError
from portfolio.flows import roster as rosters
from portfolio.flows import school as schools
from portfolio.flows.roster import Asked, RosterResult
from portfolio.flows.school import FileTaken
from portfolio.model.calendar import LostDay
from portfolio.model.people import Audience
from portfolio.privacy.forms import label_for
from portfolio.roster.columns import CALENDAR, LEFT_OUT, RELEASES, ROSTER, TIMETABLE, Form
from portfolio.roster.values import Guess, LineProblem

group = typer.Typer(
    help="Children, numbers, days and lessons of a school year.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
)

YearOption = Annotated[
    str | None, typer.Option("--year", help="School year, e.g. 2026-27. Default: the current one.", show_default=False)
]
ColumnOption = Annotated[
    list[str] | None,
    typer.Option("--column", help='What a column means, e.g. "first name=2"; can be repeated.', show_default=False),
]
GuessOption = Annotated[
    bool, typer.Option("--apply-guess", help="You have looked at the columns shown; read them like this.")
]
CycleOption = Annotated[int, typer.Option("--cycle", min=1, max=10, help="Days of the cycle.")]
LostOption = Annotated[
    LostDay, typer.Option(help="After a snow day: shift the cycle, skip the day, or weekday (the cycle is the week).")
]


def init(
    *,
    school: Annotated[str, typer.Option(help="Name of the school.", show_default=False)] = "",
    year: YearOption = None,
    starts: Annotated[str | None, typer.Option(help="First day of the year. Default: 1 August.")] = None,
    ends: Annotated[str | None, typer.Option(help="Last day of the year. Default: 31 July.")] = None,
    cycle: CycleOption = 6,
    lost_day: LostOption = LostDay.SHIFT,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make an empty library with the usual media and centers.

    Example: portfolio init --school "Quarry School" --year 2026-27 --cycle 5
    """
    with Library.create(library_folder(library)) as made:
        found = schools.start(
            made,
            school_name=school,
            year=year,
            starts_on=_day(starts),
            ends_on=_day(ends),
            cycle_days=cycle,
            lost_day=lost_day,
        )
    said = ["The library is ready."]
    if found is not None:
        said.append(f"School year {found.label}: {found.starts_on} to {found.ends_on}.")
    said.append("Next: portfolio roster import FILE")
    answer({"created": True, "year": found.label if found else None}, as_json=as_json, lines=said)


@group.command("import")
def import_(
    path: Annotated[Path, typer.Argument(help="A CSV file, or a OneRoster folder or zip file.")],
    *,
    year: YearOption = None,
    class_: Annotated[
        str | None, typer.Option("--class", help="For a list of one class without a class column.")
    ] = None,
    grade: Annotated[str | None, typer.Option(help="Grade of that class.")] = None,
    column: ColumnOption = None,
    apply_guess: GuessOption = False,
    decide: Annotated[
        list[str] | None, typer.Option(help='Answer to a question, e.g. "line 14=same:212"; can be repeated.')
    ] = None,
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only say what would change.")] = False,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Take in a roster: what needs no decision is done, the rest is told.

    Example: portfolio roster import classes.csv --year 2026-27 --dry-run
    """
    asked = Asked(
        columns=_columns(column, ROSTER),
        class_label=class_,
        grade=grade,
        decisions=dict(_pair(one) for one in decide or ()),
        looked_at=apply_guess,
    )
    guess = rosters.look(path, asked=asked)
    if not as_json:
        _show_guess(guess)
    with open_library(library, write=not dry_run) as opened:
        if dry_run:
            result = rosters.summary(rosters.preview(opened, path, year=year, asked=asked))
        else:
            result = rosters.apply(opened, path, year=year, asked=asked)
    answer(result.as_json(), as_json=as_json, lines=_result_lines(result))
    if result.problems:
        raise SystemExit(int(Exit.ITEMS))


@group.command("show")
def show(
    class_: Annotated[str, typer.Argument(metavar="CLASS", help="A class, e.g. 3B.")],
    *,
    year: YearOption = None,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the children of a class by number, for the teacher.

    Example: portfolio roster show 3B
    """
    with open_library(library, write=False) as opened:
        found, lines = rosters.show_class(opened, class_, year=year)
    children = [
        {
            "student": one.entry.student_id,
            "number": one.entry.number,
            "name": _teachers_name(one),
            "from": one.entry.from_day,
        }
        for one in lines
    ]
    said = [f"{one['number']:>3}  {one['name']}" for one in children] or ["Nobody holds a number in this class."]
    answer({"class": class_, "year": found.label, "children": children}, as_json=as_json, lines=said)


@group.command("year")
def set_year(
    label: Annotated[str, typer.Argument(metavar="YEAR", help="School year, e.g. 2026-27.")],
    *,
    starts: Annotated[str | None, typer.Option(help="First day of school.")] = None,
    ends: Annotated[str | None, typer.Option(help="Last day of the year.")] = None,
    cycle: Annotated[int | None, typer.Option("--cycle", min=1, max=10, help="Days of the cycle.")] = None,
    first_day: Annotated[int | None, typer.Option(min=1, max=10, help="Cycle day of the first school day.")] = None,
    lost_day: Annotated[LostDay | None, typer.Option(help="After a snow day: shift, skip or weekday.")] = None,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Make a school year, or change its days and cycle.

    Example: portfolio roster year 2026-27 --starts 2026-08-24 --ends 2027-06-11 --cycle 5
    """
    with open_library(library) as opened:
        found = schools.set_up_year(
            opened,
            label,
            starts_on=_day(starts),
            ends_on=_day(ends),
            cycle_days=cycle,
            first_cycle_day=first_day,
            lost_day=lost_day,
        )
    value = {
        "year": found.year.label,
        "starts_on": found.year.starts_on,
        "ends_on": found.year.ends_on,
        "cycle_days": found.cycle_days,
        "lost_day": found.lost_day,
    }
    said = (
        f"School year {found.year.label}: {found.year.starts_on} to {found.year.ends_on}, {found.cycle_days}-day cycle."
    )
    answer(value, as_json=as_json, lines=[said])


@group.command("calendar")
def calendar(
    path: Annotated[Path, typer.Argument(help="A CSV file: day, kind (holiday, snow, school), note.")],
    *,
    year: YearOption = None,
    column: ColumnOption = None,
    apply_guess: GuessOption = False,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Mark holidays, snow days and make-up days.

    Example: portfolio roster calendar days.csv --year 2026-27
    """
    asked = _File(path, CALENDAR, column, looked_at=apply_guess)
    _take(schools.import_calendar, asked, year=year, library=library, as_json=as_json)


@group.command("timetable")
def timetable(
    path: Annotated[Path, typer.Argument(help="A CSV file: class, cycle day, start, end.")],
    *,
    year: YearOption = None,
    column: ColumnOption = None,
    apply_guess: GuessOption = False,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Set when each class has art.

    Example: portfolio roster timetable lessons.csv
    """
    asked = _File(path, TIMETABLE, column, looked_at=apply_guess)
    _take(schools.import_timetable, asked, year=year, library=library, as_json=as_json)


@group.command("releases")
def releases(
    path: Annotated[Path, typer.Argument(help="A CSV file: class, number, audience, allowed, name form, source.")],
    *,
    year: YearOption = None,
    column: ColumnOption = None,
    apply_guess: GuessOption = False,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Record what families have allowed to be shown.

    Example: portfolio roster releases forms.csv
    """
    asked = _File(path, RELEASES, column, looked_at=apply_guess)
    _take(schools.import_releases, asked, year=year, library=library, as_json=as_json)


@group.command("join")
def join(
    keep: Annotated[int, typer.Argument(help="Id of the student whose record stays.")],
    other: Annotated[int, typer.Argument(help="Id of the record that is the same child.")],
    *,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say that two records are one child.

    Example: portfolio roster join 212 840
    """
    with open_library(library) as opened:
        rosters.same_child(opened, keep, other)
    answer({"student": keep, "joined": other}, as_json=as_json, lines=[f"Student {other} is now student {keep}."])


def map_card(
    card: Annotated[int, typer.Argument(help="Class card, 301-360, or its slot, 1-60.")],
    class_: Annotated[str, typer.Argument(metavar="CLASS", help="A class, e.g. 3B.")],
    *,
    year: YearOption = None,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say which class a class card stands for in a year.

    Example: portfolio cards map 301 3B --year 2026-27
    """
    with open_library(library) as opened:
        number, found, of_year = schools.map_card(opened, card, class_, year=year)
    value = {"card": number, "class": found.label, "year": of_year.label}
    answer(value, as_json=as_json, lines=[f"Card {number} stands for {found.label} in {of_year.label}."])


# --- words and columns ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _File:
    """A file with what was said about its columns."""

    path: Path
    form: Form
    column: list[str] | None
    looked_at: bool


def _take(
    flow: Callable[..., FileTaken], file: _File, *, year: str | None, library: Path | None, as_json: bool
) -> None:
    columns = _columns(file.column, file.form)
    with open_library(library) as opened:
        if not as_json and file.path.is_file():
            _show_guess(schools.look_at_file(file.path, file.form, columns=columns))
        result = flow(opened, file.path, year=year, columns=columns, looked_at=file.looked_at)
    said = [
        f"{result.taken} lines taken in, {result.changed} of them new.",
        *result.notes,
        *_problem_lines(result.problems),
    ]
    answer(result.as_json(), as_json=as_json, lines=said)
    if result.problems:
        raise SystemExit(int(Exit.ITEMS))


def _show_guess(guess: Guess | None) -> None:
    """The columns as they are read, on standard error, before anything happens."""
    if guess is None:
        return
    ERR.print(f"Columns of {guess.file}:", markup=False)
    for one in guess.columns:
        if one.meaning == LEFT_OUT:
            said = "left out, never kept"
        elif one.meaning is None:
            said = "not used"
        else:
            said = f"{one.meaning} ({one.confidence})  {'   '.join(one.samples)}"
        ERR.print(f"  {one.column:>2}  {one.header or '(no heading)'}: {said}", markup=False)


def _result_lines(result: RosterResult) -> Iterator[str]:
    did = "taken in" if result.applied else "would be taken in (nothing was changed)"
    children = "1 child" if result.students == 1 else f"{result.students} children"
    groups = "1 class" if result.classes == 1 else f"{result.classes} classes"
    yield f"School year {result.year}: {children} in {groups} {did}."
    counts = (("new", result.new), ("joined", result.joined), ("moved", result.moved), ("changed", result.changed))
    yield ", ".join(f"{count} {word}" for word, count in (*counts, ("left", result.left))) + "."
    yield from result.notes
    for one in result.questions:
        choices = ", ".join(f"{choice.value} = {choice.text}" for choice in one.choices)
        yield f'To decide: {one.sentence} Answer with --decide "{one.key}=…": {choices}.'
    yield from _problem_lines(result.problems)


def _problem_lines(problems: tuple[LineProblem, ...]) -> list[str]:
    return [one.sentence for one in problems]


def _columns(given: list[str] | None, form: Form) -> dict[str, int] | None:
    found = {}
    for one in given or ():
        meaning, column = _pair(one)
        if meaning not in form.headings or not column.isdecimal() or not 1 <= int(column) <= 999:
            known = ", ".join(form.headings)
            raise PortfolioError("bad-request", item="--column", found=f"write MEANING=NUMBER with one of: {known}")
        found[meaning] = int(column)
    return found or None


def _pair(text: str) -> tuple[str, str]:
    key, _, value = text.partition("=")
    return " ".join(key.split()), value.strip()


def _day(text: str | None) -> date | None:
    if text is None:
        return None
    try:
        return datetime.strptime(text, "%Y-%m-%d").date()  # noqa: DTZ007  a day has no time zone
    except ValueError as error:
        raise PortfolioError("bad-request", item="The day", found="write it as 2026-08-24") from error


def _teachers_name(line: rosters.RollLine) -> str:
    return label_for(line.name, Audience.TEACHER, releases=(), grade="", day=line.entry.from_day)
