"""Scenes of nature, weather, sea and sky."""

import numpy as np

from portfolio.demo.paint import animals, buildings, fancies, nature, people, scenes_people, vehicles
from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.outdoors import Made, moon, outdoors, side_place, size_of, wave
from portfolio.demo.paint.shape import box, curve, ellipse, limb
from portfolio.demo.paint.sketch import Sketch, dots


def trees(k: Sketch) -> Made:
    """One big tree or a small wood."""
    if k.age < 7.5 and k.maybe(0.6):
        return outdoors(k, nature.tree(k, k.w * k.between(0.4, 0.6), k.base, k.h * 0.66))
    count = k.count(3, 5)
    leafs = [k.pick("green", "green", "lime", "orange", "red", "dark green") for _ in range(count)]
    order = k.rng.permutation(count)
    wood = [
        nature.tree(
            k,
            k.w * (0.12 + 0.76 * (int(place) + 0.5) / count),
            k.base - k.u * (6 * (count - i) if k.age > 8.3 else 0),
            k.u * k.between(45, 62) * (0.7 + 0.1 * i if k.age > 8.3 else 1),
            leaf=leafs[i],
        )
        for i, place in enumerate(order)
    ]
    return outdoors(k, *wood)


def flowers(k: Sketch) -> Made:
    """A row of flowers."""
    count = k.count(2, 4) if k.age < 6.5 else k.count(3, 6)
    row = [
        nature.flower(
            k,
            k.w * (0.1 + 0.8 * (i + 0.5) / count) + k.u * k.between(-3, 3),
            k.base + k.u * (k.between(-2, 2) if k.age < 8.3 else k.between(-3, 10)),
            k.u * k.between(34, 58),
        )
        for i in range(count)
    ]
    return outdoors(
        k,
        *row,
        animals.butterfly(k, k.w * k.between(0.3, 0.7), k.h * 0.28, k.u * 18) if k.maybe(0.5) and k.age > 5.8 else None,
    )


def rainbow(k: Sketch) -> Made:
    """A rainbow over whatever else there is."""
    wide = min(k.w * 0.86, k.h * 1.25)
    x, base = k.w / 2, k.base - (0 if k.age < 8.3 else k.h * 0.14)
    ends = (
        [nature.cloud(k, x + s * wide * 0.42, base, k.u * 30) for s in (-1, 1)] if k.maybe(0.5) and k.age > 5.8 else []
    )
    other = (
        buildings.house(k, x, k.base, k.u * 26)
        if k.age > 6 and k.maybe(0.4)
        else people.person(k, x, k.base, k.u * 34)
        if k.age > 5.6 and k.maybe(0.5)
        else None
    )
    return outdoors(k, nature.rainbow(k, x, base, wide), *ends, other, trees=1 if k.age > 7 else 0)


def boats(k: Sketch) -> Made:
    """Boats on the sea."""
    level = k.h * (0.72 if k.age < 8.3 else 0.58)
    sea = Part(
        (box(-2, level, k.w + 2, k.h + 2),),
        fill="blue" if k.age > 6 else k.own("blue"),
        second="teal" if k.age > 8 else None,
        line=None,
        angle=k.between(-12, 12),
    )
    made: Made = [nature.sky(k), nature.sun(k, low=k.age > 9)]
    if k.age > 8.3:
        made += [
            nature.mountain(k, k.w * k.between(0.1, 0.9), k.u * k.between(24, 36), k.u * k.between(20, 32))
            for _ in range(k.count(1, 3))
        ]
    made.append(k.thing("sea", sea, ground=True))
    for i in range(1 if k.age < 6.5 else k.count(1, 3)):
        near = i == 0
        made.append(
            vehicles.boat(
                k,
                k.w * (0.5 if near else k.between(0.12, 0.88)),
                level + k.u * (12 if near else k.between(2, 6)),
                k.u * (42 * size_of(k) if near else 16),
            )
        )
    made.append(
        k.thing(
            "waves",
            Part(
                paths=tuple(wave(k, level + k.u * d)[s : s + 16] for d, s in ((8, 4), (16, 30), (24, 14))),
                line="white" if k.age > 7 else "blue",
                width=0.7,
            ),
        )
    )
    return made


