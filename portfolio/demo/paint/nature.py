"""Grammar of outdoors: sky, sun, clouds, ground, trees, flowers, hills, rainbow, by age and by the child's
own schemata.
"""

import math

import numpy as np

from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.shape import Points, arc, band, box, curve, ellipse, heart, limb, points, puff, spiral, star
from portfolio.demo.paint.sketch import Sketch, dots


def sun(k: Sketch, *, low: bool = False) -> Thing:
    """The child's sun, always on its side of the sheet."""
    r = k.u * k.between(8, 11) * (1.1 if k.age < 7 else 0.85) * (k.child.size**0.5)
    x = k.w - r * 1.7 if k.child.sun_side > 0 else r * 1.7
    y = k.horizon - r * 0.4 if low else r * 1.75
    fill, rays = k.own("yellow"), k.pick("yellow", "orange", "yellow")
    form = "full" if k.age < 5.4 or low else k.child.sun
    if form == "corner":
        x, y, r = (k.w + 1 if k.child.sun_side > 0 else -1.0), -1.0, r * 2.0
    count = k.count(8, 13)
    spokes = [
        points(
            (x + math.cos(t) * r * 1.22, y + math.sin(t) * r * 1.22), (x + math.cos(t) * r * s, y + math.sin(t) * r * s)
        )
        for t, s in ((i * math.tau / count + k.between(-0.12, 0.12), k.between(1.5, 1.9)) for i in range(count))
    ]
    body = Part(
        (ellipse(x, y, r),),
        fill=fill,
        second="orange" if k.age > 8.5 else None,
        line="orange" if k.maybe(0.3) else fill,
    )
    parts = [Part(paths=tuple(spokes), line=rays), body]
    if form == "spiral":
        parts[1] = Part(paths=(spiral(x, y, r, turns=3.2),), line=fill)
    if form == "face":
        parts += _sun_face(k, x, y, r)
    return k.thing("sun", *parts)


def _sun_face(k: Sketch, x: float, y: float, r: float) -> list[Part]:
    eyes = (ellipse(x - r * 0.33, y - r * 0.2, r * 0.07), ellipse(x + r * 0.33, y - r * 0.2, r * 0.07))
    smile = arc(x, y + r * 0.1, r * 0.5, r * 0.42, start=165, end=15)
    return [
        Part(eyes, fill="black", line="black", width=0.6),
        Part(paths=(smile,), line=k.pick("red", "orange"), width=0.7),
    ]


def cloud(k: Sketch, x: float, y: float, wide: float) -> Thing:
    """The child's cloud."""
    name = k.own("sky") if k.age < 8.3 else "white"
    line = name if k.age < 8.3 else k.pick("sky", "gray")
    if k.child.cloud == "flat":
        return k.thing("cloud", Part((ellipse(x, y, wide / 2, wide * 0.17),), fill=name, line=line))
    if k.child.cloud == "loop" and k.age < 9:
        t = np.linspace(0, math.tau * 5, 70)
        path = np.stack(
            [x - wide / 2 + wide * t / t[-1] + wide * 0.09 * np.sin(t), y - wide * 0.12 * np.cos(t)], axis=1
        )
        return k.thing("cloud", Part(paths=(path,), line="sky"))
    return k.thing("cloud", Part((puff(x, y, wide / 2, wide * 0.24, bumps=k.count(6, 8)),), fill=name, line=line))


def sky(k: Sketch, *, night: bool = False, name: str | None = None) -> Thing | None:
    """A strip at the top while young, down to the horizon later; nothing before about six."""
    shade = name or ("blue" if night else "sky")
    if k.age < 5.9 and not night:
        return None
    if k.age < 8.3 and not night:
        bottom = k.h * k.between(0.10, 0.17)
        return k.thing(
            "sky",
            Part((box(-2, -2, k.w + 2, bottom),), fill=k.own(shade), line=None, angle=k.between(-14, 14)),
            ground=True,
        )
    bottom = k.h + 2 if k.age < 8.3 else k.horizon + 2
    second = (
        None
        if k.age < 7.5
        else "violet"
        if night
        else {"orange": "yellow", "pink": "orange", "yellow": "orange"}.get(shade, k.pick("blue", "light sky", "sky"))
    )
    return k.thing(
        "night sky" if night else "sky",
        Part((box(-2, -2, k.w + 2, bottom),), fill=shade, second=second, line=None),
        ground=True,
    )


