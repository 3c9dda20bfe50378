"""A file of lines and columns as text, whatever program wrote it: encoding, separator, quotes, byte-order mark.

Nothing is understood here yet. A line knows its number in the file, so that a problem can be found again.
"""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Final

from portfolio.errors import PortfolioError, Problem

MAX_BYTES: Final = 32 * 1024 * 1024
"""Heaviest table taken in: a district's users are about 10 MB, a school's list far below 1 MB (own estimate)."""
MAX_LINES: Final = 300_000
MAX_CELL: Final = 2_000
DELIMITERS: Final = (",", ";", "\t", "|")


@dataclass(frozen=True, slots=True)
class Line:
    """One record: its line number in the file (1 = first line) and its cells, cleaned."""

    line: int
    cells: tuple[str, ...] = field(repr=False)


@dataclass(frozen=True, slots=True)
class Table:
    """A file as lines. ``file`` is its own name, never a path."""

    file: str
    encoding: str
    delimiter: str
    lines: tuple[Line, ...] = field(repr=False)
    problems: tuple[Problem, ...] = ()


def read_table(content: bytes, *, file: str, delimiter: str | None = None) -> Table:
    """Read bytes as a table. Refuses what is too large, empty or no text, with a sentence each.

    Empty lines are left out; a record that cannot be read is a ``Problem`` and the others still come.
    """
    if len(content) > MAX_BYTES:
        raise PortfolioError("roster-too-large", item=file, found=f"{len(content) // 1_000_000} MB")
    text, encoding = _decode(content, file=file)
    text, told = _told_delimiter(text)
    delimiter = delimiter or told or _guess_delimiter(text)
    problems: list[Problem] = []
    lines = tuple(_records(text, delimiter, file=file, problems=problems))
    if not lines and not problems:
        raise PortfolioError("roster-empty", item=file)
    return Table(file, encoding, delimiter, lines, tuple(problems))


def _decode(content: bytes, *, file: str) -> tuple[str, str]:
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if content.startswith(mark):
            return _strict(content, encoding, file=file), encoding.removesuffix("-sig")
    if b"\0" in content[:4096]:
        return _unmarked_utf16(content, file=file)
    if content.startswith((b"PK\x03\x04", b"%PDF", b"\xd0\xcf\x11\xe0")):
        raise PortfolioError("roster-not-a-table", item=file, found="it is a document of another program")
    try:
        return content.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        # bytes that cp1252 leaves undefined become the sign for "unknown" and are told as a missing name at worst
        return content.decode("cp1252", errors="replace"), "cp1252"


def _strict(content: bytes, encoding: str, *, file: str) -> str:
    try:
        return content.decode(encoding)
    except UnicodeDecodeError as error:
        raise PortfolioError("roster-not-a-table", item=file, found=f"damaged {error.encoding} text") from error


def _unmarked_utf16(content: bytes, *, file: str) -> tuple[str, str]:
    head = content[:4096]
    even, odd = head[0::2].count(0), head[1::2].count(0)
    share = 0.4 * (len(head) / 2)
    if odd > share and even < odd / 8:
        return _strict(content, "utf-16-le", file=file), "utf-16"
    if even > share and odd < even / 8:
        return _strict(content, "utf-16-be", file=file), "utf-16"
    raise PortfolioError("roster-not-a-table", item=file, found="it holds zero bytes")


def _told_delimiter(text: str) -> tuple[str, str | None]:
    """Some spreadsheet programs write ``sep=;`` as a first line; it becomes an empty line."""
    first, newline, rest = text.partition("\n")
    match = re.fullmatch(r"\"?sep=(.)\"?\r?", first)
    return (newline + rest, match.group(1)) if match else (text, None)


def _guess_delimiter(text: str) -> str:
    """The separator that gives most lines the same number of columns, more than one."""
    sample = text[:20_000]
    best, best_score = ",", 0
    for delimiter in DELIMITERS:
        counts = [len(row) for row in _rows(sample, delimiter, limit=30) if row]
        usual = max(set(counts), key=lambda width: (counts.count(width), width)) if counts else 0
        score = counts.count(usual) * min(usual, 6) if usual > 1 else 0
        if score > best_score:
            best, best_score = delimiter, score
    return best


def _rows(sample: str, delimiter: str, *, limit: int) -> list[list[str]]:
    rows: list[list[str]] = []
    try:
        for row in csv.reader(io.StringIO(sample, newline=""), delimiter=delimiter):
            rows.append(row)
            if len(rows) == limit:
                break
    except csv.Error:
        return rows
    return rows


def _records(text: str, delimiter: str, *, file: str, problems: list[Problem]) -> Iterator[Line]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    start, count = 1, 0
    while True:
        try:
            row = next(reader)
        except StopIteration:
            return
        except csv.Error:
            problems.append(Problem("roster-line-odd", f"Line {start} of {file}", "a cell is far too long"))
            start = reader.line_num + 1
            continue
        here, start = start, reader.line_num + 1
        count += 1
        if count > MAX_LINES:
            raise PortfolioError("roster-too-large", item=file, found=f"more than {MAX_LINES} lines")
        cells = tuple(clean(cell) for cell in row)
        if any(len(cell) > MAX_CELL for cell in cells):
            problems.append(Problem("roster-line-odd", f"Line {here} of {file}", "a cell is far too long"))
        elif any(cells):
            yield Line(here, cells)


def clean(cell: str) -> str:
    """A cell's text: composed Unicode, one space between words, no control or direction marks, no ``="…"`` wrapping."""
    text = unicodedata.normalize("NFC", cell)
    wrapped = re.fullmatch(r'="(.*)"', text.strip())
    text = wrapped.group(1) if wrapped else text
    kept = (sign for sign in text if unicodedata.category(sign) not in ("Cc", "Cf") or sign in "\t\n\r\u200c\u200d")
    return " ".join("".join(kept).split())
