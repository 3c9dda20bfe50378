"""Scenes with people and what people build."""

import numpy as np

from portfolio.demo.paint import buildings, faces, fancies, nature, people, vehicles
from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.outdoors import Made, moon, outdoors, size_of
from portfolio.demo.paint.shape import box, curve, ellipse, limb, points
from portfolio.demo.paint.sketch import Sketch


def me(k: Sketch) -> Made:
    """One person outdoors."""
    tall = min(k.h * 0.74, k.u * 68 * size_of(k))
    x = k.w * k.between(0.4, 0.6)
    friend = (
        [nature.flower(k, x + k.child.sun_side * tall * 0.55, k.base, k.u * 24)] if k.age > 5.6 and k.maybe(0.6) else []
    )
    return outdoors(k, *friend, people.person(k, x, k.base, tall), trees=k.count(0, 1))


def family(k: Sketch) -> Made:
    """Several people in a row, holding the base line."""
    count = k.count(2, 3) if k.age < 6 else k.count(3, 4)
    step = k.w * 0.86 / count
    talls = [min(k.h * 0.64, step * 1.75, k.u * 62 * size_of(k)) * f for f in (1, 0.95, 0.66, 0.58)]
    hair = ("brown", "black", "yellow", "dark brown")
    folk = [
        people.person(
            k,
            k.w * 0.07 + step * (i + 0.5),
            k.base + k.u * k.between(-1.5, 1.5),
            talls[i],
            skin=int(np.clip(k.child.skin + k.count(-1, 1), 0, 4)),
            hair=k.child.hair_color if k.maybe(0.6) else k.pick(*hair),
            other=i != count - 1,
        )
        for i in range(count)
    ]
    return outdoors(k, *folk)


def portrait(k: Sketch) -> Made:
    """A face that fills the sheet."""
    back = [
        nature.sky(k, name=k.liked())
        if k.age < 8.3
        else Thing("ground", (Part((box(-2, -2, k.w + 2, k.h + 2),), fill=k.liked(), line=None),), ground=True)
    ]
    return [*(back if k.age > 7.4 and k.maybe(0.6) else []), *faces.portrait(k)]


def house(k: Sketch) -> Made:
    """A house, perhaps with a tree, a person, a path."""
    wide = min(k.w * 0.5, k.u * 46 * size_of(k))
    x = k.w * (0.5 + k.child.sun_side * k.between(-0.18, 0.02))
    middle: Made = []
    if k.age > 7 and k.maybe(0.5):
        foot = k.h + 2
        way = limb(
            curve((x, k.base - 1), (x + k.u * 4, (k.base + foot) / 2), (x - k.u * 3, foot)), wide * 0.14, wide * 0.34
        )
        middle.append(k.thing("path", Part((way,), fill=k.pick("tan", "gray"), line=None)))
    middle.append(buildings.house(k, x, k.base, wide))
    if k.age > 5.8 and k.maybe(0.6):
        middle.append(nature.tree(k, x + k.child.sun_side * wide * 1.0, k.base + k.u, k.u * 50))
    if k.maybe(0.35):
        middle.append(people.person(k, x - k.child.sun_side * wide * 0.85, k.base + k.u * 2, k.u * 30))
    return outdoors(k, *middle, trees=1 if k.age > 8.3 else 0)


def castle(k: Sketch) -> Made:
    """A castle with somebody in front."""
    wide = min(k.w * 0.7, k.u * 74 * size_of(k))
    guard = (
        people.person(k, k.w / 2 - k.child.sun_side * wide * 0.6, k.base + k.u * 2, k.u * 30) if k.maybe(0.6) else None
    )
    return outdoors(k, buildings.castle(k, k.w / 2, k.base, wide), guard, trees=k.count(0, 1))


def city(k: Sketch) -> Made:
    """A street of houses, by day or night; older children put a second row behind."""
    night = k.maybe(0.4)
    shade = k.pick("blue", "violet", "dark blue") if night else k.pick("sky", "orange", "pink", "sky")
    made: Made = [
        Thing("sky", (Part((box(-2, -2, k.w + 2, k.h + 2),), fill=shade, line=None),), ground=True)
        if k.age > 6.2 or k.dark
        else None,
        moon(k) if night or k.maybe(0.5) else nature.sun(k),
    ]
    base = k.h * 0.9
    for row in range(2 if k.age > 8.4 else 1):
        x, back = k.w * 0.02, (row == 0 and k.age > 8.4)
        while x < k.w * 0.93:
            wide = k.u * k.between(13, 22) * (1.15 if k.age < 6.5 else 1)
            tall = k.h * (k.between(0.5, 0.72) if back else k.between(0.26, 0.58))
            made.append(
                buildings.building(
                    k,
                    x,
                    base - (k.u * 4 if back else 0),
                    min(wide, k.w * 0.99 - x),
                    tall,
                    name=k.pick(k.liked(), "gray", "orange", "brown", "blue"),
                    lit=k.pick("yellow", "yellow", "white") if night else k.pick("white", "sky", "yellow"),
                )
            )
            x += wide + (k.u * k.between(0.5, 3) if k.age < 7.5 else k.u * k.between(-0.5, 1))
    made.append(
        k.thing(
            "street",
            Part((box(-2, base - 1, k.w + 2, k.h + 2),), fill=k.light("black") if k.maybe(0.5) else "gray", line=None),
            ground=k.age > 7,
        )
    )
    made.append(vehicles.car(k, k.w * k.between(0.3, 0.7), k.h * 0.96, k.u * 20) if k.maybe(0.7) else None)
    return made


def vehicle(k: Sketch) -> Made:
    """A car on a road."""
    wide = min(k.w * 0.7, k.u * 74 * size_of(k))
    road = (
        k.thing("road", Part((box(-2, k.base - k.u * 3, k.w + 2, k.h + 2),), fill="gray", line=None), ground=True)
        if k.age > 6
        else None
    )
    made = outdoors(k, road, trees=k.count(0, 2))
    return [*made, vehicles.car(k, k.w / 2, k.base + k.u * 3, wide)]


def robot(k: Sketch) -> Made:
    """A robot."""
    return outdoors(k, fancies.robot(k, k.w / 2, k.base + k.u, min(k.h * 0.74, k.u * 80 * size_of(k))))


def soccer(k: Sketch) -> Made:
    """Children with a ball and a goal."""
    x, base = k.w * (0.5 + k.child.sun_side * 0.36), k.base
    goal = Part(
        paths=(
            points(
                (x - k.u * 12, base),
                (x - k.u * 12, base - k.u * 34),
                (x + k.u * 12, base - k.u * 34),
                (x + k.u * 12, base),
            ),
            *(points((x - k.u * 12, base - k.u * h), (x + k.u * 12, base - k.u * h)) for h in (8, 17, 26)),
        ),
        line="gray" if not k.dark else "white",
        width=0.7,
    )
    ball = Part(
        (ellipse(k.w * 0.55, base - k.u * 3, k.u * 4.5),),
        fill="white",
        line="black" if not k.dark else "white",
        width=0.8,
    )
    tall = k.u * 52 * size_of(k)
    return outdoors(
        k,
        k.thing("goal", goal) if k.age > 5.8 else None,
        people.person(k, k.w * (0.5 - k.child.sun_side * 0.22), base, tall),
        people.person(k, k.w * (0.5 + k.child.sun_side * 0.12), base, tall * 0.92, other=True, skin=k.count(0, 4))
        if k.age > 6
        else None,
        k.thing("ball", ball),
    )
