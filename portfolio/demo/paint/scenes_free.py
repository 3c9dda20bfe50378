"""Scenes on a table, of shapes, and for their own sake."""

import math

import numpy as np

from portfolio.demo.paint import fancies, nature
from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.outdoors import Made, size_of
from portfolio.demo.paint.shape import arc, box, curve, ellipse, heart, points, spiral, star
from portfolio.demo.paint.sketch import Sketch, dots


def scribble(k: Sketch) -> Made:
    """What the youngest make, whatever it is called."""
    return _scribble(k)


def still_life(k: Sketch) -> Made:
    """Flowers in a vase on a table."""
    top = k.h * 0.68
    wall = k.liked()
    table = k.other(wall)
    made: Made = []
    if k.age > 6:
        made.append(Thing("wall", (Part((box(-2, -2, k.w + 2, top),), fill=wall, line=None),), ground=True))
        made.append(
            Thing(
                "table",
                (Part((box(-2, top, k.w + 2, k.h + 2),), fill=table, line=None, angle=k.between(-10, 10)),),
                ground=True,
            )
        )
    x, r, foot = k.w * k.between(0.42, 0.56), k.u * 13 * k.child.size, k.h * 0.86
    rim = foot - r * 2.4
    stems, heads = [], []
    for i in range(k.count(3, 6)):
        lean = (i - 2.2) * 0.3
        hx, hy = x + lean * k.u * 22, rim - k.u * k.between(16, 32)
        stems.append(curve((x + lean * r * 0.5, rim + 1), (x + lean * k.u * 12, (rim + hy) / 2), (hx, hy)))
        heads += nature.bloom(k, hx, hy, k.u * k.between(6, 8), k.other(wall))
    right = curve((x + r * 0.55, rim), (x + r * 0.4, rim + r * 0.5), (x + r, rim + r * 1.3), (x + r * 0.6, foot))
    vase = np.concatenate([right, np.stack([2 * x - right[:, 0], right[:, 1]], axis=1)[::-1]])
    tint = k.other(wall, table)
    bands = tuple(
        curve((x - r * f, rim + r * h), (x, rim + r * (h + 0.15)), (x + r * f, rim + r * h))
        for f, h in ((0.75, 1.0), (0.8, 1.7))
    )
    made.append(k.thing("flowers", Part(paths=tuple(stems), line="green"), *heads))
    made.append(
        k.thing(
            "vase",
            Part((vase,), fill=tint, second=f"dark {tint}" if k.age > 8.6 else None),
            Part(paths=bands, line=k.pick("yellow", "white", "blue"), hides=False),
        )
    )
    if k.age > 6.5:
        for i in range(k.count(1, 3)):
            fx, fr = x + r * (1.7 + 1.1 * i), k.u * 6
            name = k.pick("red", "orange", "yellow", "lime")
            made.append(
                k.thing(
                    "fruit",
                    Part(paths=(points((fx, foot - fr * 1.6), (fx + 1, foot - fr * 2.2)),), line="brown", width=0.7),
                    Part(
                        (ellipse(fx, foot - fr * 0.8 + k.u * 2 * (i % 2), fr),),
                        fill=name,
                        second="dark red" if name == "red" else "orange",
                    ),
                )
            )
    return made


def hearts(k: Sketch) -> Made:
    """A big heart, or many."""
    if k.maybe(0.5):
        x, y, s = k.w / 2, k.h / 2, min(k.w, k.h) * 0.62
        rings = [
            k.thing("heart", Part((heart(x, y, s * f),), fill=k.liked())) for f in (1.0, 0.68, 0.38)[: k.count(1, 3)]
        ]
        return [*rings, nature.stars(k, 5, k.h * 0.3) if k.maybe(0.3) else None]
    spots = dots(k, k.count(4, 9), (k.w * 0.14, k.h * 0.16, k.w * 0.86, k.h * 0.84))
    return [
        k.thing(
            "heart",
            Part(
                (heart(x, y, k.u * k.between(16, 28), turn=k.between(-18, 18)),), fill=k.pick("red", "pink", k.liked())
            ),
        )
        for x, y in spots
    ]


def ice_cream(k: Sketch) -> Made:
    """An ice cream cone as large as the sheet."""
    shade = k.liked() if k.age > 7.6 and k.maybe(0.6) else None
    back = (
        [Thing("ground", (Part((box(-2, -2, k.w + 2, k.h + 2),), fill=shade, line=None),), ground=True)]
        if shade
        else []
    )
    return [*back, fancies.ice_cream(k, k.w / 2, k.h * 0.92, min(k.h * 0.84, k.u * 96 * size_of(k)), back=shade)]


