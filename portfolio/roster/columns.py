"""Which column means what? Guessed from headings and from the shape of the cells, and always shown first.

Columns that hold contact data or demographic facts are recognised so that they can be left out by name; any column
that is not recognised is not read either.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from portfolio.errors import PortfolioError
from portfolio.model.people import NUMBER_MAX
from portfolio.roster.table import Line, Table
from portfolio.roster.values import ColumnGuess, Guess
from portfolio.roster.words import grade_of

LEFT_OUT: Final = "left out"
PRIVATE_WORDS: Final = frozenset(
    re.split(
        r"\s+",
        "email mail phone telephone mobile cell sms fax password passcode pin birth birthday birthdate dob age gender "
        "sex race ethnicity ethnic address street city zip zipcode postal parent parents guardian guardians mother "
        "father contact contacts emergency lunch iep 504 medical allergy allergies health language username login "
        "userid ssn pronouns photo disability religion nationality",
    )
)
"""A heading with one of these words is never read."""
HEADER_REACH: Final = 12
"""Lines at the top of a sheet in which the headings are looked for (above them stand titles)."""


@dataclass(frozen=True, slots=True)
class Form:
    """A kind of table: its meanings with the headings that say them, best first, and what is needed."""

    name: str
    headings: Mapping[str, tuple[str, ...]]
    needed: tuple[tuple[str, ...], ...]
    """Each entry: meanings of which one must be there."""


def _form(name: str, needed: str, **headings: str) -> Form:
    """A form from plain text: ``needed="class; start or time"``, ``last_day="to, until"``."""
    return Form(
        name,
        {meaning.strip("_").replace("_", " "): tuple(known.split(", ")) for meaning, known in headings.items()},
        tuple(tuple(one.split(" or ")) for one in needed.split("; ")),
    )


ROSTER: Final = _form(
    "roster",
    "first name or last name or full name; class",
    first_name="first name, first, given name, givenname, forename, student first name, fname, nombre",
    last_name="last name, last, family name, familyname, surname, student last name, lname, apellido, apellidos",
    full_name="name, student name, student, full name, pupil, child, pupil name, child name, last first, "
    "last name first name, first last, name last first, name first last, learner, students, names",
    preferred="preferred name, preferred, preferred first name, nickname, goes by, known as, called, nick name",
    middle="middle name, middle, middle initial, mi",
    class_="class, class name, homeroom, home room, hr, section, class label, classroom, room, homeroom teacher, "
    "teacher, teacher name, teacher last name, group, clase, course section",
    grade="grade, grade level, gr, level, year level, grades, grado, grd",
    number="number, no, num, #, nr, art number, number in class, class number, seat, roll number, roll no, "
    "student number, student no",
    id="id, student id, studentid, sis id, local id, sourcedid, sourced id, identifier, pupil id, local student id, "
    "student id number, id number, state id, uid",
    from_="from, entry date, start date, begin date, enrolled, start, entered",
    to="to, exit date, end date, withdrawn, left, withdraw date, end",
)

CALENDAR: Final = _form(
    "calendar",
    "day",
    day="day, date, from, start, start date, first day, begin, begins, starts",
    last_day="last day, to, until, end, end date, through, ends",
    kind="kind, type, what, category, status, school",
    note="note, notes, name, event, description, title, holiday, reason, summary, subject",
    cycle_day="cycle day, cycle, rotation, rotation day, letter day",
)

TIMETABLE: Final = _form(
    "timetable",
    "class; cycle day; start or time; end or time",
    class_="class, class name, homeroom, section, group, room, teacher, class label",
    cycle_day="cycle day, day, cycle, rotation day, rotation, letter day, weekday",
    start="start, starts, from, start time, begin, begins, starts at",
    end="end, ends, to, end time, until, finish, ends at",
    time="time, times, period time, bell, bells, hours",
)

RELEASES: Final = _form(
    "releases",
    "audience; allowed; number or id",
    class_="class, class name, homeroom, section, group, class label",
    number="number, no, num, #, nr, class number, number in class",
    id="id, student id, studentid, sourcedid, identifier, student",
    audience="audience, for, who, who may see, shown to",
    allowed="allowed, allow, release, permission, consent, granted, ok",
    name_form="name form, name, form of name, name shown, label name",
    from_="from, from day, start, start date, signed, date",
    to="to, to day, until, end, end date, expires",
    source="source, form, document, where, note, notes",
)


def guess_columns(table: Table, form: Form, *, named: Mapping[str, int] | None = None) -> Guess:
    """Guess what each column of ``table`` means. ``named`` (meaning → column, from 1) wins over the guess."""
    at = _header_at(table, form)
    header = table.lines[at].cells if at is not None else ()
    body = table.lines[at + 1 :] if at is not None else table.lines
    width = max((len(line.cells) for line in (*body[:200], Line(0, header))), default=0)
    cells = [[line.cells[i] for line in body if i < len(line.cells) and line.cells[i]] for i in range(width)]
    heads = [header[i] if i < len(header) else "" for i in range(width)]
    found = _by_heading(heads, form)
    if form is ROSTER:
        found = _roster_sense(found, heads, cells) if at is not None else _by_cells(cells)
    for meaning, column in (named or {}).items():
        found = {key: one for key, one in found.items() if one[0] != meaning}
        found[column - 1] = (meaning, "sure")
    columns = tuple(_column(i, heads[i], cells[i], found.get(i)) for i in range(width))
    meanings = {one.meaning for one in columns}
    missing = tuple(" or ".join(anyof) for anyof in form.needed if not meanings.intersection(anyof))
    doubts = _doubts(columns, headed=at is not None, named=frozenset(named or ()))
    line = table.lines[at].line if at is not None else None
    return Guess(table.file, table.encoding, table.delimiter, line, columns, missing, doubts)


def refuse_unsure(guess: Guess, *, looked_at: bool) -> None:
    """Refuse columns of which one is missing, or one is doubtful and nobody has looked at them yet."""
    if guess.missing:
        raise PortfolioError("roster-columns-missing", item=guess.file, found=" and ".join(guess.missing))
    if guess.doubts and not looked_at:
        raise PortfolioError("roster-columns-unsure", item=guess.file, found="; ".join(guess.doubts))


def body_of(table: Table, guess: Guess) -> tuple[Line, ...]:
    """The lines below the headings."""
    return tuple(line for line in table.lines if guess.header_line is None or line.line > guess.header_line)


def shape(cell: str) -> str:
    """The form of a cell without its content: ``O'Neil, Zoë 4`` → ``X'Xxxx, Xxx 9``."""

    def sign(one: str) -> str:
        if one.isdecimal():
            return "9"
        if one.isalpha():
            return "X" if one.isupper() else "x"
        return one if one in " ,.'’-/:#()" else "?"

    return "".join(sign(one) for one in cell[:24])


def told(cell: str) -> str:
    """A cell as a sentence may tell it: as it stands when it is a short code with a digit, else only its kind."""
    if re.fullmatch(r"(?=.*\d)[\w./: -]{1,16}", cell) and not re.search(r"[^\W\d_]{4,}", cell):
        return f"'{cell}'"
    return "a word" if cell.isalpha() else "a text"


def heading_words(heading: str) -> str:
    """A heading as plain words: ``First_Name*`` → ``first name``; ``#`` stays."""
    text = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", heading)
    return " ".join(re.sub(r"[^\w#]+|_", " ", text).casefold().split())


