"""Scenes: what a child of an age makes of a subject on a sheet."""

import math
from collections.abc import Callable

import numpy as np

from portfolio.demo.paint import animals, nature, people, places
from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.shape import arc, box, curve, ellipse, heart, limb, points, puff, spiral, star
from portfolio.demo.paint.sketch import Sketch, dots

Made = list[Thing | None]


def _outdoors(k: Sketch, *middle: Thing | None, trees: int = 0) -> Made:
    """Sky, sun, cloud and ground about the middle; the older the child, the more."""
    made: Made = [nature.sky(k)]
    if k.maybe(0.85 if k.age < 9 else 0.55):
        made.append(nature.sun(k))
    if k.age > 5.8 and k.maybe(0.6):
        side = -k.child.sun_side
        for i in range(k.count(1, 2)):
            made.append(nature.cloud(k, k.w * (0.5 + side * k.between(0.1, 0.32)), k.u * (14 + 9 * i), k.u * k.between(20, 28)))
    made.append(nature.ground(k))
    if k.age > 6.4 and k.maybe(0.45 + 0.3 * k.child.detail):
        made.extend(_extras(k))
    for _ in range(trees if k.age > 5.7 else 0):
        far = k.age >= 8.3 and k.maybe(0.5)
        foot = k.horizon + k.u * k.between(2, 6) if far else k.base + k.u * k.between(-2, 2)
        made.append(nature.tree(k, k.w * _side(k), foot, k.u * (30 if far else k.between(42, 55))))
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
        posts = tuple(points((x - k.u * 1.6, k.base), (x - k.u * 1.6, top), (x, top - k.u * 2.5), (x + k.u * 1.6, top), (x + k.u * 1.6, k.base)) for x in xs.tolist())
        rails = tuple(points((0, k.base - k.u * d), (k.w, k.base - k.u * d)) for d in (4, 11))
        return [k.thing("fence", Part(paths=rails, line="brown"), Part(posts, fill=k.pick("brown", "white", "tan")))]
    if form == 1:
        return [k.thing("bush", Part((puff(k.w * k.between(0.05, 0.95), k.base - k.u * 4, k.u * 11, k.u * 8, bumps=7),), fill=k.pick("green", "lime", "dark green"))) for _ in range(k.count(1, 3))]
    if form == 2:
        return [nature.flower(k, k.w * x, k.base + k.u * k.between(-1, 5), k.u * k.between(13, 20)) for x in k.rng.uniform(0.04, 0.96, k.count(3, 6)).tolist()]
    x, y, r = k.w * (0.5 + side * 0.34), k.h * 0.3, k.u * 8
    string = curve((x, y + r), (x + k.u * 3, y + r * 2), (x - k.u * 2, y + r * 3.4))
    return [k.thing("balloon", Part(paths=(string,), line="gray", width=0.5), Part((ellipse(x, y, r * 0.85, r),), fill=k.liked()))]


def border(k: Sketch) -> Thing:
    """A pattern along the edge, the habit of some children."""
    step, inset = k.u * 7, k.u * 4
    name, second = k.liked(), k.liked()
    top = np.arange(inset, k.w - inset / 2, step)
    sides = np.arange(inset + step, k.h - inset, step)
    spots = [(x, y) for x in top for y in (inset, k.h - inset)] + [(x, y) for y in sides for x in (inset, k.w - inset)]
    one, two = spots[::2], spots[1::2]
    r = k.u * 2
    return Thing("border", (Part(tuple(ellipse(x, y, r) for x, y in one), fill=name, line=None), Part(tuple(star(x, y, r * 1.2) for x, y in two), fill=second, line=None)))


def scribble(k: Sketch) -> Made:
    """What the youngest make, whatever it is called."""
    return _scribble(k)


def _side(k: Sketch) -> float:
    return k.between(0.1, 0.2) if k.maybe(0.5) else k.between(0.8, 0.9)


def _size(k: Sketch) -> float:
    return k.child.size * (1.12 if k.age < 6 else 1.0 if k.age < 8.3 else 0.92)