def ground(k: Sketch, name: str = "green", *, word: str = "grass") -> Thing | None:
    """Grass as spikes, a strip or a scribble; ground up to the horizon later."""
    shade = k.own(name)
    if k.age >= 8.3:
        edge = curve(*((k.w * t, k.horizon + k.u * k.between(-2, 2)) for t in (-0.02, 0.25, 0.5, 0.75, 1.02)))
        field = np.concatenate([edge, points((k.w + 2, k.h + 2), (-2, k.h + 2))])
        return k.thing(
            word,
            Part((field,), fill=name, second=k.pick("lime", "dark green") if name == "green" else None, line=None),
            ground=True,
        )
    if k.age < 5.9 and k.maybe(0.4):
        return None
    top = k.base - k.u * k.between(1, 4)
    spikes = Part(paths=(_spikes(k, top),), line=shade)
    strip = Part(
        (box(-2, top + k.u, k.w + 2, k.h + 2),),
        fill=shade,
        line=None,
        angle=k.between(60, 110) if k.maybe(0.5) else None,
    )
    if k.age < 6 or (k.child.grass == "spikes" and k.age < 7.3):
        return k.thing(word, spikes, ground=True)
    return k.thing(word, strip, spikes if k.child.grass == "spikes" else None, ground=True)


def _spikes(k: Sketch, y: float) -> Points:
    count = k.count(20, 30)
    x = np.linspace(-2, k.w + 2, count * 2)
    rise = np.where(np.arange(count * 2) % 2 == 0, 0, 1) * k.u * k.rng.uniform(4, 8.5, count * 2)
    return np.stack([x + k.rng.normal(0, k.u * 0.4, count * 2), y + k.u * 3 - rise], axis=1)


def tree(k: Sketch, x: float, base: float, tall: float, *, leaf: str | None = None) -> Thing:
    """The child's tree: a lollipop grows a cloud crown at about seven and forked branches at nine."""
    leaf = leaf or k.own("green")
    if k.child.tree == "fir":
        return _fir(k, x, base, tall, leaf)
    wide, crown = tall * 0.15, tall * k.between(0.27, 0.33)
    top = base - tall + crown
    trunk_top = top + crown * 0.6
    flare = 1.0 if k.age < 7 else 1.5
    trunk = points(
        (x - wide / 2, trunk_top),
        (x + wide / 2, trunk_top),
        (x + wide * 0.5 * flare, base),
        (x - wide * 0.5 * flare, base),
    )
    parts = [Part((trunk,), fill=k.own("brown"))]
    if k.age >= 9:
        fork = [
            limb(
                curve(
                    (x, trunk_top + crown * 0.5),
                    (x + s * crown * 0.25, top + crown * 0.3),
                    (x + s * crown * 0.55, top - crown * 0.15),
                ),
                wide * 0.5,
                wide * 0.2,
            )
            for s in (-1, 1)
        ]
        parts.append(Part(tuple(fork), fill="brown"))
    cloudy = k.age > 7.3 or k.child.tree == "cloud"
    head = (
        puff(x, top, crown * 1.12, crown, bumps=k.count(7, 10), depth=0.14)
        if cloudy
        else ellipse(x, top, crown, crown * 1.02)
    )
    parts.insert(
        len(parts) if k.age < 9 or k.maybe(0.5) else 1,
        Part((head,), fill=leaf, second=k.pick("lime", "dark green") if k.age > 8 else None),
    )
    if k.child.tree == "apple" or (k.child.detail > 0.2 and k.maybe(0.5)):
        spots = dots(k, k.count(4, 7), (x - crown * 0.65, top - crown * 0.6, x + crown * 0.65, top + crown * 0.6))
        parts.append(
            Part(
                tuple(ellipse(a, b, max(k.u * 1.1, crown * 0.09)) for a, b in spots), fill="red", line="red", width=0.6
            )
        )
    return k.thing("tree", *parts)