def abstract(k: Sketch) -> Made:
    """Lines and shapes for their own sake: scribbles, suns and rings, stripes, later a crossed field of color."""
    if k.age < 5.6:
        return _scribble(k)
    form = k.count(0, 2)
    if form == 0:
        return _rings(k)
    if form == 1:
        return _field(k)
    made: Made = []
    for x, y in dots(k, k.count(6, 11), (k.w * 0.1, k.h * 0.12, k.w * 0.9, k.h * 0.88)):
        r = k.u * k.between(7, 17)
        turn = k.between(0, 90)
        shape = (
            ellipse(x, y, r),
            star(x, y, r, turn=turn),
            star(x, y, r, tips=k.count(3, 7), inner=0.8, turn=turn),
            box(x - r, y - r * 0.6, x + r, y + r * 0.6),
            heart(x, y, r * 2),
        )[k.count(0, 4)]
        made.append(
            k.thing(
                "shapes",
                Part((shape,), fill=k.liked()),
                Part(paths=(spiral(x, y, r * 0.7, turns=2),), line=k.liked(), hides=False) if k.maybe(0.4) else None,
            )
        )
    return made


def _scribble(k: Sketch) -> Made:
    made: Made = []
    for _ in range(k.count(2, 4)):
        x, y, r = k.w * k.between(0.3, 0.7), k.h * k.between(0.35, 0.65), k.u * k.between(18, 34)
        t = np.linspace(0, math.tau * k.between(4, 7), 150)
        size = r * (0.7 + 0.3 * np.sin(t * 0.23 + k.between(0, 6)))
        drift = np.cumsum(k.rng.normal(0, r * 0.02, (150, 2)), axis=0)
        made.append(
            Thing(
                "scribble",
                (
                    Part(
                        paths=(np.stack([x + size * 1.25 * np.cos(t), y + size * np.sin(t)], axis=1) + drift,),
                        line=k.light(k.liked()),
                    ),
                ),
            )
        )
    return made


def _rings(k: Sketch) -> Made:
    made: Made = []
    across, down = (1, 1) if k.age < 6.5 or k.maybe(0.3) else ((3, 2) if k.w > k.h else (2, 3))
    cell_w, cell_h = k.w / across, k.h / down
    for i in range(across):
        for j in range(down):
            x, y, r = cell_w * (i + 0.5), cell_h * (j + 0.5), min(cell_w, cell_h) * 0.46
            if across > 1:
                made.append(
                    Thing(
                        "squares",
                        (
                            Part(
                                (box(cell_w * i, cell_h * j, cell_w * (i + 1), cell_h * (j + 1)),),
                                fill=k.liked(),
                                line=None,
                            ),
                        ),
                    )
                )
            names = [k.liked() for _ in range(k.count(3, 5))]
            made += [
                k.thing(
                    "circles",
                    Part(
                        (ellipse(x, y, r * (1 - n / len(names)) * k.between(0.93, 1)),),
                        fill=name,
                        line=name if k.age > 6 else None,
                    ),
                )
                for n, name in enumerate(names)
            ]
            if across == 1:
                rays = tuple(
                    points(
                        (x + math.cos(a) * r * 1.05, y + math.sin(a) * r * 1.05),
                        (x + math.cos(a) * r * 1.3, y + math.sin(a) * r * 1.3),
                    )
                    for a in np.arange(12) * math.tau / 12
                )
                made.append(k.thing("rays", Part(paths=rays, line=k.liked())))
    return made


def _field(k: Sketch) -> Made:
    """Lines across the sheet, and the fields between them colored."""
    xs = np.sort(k.rng.uniform(0.15, 0.85, k.count(2, 3)))
    ys = np.sort(k.rng.uniform(0.2, 0.8, k.count(1, 2)))
    made: Made = []
    edges_x = [-0.02, *xs.tolist(), 1.02]
    edges_y = [-0.02, *ys.tolist(), 1.02]
    bend = k.u * 8
    for i in range(len(edges_x) - 1):
        for j in range(len(edges_y) - 1):
            corners = [
                (k.w * edges_x[i], k.h * edges_y[j]),
                (k.w * edges_x[i + 1], k.h * edges_y[j]),
                (k.w * edges_x[i + 1], k.h * edges_y[j + 1]),
                (k.w * edges_x[i], k.h * edges_y[j + 1]),
            ]
            skew = np.array(
                [
                    (bend * math.sin(y / k.u / 14 + x / k.u / 31), bend * math.cos(x / k.u / 17 + y / k.u / 23))
                    for x, y in corners
                ]
            )
            made.append(
                Thing(
                    "fields",
                    (Part((points(*corners) + skew,), fill=k.liked(), line="black" if not k.dark else "white"),),
                )
            )
    t = k.between(0, 360)
    made.append(
        Thing(
            "lines",
            (
                Part(
                    paths=(arc(k.w / 2, k.h / 2, k.u * 34, k.u * 26, start=t, end=t + 250),),
                    line="black" if not k.dark else "white",
                    width=1.4,
                ),
            ),
        )
    )
    return made