def me(k: Sketch) -> Made:
    """One person outdoors."""
    tall = min(k.h * 0.74, k.u * 68 * _size(k))
    x = k.w * k.between(0.4, 0.6)
    friend = [nature.flower(k, x + k.child.sun_side * tall * 0.55, k.base, k.u * 24)] if k.age > 5.6 and k.maybe(0.6) else []
    return _outdoors(k, *friend, people.person(k, x, k.base, tall), trees=k.count(0, 1))


def family(k: Sketch) -> Made:
    """Several people in a row, holding the base line."""
    count = k.count(2, 3) if k.age < 6 else k.count(3, 4)
    step = k.w * 0.86 / count
    talls = [min(k.h * 0.64, step * 1.75, k.u * 62 * _size(k)) * f for f in (1, 0.95, 0.66, 0.58)]
    hair = ("brown", "black", "yellow", "dark brown")
    folk = [people.person(k, k.w * 0.07 + step * (i + 0.5), k.base + k.u * k.between(-1.5, 1.5), talls[i], skin=int(np.clip(k.child.skin + k.count(-1, 1), 0, 4)),
                          hair=k.child.hair_color if k.maybe(0.6) else k.pick(*hair), other=i != count - 1) for i in range(count)]  # fmt: skip
    return _outdoors(k, *folk)


def portrait(k: Sketch) -> Made:
    """A face that fills the sheet."""
    back = [nature.sky(k, name=k.liked()) if k.age < 8.3 else Thing("ground", (Part((box(-2, -2, k.w + 2, k.h + 2),), fill=k.liked(), line=None),), ground=True)]
    return [*(back if k.age > 7.4 and k.maybe(0.6) else []), *people.portrait(k)]


def house(k: Sketch) -> Made:
    """A house, perhaps with a tree, a person, a path."""
    wide = min(k.w * 0.5, k.u * 46 * _size(k))
    x = k.w * (0.5 + k.child.sun_side * k.between(-0.18, 0.02))
    middle: Made = []
    if k.age > 7 and k.maybe(0.5):
        foot = k.h + 2
        way = limb(curve((x, k.base - 1), (x + k.u * 4, (k.base + foot) / 2), (x - k.u * 3, foot)), wide * 0.14, wide * 0.34)
        middle.append(k.thing("path", Part((way,), fill=k.pick("tan", "gray"), line=None)))
    middle.append(places.house(k, x, k.base, wide))
    if k.age > 5.8 and k.maybe(0.6):
        middle.append(nature.tree(k, x + k.child.sun_side * wide * 1.0, k.base + k.u, k.u * 50))
    if k.maybe(0.35):
        middle.append(people.person(k, x - k.child.sun_side * wide * 0.85, k.base + k.u * 2, k.u * 30))
    return _outdoors(k, *middle, trees=1 if k.age > 8.3 else 0)


def trees(k: Sketch) -> Made:
    """One big tree or a small wood."""
    if k.age < 7.5 and k.maybe(0.6):
        return _outdoors(k, nature.tree(k, k.w * k.between(0.4, 0.6), k.base, k.h * 0.66))
    count = k.count(3, 5)
    leafs = [k.pick("green", "green", "lime", "orange", "red", "dark green") for _ in range(count)]
    order = k.rng.permutation(count)
    wood = [nature.tree(k, k.w * (0.12 + 0.76 * (int(place) + 0.5) / count), k.base - k.u * (6 * (count - i) if k.age > 8.3 else 0), k.u * k.between(45, 62) * (0.7 + 0.1 * i if k.age > 8.3 else 1), leaf=leafs[i])
            for i, place in enumerate(order)]  # fmt: skip
    return _outdoors(k, *wood)