def _fir(k: Sketch, x: float, base: float, tall: float, leaf: str) -> Thing:
    wide = tall * 0.08
    tiers = 1 if k.age < 6 else 3
    shapes = []
    for i in range(tiers):
        top, bottom = base - tall + tall * 0.22 * i, base - tall * 0.14 - tall * 0.2 * (tiers - 1 - i)
        half = tall * (0.18 + 0.07 * i)
        shapes.append(points((x, top), (x + half, bottom), (x - half, bottom)))
    return k.thing(
        "tree",
        Part((box(x - wide, base - tall * 0.16, x + wide, base),), fill=k.own("brown")),
        Part(tuple(shapes[::-1]), fill=leaf),
    )


def flower(k: Sketch, x: float, base: float, tall: float) -> Thing:
    """The child's flower on a stem with leaves."""
    name, r = k.liked(), tall * k.between(0.17, 0.22)
    name = "pink" if name in ("green", "lime", "brown") else name
    head = base - tall + r
    stem = Part(
        paths=(curve((x, base), (x + k.u * k.between(-1.5, 1.5), base - tall * 0.4), (x, head + r * 0.5)),),
        line=k.own("green"),
    )
    side = tall * 0.17
    leaves = Part(
        tuple(
            curve(
                (x, base - tall * 0.22),
                (x + s * side * 0.6, base - tall * 0.36),
                (x + s * side * 1.2, base - tall * 0.38),
                (x + s * side * 0.6, base - tall * 0.24),
                closed=True,
                per_span=4,
            )
            for s in (-1, 1)
        ),
        fill="green",
    )
    return k.thing("flower", stem, leaves if k.age > 5.6 else None, *bloom(k, x, head, r, name))


def bloom(k: Sketch, x: float, y: float, r: float, name: str) -> list[Part]:
    """A flower head alone: daisy, tulip or spiral."""
    if k.child.flower == "spiral" and k.age < 9.5:
        return [Part(paths=(spiral(x, y, r * 1.1, turns=2.7),), line=name)]
    if k.child.flower == "tulip":
        cup = points(
            (x - r, y - r),
            (x - r * 0.4, y - r * 0.35),
            (x, y - r * 1.05),
            (x + r * 0.4, y - r * 0.35),
            (x + r, y - r),
            (x + r * 0.8, y + r * 0.5),
            (x, y + r),
            (x - r * 0.8, y + r * 0.5),
        )
        return [Part((cup,), fill=name)]
    count = k.count(5, 7)
    petals = [
        ellipse(x + math.cos(t) * r * 0.68, y + math.sin(t) * r * 0.68, r * 0.44, r * 0.34, turn=math.degrees(t))
        for t in (i * math.tau / count for i in range(count))
    ]
    heart_of = "yellow" if name != "yellow" else "orange"
    return [Part(tuple(petals), fill=name), Part((ellipse(x, y, r * 0.34),), fill=heart_of, width=0.7)]


