"""Grammar of what moves: cars, sailing boats, rockets, and the planets they pass."""

import numpy as np

from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.shape import arc, box, curve, ellipse, points
from portfolio.demo.paint.sketch import Sketch


def car(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """A car; a box with many wheels while young."""
    paint, s = k.liked(), k.child.sun_side
    r, tall = wide * 0.11, wide * 0.2
    y = base - r
    body = box(x - wide / 2, y - tall, x + wide / 2, y)
    cabin = points(
        (x - wide * 0.3, y - tall),
        (x - wide * 0.2, y - tall * 1.95),
        (x + wide * 0.16, y - tall * 1.95),
        (x + wide * 0.28, y - tall),
    )
    if k.age > 8:
        body = curve(
            (x - wide / 2, y - tall * 0.1),
            (x - wide / 2, y - tall * 0.9),
            (x - wide * 0.2, y - tall * 1.05),
            (x + wide * 0.3, y - tall * 1.0),
            (x + wide / 2, y - tall * 0.7),
            (x + wide / 2, y),
            (x, y + tall * 0.05),
            closed=True,
        )
    at = (
        [x - wide * 0.3, x + wide * 0.3]
        if k.age > 6.3
        else list(np.linspace(x - wide * 0.38, x + wide * 0.38, k.count(2, 4)))
    )
    tires = tuple(ellipse(a, y, r) for a in at)
    panes = (
        box(x - wide * 0.2, y - tall * 1.75, x - wide * 0.04, y - tall * 1.05),
        box(x + wide * 0.0, y - tall * 1.75, x + wide * 0.15, y - tall * 1.05),
    )
    lamp = ellipse(x + s * wide * 0.46, y - tall * 0.6, wide * 0.03)
    return k.thing(
        "car",
        Part((cabin,), fill=paint),
        Part((body,), fill=paint),
        Part(panes, fill="sky"),
        Part((lamp,), fill="yellow", width=0.6),
        Part(tires, fill=k.light("black"), line=k.light("black")),
        Part(tuple(ellipse(a, y, r * 0.4) for a in at), fill="gray", line=None),
    )


def boat(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """A sailing boat."""
    s = k.child.sun_side
    hull = points(
        (x - wide / 2, base - wide * 0.2),
        (x + wide / 2, base - wide * 0.2),
        (x + wide * 0.34, base),
        (x - wide * 0.34, base),
    )
    mast = points((x, base - wide * 0.2), (x, base - wide * 1.0))
    sail = points(
        (x + s * 1.5, base - wide * 0.95), (x + s * wide * 0.42, base - wide * 0.28), (x + s * 1.5, base - wide * 0.26)
    )
    jib = points(
        (x - s * 1.5, base - wide * 0.85), (x - s * wide * 0.32, base - wide * 0.28), (x - s * 1.5, base - wide * 0.26)
    )
    return k.thing(
        "boat",
        Part(paths=(mast,), line="brown"),
        Part((sail, jib) if k.age > 6.8 else (sail,), fill=k.pick("white", "yellow", "red", k.liked())),
        Part((hull,), fill=k.pick("red", "brown", "blue", k.liked())),
    )


def rocket(k: Sketch, x: float, base: float, tall: float) -> Thing:
    """A rocket with fins, a round window and flames."""
    w = tall * 0.15
    hull = curve(
        (x, base - tall),
        (x + w, base - tall * 0.66),
        (x + w, base - tall * 0.25),
        (x - w, base - tall * 0.25),
        (x - w, base - tall * 0.66),
        closed=True,
    )
    if k.age < 6.5:
        hull = points(
            (x, base - tall),
            (x + w, base - tall * 0.72),
            (x + w, base - tall * 0.22),
            (x - w, base - tall * 0.22),
            (x - w, base - tall * 0.72),
        )
    fins = tuple(
        points(
            (x + s * w, base - tall * 0.45),
            (x + s * w * 2.2, base - tall * 0.16),
            (x + s * w * 0.9, base - tall * 0.24),
        )
        for s in (-1, 1)
    )
    flame = points(
        (x - w * 0.8, base - tall * 0.22),
        (x - w * 0.5, base - tall * 0.04),
        (x - w * 0.2, base - tall * 0.12),
        (x, base),
        (x + w * 0.3, base - tall * 0.12),
        (x + w * 0.6, base - tall * 0.03),
        (x + w * 0.8, base - tall * 0.22),
    )
    return k.thing(
        "rocket",
        Part((flame,), fill="orange", second="red", line="red"),
        Part(fins, fill=k.pick("red", "orange", k.liked())),
        Part((hull,), fill=k.pick("white", "gray", "red", k.liked())),
        Part((ellipse(x, base - tall * 0.6, w * 0.5),), fill="sky"),
        Part(
            paths=(points((x - w * 0.9, base - tall * 0.36), (x + w * 0.9, base - tall * 0.36)),),
            line="red",
            hides=False,
        ),
    )


def planet(k: Sketch, x: float, y: float, r: float) -> Thing:
    """A planet with a ring or bands."""
    name, other = k.liked(), k.liked()
    ring = arc(x, y, r * 1.6, r * 0.42, start=-20, end=200)
    bands = tuple(
        curve((x - r * 0.85, y + r * d), (x, y + r * (d + 0.12)), (x + r * 0.85, y + r * d)) for d in (-0.35, 0.1, 0.5)
    )
    decor = (
        Part(paths=(ring,), line=other if other != name else "yellow", width=1.3)
        if k.maybe(0.55)
        else Part(paths=bands, line=other, width=1.2, hides=False)
    )
    return k.thing("planet", Part((ellipse(x, y, r),), fill=name), decor)