def flowers(k: Sketch) -> Made:
    """A row of flowers."""
    count = k.count(2, 4) if k.age < 6.5 else k.count(3, 6)
    row = [nature.flower(k, k.w * (0.1 + 0.8 * (i + 0.5) / count) + k.u * k.between(-3, 3), k.base + k.u * (k.between(-2, 2) if k.age < 8.3 else k.between(-3, 10)), k.u * k.between(34, 58)) for i in range(count)]
    return _outdoors(k, *row, animals.butterfly(k, k.w * k.between(0.3, 0.7), k.h * 0.28, k.u * 18) if k.maybe(0.5) and k.age > 5.8 else None)


def rainbow(k: Sketch) -> Made:
    """A rainbow over whatever else there is."""
    wide = min(k.w * 0.86, k.h * 1.25)
    x, base = k.w / 2, k.base - (0 if k.age < 8.3 else k.h * 0.14)
    ends = [nature.cloud(k, x + s * wide * 0.42, base, k.u * 30) for s in (-1, 1)] if k.maybe(0.5) and k.age > 5.8 else []
    other = places.house(k, x, k.base, k.u * 26) if k.age > 6 and k.maybe(0.4) else people.person(k, x, k.base, k.u * 34) if k.age > 5.6 and k.maybe(0.5) else None
    return _outdoors(k, nature.rainbow(k, x, base, wide), *ends, other, trees=1 if k.age > 7 else 0)


def pet(k: Sketch) -> Made:
    """A pet or another animal."""
    wide = min(k.w * 0.72, k.u * 80 * _size(k))
    middle = animals.pet(k, k.w * 0.5 - k.child.sun_side * k.u * 4, k.base + k.u, wide)
    return _outdoors(k, middle, trees=k.count(0, 2))


def owl(k: Sketch) -> Made:
    """An owl, often at night on a branch."""
    branch = Part((limb(curve((-3, k.h * 0.8), (k.w * 0.5, k.h * 0.77), (k.w + 3, k.h * 0.82)), k.u * 7, k.u * 4),), fill="brown")
    perch = k.thing("branch", branch)
    bird = animals.bird(k, k.w / 2, k.h * 0.79, min(k.h * 0.66, k.u * 72 * _size(k)))
    if k.age > 6.2 and k.maybe(0.6):
        return [nature.sky(k, night=True, name="blue") if k.age < 8.3 else Thing("night sky", (Part((box(-2, -2, k.w + 2, k.h + 2),), fill="blue", second="violet", line=None),), ground=True), _moon(k), nature.stars(k, k.count(5, 9), k.h * 0.6), perch, bird]
    return [nature.sky(k), nature.sun(k), perch, bird]


def snail(k: Sketch) -> Made:
    """A snail in the grass."""
    return _outdoors(k, animals.snail(k, k.w / 2, k.base + k.u, min(k.w * 0.66, k.u * 72 * _size(k))), nature.flower(k, k.w * (0.5 - k.child.sun_side * 0.4), k.base + k.u * 2, k.u * 36) if k.age > 5.5 else None)


def dinosaur(k: Sketch) -> Made:
    """A dinosaur, later with a volcano or trees."""
    wide = min(k.w * 0.78, k.u * 92 * _size(k))
    far = places.volcano(k, k.w * (0.5 - k.child.sun_side * 0.27), k.base if k.age < 8.3 else k.horizon + k.u * 4, k.u * 46) if k.age > 7 and k.maybe(0.5) else None
    return _outdoors(k, far, animals.dinosaur(k, k.w / 2, k.base + k.u * 2, wide), trees=k.count(0, 1))


