"""What was typed in a form: each field read as what it should be, its problem in words when it is not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, time

from portfolio.errors import PortfolioError
from portfolio.flows.misfits import refuse
from portfolio.web.answers import Choice
from portfolio.web.answers_settings import Field

Row = tuple[str, ...]


class Typed:
    """The fields of one form. Reading a field that does not fit notes its problem and goes on; ``check`` refuses."""

    def __init__(self, fields: Mapping[str, str] | None = None) -> None:
        self._fields = dict(fields or {})
        self.problems: dict[str, str] = {}

    def raw(self, key: str, usual: str = "") -> str:
        """As it was typed; ``usual`` when this field was not in the form."""
        return self._fields.get(key, usual)

    def text(self, key: str, *, most: int, needed: str = "") -> str:
        """Text without needless spaces. ``needed``: the words when it is empty."""
        plain = " ".join(self.raw(key).split())
        if needed and not plain:
            self.problems[key] = needed
        elif len(plain) > most:
            self.problems[key] = f"At most {most} letters."
        return plain

    def day(self, key: str, *, needed: bool = True) -> date | None:
        """A day; ``None`` when it is empty or none."""
        try:
            return date.fromisoformat(self.raw(key).strip())
        except ValueError:
            self._note(key, needed=needed, empty="Choose a day.", wrong="This is no day. Write it as 2026-09-01.")
            return None

    def clock(self, key: str) -> time | None:
        """A time of day; ``None`` when it is empty or none."""
        try:
            return time.fromisoformat(self.raw(key).strip())
        except ValueError:
            self._note(key, needed=True, empty="A time is needed.", wrong="This is no time. Write it as 09:10.")
            return None

    def number(self, key: str, *, least: int, most: int, needed: bool = True) -> int | None:
        """A whole number in a range; ``None`` when it is empty or none."""
        plain = self.raw(key).strip()
        found = int(plain) if plain.isdecimal() and len(plain) < 10 else None
        if found is not None and least <= found <= most:
            return found
        self._note(key, needed=needed, empty="A number is needed.", wrong=f"Write a number from {least} to {most}.")
        return None

    def _note(self, key: str, *, needed: bool, empty: str, wrong: str) -> None:
        if self.raw(key).strip():
            self.problems[key] = wrong
        elif needed:
            self.problems[key] = empty

    def check(self) -> None:
        """Refuses when any field that was read has a problem."""
        refuse(self.problems)

    def take(self, error: PortfolioError) -> bool:
        """Keep the problems that an error tells field by field; tells whether it did."""
        if error.code != "bad-request" or not error.details:
            return False
        self.problems |= {key: str(words) for key, words in error.details.items()}
        return True

    def field(
        self,
        key: str,
        label: str,
        usual: str = "",
        *,
        at: str = "",
        kind: str = "text",
        hint: str = "",
        most: int = 200,
    ) -> Field:
        """The field as it is to be shown (again), with its problem. ``at`` tells apart forms with the same fields."""
        own = f"{key}-{at}" if at else key
        return Field(own, key, label, self.raw(key, usual), kind, hint, self.problems.get(key, ""), most)

    def names(self, prefix: str) -> tuple[str, ...]:
        """The names of fields that begin like this: what was ticked."""
        return tuple(key for key in self._fields if key.startswith(prefix))

    def choices(self, key: str, offered: Mapping[str, str], usual: str = "") -> tuple[Choice, ...]:
        """The entries of a list, the one that was picked chosen."""
        picked = self.raw(key, usual)
        return tuple(Choice(value, label, value == picked) for value, label in offered.items())

    def pack(self, prefix: str, parts: Sequence[str], *, most: int) -> int:
        """Renumber the rows of a table (``prefix`` + row + part) without those whose parts are all empty; gives how
        many are left.
        """
        rows = [tuple(self.raw(f"{prefix}{at}-{part}").strip() for part in parts) for at in range(most)]
        filled = [row for row in rows if any(row)]
        for at in range(most):
            for part in parts:
                self._fields.pop(f"{prefix}{at}-{part}", None)
        for at, row in enumerate(filled):
            self._fields |= {f"{prefix}{at}-{part}": value for part, value in zip(parts, row, strict=True)}
        return len(filled)

    def rows(self, prefix: str, part: str, stored: Sequence[Row], *, more: int, empty: Row) -> list[Row]:
        """The rows of a table to be shown: the stored ones, or as many empty ones as were typed (``field`` fills them
        in again), and ``more`` empty ones.
        """
        typed = sum(1 for key in self._fields if key.startswith(prefix) and key.endswith(f"-{part}"))
        return [*([empty] * typed if typed else stored), *[empty] * more]
