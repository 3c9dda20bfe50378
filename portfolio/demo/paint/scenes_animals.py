"""Scenes with animals."""

import numpy as np

from portfolio.demo.paint import animals, fancies, nature
from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.outdoors import Made, moon, outdoors, size_of, wave
from portfolio.demo.paint.shape import box, curve, ellipse, limb, points
from portfolio.demo.paint.sketch import Sketch, dots


def pet(k: Sketch) -> Made:
    """A pet or another animal."""
    wide = min(k.w * 0.72, k.u * 80 * size_of(k))
    middle = animals.pet(k, k.w * 0.5 - k.child.sun_side * k.u * 4, k.base + k.u, wide)
    return outdoors(k, middle, trees=k.count(0, 2))


def owl(k: Sketch) -> Made:
    """An owl, often at night on a branch."""
    branch = Part(
        (limb(curve((-3, k.h * 0.8), (k.w * 0.5, k.h * 0.77), (k.w + 3, k.h * 0.82)), k.u * 7, k.u * 4),), fill="brown"
    )
    perch = k.thing("branch", branch)
    bird = animals.bird(k, k.w / 2, k.h * 0.79, min(k.h * 0.66, k.u * 72 * size_of(k)))
    if k.age > 6.2 and k.maybe(0.6):
        return [
            nature.sky(k, night=True, name="blue")
            if k.age < 8.3
            else Thing(
                "night sky",
                (Part((box(-2, -2, k.w + 2, k.h + 2),), fill="blue", second="violet", line=None),),
                ground=True,
            ),
            moon(k),
            nature.stars(k, k.count(5, 9), k.h * 0.6),
            perch,
            bird,
        ]
    return [nature.sky(k), nature.sun(k), perch, bird]


def snail(k: Sketch) -> Made:
    """A snail in the grass."""
    return outdoors(
        k,
        animals.snail(k, k.w / 2, k.base + k.u, min(k.w * 0.66, k.u * 72 * size_of(k))),
        nature.flower(k, k.w * (0.5 - k.child.sun_side * 0.4), k.base + k.u * 2, k.u * 36) if k.age > 5.5 else None,
    )


def dinosaur(k: Sketch) -> Made:
    """A dinosaur, later with a volcano or trees."""
    wide = min(k.w * 0.78, k.u * 92 * size_of(k))
    far = (
        fancies.volcano(
            k, k.w * (0.5 - k.child.sun_side * 0.27), k.base if k.age < 8.3 else k.horizon + k.u * 4, k.u * 46
        )
        if k.age > 7 and k.maybe(0.5)
        else None
    )
    return outdoors(k, far, animals.dinosaur(k, k.w / 2, k.base + k.u * 2, wide), trees=k.count(0, 1))


def under_water(k: Sketch) -> Made:
    """Fish, weed, bubbles, a sandy floor."""
    made: Made = []
    water = k.pick("sky", "blue", "teal")
    if k.age > 6.6 or k.dark:
        made.append(
            Thing(
                "water",
                (
                    Part(
                        (box(-2, -2, k.w + 2, k.h + 2),),
                        fill=water,
                        second=k.pick("blue", "green", "teal") if k.age > 7.3 else None,
                        line=None,
                        angle=k.between(-15, 15),
                    ),
                ),
                ground=True,
            )
        )
    elif k.maybe(0.6):
        made.append(k.thing("water", Part(paths=(wave(k, k.u * 10),), line="blue"), ground=True))
    floor = curve((-2, k.h * 0.9), (k.w * 0.3, k.h * 0.86), (k.w * 0.65, k.h * 0.91), (k.w + 2, k.h * 0.87))
    if k.age > 6.3:
        made.append(
            k.thing(
                "sand",
                Part(
                    (np.concatenate([floor, points((k.w + 2, k.h + 2), (-2, k.h + 2))]),),
                    fill=k.pick("yellow", "tan"),
                    line=None,
                ),
                ground=True,
            )
        )
    for i in range(k.count(2, 4)):
        made.append(animals.weed(k, k.w * ((i + 0.5) / 4 + k.between(-0.08, 0.08)), k.h * 0.9, k.u * k.between(20, 40)))
    count = k.count(1, 2) if k.age < 6 else k.count(3, 6)
    for x, y in dots(k, count, (k.w * 0.16, k.h * 0.16, k.w * 0.84, k.h * 0.74)):
        made.append(
            animals.fish(
                k,
                x,
                y,
                k.u * (k.between(46, 62) if k.age < 6 else k.between(24, 40)) * k.child.size,
                name=k.other(water),
            )
        )
    bubbles = tuple(
        ellipse(x, y, k.u * k.between(1.2, 2.4))
        for x, y in dots(k, k.count(4, 9), (k.w * 0.1, k.h * 0.1, k.w * 0.9, k.h * 0.7))
    )
    made.append(
        Thing("bubbles", (Part(bubbles, line="white" if made and k.age > 6.6 else "sky", width=0.6, hides=False),))
    )
    if k.age > 7 and k.maybe(0.5):
        made.append(animals.starfish(k, k.w * k.between(0.2, 0.8), k.h * 0.94, k.u * 5))
    return made


def butterfly(k: Sketch) -> Made:
    """A big butterfly over flowers."""
    low = (
        [nature.flower(k, k.w * x, k.base + k.u, k.u * 28) for x in (0.15, 0.85)[: k.count(0, 2)]]
        if k.age > 5.6
        else []
    )
    return outdoors(k, *low, animals.butterfly(k, k.w / 2, k.h * 0.47, min(k.w * 0.6, k.u * 66 * size_of(k))))