def under_water(k: Sketch) -> Made:
    """Fish, weed, bubbles, a sandy floor."""
    made: Made = []
    water = k.pick("sky", "blue", "teal")
    if k.age > 6.6 or k.dark:
        made.append(Thing("water", (Part((box(-2, -2, k.w + 2, k.h + 2),), fill=water, second=k.pick("blue", "green", "teal") if k.age > 7.3 else None, line=None, angle=k.between(-15, 15)),), ground=True))
    elif k.maybe(0.6):
        made.append(k.thing("water", Part(paths=(_wave(k, k.u * 10),), line="blue"), ground=True))
    floor = curve((-2, k.h * 0.9), (k.w * 0.3, k.h * 0.86), (k.w * 0.65, k.h * 0.91), (k.w + 2, k.h * 0.87))
    if k.age > 6.3:
        made.append(k.thing("sand", Part((np.concatenate([floor, points((k.w + 2, k.h + 2), (-2, k.h + 2))]),), fill=k.pick("yellow", "tan"), line=None), ground=True))
    for i in range(k.count(2, 4)):
        made.append(animals.weed(k, k.w * ((i + 0.5) / 4 + k.between(-0.08, 0.08)), k.h * 0.9, k.u * k.between(20, 40)))
    count = k.count(1, 2) if k.age < 6 else k.count(3, 6)
    for x, y in dots(k, count, (k.w * 0.16, k.h * 0.16, k.w * 0.84, k.h * 0.74)):
        made.append(animals.fish(k, x, y, k.u * (k.between(46, 62) if k.age < 6 else k.between(24, 40)) * k.child.size, name=k.other(water)))
    bubbles = tuple(ellipse(x, y, k.u * k.between(1.2, 2.4)) for x, y in dots(k, k.count(4, 9), (k.w * 0.1, k.h * 0.1, k.w * 0.9, k.h * 0.7)))
    made.append(Thing("bubbles", (Part(bubbles, line="white" if made and k.age > 6.6 else "sky", width=0.6, hides=False),)))
    if k.age > 7 and k.maybe(0.5):
        made.append(animals.starfish(k, k.w * k.between(0.2, 0.8), k.h * 0.94, k.u * 5))
    return made


def _wave(k: Sketch, y: float) -> "np.ndarray[tuple[int, ...], np.dtype[np.float64]]":
    x = np.linspace(0, k.w, 60)
    return np.stack([x, y + np.sin(x / (k.u * 2.5)) * k.u * 2], axis=1)


def butterfly(k: Sketch) -> Made:
    """A big butterfly over flowers."""
    low = [nature.flower(k, k.w * x, k.base + k.u, k.u * 28) for x in (0.15, 0.85)[: k.count(0, 2)]] if k.age > 5.6 else []
    return _outdoors(k, *low, animals.butterfly(k, k.w / 2, k.h * 0.47, min(k.w * 0.6, k.u * 66 * _size(k))))


def castle(k: Sketch) -> Made:
    """A castle with somebody in front."""
    wide = min(k.w * 0.7, k.u * 74 * _size(k))
    guard = people.person(k, k.w / 2 - k.child.sun_side * wide * 0.6, k.base + k.u * 2, k.u * 30) if k.maybe(0.6) else None
    return _outdoors(k, places.castle(k, k.w / 2, k.base, wide), guard, trees=k.count(0, 1))


def city(k: Sketch) -> Made:
    """A street of houses, by day or night; older children put a second row behind."""
    night = k.maybe(0.4)
    shade = k.pick("blue", "violet", "dark blue") if night else k.pick("sky", "orange", "pink", "sky")
    made: Made = [Thing("sky", (Part((box(-2, -2, k.w + 2, k.h + 2),), fill=shade, line=None),), ground=True) if k.age > 6.2 or k.dark else None, _moon(k) if night or k.maybe(0.5) else nature.sun(k)]
    base = k.h * 0.9
    for row in range(2 if k.age > 8.4 else 1):
        x, back = k.w * 0.02, (row == 0 and k.age > 8.4)
        while x < k.w * 0.93:
            wide = k.u * k.between(13, 22) * (1.15 if k.age < 6.5 else 1)
            tall = k.h * (k.between(0.5, 0.72) if back else k.between(0.26, 0.58))
            made.append(places.building(k, x, base - (k.u * 4 if back else 0), min(wide, k.w * 0.99 - x), tall, name=k.pick(k.liked(), "gray", "orange", "brown", "blue"), lit=k.pick("yellow", "yellow", "white") if night else k.pick("white", "sky", "yellow")))
            x += wide + (k.u * k.between(0.5, 3) if k.age < 7.5 else k.u * k.between(-0.5, 1))
    made.append(k.thing("street", Part((box(-2, base - 1, k.w + 2, k.h + 2),), fill=k.light("black") if k.maybe(0.5) else "gray", line=None), ground=k.age > 7))
    made.append(places.car(k, k.w * k.between(0.3, 0.7), k.h * 0.96, k.u * 20) if k.maybe(0.7) else None)
    return made