def _header_at(table: Table, form: Form) -> int | None:
    """The line of the headings: the one among the first lines where most cells are known headings, at least two."""
    best, best_count = None, 1
    for at, line in enumerate(table.lines[:HEADER_REACH]):
        known = [cell for cell in line.cells if cell and (_is_private(cell) or _meaning(cell, form)[0] is not None)]
        filled = sum(bool(cell) for cell in line.cells)
        if len(known) > best_count and len(known) * 3 >= filled:
            best, best_count = at, len(known)
    if best is None and table.lines and len(table.lines[0].cells) == 1:
        return 0 if _meaning(table.lines[0].cells[0], form)[1] == "sure" else None
    return best


def _is_private(heading: str) -> bool:
    return not PRIVATE_WORDS.isdisjoint(heading_words(heading.replace("-", "")).split())


def _meaning(heading: str, form: Form) -> tuple[str | None, str, int]:
    """Meaning, confidence, and how well it fits (smaller is better)."""
    words = heading_words(heading)
    for meaning, known in form.headings.items():
        if words in known:
            return meaning, "sure", known.index(words)
    held = [
        (len(one), meaning, 50 + place)
        for meaning, known in form.headings.items()
        for place, one in enumerate(known)
        if len(one) > 2 and re.search(rf"\b{re.escape(one)}\b", words)
    ]
    if held:
        _, meaning, place = max(held)
        return meaning, "likely", place
    return None, "unsure", 99


