"""What every thing of the grammar is drawn with:
a child at an age, a sheet, a stream of chance, and choices of color.
"""

import math
from dataclasses import dataclass, replace

import numpy as np

from portfolio.demo.paint.child import COLORS, Child
from portfolio.demo.paint.marks import EDGE, Part, Thing


@dataclass(frozen=True)
class Sketch:
    """A child of a drawing age before a sheet of ``w`` by ``h`` millimeters."""

    child: Child
    age: float
    w: float
    h: float
    dark: bool  # a dark sheet: dark colors are exchanged for light ones
    medium: str
    rng: np.random.Generator
    lift: float = 0.0  # how much higher or lower than usual the ground lies, share of the sheet

    @property
    def u(self) -> float:
        """A hundredth of the short side."""
        return min(self.w, self.h) / 100

    @property
    def base(self) -> float:
        """The height where things stand."""
        return self.h * ((0.86 if self.age < 8.3 else 0.82) + self.lift * 0.5)

    @property
    def horizon(self) -> float:
        """The height where the sky meets the ground for older children."""
        return self.h * (0.63 + self.lift)

    def maybe(self, share: float) -> bool:
        """True in a share of cases."""
        return bool(self.rng.random() < share)

    def between(self, low: float, high: float) -> float:
        """A uniform number."""
        return float(self.rng.uniform(low, high))

    def count(self, low: int, high: int) -> int:
        """A whole number, both ends included."""
        return int(self.rng.integers(low, high + 1))

    def pick(self, *words: str) -> str:
        """One of the words."""
        return words[int(self.rng.integers(len(words)))]

    def liked(self) -> str:
        """A color by taste: often one of the favorites."""
        if self.maybe(0.35 + 0.6 * self.child.fidelity):
            return self.child.favorites[int(self.rng.integers(len(self.child.favorites)))]
        return COLORS[int(self.rng.integers(len(COLORS)))]

    def other(self, *names: str | None) -> str:
        """A color by taste that is none of these, nor close to them."""
        near = {
            "green": "lime",
            "lime": "green",
            "sky": "blue",
            "blue": "violet",
            "violet": "blue",
            "red": "orange",
            "orange": "red",
            "brown": "violet",
        }
        taken = {name.split()[-1] for name in names if name} | {
            near.get(name.split()[-1], "") for name in names if name
        }
        for _ in range(12):
            name = self.liked()
            if name not in taken:
                return name
        return next(name for name in COLORS if name not in taken)

    def own(self, name: str) -> str:
        """The thing's own color; young children often take the one they like."""
        free = 0.5 * math.exp(-0.5 * max(0, self.age - 5))
        return self.liked() if self.maybe(free) else name

    def light(self, name: str) -> str:
        """A color that shows on this sheet."""
        swaps = {"black": "white", "brown": "orange", "dark brown": "orange"}
        return swaps.get(name, name) if self.dark else name

    def edge_of(self, fill: str | None) -> str:
        """The color of an outline around a filling."""
        habit = self.child.outline
        if self.dark:
            return fill or "white"
        if fill is None:
            return "black" if habit == "black" else "brown"
        if self.age < 6.2 and habit != "black":
            return fill
        return {"black": "black", "same": fill, "dark": f"dark {fill.split()[-1]}"}[habit]

    def thing(self, name: str, *parts: Part | None, ground: bool = False) -> Thing:
        """A thing of these parts; decides once whether it is colored in, and the colors of its outlines."""
        share = self.child.coloring * (1.0 if self.age > 7.6 else 0.80 if self.age > 6 else 0.62)
        share += (0.2 if self.age > 7.4 else 0) + (
            0.25 if self.medium in ("tempera", "watercolor", "mixed media", "chalk") else 0
        )
        colored = ground or self.age > 8.4 or self.medium == "collage" or self.maybe(share)
        return Thing(
            name, tuple(self._settled(part, colored=colored) for part in parts if part is not None), ground=ground
        )

    def _settled(self, part: Part, *, colored: bool) -> Part:
        fill = self.light(part.fill) if part.fill else None
        line = self.edge_of(fill) if part.line == EDGE else part.line
        line = self.light(line) if line else None
        if colored or fill is None or not part.shapes:
            return replace(part, fill=fill, line=line)
        small = max(float(np.ptp(shape, axis=0).max()) for shape in part.shapes) < self.u * 4
        if small:
            return replace(part, fill=fill, line=line)
        return replace(
            part, fill=None, line=fill if self.child.outline != "black" and fill != "white" else line or fill
        )


def dots(sketch: Sketch, count: int, box: tuple[float, float, float, float]) -> list[tuple[float, float]]:
    """Places spread over a box (left, top, right, bottom), no two close together."""
    left, top, right, bottom = box
    tries = sketch.rng.uniform((left, top), (right, bottom), (count * 6, 2))
    kept: list[tuple[float, float]] = []
    room = 0.6 * math.sqrt(max((right - left) * (bottom - top), 1) / max(count, 1))
    for x, y in tries.tolist():
        if len(kept) < count and all(math.hypot(x - a, y - b) > room for a, b in kept):
            kept.append((x, y))
    return kept