def space(k: Sketch) -> Made:
    """A rocket among planets and stars."""
    made: Made = [
        Thing(
            "night sky",
            (
                Part(
                    (box(-2, -2, k.w + 2, k.h + 2),),
                    fill=k.pick("blue", "violet", "dark blue"),
                    second="black" if k.age > 8 else None,
                    line=None,
                ),
            ),
            ground=True,
        )
        if k.age > 6.6 and not k.dark
        else None
    ]
    made.append(nature.stars(k, k.count(6, 12), k.h * 0.95))
    for x, y in dots(
        k, k.count(1, 2) if k.age < 6.5 else k.count(2, 4), (k.w * 0.14, k.h * 0.16, k.w * 0.86, k.h * 0.84)
    ):
        if abs(x - k.w / 2) > k.u * 18:
            made.append(vehicles.planet(k, x, y, k.u * k.between(8, 14)))
    made.append(vehicles.rocket(k, k.w * 0.5, k.h * 0.86, min(k.h * 0.68, k.u * 74 * size_of(k))))
    return made


def night(k: Sketch) -> Made:
    """A house and a tree at night."""
    made: Made = [
        nature.sky(k, night=True),
        moon(k),
        nature.stars(k, k.count(7, 13), k.h * 0.45),
        nature.ground(k, "green" if k.age < 8 else k.pick("violet", "dark green", "brown")),
    ]
    x = k.w * (0.5 - k.child.sun_side * 0.16)
    made.append(buildings.house(k, x, k.base, k.u * 38 * size_of(k)))
    made.append(nature.tree(k, x + k.child.sun_side * k.u * 52, k.base + k.u, k.u * 48) if k.age > 5.6 else None)
    return made


def volcano(k: Sketch) -> Made:
    """A volcano."""
    return outdoors(k, fancies.volcano(k, k.w / 2, k.base, min(k.w * 0.8, k.u * 84 * size_of(k))), trees=k.count(0, 1))


def landscape(k: Sketch) -> Made:
    """Hills, mountains, a path, trees; a simple tree and house before eight."""
    if k.age < 8.0:
        return scenes_people.house(k) if k.maybe(0.5) else trees(k)
    evening = k.maybe(0.35)
    made: Made = [
        nature.sky(k, name=k.pick("orange", "pink", "yellow")) if evening else nature.sky(k),
        nature.sun(k, low=True) if k.maybe(0.7) else None,
    ]
    made += [
        nature.mountain(k, k.w * x, k.u * k.between(26, 44), k.u * k.between(20, 38), snow=k.maybe(0.7))
        for x in k.rng.permutation(np.linspace(0.1, 0.9, k.count(2, 4))).tolist()
    ]
    made += [
        nature.hill(
            k, k.w * x, k.u * k.between(40, 60), k.u * k.between(8, 16), k.pick("green", "lime", "dark green", "violet")
        )
        for x in k.rng.permutation(np.linspace(0.1, 0.9, k.count(2, 3))).tolist()
    ]
    made.append(nature.ground(k))
    s = k.child.sun_side
    way = limb(
        curve(
            (k.w * 0.5, k.horizon + 2),
            (k.w * (0.5 + s * 0.08), k.h * 0.75),
            (k.w * (0.5 - s * 0.02), k.h * 0.86),
            (k.w * (0.5 + s * 0.12), k.h + 3),
        ),
        k.u * 3,
        k.u * 18,
    )
    made.append(
        k.thing("path", Part((way,), fill=k.pick("tan", "sky"), line=None), ground=False) if k.maybe(0.6) else None
    )
    made.append(
        buildings.house(k, k.w * k.between(0.25, 0.75), k.horizon + k.u * 8, k.u * 15) if k.maybe(0.4) else None
    )
    places_of = sorted((k.h * k.between(0.7, 0.92), k.w * k.between(0.06, 0.94)) for _ in range(k.count(2, 5)))
    made += [nature.tree(k, x, y, k.u * 46 * ((y / k.h) - 0.35) * 1.6) for y, x in places_of]
    made.append(nature.birds(k, k.count(2, 4)) if k.maybe(0.5) else None)
    return made


def snow(k: Sketch) -> Made:
    """A snowman in falling snow."""
    made: Made = [
        nature.sky(k)
        if k.age < 8.3
        else Thing(
            "sky", (Part((box(-2, -2, k.w + 2, k.horizon),), fill=k.pick("sky", "blue"), line=None),), ground=True
        )
    ]
    made.append(nature.tree(k, k.w * side_place(k), k.base, k.u * 46) if k.age > 5.7 else None)
    made.append(fancies.snowman(k, k.w / 2, k.base + k.u * 4, min(k.h * 0.78, k.u * 80 * size_of(k))))
    flakes = tuple(ellipse(x, y, k.u * 1.1) for x, y in dots(k, 22, (0, 0, k.w, k.h)))
    made.append(
        Thing(
            "snow",
            (
                Part(
                    flakes,
                    fill="white" if k.age > 6.4 or k.dark else "sky",
                    line="sky" if not k.dark else "white",
                    width=0.5,
                    hides=False,
                ),
            ),
        )
    )
    return made