def _by_heading(heads: list[str], form: Form) -> dict[int, tuple[str, str]]:
    """Column → (meaning, confidence); of two columns that claim one meaning, the better heading has it."""
    claims: dict[str, tuple[int, int, str]] = {}
    found: dict[int, tuple[str, str]] = {}
    for column, heading in enumerate(heads):
        if not heading:
            continue
        if _is_private(heading):
            found[column] = (LEFT_OUT, "sure")
            continue
        meaning, confidence, place = _meaning(heading, form)
        if meaning is not None and (meaning not in claims or place < claims[meaning][1]):
            claims[meaning] = (column, place, confidence)
    return found | {column: (meaning, confidence) for meaning, (column, _, confidence) in claims.items()}


def _roster_sense(
    found: dict[int, tuple[str, str]], heads: list[str], cells: list[list[str]]
) -> dict[int, tuple[str, str]]:
    """Let the cells speak: a "student number" of seven digits is an id, "Name" beside "Last name" is the first."""
    meanings = {meaning: column for column, (meaning, _) in found.items()}
    number = meanings.get("number")
    if number is not None and not _mostly(cells[number], _is_number) and _mostly(cells[number], _is_long):
        del found[number]
        if "id" not in meanings and len(set(cells[number])) == len(cells[number]):
            found[number] = ("id", "likely")
    full, last = meanings.get("full name"), meanings.get("last name")
    if full is not None and last is not None:
        first = meanings.get("first name")
        if first is None and "name" in heading_words(heads[full]):
            found[full] = ("first name", "likely")
        else:
            del found[full]
    return found


def _by_cells(cells: list[list[str]]) -> dict[int, tuple[str, str]]:
    """Without headings only the shape of the cells is left; every such guess must be looked at."""
    tests: tuple[tuple[str, Callable[[str], bool]], ...] = (
        ("full name", lambda cell: bool(re.fullmatch(r"[^\d,]+,[^\d,]+", cell))),
        ("class", lambda cell: bool(re.fullmatch(r"(?:[KkTtPp]{1,2}|\d{1,2})[- ]?[A-Za-z]\w{0,10}", cell))),
        ("number", _is_number),
        ("grade", lambda cell: grade_of(cell) is not None),
        ("id", lambda cell: bool(re.fullmatch(r"\d{5,12}", cell))),
    )
    found: dict[int, tuple[str, str]] = {}
    for meaning, test in tests:
        column = next((i for i in range(len(cells)) if i not in found and _mostly(cells[i], test)), None)
        if column is not None:
            found[column] = (meaning, "unsure")
    words = [i for i in range(len(cells)) if i not in found and _mostly(cells[i], lambda cell: cell.isalpha())]
    if "full name" not in {meaning for meaning, _ in found.values()}:
        for column, meaning in zip(words, ("first name", "last name"), strict=False):
            found[column] = (meaning, "unsure")
    return found


def _is_number(cell: str) -> bool:
    return bool(re.fullmatch(r"0?\d{1,2}(\.0)?", cell)) and 1 <= int(float(cell)) <= NUMBER_MAX


def _is_long(cell: str) -> bool:
    """An id of some office, not a number in a class that was mistyped."""
    return bool(re.fullmatch(r"[\w-]{4,}", cell))


def _mostly(cells: list[str], test: Callable[[str], bool]) -> bool:
    return bool(cells) and sum(map(test, cells)) * 10 >= len(cells) * 7


def _column(index: int, heading: str, cells: list[str], found: tuple[str, str] | None) -> ColumnGuess:
    meaning, confidence = found if found is not None else (None, "unsure")
    samples = () if meaning in (None, LEFT_OUT) else tuple(dict.fromkeys(shape(cell) for cell in cells[:50]))[:3]
    return ColumnGuess(index + 1, heading, meaning, confidence, samples)


def _doubts(columns: tuple[ColumnGuess, ...], *, headed: bool, named: frozenset[str]) -> tuple[str, ...]:
    used = [one for one in columns if one.meaning not in (None, LEFT_OUT)]
    unsure = [one for one in used if one.confidence == "unsure" and one.meaning not in named]
    doubts = [f"column {one.column} only looks like {one.meaning}" for one in unsure]
    if not headed and not named:
        doubts.insert(0, "no line of headings was found")
    return tuple(doubts)
