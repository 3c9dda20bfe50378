"""What the screen of a work's edge shows: the photo as taken, four corners over it, and what is hidden."""

from __future__ import annotations

from dataclasses import dataclass

from portfolio.web.answers import Choice, Note, Picture


@dataclass(frozen=True, slots=True)
class Corner:
    """One corner: its word, and where it is in percent of the photo's width and height."""

    word: str
    x: str
    y: str


@dataclass(frozen=True, slots=True)
class EdgePage:
    """One task on one photo: set the edge, or hide a part."""

    base: str
    """How the addresses of its forms begin: the work's, or the question's."""
    view: int
    hiding: bool
    heading: str
    lead: str
    photo: Picture
    view_box: str
    outline: str
    """The edge as kept, as an SVG's points; empty when the photo is shown as taken."""
    corners: tuple[Corner, ...]
    turns: tuple[Choice, ...]
    hidden: tuple[str, ...]
    """Each hidden part, as an SVG's points."""
    withheld: str
    """Why the hidden parts keep the whole picture from others; empty when they can be covered."""
    undo: int
    ask: int
    """The question that led here, where an answer goes back to; 0 = none."""
    work_href: str
    """Back to the work; empty when it is no work yet."""
    other_href: str
    """The other task on the same photo."""
    note: Note | None = None