def vehicle(k: Sketch) -> Made:
    """A car on a road."""
    wide = min(k.w * 0.7, k.u * 74 * _size(k))
    road = k.thing("road", Part((box(-2, k.base - k.u * 3, k.w + 2, k.h + 2),), fill="gray", line=None), ground=True) if k.age > 6 else None
    made = _outdoors(k, road, trees=k.count(0, 2))
    return [*made, places.car(k, k.w / 2, k.base + k.u * 3, wide)]


def boats(k: Sketch) -> Made:
    """Boats on the sea."""
    level = k.h * (0.72 if k.age < 8.3 else 0.58)
    sea = Part((box(-2, level, k.w + 2, k.h + 2),), fill="blue" if k.age > 6 else k.own("blue"), second="teal" if k.age > 8 else None, line=None, angle=k.between(-12, 12))
    made: Made = [nature.sky(k), nature.sun(k, low=k.age > 9)]
    if k.age > 8.3:
        made += [nature.mountain(k, k.w * k.between(0.1, 0.9), k.u * k.between(24, 36), k.u * k.between(20, 32)) for _ in range(k.count(1, 3))]
    made.append(k.thing("sea", sea, ground=True))
    for i in range(1 if k.age < 6.5 else k.count(1, 3)):
        near = i == 0
        made.append(places.boat(k, k.w * (0.5 if near else k.between(0.12, 0.88)), level + k.u * (12 if near else k.between(2, 6)), k.u * (42 * _size(k) if near else 16)))
    made.append(k.thing("waves", Part(paths=tuple(_wave(k, level + k.u * d)[s : s + 16] for d, s in ((8, 4), (16, 30), (24, 14))), line="white" if k.age > 7 else "blue", width=0.7)))
    return made


def space(k: Sketch) -> Made:
    """A rocket among planets and stars."""
    made: Made = [Thing("night sky", (Part((box(-2, -2, k.w + 2, k.h + 2),), fill=k.pick("blue", "violet", "dark blue"), second="black" if k.age > 8 else None, line=None),), ground=True) if k.age > 6.6 and not k.dark else None]
    made.append(nature.stars(k, k.count(6, 12), k.h * 0.95))
    for x, y in dots(k, k.count(1, 2) if k.age < 6.5 else k.count(2, 4), (k.w * 0.14, k.h * 0.16, k.w * 0.86, k.h * 0.84)):
        if abs(x - k.w / 2) > k.u * 18:
            made.append(places.planet(k, x, y, k.u * k.between(8, 14)))
    made.append(places.rocket(k, k.w * 0.5, k.h * 0.86, min(k.h * 0.68, k.u * 74 * _size(k))))
    return made


def _moon(k: Sketch) -> Thing:
    r = k.u * 8
    x = k.w - r * 2 if k.child.sun_side > 0 else r * 2
    return k.thing("moon", Part((ellipse(x, r * 2, r),), fill="yellow", line=None))


def night(k: Sketch) -> Made:
    """A house and a tree at night."""
    made: Made = [nature.sky(k, night=True), _moon(k), nature.stars(k, k.count(7, 13), k.h * 0.45), nature.ground(k, "green" if k.age < 8 else k.pick("violet", "dark green", "brown"))]
    x = k.w * (0.5 - k.child.sun_side * 0.16)
    made.append(places.house(k, x, k.base, k.u * 38 * _size(k)))
    made.append(nature.tree(k, x + k.child.sun_side * k.u * 52, k.base + k.u, k.u * 48) if k.age > 5.6 else None)
    return made


