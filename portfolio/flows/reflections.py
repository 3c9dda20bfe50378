"""Words find their work: by hand in the app, or in bulk from a list of class, number, date and text.

A text is kept letter for letter. It goes to the work of that child and day when there is exactly one; otherwise the
words are kept and the teacher is asked. Places where another child's name may stand are held at once.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Final

from portfolio.archive import finding, people, school, words
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound, PortfolioError, Problem, Refused
from portfolio.flows.observe import holder
from portfolio.model.showing import HeldPlace, KnownChild
from portfolio.model.words import WRITERS, Said
from portfolio.privacy.words import NameFinder, hold
from portfolio.roster.columns import Form, guess_columns
from portfolio.roster.table import Table, read_table
from portfolio.roster.values import Guess

LIST: Final = Form(
    "reflections",
    {
        "class": ("class", "class name", "homeroom", "section", "group", "class label"),
        "number": ("number", "no", "num", "#", "nr", "class number", "number in class"),
        "date": ("date", "day", "said on", "made on", "when", "lesson"),
        "text": ("text", "words", "reflection", "what the child said", "said", "answer", "note", "response"),
        "language": ("language of the words", "lang"),
        "written by": ("written by", "writer", "who wrote it"),
    },
    (("class",), ("number",), ("date",), ("text",)),
)
TEXT_MAX: Final = 2000
"""Letters of what a child says about one work."""
DATE_FORMS: Final = ("%Y-%m-%d", "%m/%d/%Y", "%m/%d/%y", "%d.%m.%Y", "%Y/%m/%d", "%b %d, %Y", "%d %b %Y")


@dataclass(frozen=True, slots=True)
class WordsTaken:
    """What an import did. ``same`` = lines whose very words were kept already."""

    added: int
    questions: int
    same: int
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class _Row:
    line: int
    class_label: str
    number: int
    day: date
    text: str
    language: str
    written_by: str


def preview(path: Path) -> Guess:
    """How the columns of a list would be read; shown before anything is applied."""
    return guess_columns(_table(path.read_bytes(), path.name), LIST)


def import_list(library: Library, path: Path, *, who: str = "teacher") -> WordsTaken:
    """Take in a list of reflections in one transaction. Bad lines are told; the good ones come in."""
    content = path.read_bytes()
    table = _table(content, path.name)
    guess = guess_columns(table, LIST)
    if guess.missing:
        raise PortfolioError("words-columns", item=path.name, found=", ".join(guess.missing))
    problems: list[Problem] = list(table.problems)
    rows = list(_rows(content, table, guess, problems=problems))
    added = questions = same = 0
    with library.writing(who=who, what="took in what children said") as writing:
        finder = name_finder(writing.session)
        for row in rows:
            try:
                said = _said(writing.session, row)
            except NotFound:
                found = f"nobody has number {row.number} in {row.class_label} on that day"
                problems.append(Problem("words-nobody", f"Line {row.line} of {path.name}", found))
                continue
            if words.has_reflection(writing.session, said):
                same += 1
                continue
            added += 1
            questions += _keep(writing.session, said, finder=finder) is not None
    return WordsTaken(added, questions, same, tuple(sorted(problems, key=_line_of)))


def add(library: Library, said: Said, *, work_id: int | None = None, who: str = "teacher") -> int | None:
    """Keep one child's words. With ``work_id`` they belong to that work; else they are matched or asked about.

    Gives the id of the question when one was needed.
    """
    if said.written_by not in WRITERS:
        raise PortfolioError("bad-request", item="The writer", found=f"one of {', '.join(WRITERS)} is needed")
    with library.writing(who=who, what="kept what a child said") as writing:
        return _keep_at(writing.session, said, work_id)


def _keep_at(session: Session, said: Said, work_id: int | None, *, own: bool = False) -> int | None:
    """Keep words at a work (``own``: it has to be the child's), or at the one that they fit; gives the id of the
    question when one was needed.
    """
    finder = name_finder(session)
    if work_id is None:
        return _keep(session, said, finder=finder)
    shown = finding.shown(session, [work_id])
    if not shown or (own and said.student_id not in shown[0].student_ids):
        raise NotFound("not-found", item=f"Work {work_id} of this number" if own else f"Work {work_id}")
    words.add_reflection(session, said, work_id=work_id, held=_held(finder, said))
    return None


@dataclass(frozen=True, slots=True)
class WordsKept:
    """The step that kept a child's words, and the question about whose work they are, when there is one."""

    action_id: int
    question_id: int | None


def add_by_number(
    library: Library,
    class_id: int,
    number: int,
    *,
    text: str,
    said_on: date,
    written_by: str = "teacher",
    language: str = "en",
    work_id: int | None = None,
) -> WordsKept:
    """Keep the words of the child who holds a number of a class. Refuses a work that is not this child's."""
    if not text.strip() or len(text) > TEXT_MAX:
        raise PortfolioError("bad-request", item="The words", found=f"1 to {TEXT_MAX} letters are needed")
    with library.writing(who="teacher", what="kept what a child said") as writing:
        session = writing.session
        said = Said(holder(session, class_id, number, said_on), text, said_on, language, written_by)
        return WordsKept(writing.action_id, _keep_at(session, said, work_id, own=True))


def write_down(library: Library, said: Said, *, work_id: int) -> int | None:
    """Keep what a maker of a work said, as the teacher typed it; gives the step, for undo. The same words of that day
    again (a press too many) are kept once: ``None``. Refuses words that are blank or too long, a writer that is none
    and a child who did not make this work.
    """
    if not said.text.strip() or len(said.text) > TEXT_MAX:
        found = f"they have more than {TEXT_MAX} letters" if said.text.strip() else "there are none yet"
        raise PortfolioError("bad-request", item="The words", found=found)
    if said.written_by not in WRITERS:
        raise PortfolioError("bad-request", item="The writer", found=f"one of {', '.join(WRITERS)} is needed")
    with library.writing(who="teacher", what="kept what a child said") as writing:
        if words.has_reflection(writing.session, said):
            return None
        _keep_at(writing.session, said, work_id, own=True)
        return writing.action_id


def answer(library: Library, question_id: int, *, work_id: int) -> int:
    """The teacher says which work the words are about; gives the action's id, for undo."""
    with library.writing(who="teacher", what="matched what a child said") as writing:
        asked = words.asked_reflection(writing.session, question_id)
        if asked.state not in ("open", "later"):
            raise Refused("already-answered", item=f"Question {question_id}")
        if not finding.shown(writing.session, [work_id]):
            raise NotFound("not-found", item=f"Work {work_id}")
        words.settle_reflection(writing.session, asked, work_id=work_id)
        return writing.action_id


def text_of(session: Session, reflection_id: int) -> str:
    """A child's words, letter for letter."""
    return words.reflection_text(session, reflection_id)


def name_finder(session: Session) -> NameFinder:
    """Finds the name of any child of the archive in a text."""
    return NameFinder(KnownChild(key, name) for key, name in people.names(session).items())


def _keep(session: Session, said: Said, *, finder: NameFinder) -> int | None:
    theirs = words.works_of_child(session, said.student_id, day=said.said_on)
    work_id = theirs[0] if len(theirs) == 1 else None
    key = words.add_reflection(session, said, work_id=work_id, held=_held(finder, said))
    if work_id is not None:
        return None
    options = theirs or words.nearest_works(session, said.student_id, day=said.said_on)
    guess = None if theirs or not options else options[0]
    return words.ask_reflection(session, key, evidence=_evidence(len(theirs), options), options=options, guess=guess)


def _evidence(count: int, options: tuple[int, ...]) -> str:
    if count:
        return f"This child made {count} works that day, and the words could be about either."
    if options:
        return "This child has no work of that day; the nearest ones are offered."
    return "This child has no work yet."


def _held(finder: NameFinder, said: Said) -> tuple[HeldPlace, ...]:
    return hold(finder, said.text)


def _line_of(problem: Problem) -> int:
    return int(problem.item.split()[1])  # every item here is "Line 12 of words.csv"


def _said(session: Session, row: _Row) -> Said:
    year = school.year_of_day(session, row.day)
    if year is None:
        raise NotFound("not-found", item="A school year for this day")
    student = people.resolve_student(session, f"{row.class_label}-{row.number}", year_id=year.year_id, day=row.day)
    return Said(student, row.text, row.day, language=row.language, written_by=row.written_by)


def _table(content: bytes, file: str) -> Table:
    return read_table(content, file=file)


def _rows(content: bytes, table: Table, guess: Guess, *, problems: list[Problem]) -> Iterator[_Row]:
    """The lines below the headings, with the text as it stands in the file (the table's own cells are tidied)."""
    at = {meaning: guess.column_of(meaning) for meaning in LIST.headings}
    text = content.decode("utf-8-sig" if table.encoding == "utf-8" else table.encoding, errors="replace")
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=table.delimiter)
    start = 1
    for cells in reader:
        line, start = start, reader.line_num + 1
        if guess.header_line is not None and line <= guess.header_line:
            continue
        if any(cell.strip() for cell in cells):
            found = _row(cells, line, at)
            if isinstance(found, _Row):
                yield found
            else:
                problems.append(Problem("words-line", f"Line {line} of {table.file}", found))


def _row(cells: list[str], line: int, at: dict[str, int | None]) -> _Row | str:
    def cell(meaning: str) -> str:
        place = at[meaning]
        return cells[place] if place is not None and place < len(cells) else ""

    number = cell("number").strip()
    day = read_day(cell("date"))
    if not number.isdecimal():
        return "the number is missing or no number"
    if day is None:
        return "the date cannot be read"
    if not cell("text").strip():
        return "there are no words"
    written_by = cell("written by").strip().lower() or "child"
    if written_by not in WRITERS:
        return "'written by' is none of child, teacher, helper"
    return _Row(
        line=line,
        class_label=cell("class").strip(),
        number=int(number),
        day=day,
        text=cell("text"),
        language=cell("language").strip() or "en",
        written_by=written_by,
    )


def read_day(text: str) -> date | None:
    """A date in one of the common forms; month first when it stands with slashes (US school); ``None`` = unreadable."""
    text = re.sub(r"[T ]\d{1,2}:\d{2}.*$", "", text.strip())
    for form in DATE_FORMS:
        try:
            return datetime.strptime(text, form).date()  # noqa: DTZ007  a day has no time zone
        except ValueError:
            continue
    return None
