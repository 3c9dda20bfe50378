"""The lines of a table by the meaning of their columns."""

from __future__ import annotations

from portfolio.errors import PortfolioError
from portfolio.roster.columns import body_of
from portfolio.roster.table import Line, Table
from portfolio.roster.values import Guess, LineProblem, trouble
from portfolio.roster.words import is_day_first


class Sheet:
    """The lines of a table by the meaning of their columns; what is wrong gathers in ``problems``."""

    def __init__(self, table: Table, guess: Guess) -> None:
        if guess.missing:
            raise PortfolioError("roster-columns-missing", item=table.file, found=" and ".join(guess.missing))
        self.file, self.guess, self.body = table.file, guess, body_of(table, guess)
        if not self.body:
            raise PortfolioError("roster-empty", item=table.file)
        self.problems = [LineProblem(None, problem) for problem in table.problems]

    def cell(self, line: Line, meaning: str) -> str:
        """The cell of a line under a meaning; empty when there is none."""
        column = self.guess.column_of(meaning)
        return line.cells[column] if column is not None and column < len(line.cells) else ""

    def tell(self, code: str, line: int, found: str = "") -> None:
        """Note what is wrong with a line."""
        self.problems.append(trouble(code, line, self.file, found=found))

    def day_first(self, *meanings: str) -> bool:
        """Whether dates stand as day/month in these columns."""
        return is_day_first([self.cell(line, meaning) for line in self.body for meaning in meanings])
