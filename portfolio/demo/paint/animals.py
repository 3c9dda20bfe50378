"""Grammar of animals: a side view with a face from the front, four legs in a row;
fish, birds, butterflies, dinosaurs.
"""

import math

import numpy as np

from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.shape import arc, curve, ellipse, limb, mirrored, points, spiral, star
from portfolio.demo.paint.sketch import Sketch, dots


def pet(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """A cat, dog or horse: one body, the child's ears, a tail, whiskers."""
    coat = (
        k.pick("orange", "brown", "gray", "tan", k.liked()) if k.age > 6 else k.own(k.pick("orange", "brown", "black"))
    )
    s = k.child.sun_side
    rx, ry = wide * 0.33, wide * (0.17 if k.age > 6 else 0.14)
    y = base - wide * 0.26 - ry
    head, hx, hy = wide * 0.17, x + s * (rx + wide * 0.02), y - ry * 0.95
    body = (
        ellipse(x, y, rx, ry)
        if k.age < 8
        else curve(
            (x - s * rx, y - ry * 0.7),
            (x, y - ry * 0.75),
            (x + s * rx, y - ry),
            (x + s * rx * 0.95, y + ry * 0.6),
            (x, y + ry * 0.85),
            (x - s * rx * 1.02, y + ry * 0.5),
            closed=True,
        )
    )
    at = (-0.78, -0.4, 0.4, 0.78) if k.age < 8.5 else (-0.8, -0.52, 0.5, 0.8)
    if k.age < 6.2:
        legs = Part(paths=tuple(points((x + rx * d, y + ry * 0.7), (x + rx * d, base)) for d in at), line=coat)
    else:
        legs = Part(
            tuple(
                limb(
                    points((x + rx * d, y + ry * 0.3), (x + rx * d + k.u * k.between(-1, 1), base)),
                    wide * 0.085,
                    wide * 0.075,
                )
                for d in at
            ),
            fill=coat,
        )
    tail = curve(
        (x - s * rx * 0.95, y - ry * 0.3),
        (x - s * (rx + wide * 0.12), y - ry * 0.6),
        (x - s * (rx + wide * 0.12), y - ry * 2.1),
        (x - s * (rx + wide * 0.05), y - ry * 2.5),
    )
    tail_part = (
        Part(paths=(tail,), line=coat, width=1.2)
        if k.age < 7
        else Part((limb(tail, wide * 0.06, wide * 0.035),), fill=coat)
    )
    patches = tuple(
        ellipse(a, b, wide * 0.035, wide * 0.03)
        for a, b in dots(k, k.count(4, 7), (x - rx * 0.7, y - ry * 0.6, x + rx * 0.5, y + ry * 0.5))
    )
    marks = (
        Part(
            patches,
            fill=k.pick("dark brown", "white", "black") if coat not in ("black", "brown") else "white",
            line=None,
        )
        if k.maybe(0.5) and k.age > 6
        else None
    )
    return k.thing("animal", tail_part, legs, Part((body,), fill=coat), marks, *_pet_head(k, hx, hy, head, coat))


def _pet_head(k: Sketch, x: float, y: float, r: float, coat: str) -> list[Part]:
    form = k.child.ears
    if form == "point":
        ears = tuple(
            points((x + s * r * 0.95, y - r * 0.3), (x + s * r * 0.8, y - r * 1.5), (x + s * r * 0.15, y - r * 0.8))
            for s in (-1, 1)
        )
    elif form == "round":
        ears = tuple(ellipse(x + s * r * 0.75, y - r * 0.85, r * 0.42) for s in (-1, 1))
    else:
        ears = tuple(ellipse(x + s * r * 1.0, y - r * 0.1, r * 0.3, r * 0.7, turn=-s * 14) for s in (-1, 1))
    bright = "white" if coat in ("black", "brown", "dark brown") else None
    eyes = tuple(ellipse(x + s * r * 0.38, y - r * 0.2, r * 0.12) for s in (-1, 1))
    white = (
        Part(tuple(ellipse(x + s * r * 0.38, y - r * 0.2, r * 0.25) for s in (-1, 1)), fill=bright, line=None)
        if bright
        else None
    )
    nose = Part(
        (points((x - r * 0.14, y + r * 0.12), (x + r * 0.14, y + r * 0.12), (x, y + r * 0.28)),),
        fill="pink" if coat != "pink" else "black",
        line="black",
        width=0.5,
    )
    mouth = Part(
        paths=(
            arc(x - r * 0.2, y + r * 0.32, r * 0.2, r * 0.22, start=0, end=160),
            arc(x + r * 0.2, y + r * 0.32, r * 0.2, r * 0.22, start=180, end=20),
        ),
        line="black" if coat != "black" else "white",
        width=0.6,
    )
    whiskers = tuple(
        points((x + s * r * 0.5, y + r * 0.25 + d), (x + s * r * 1.5, y + r * 0.2 + d * 2.4))
        for s in (-1, 1)
        for d in (-r * 0.1, r * 0.12)
    )
    skull = Part((ellipse(x, y, r * 1.05, r),), fill=coat)
    order = (
        [Part(ears, fill=coat), skull]
        if form != "flop"
        else [skull, Part(ears, fill=f"dark {coat.rsplit(maxsplit=1)[-1]}")]
    )
    parts = [
        *order,
        white,
        Part(eyes, fill="black", line="black", width=0.6),
        nose,
        mouth,
        Part(paths=whiskers, line="black" if not k.dark else "white", width=0.4) if form == "point" else None,
    ]
    return [part for part in parts if part is not None]


def dinosaur(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """A long neck, a long tail, plates down the back."""
    skin = k.own(k.pick("green", "green", "lime", "violet"))
    s = -k.child.sun_side
    high = wide * 0.62

    def at(a: float, b: float) -> tuple[float, float]:
        return x + s * a * wide, base - b * high

    outline = curve(
        at(-0.5, 0.12),
        at(-0.34, 0.30),
        at(-0.18, 0.5),
        at(0.02, 0.56),
        at(0.18, 0.6),
        at(0.27, 0.86),
        at(0.36, 1.0),
        at(0.49, 0.97),
        at(0.5, 0.87),
        at(0.40, 0.82),
        at(0.35, 0.55),
        at(0.25, 0.3),
        at(0.05, 0.24),
        at(-0.2, 0.22),
        closed=True,
    )
    legs = tuple(
        limb(points(at(d, 0.34), at(d + 0.01, 0.0)), wide * 0.10, wide * 0.085)
        for d in ((-0.12, 0.2) if k.age < 7.5 else (-0.16, -0.05, 0.14, 0.24))
    )
    ridge = [at(-0.28, 0.38), at(-0.18, 0.5), at(-0.08, 0.54), at(0.02, 0.57), at(0.12, 0.58)]
    plates = tuple(points((a - wide * 0.045, b + 1), (a, b - wide * 0.10), (a + wide * 0.045, b + 1)) for a, b in ridge)
    spots = tuple(
        ellipse(a, b, wide * 0.025)
        for a, b in dots(k, k.count(4, 8), (x - wide * 0.2, base - high * 0.48, x + wide * 0.22, base - high * 0.32))
    )
    ex, ey = at(0.42, 0.93)
    eye = Part((ellipse(ex, ey, wide * 0.013),), fill="black", line="black", width=0.6)
    smile = Part(paths=(curve(at(0.5, 0.88), at(0.46, 0.875), at(0.41, 0.885)),), line="black", width=0.6)
    return k.thing(
        "dinosaur",
        Part(legs, fill=skin),
        Part(plates, fill=k.liked() if k.child.detail > -0.5 else skin),
        Part((outline,), fill=skin, second="dark green" if k.age > 8.6 else None),
        Part(spots, fill=k.pick("yellow", "orange", "red"), line=None) if k.maybe(0.6) else None,
        eye,
        smile,
    )


def fish(k: Sketch, x: float, y: float, wide: float, *, name: str | None = None) -> Thing:
    """A fish with a tail, an eye and, by age, stripes or scales."""
    tint, s = name or k.liked(), 1 if k.maybe(0.5) else -1
    other = k.liked()
    rx, ry = wide * 0.36, wide * k.between(0.17, 0.25)
    tail = points(
        (x - s * rx * 0.8, y),
        (x - s * wide * 0.56, y - ry * 0.95),
        (x - s * wide * 0.5, y),
        (x - s * wide * 0.56, y + ry * 0.95),
    )
    body = (
        ellipse(x, y, rx, ry)
        if k.age < 7.5
        else curve(
            (x + s * rx, y),
            (x + s * rx * 0.4, y - ry),
            (x - s * rx * 0.4, y - ry * 0.75),
            (x - s * rx, y - ry * 0.12),
            (x - s * rx, y + ry * 0.12),
            (x - s * rx * 0.4, y + ry * 0.75),
            (x + s * rx * 0.4, y + ry),
            closed=True,
        )
    )
    fin = points((x - s * rx * 0.3, y - ry * 0.7), (x - s * rx * 0.1, y - ry * 1.6), (x + s * rx * 0.35, y - ry * 0.75))
    eye = (x + s * rx * 0.62, y - ry * 0.2)
    stripes = tuple(
        arc(x + s * rx * d, y, s * rx * 0.16, ry * (0.85 - abs(d) * 0.5), start=-75, end=75)
        for d in (-0.55, -0.25, 0.05, 0.3)[: k.count(2, 4)]
    )
    decor = (
        Part(paths=stripes, line=other if other != tint else "white", width=0.8, hides=False)
        if k.age > 6 and k.child.detail > -0.6
        else None
    )
    return k.thing(
        "fish",
        Part((tail, fin) if k.age > 6.4 else (tail,), fill=other if k.maybe(0.5) else tint),
        Part((body,), fill=tint),
        decor,
        Part((ellipse(*eye, ry * 0.26),), fill="white", line="black", width=0.5),
        Part((ellipse(*eye, ry * 0.11),), fill="black", line="black", width=0.5),
        Part(
            paths=(arc(x + s * rx * 0.75, y + ry * 0.2, s * rx * 0.2, ry * 0.3, start=20, end=120),),
            line="black",
            width=0.5,
        )
        if k.age < 9
        else None,
    )


def butterfly(k: Sketch, x: float, y: float, wide: float) -> Thing:
    """Mirrored wings about a body, with spots."""
    one, two = k.liked(), k.liked()
    r = wide / 2
    upper = curve(
        (x + r * 0.06, y - r * 0.05),
        (x + r * 0.45, y - r * 0.85),
        (x + r * 0.98, y - r * 0.75),
        (x + r * 0.8, y - r * 0.05),
        closed=True,
    )
    lower = curve(
        (x + r * 0.06, y),
        (x + r * 0.72, y + r * 0.12),
        (x + r * 0.75, y + r * 0.68),
        (x + r * 0.3, y + r * 0.6),
        closed=True,
    )
    if k.age < 6.5:
        upper, lower = (
            ellipse(x + r * 0.5, y - r * 0.35, r * 0.42, r * 0.38),
            ellipse(x + r * 0.4, y + r * 0.35, r * 0.34, r * 0.3),
        )
    big = [(0.62, -0.45, 0.16), (0.48, 0.38, 0.12)]
    spots = tuple(ellipse(x + s * r * a, y + r * b, r * c) for a, b, c in big for s in (-1, 1))
    feelers = tuple(
        curve((x, y - r * 0.5), (x + s * r * 0.12, y - r * 0.85), (x + s * r * 0.3, y - r * 0.95)) for s in (-1, 1)
    )
    dark = "black" if not k.dark else "white"
    return k.thing(
        "butterfly",
        Part((upper, mirrored(upper, x)), fill=one),
        Part((lower, mirrored(lower, x)), fill=two if k.age > 5.8 else one),
        Part(spots, fill=k.liked(), line=None),
        Part((ellipse(x, y, r * 0.09, r * 0.55),), fill=dark, line=None),
        Part(paths=feelers, line=dark, width=0.6),
    )


def bird(k: Sketch, x: float, base: float, tall: float) -> Thing:
    """An owl or a fat bird from the front."""
    coat, belly = k.pick("brown", "blue", "red", k.liked()), k.pick("yellow", "tan", "white")
    r = tall * 0.36
    y = base - tall * 0.46
    eyes = tuple(ellipse(x + s * r * 0.36, y - r * 0.55, r * 0.28) for s in (-1, 1))
    pupils = tuple(ellipse(x + s * r * 0.36, y - r * 0.55, r * 0.11) for s in (-1, 1))
    beak = points((x - r * 0.13, y - r * 0.3), (x + r * 0.13, y - r * 0.3), (x, y - r * 0.02))
    wings = tuple(ellipse(x + s * r * 0.86, y + r * 0.3, r * 0.24, r * 0.72, turn=s * -12) for s in (-1, 1))
    tufts = tuple(
        points((x + s * r * 0.35, y - r * 1.0), (x + s * r * 0.75, y - r * 1.5), (x + s * r * 0.8, y - r * 0.75))
        for s in (-1, 1)
    )
    feathers = tuple(
        arc(x + dx * r * 0.28, y + r * (0.25 + 0.26 * row), r * 0.13, r * 0.14, start=0, end=180)
        for row in range(3)
        for dx in ((-1, 0, 1) if row != 1 else (-0.5, 0.5))
    )
    feet = tuple(
        points((x + s * r * 0.3, base - tall * 0.12), (x + s * r * 0.3 + d * r * 0.15, base))
        for s in (-1, 1)
        for d in (-1, 0, 1)
    )
    return k.thing(
        "owl",
        Part(tufts, fill=coat),
        Part((ellipse(x, y, r * 0.95, r * 1.25),), fill=coat),
        Part((ellipse(x, y + r * 0.45, r * 0.55, r * 0.7),), fill=belly, line=None),
        Part(paths=feathers, line=coat, width=0.6) if k.age > 6.5 else None,
        Part(wings, fill=f"dark {coat.rsplit(maxsplit=1)[-1]}"),
        Part(eyes, fill="white", line="black", width=0.7),
        Part(pupils, fill="black", line="black", width=0.6),
        Part((beak,), fill="orange", line="orange"),
        Part(paths=feet, line="orange", width=0.8),
    )


def snail(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """A snail with a spiral house."""
    s, r = k.child.sun_side, wide * 0.26
    foot = curve(
        (x - s * wide * 0.5, base),
        (x - s * wide * 0.2, base - wide * 0.1),
        (x + s * wide * 0.25, base - wide * 0.12),
        (x + s * wide * 0.36, base - wide * 0.36),
        (x + s * wide * 0.5, base - wide * 0.34),
        (x + s * wide * 0.48, base - wide * 0.04),
        (x + s * wide * 0.3, base),
        closed=True,
    )
    horns = tuple(
        points((x + s * wide * d, base - wide * 0.34), (x + s * wide * (d + 0.04), base - wide * 0.5))
        for d in (0.4, 0.46)
    )
    shell = (x - s * wide * 0.04, base - wide * 0.3)
    return k.thing(
        "snail",
        Part((foot,), fill=k.pick("tan", "lime", "pink")),
        Part(paths=horns, line="brown", width=0.7),
        Part((ellipse(*shell, r),), fill=k.liked()),
        Part(paths=(spiral(*shell, r * 0.85, turns=2.4),), line=k.liked(), hides=False),
        Part((ellipse(x + s * wide * 0.44, base - wide * 0.28, wide * 0.014),), fill="black", line="black", width=0.5),
    )


def starfish(k: Sketch, x: float, y: float, r: float) -> Thing:
    """A star on the sea floor."""
    return k.thing("starfish", Part((star(x, y, r, turn=k.between(-20, 20)),), fill=k.pick("orange", "red", "pink")))


def weed(k: Sketch, x: float, base: float, tall: float) -> Thing:
    """A waving strand of sea weed."""
    t = np.linspace(0, 1, 24)
    sway = np.sin(t * math.tau * k.between(1, 1.6) + k.between(0, 6)) * tall * 0.09 * (0.4 + t)
    path = np.stack([x + sway, base - tall * t], axis=1)
    name = k.pick("green", "lime", "green", "violet")
    return k.thing(
        "sea weed",
        Part(paths=(path,), line=name, width=1.5)
        if k.age < 7.5
        else Part((limb(path, tall * 0.12, tall * 0.03),), fill=name, line=None),
    )