def robot(k: Sketch) -> Made:
    """A robot."""
    return _outdoors(k, places.robot(k, k.w / 2, k.base + k.u, min(k.h * 0.74, k.u * 80 * _size(k))))


def volcano(k: Sketch) -> Made:
    """A volcano."""
    return _outdoors(k, places.volcano(k, k.w / 2, k.base, min(k.w * 0.8, k.u * 84 * _size(k))), trees=k.count(0, 1))


def landscape(k: Sketch) -> Made:
    """Hills, mountains, a path, trees; a simple tree and house before eight."""
    if k.age < 8.0:
        return house(k) if k.maybe(0.5) else trees(k)
    evening = k.maybe(0.35)
    made: Made = [nature.sky(k, name=k.pick("orange", "pink", "yellow")) if evening else nature.sky(k), nature.sun(k, low=True) if k.maybe(0.7) else None]
    made += [nature.mountain(k, k.w * x, k.u * k.between(26, 44), k.u * k.between(20, 38), snow=k.maybe(0.7)) for x in k.rng.permutation(np.linspace(0.1, 0.9, k.count(2, 4))).tolist()]
    made += [nature.hill(k, k.w * x, k.u * k.between(40, 60), k.u * k.between(8, 16), k.pick("green", "lime", "dark green", "violet")) for x in k.rng.permutation(np.linspace(0.1, 0.9, k.count(2, 3))).tolist()]
    made.append(nature.ground(k))
    s = k.child.sun_side
    way = limb(curve((k.w * 0.5, k.horizon + 2), (k.w * (0.5 + s * 0.08), k.h * 0.75), (k.w * (0.5 - s * 0.02), k.h * 0.86), (k.w * (0.5 + s * 0.12), k.h + 3)), k.u * 3, k.u * 18)
    made.append(k.thing("path", Part((way,), fill=k.pick("tan", "sky"), line=None), ground=False) if k.maybe(0.6) else None)
    made.append(places.house(k, k.w * k.between(0.25, 0.75), k.horizon + k.u * 8, k.u * 15) if k.maybe(0.4) else None)
    places_of = sorted((k.h * k.between(0.7, 0.92), k.w * k.between(0.06, 0.94)) for _ in range(k.count(2, 5)))
    made += [nature.tree(k, x, y, k.u * 46 * ((y / k.h) - 0.35) * 1.6) for y, x in places_of]
    made.append(nature.birds(k, k.count(2, 4)) if k.maybe(0.5) else None)
    return made


def still_life(k: Sketch) -> Made:
    """Flowers in a vase on a table."""
    top = k.h * 0.68
    wall = k.liked()
    table = k.other(wall)
    made: Made = []
    if k.age > 6:
        made.append(Thing("wall", (Part((box(-2, -2, k.w + 2, top),), fill=wall, line=None),), ground=True))
        made.append(Thing("table", (Part((box(-2, top, k.w + 2, k.h + 2),), fill=table, line=None, angle=k.between(-10, 10)),), ground=True))
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
    bands = tuple(curve((x - r * f, rim + r * h), (x, rim + r * (h + 0.15)), (x + r * f, rim + r * h)) for f, h in ((0.75, 1.0), (0.8, 1.7)))
    made.append(k.thing("flowers", Part(paths=tuple(stems), line="green"), *heads))
    made.append(k.thing("vase", Part((vase,), fill=tint, second=f"dark {tint}" if k.age > 8.6 else None), Part(paths=bands, line=k.pick("yellow", "white", "blue"), hides=False)))
    if k.age > 6.5:
        for i in range(k.count(1, 3)):
            fx, fr = x + r * (1.7 + 1.1 * i), k.u * 6
            name = k.pick("red", "orange", "yellow", "lime")
            made.append(k.thing("fruit", Part(paths=(points((fx, foot - fr * 1.6), (fx + 1, foot - fr * 2.2)),), line="brown", width=0.7), Part((ellipse(fx, foot - fr * 0.8 + k.u * 2 * (i % 2), fr),), fill=name, second="dark red" if name == "red" else "orange")))
    return made


