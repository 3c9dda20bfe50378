"""Where the program's own files are: fonts, templates, styles, scripts. They are only read, never written.

In an installed package they lie in ``portfolio/static``; in a checkout in ``static`` beside the package.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


@cache
def _root() -> Path:
    places = (_PACKAGE / "static", _PACKAGE.parent / "static")
    for place in places:
        if place.is_dir():
            return place
    raise FileNotFoundError("Portfolio's own files (fonts, templates, styles) are missing; install it again.")


def asset(*parts: str) -> Path:
    """The path of one of the program's own files or folders, e.g. ``asset("print", "cards.typ")``.

    Refuses a name that is not there with ``FileNotFoundError``: a mistake in the program or a broken installation,
    never the teacher's doing.
    """
    path = _root().joinpath(*parts)
    if not path.exists():
        raise FileNotFoundError(f"Portfolio's own file {'/'.join(parts)} is missing; install it again.")
    return path
