"""What is drawn, before any pixel: parts, things, scenes. Colors are names until a medium resolves them.

Lengths are millimeters on the sheet, y downward.
"""

from dataclasses import dataclass, field

from portfolio.demo.paint.shape import Points

EDGE = "edge"  # the color of an outline by the child's habit (black, the same color, or darker)


@dataclass(frozen=True)
class Part:
    """Closed shapes (colored in, outlined) and open paths of one color.

    ``line`` colors outlines and paths (None: no outline); ``hides`` says whether the shapes hide what lies behind.
    """

    shapes: tuple[Points, ...] = ()
    paths: tuple[Points, ...] = ()
    fill: str | None = None
    second: str | None = None
    line: str | None = EDGE
    width: float = 1.0
    angle: float | None = None
    hides: bool = True


@dataclass(frozen=True)
class Thing:
    """One thing of a picture: its parts from back to front. ``ground`` marks sky, grass, water and the like."""

    name: str
    parts: tuple[Part, ...]
    ground: bool = False


@dataclass(frozen=True)
class Scene:
    """A picture as it was thought of: things from back to front on a sheet of a size and a paper."""

    subject: str
    things: tuple[Thing, ...]
    width_mm: float
    height_mm: float
    sheet: str
    colors: tuple[str, ...] = field(default=())

    @property
    def names(self) -> tuple[str, ...]:
        """The things in it, each named once, in the order they were drawn."""
        return tuple(dict.fromkeys(thing.name for thing in self.things))