def hearts(k: Sketch) -> Made:
    """A big heart, or many."""
    if k.maybe(0.5):
        x, y, s = k.w / 2, k.h / 2, min(k.w, k.h) * 0.62
        rings = [k.thing("heart", Part((heart(x, y, s * f),), fill=k.liked())) for f in (1.0, 0.68, 0.38)[: k.count(1, 3)]]
        return [*rings, nature.stars(k, 5, k.h * 0.3) if k.maybe(0.3) else None]
    spots = dots(k, k.count(4, 9), (k.w * 0.14, k.h * 0.16, k.w * 0.86, k.h * 0.84))
    return [k.thing("heart", Part((heart(x, y, k.u * k.between(16, 28), turn=k.between(-18, 18)),), fill=k.pick("red", "pink", k.liked()))) for x, y in spots]


def soccer(k: Sketch) -> Made:
    """Children with a ball and a goal."""
    x, base = k.w * (0.5 + k.child.sun_side * 0.36), k.base
    goal = Part(paths=(points((x - k.u * 12, base), (x - k.u * 12, base - k.u * 34), (x + k.u * 12, base - k.u * 34), (x + k.u * 12, base)), *(points((x - k.u * 12, base - k.u * h), (x + k.u * 12, base - k.u * h)) for h in (8, 17, 26))), line="gray" if not k.dark else "white", width=0.7)
    ball = Part((ellipse(k.w * 0.55, base - k.u * 3, k.u * 4.5),), fill="white", line="black" if not k.dark else "white", width=0.8)
    tall = k.u * 52 * _size(k)
    return _outdoors(k, k.thing("goal", goal) if k.age > 5.8 else None, people.person(k, k.w * (0.5 - k.child.sun_side * 0.22), base, tall), people.person(k, k.w * (0.5 + k.child.sun_side * 0.12), base, tall * 0.92, other=True, skin=k.count(0, 4)) if k.age > 6 else None, k.thing("ball", ball))


def snow(k: Sketch) -> Made:
    """A snowman in falling snow."""
    made: Made = [nature.sky(k) if k.age < 8.3 else Thing("sky", (Part((box(-2, -2, k.w + 2, k.horizon),), fill=k.pick("sky", "blue"), line=None),), ground=True)]
    made.append(nature.tree(k, k.w * _side(k), k.base, k.u * 46) if k.age > 5.7 else None)
    made.append(places.snowman(k, k.w / 2, k.base + k.u * 4, min(k.h * 0.78, k.u * 80 * _size(k))))
    flakes = tuple(ellipse(x, y, k.u * 1.1) for x, y in dots(k, 22, (0, 0, k.w, k.h)))
    made.append(Thing("snow", (Part(flakes, fill="white" if k.age > 6.4 or k.dark else "sky", line="sky" if not k.dark else "white", width=0.5, hides=False),)))
    return made


def ice_cream(k: Sketch) -> Made:
    """An ice cream cone as large as the sheet."""
    shade = k.liked() if k.age > 7.6 and k.maybe(0.6) else None
    back = [Thing("ground", (Part((box(-2, -2, k.w + 2, k.h + 2),), fill=shade, line=None),), ground=True)] if shade else []
    return [*back, places.ice_cream(k, k.w / 2, k.h * 0.92, min(k.h * 0.84, k.u * 96 * _size(k)), back=shade)]


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
        shape = (ellipse(x, y, r), star(x, y, r, turn=turn), star(x, y, r, tips=k.count(3, 7), inner=0.8, turn=turn), box(x - r, y - r * 0.6, x + r, y + r * 0.6), heart(x, y, r * 2))[k.count(0, 4)]
        made.append(k.thing("shapes", Part((shape,), fill=k.liked()), Part(paths=(spiral(x, y, r * 0.7, turns=2),), line=k.liked(), hides=False) if k.maybe(0.4) else None))
    return made