def rainbow(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """Six arches; in free order while young, in the rainbow's order later."""
    order = ["red", "orange", "yellow", "green", "blue", "violet"]
    if k.age < 6.2:
        order = [str(name) for name in k.rng.permutation(np.array([*order, "pink"]))][: k.count(4, 6)]
    step = wide * 0.36 / len(order)
    lines = k.age < 6.6 and k.maybe(0.6)
    parts = []
    for i, name in enumerate(order):
        outer = wide / 2 - i * step
        if lines:
            path = arc(x, base, outer, outer * 0.86, start=180, end=360)
            parts.append(Part(paths=(path, path + k.u * 0.7), line=name, width=max(1.0, step / 5)))
        else:
            parts.append(
                Part((band(x, base, outer, outer - step * 1.02, flat=0.86),), fill=name, line=name, hides=True)
            )
    return k.thing("rainbow", *parts)


def hill(k: Sketch, x: float, half: float, high: float, name: str) -> Thing:
    """A round hill on the horizon."""
    foot = k.horizon + k.u * 3
    top = curve(
        (x - half, foot),
        (x - half * 0.5, foot - high * 0.75),
        (x, foot - high),
        (x + half * 0.55, foot - high * 0.7),
        (x + half, foot),
    )
    return k.thing(
        "hill",
        Part(
            (top,),
            fill=name,
            second=k.pick("dark green", "lime", "yellow"),
            line=None if k.maybe(0.5) else "dark green",
        ),
    )


def mountain(k: Sketch, x: float, half: float, high: float, *, snow: bool = True) -> Thing:
    """A peak, later with snow."""
    foot = k.base if k.age < 8.3 else k.horizon + k.u * 3
    lean = half * k.between(-0.2, 0.2)
    peak = (x + lean, foot - high)
    shape = points(
        (x - half, foot),
        (x - half * 0.45 + lean * 0.5, foot - high * 0.52),
        peak,
        (x + half * 0.5 + lean * 0.5, foot - high * 0.55),
        (x + half, foot),
    )
    name = k.pick("brown", "violet", "gray", "blue") if k.age > 7 else k.own("brown")
    parts = [Part((shape,), fill=name, second=f"dark {name}" if k.age > 8.5 else None)]
    if snow and k.age > 6.8:
        cap = points(
            peak,
            (x + lean + half * 0.24, foot - high * 0.74),
            (x + lean + half * 0.06, foot - high * 0.68),
            (x + lean - half * 0.05, foot - high * 0.78),
            (x + lean - half * 0.2, foot - high * 0.7),
        )
        parts.append(Part((cap,), fill="white", line="gray" if not k.dark else "white", width=0.6))
    return k.thing("mountain", *parts)


def birds(k: Sketch, count: int) -> Thing:
    """Birds far off: two arcs each."""
    paths = []
    for x, y in dots(k, count, (k.w * 0.15, k.h * 0.12, k.w * 0.85, k.h * 0.32)):
        s = k.u * k.between(2.5, 4)
        paths.append(
            curve(
                (x - s, y - s * 0.25),
                (x - s * 0.5, y - s * 0.55),
                (x, y),
                (x + s * 0.5, y - s * 0.55),
                (x + s, y - s * 0.25),
            )
        )
    return k.thing("birds", Part(paths=tuple(paths), line="black", width=0.6))


def stars(k: Sketch, count: int, bottom: float) -> Thing:
    """Stars over the upper sheet, drawn or just dabbed."""
    places = dots(k, count, (k.w * 0.05, k.h * 0.05, k.w * 0.95, bottom))
    if k.age < 6.5:
        cross = tuple(
            points((x - s * a, y - s * b), (x + s * a, y + s * b))
            for x, y in places
            for a, b, s in ((1, 0, k.u * 2), (0, 1, k.u * 2), (0.7, 0.7, k.u * 2))
        )
        return k.thing("stars", Part(paths=cross, line="yellow", width=0.8))
    shapes = tuple(star(x, y, k.u * k.between(2.2, 3.8), turn=k.between(-20, 20)) for x, y in places)
    return k.thing("stars", Part(shapes, fill=k.pick("yellow", "white", "yellow"), line=None, width=0.6))


def hearts(k: Sketch, count: int) -> Thing:
    """Small hearts floating in the air."""
    places = dots(k, count, (k.w * 0.12, k.h * 0.12, k.w * 0.88, k.h * 0.45))
    return k.thing(
        "hearts", Part(tuple(heart(x, y, k.u * k.between(6, 9)) for x, y in places), fill=k.own("red"), line=None)
    )
