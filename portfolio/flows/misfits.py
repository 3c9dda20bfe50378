"""What was typed and does not fit: each field with its own words, refused together before anything is changed."""

from __future__ import annotations

from collections.abc import Mapping

from portfolio.errors import PortfolioError


def refuse(problems: Mapping[str, str]) -> None:
    """Refuses when any field has a problem. The error's ``details`` say it field by field, for the form."""
    if problems:
        first = next(iter(problems.values())).rstrip(".")
        found = f"{first[0].lower()}{first[1:]}"
        raise PortfolioError("bad-request", item="What was typed", found=found, details=dict(problems))
