"""What comes in an address or a form, bounded and read: ids and days."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Final

from fastapi import Form, Path, Query

from portfolio.errors import PortfolioError

ID_MAX: Final = 2**63 - 1
"""The largest whole number that the database holds as an id; nothing larger is looked up."""

Id = Annotated[int, Path(ge=1, le=ID_MAX)]
"""An id in the path of an address."""
OptionalId = Annotated[int, Query(ge=0, le=ID_MAX)]
"""An id after the question mark; 0 means none."""
FormId = Annotated[int, Form(ge=1, le=ID_MAX)]
"""An id in a form."""
IdWord = Annotated[str, Form(max_length=20)]
"""A field that holds an id or is empty; ``id_in`` reads it."""


def id_in(text: str) -> int | None:
    """The id that a field holds; ``None`` when it is empty or no id."""
    found = int(text) if text.isdecimal() and len(text) <= len(str(ID_MAX)) else 0
    return found if 1 <= found <= ID_MAX else None


DayWord = Annotated[str, Form(max_length=20)]
"""A field that holds a day or is empty; ``day_in`` reads it."""


def day_in(text: str, *, item: str) -> date | None:
    """The day that a field holds, ``None`` when it is empty. Refuses what is no day; ``item``: which day."""
    try:
        return date.fromisoformat(text) if text else None
    except ValueError as error:
        raise PortfolioError("bad-request", item=item, found="it is no date") from error