def _scribble(k: Sketch) -> Made:
    made: Made = []
    for _ in range(k.count(2, 4)):
        x, y, r = k.w * k.between(0.3, 0.7), k.h * k.between(0.35, 0.65), k.u * k.between(18, 34)
        t = np.linspace(0, math.tau * k.between(4, 7), 150)
        size = r * (0.7 + 0.3 * np.sin(t * 0.23 + k.between(0, 6)))
        drift = np.cumsum(k.rng.normal(0, r * 0.02, (150, 2)), axis=0)
        made.append(Thing("scribble", (Part(paths=(np.stack([x + size * 1.25 * np.cos(t), y + size * np.sin(t)], axis=1) + drift,), line=k.light(k.liked())),)))
    return made


def _rings(k: Sketch) -> Made:
    made: Made = []
    across, down = (1, 1) if k.age < 6.5 or k.maybe(0.3) else ((3, 2) if k.w > k.h else (2, 3))
    cell_w, cell_h = k.w / across, k.h / down
    for i in range(across):
        for j in range(down):
            x, y, r = cell_w * (i + 0.5), cell_h * (j + 0.5), min(cell_w, cell_h) * 0.46
            if across > 1:
                made.append(Thing("squares", (Part((box(cell_w * i, cell_h * j, cell_w * (i + 1), cell_h * (j + 1)),), fill=k.liked(), line=None),)))
            names = [k.liked() for _ in range(k.count(3, 5))]
            made += [k.thing("circles", Part((ellipse(x, y, r * (1 - n / len(names)) * k.between(0.93, 1)),), fill=name, line=name if k.age > 6 else None)) for n, name in enumerate(names)]
            if across == 1:
                rays = tuple(points((x + math.cos(a) * r * 1.05, y + math.sin(a) * r * 1.05), (x + math.cos(a) * r * 1.3, y + math.sin(a) * r * 1.3)) for a in np.arange(12) * math.tau / 12)
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
            corners = [(k.w * edges_x[i], k.h * edges_y[j]), (k.w * edges_x[i + 1], k.h * edges_y[j]), (k.w * edges_x[i + 1], k.h * edges_y[j + 1]), (k.w * edges_x[i], k.h * edges_y[j + 1])]
            skew = np.array([(bend * math.sin(y / k.u / 14 + x / k.u / 31), bend * math.cos(x / k.u / 17 + y / k.u / 23)) for x, y in corners])
            made.append(Thing("fields", (Part((points(*corners) + skew,), fill=k.liked(), line="black" if not k.dark else "white"),)))
    t = k.between(0, 360)
    made.append(Thing("lines", (Part(paths=(arc(k.w / 2, k.h / 2, k.u * 34, k.u * 26, start=t, end=t + 250),), line="black" if not k.dark else "white", width=1.4),)))
    return made


Maker = Callable[[Sketch], Made]
# subject: maker, share of upright sheets
MAKERS: dict[str, tuple[Maker, float]] = {
    "me": (me, 0.6), "family": (family, 0.1), "portrait": (portrait, 0.85), "house": (house, 0.2), "tree": (trees, 0.3), "flowers": (flowers, 0.35),
    "rainbow": (rainbow, 0.05), "animal": (pet, 0.1), "owl": (owl, 0.7), "snail": (snail, 0.1), "dinosaur": (dinosaur, 0.05), "fish under water": (under_water, 0.15),
    "butterfly": (butterfly, 0.25), "castle": (castle, 0.35), "city": (city, 0.4), "car": (vehicle, 0.05), "boats": (boats, 0.15), "space": (space, 0.45), "night": (night, 0.2),
    "robot": (robot, 0.75), "volcano": (volcano, 0.15), "landscape": (landscape, 0.08), "still life": (still_life, 0.45), "hearts": (hearts, 0.3), "soccer": (soccer, 0.05),
    "snowman": (snow, 0.6), "ice cream": (ice_cream, 0.85), "abstract": (abstract, 0.3),
}  # fmt: skip
