"""What the teacher adds to a work afterwards: title, medium, center, size; or takes the work out."""

from __future__ import annotations

from typing import Any

from sqlmodel import Session

from portfolio.archive import tables
from portfolio.archive.rows import existing

CHANGEABLE = frozenset({"title", "medium_id", "centre_id", "solid", "removed", "width_mm", "height_mm", "size_about"})
"""What may be changed by hand; whose work it is goes through the questions."""


def change_work(session: Session, work_id: int, **changes: Any) -> None:
    """Change some facts of a work; a fact that stays the same leaves no history."""
    row = existing(session, tables.Work, work_id, item=f"Work {work_id}")
    for name, value in changes.items():
        if name not in CHANGEABLE:
            raise KeyError(name)
        setattr(row, name, value)
