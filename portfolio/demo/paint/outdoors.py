"""What most scenes share: sky, sun, clouds, ground, extras, a border; the places and sizes of things."""

import numpy as np

from portfolio.demo.paint import nature
from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.shape import Points, curve, ellipse, points, puff, star
from portfolio.demo.paint.sketch import Sketch

Made = list[Thing | None]


def outdoors(k: Sketch, *middle: Thing | None, trees: int = 0) -> Made:
    """Sky, sun, cloud and ground about the middle; the older the child, the more."""
    made: Made = [nature.sky(k)]
    if k.maybe(0.85 if k.age < 9 else 0.55):
        made.append(nature.sun(k))
    if k.age > 5.8 and k.maybe(0.6):
        side = -k.child.sun_side
        for i in range(k.count(1, 2)):
            made.append(
                nature.cloud(k, k.w * (0.5 + side * k.between(0.1, 0.32)), k.u * (14 + 9 * i), k.u * k.between(20, 28))
            )
    made.append(nature.ground(k))
    if k.age > 6.4 and k.maybe(0.45 + 0.3 * k.child.detail):
        made.extend(_extras(k))
    for _ in range(trees if k.age > 5.7 else 0):
        far = k.age >= 8.3 and k.maybe(0.5)
        foot = k.horizon + k.u * k.between(2, 6) if far else k.base + k.u * k.between(-2, 2)
        made.append(nature.tree(k, k.w * side_place(k), foot, k.u * (30 if far else k.between(42, 55))))
    made.extend(middle)
    if k.age > 5.8 and k.maybe(0.3 + 0.3 * k.child.detail):
        made.append(nature.hearts(k, k.count(1, 3)) if k.maybe(0.4) else nature.birds(k, k.count(2, 4)))
    return made


def _extras(k: Sketch) -> Made:
    """What fills an empty place: a fence, bushes, small flowers, a balloon, puddles."""
    side = -k.child.sun_side
    form = k.count(0, 3)
    if form == 0:
        top, xs = k.base - k.u * 15, np.arange(k.w * 0.02, k.w, k.u * 9)
        posts = tuple(
            points(
                (x - k.u * 1.6, k.base),
                (x - k.u * 1.6, top),
                (x, top - k.u * 2.5),
                (x + k.u * 1.6, top),
                (x + k.u * 1.6, k.base),
            )
            for x in xs.tolist()
        )
        rails = tuple(points((0, k.base - k.u * d), (k.w, k.base - k.u * d)) for d in (4, 11))
        return [k.thing("fence", Part(paths=rails, line="brown"), Part(posts, fill=k.pick("brown", "white", "tan")))]
    if form == 1:
        return [
            k.thing(
                "bush",
                Part(
                    (puff(k.w * k.between(0.05, 0.95), k.base - k.u * 4, k.u * 11, k.u * 8, bumps=7),),
                    fill=k.pick("green", "lime", "dark green"),
                ),
            )
            for _ in range(k.count(1, 3))
        ]
    if form == 2:
        return [
            nature.flower(k, k.w * x, k.base + k.u * k.between(-1, 5), k.u * k.between(13, 20))
            for x in k.rng.uniform(0.04, 0.96, k.count(3, 6)).tolist()
        ]
    x, y, r = k.w * (0.5 + side * 0.34), k.h * 0.3, k.u * 8
    string = curve((x, y + r), (x + k.u * 3, y + r * 2), (x - k.u * 2, y + r * 3.4))
    return [
        k.thing(
            "balloon",
            Part(paths=(string,), line="gray", width=0.5),
            Part((ellipse(x, y, r * 0.85, r),), fill=k.liked()),
        )
    ]


def border(k: Sketch) -> Thing:
    """A pattern along the edge, the habit of some children."""
    step, inset = k.u * 7, k.u * 4
    name, second = k.liked(), k.liked()
    top = np.arange(inset, k.w - inset / 2, step)
    sides = np.arange(inset + step, k.h - inset, step)
    spots = [(x, y) for x in top for y in (inset, k.h - inset)] + [(x, y) for y in sides for x in (inset, k.w - inset)]
    one, two = spots[::2], spots[1::2]
    r = k.u * 2
    return Thing(
        "border",
        (
            Part(tuple(ellipse(x, y, r) for x, y in one), fill=name, line=None),
            Part(tuple(star(x, y, r * 1.2) for x, y in two), fill=second, line=None),
        ),
    )


def side_place(k: Sketch) -> float:
    """Where, across the sheet, a thing stands near an edge."""
    return k.between(0.1, 0.2) if k.maybe(0.5) else k.between(0.8, 0.9)


def size_of(k: Sketch) -> float:
    """How large this child draws at this age; a factor."""
    return k.child.size * (1.12 if k.age < 6 else 1.0 if k.age < 8.3 else 0.92)


def wave(k: Sketch, y: float) -> Points:
    """A wavy line across the sheet."""
    x = np.linspace(0, k.w, 60)
    return np.stack([x, y + np.sin(x / (k.u * 2.5)) * k.u * 2], axis=1)


def moon(k: Sketch) -> Thing:
    """The moon, on the side of the sun."""
    r = k.u * 8
    x = k.w - r * 2 if k.child.sun_side > 0 else r * 2
    return k.thing("moon", Part((ellipse(x, r * 2, r),), fill="yellow", line=None))
