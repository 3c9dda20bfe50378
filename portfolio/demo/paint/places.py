"""Grammar of what people build: houses, castles, cities, vehicles, boats, rockets, robots, by drawing age."""

import numpy as np

from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.shape import Points, arc, box, curve, ellipse, points, puff
from portfolio.demo.paint.sketch import Sketch


def house(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """A house: a slanting chimney while young, an oblique side later."""
    wall, roof = k.own(k.pick("red", "yellow", "orange", k.liked())), k.own(k.pick("red", "brown", "blue", "violet", "black"))
    roof = roof if roof != wall else "brown"
    tall, peak = wide * k.between(0.62, 0.78), wide * k.between(0.4, 0.52)
    left, right, eave = x - wide / 2, x + wide / 2, base - tall
    if k.age >= 9.3:
        return _oblique_house(k, left, base, wide, wall, roof)
    top = points((left - wide * 0.09, eave), (x, eave - peak), (right + wide * 0.09, eave))
    parts: list[Part | None] = [*_chimney(k, x, eave, wide, peak), Part((box(left, eave, right, base),), fill=wall), Part((top,), fill=roof)]
    if k.age > 7.2 and k.child.detail > 0:
        tiles = tuple(arc(x + dx * wide * 0.13, eave - peak * h, wide * 0.06, peak * 0.13, start=0, end=180) for h in (0.12, 0.38) for dx in ((-2, -1, 0, 1, 2) if h < 0.2 else (-1, 0, 1)))
        parts.append(Part(paths=tiles, line="black" if not k.dark else "white", width=0.5, hides=False))
    return k.thing("house", *parts, *_openings(k, x, base, wide, tall))


def _openings(k: Sketch, x: float, base: float, wide: float, tall: float) -> list[Part]:
    door_w, door_h = wide * 0.2, tall * 0.5
    dx = x + wide * (0 if k.age < 7 else k.between(-0.08, 0.08))
    door = box(dx - door_w / 2, base - door_h, dx + door_w / 2, base)
    if k.child.detail > 0.2:
        door = np.concatenate([points((dx - door_w / 2, base)), arc(dx, base - door_h * 0.75, door_w / 2, door_h * 0.3, start=180, end=360), points((dx + door_w / 2, base))])
    s = wide * 0.2
    y = base - tall + s * (0.1 if k.age < 7.2 else 0.35)
    inset = wide * (0.02 if k.age < 7.2 else 0.09)
    corners = [(x - wide / 2 + inset, y), (x + wide / 2 - inset - s, y)]
    panes = tuple(box(a, b, a + s, b + s) for a, b in corners)
    bars = tuple(p for a, b in corners for p in (points((a + s / 2, b), (a + s / 2, b + s)), points((a, b + s / 2), (a + s, b + s / 2))))
    line = k.edge_of("brown")
    return [Part((door,), fill=k.pick("brown", k.liked())), Part((ellipse(dx + door_w * 0.28, base - door_h * 0.45, max(0.8, wide * 0.012)),), fill="yellow", line="black", width=0.4),
            Part(panes, fill=k.pick("sky", "yellow"), line=line), Part(paths=bars, line=line, width=0.7)]  # fmt: skip


def _chimney(k: Sketch, x: float, eave: float, wide: float, peak: float) -> list[Part]:
    cx, cy = x + wide * 0.26, eave - peak * 0.5
    w, h = wide * 0.12, peak * 0.62
    block = box(cx - w / 2, cy - h, cx + w / 2, cy + peak * 0.12)
    top = (cx, cy - h)
    if k.age < 7.4:  # at right angles to the roof, as young children see it
        from portfolio.demo.paint.shape import turned

        lean = float(np.degrees(np.arctan2(peak, wide / 2 + wide * 0.09)))
        block = turned(block, lean, about=(cx, cy))
        top = (cx + h * float(np.sin(np.radians(lean))), cy - h * float(np.cos(np.radians(lean))))
    t = np.linspace(0, 1, 40)
    r = wide * 0.06 * (0.5 + t)
    smoke = np.stack([top[0] + t * wide * 0.22 + r * np.cos(t * 20), top[1] - wide * 0.05 - t * wide * 0.3 + r * np.sin(t * 20)], axis=1)
    return [Part((block,), fill=k.pick("brown", "red", "gray")), Part(paths=(smoke,), line="gray", width=0.8)] if k.child.detail > -0.5 else []


def _oblique_house(k: Sketch, left: float, base: float, wide: float, wall: str, roof: str) -> Thing:
    front, side, s = wide * 0.5, wide * 0.5, k.child.sun_side
    tall, peak, rise = wide * 0.5, wide * 0.28, wide * 0.12

    def at(a: float, up: float) -> tuple[float, float]:
        return (left + a if s > 0 else left + wide - a), base - up

    face = points(at(0, 0), at(0, tall), at(front / 2, tall + peak), at(front, tall), at(front, 0))
    flank = points(at(front, 0), at(front, tall), at(front + side, tall + rise * 0.9), at(front + side, rise))
    slope = points(at(front / 2, tall + peak), at(front / 2 + side, tall + peak + rise * 0.5), at(front + side + wide * 0.04, tall + rise * 0.7), at(front + wide * 0.03, tall - wide * 0.02))
    rows = tuple(points(at(front / 2 + side * 0.06 + (front / 2) * f, tall + peak * (1 - f)), at(front / 2 + side + (front / 2) * f, tall + rise * 0.5 + peak * (1 - f) * 0.95)) for f in (0.3, 0.6))
    door = points(at(front * 0.36, 0), at(front * 0.36, tall * 0.52), at(front * 0.62, tall * 0.52), at(front * 0.62, 0))
    pane = points(at(front + side * 0.3, tall * 0.5 + rise * 0.3), at(front + side * 0.3, tall * 0.85 + rise * 0.3), at(front + side * 0.7, tall * 0.85 + rise * 0.6), at(front + side * 0.7, tall * 0.5 + rise * 0.6))
    gable = ellipse(*at(front / 2, tall + peak * 0.3), wide * 0.06)
    cross = tuple(points(p, q) for p, q in (((pane[0] + pane[3]) / 2, (pane[1] + pane[2]) / 2), ((pane[0] + pane[1]) / 2, (pane[2] + pane[3]) / 2)))
    line = k.edge_of("brown")
    return k.thing("house", Part((flank,), fill=f"dark {wall}" if k.maybe(0.6) else wall), Part((face,), fill=wall), Part((slope,), fill=roof), Part(paths=rows, line=f"dark {roof}", width=0.6, hides=False),
                   Part((door,), fill="brown" if wall != "brown" else "blue"), Part((pane, gable), fill=k.pick("sky", "yellow"), line=line), Part(paths=cross, line=line, width=0.6))  # fmt: skip


def castle(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """Two towers with pointed roofs, a wall with teeth, a gate, flags."""
    stone = "gray" if k.age > 6.5 else k.own("gray")
    tops = k.pick("blue", "red", "violet", k.liked())
    tower, tall, wall = wide * 0.2, wide * 0.75, wide * 0.45
    loose = max(0.0, 7.5 - k.age) * 0.05
    left, right = x - wide / 2 + tower / 2, x + wide / 2 - tower / 2
    highs = [tall * (1 + k.between(-1, 1) * loose * 2) for _ in (0, 1)]
    teeth = _teeth(x - wide / 2 + tower, x + wide / 2 - tower, base - wall, base, wide * 0.055, 5 if k.age < 7 else 7)
    towers = tuple(box(cx - tower / 2, base - h, cx + tower / 2, base) for cx, h in zip((left, right), highs, strict=True))
    roofs = tuple(points((cx - tower * 0.7, base - h), (cx, base - h - wide * 0.26), (cx + tower * 0.7, base - h)) for cx, h in zip((left, right), highs, strict=True))
    poles = tuple(points((cx, base - h - wide * 0.26), (cx, base - h - wide * 0.38)) for cx, h in zip((left, right), highs, strict=True))
    flags = tuple(points((cx, base - h - wide * 0.38), (cx + wide * 0.09, base - h - wide * 0.345), (cx, base - h - wide * 0.31)) for cx, h in zip((left, right), highs, strict=True))
    g = wide * 0.1
    gate = np.concatenate([points((x - g, base)), arc(x, base - wall * 0.4, g, g, start=180, end=360), points((x + g, base))])
    slits = tuple(box(cx - tower * 0.13, base - h * 0.8, cx + tower * 0.13, base - h * 0.62) for cx, h in zip((left, right), highs, strict=True))
    bricks = tuple(points((bx, by), (bx + wide * 0.05, by)) for bx, by in k.rng.uniform((x - wide * 0.26, base - wall * 0.8), (x + wide * 0.2, base - wall * 0.15), (8, 2)).tolist())
    return k.thing("castle", Part((teeth,), fill=stone), Part(paths=bricks, line="black" if not k.dark else "white", width=0.5, hides=False) if k.age > 7 else None, Part(towers, fill=stone), Part(roofs, fill=tops),
                   Part(paths=poles, line=k.light("black"), width=0.7), Part(flags, fill=k.pick("orange", "red", "yellow")), Part((gate,), fill="brown"), Part(slits, fill=k.light("black")))  # fmt: skip


def _teeth(left: float, right: float, top: float, base: float, step: float, count: int) -> Points:
    xs = np.repeat(np.linspace(left, right, count * 2), 2)[1:-1]
    ys = top - np.repeat(np.arange(count * 2 - 1) % 2 == 0, 2) * step
    return np.concatenate([points((left, base)), np.stack([xs, ys], axis=1), points((right, base))])


def building(k: Sketch, left: float, base: float, wide: float, tall: float, *, name: str, lit: str) -> Thing:
    """A town house or a tower block with rows of windows."""
    block = box(left, base - tall, left + wide, base)
    across = max(1, round(wide / (k.u * 7)))
    down = max(1, round(tall / (k.u * (11 if k.age < 7.5 else 9))))
    if k.age < 6:
        across, down = min(across, 2), min(down, 4)
    w, h = wide / (across * 1.9), tall / (down * 2.1)
    panes = tuple(
        box(cx - w / 2, cy - h / 2, cx + w / 2, cy + h / 2)
        for cx in left + wide * (np.arange(across) + 0.5) / across
        for cy in base - tall + tall * (np.arange(down) + 0.55) / down * 0.93
        if k.maybe(0.94)
    )
    parts: list[Part | None] = [Part((block,), fill=name)]
    form = k.count(0, 3)
    if form == 0:
        parts.insert(0, Part((points((left - wide * 0.05, base - tall), (left + wide / 2, base - tall - k.u * 9), (left + wide * 1.05, base - tall)),), fill=k.pick("red", "brown", "orange")))
    elif form == 1:
        parts.insert(0, Part(paths=(points((left + wide / 2, base - tall), (left + wide / 2, base - tall - k.u * 9)),), line=k.light("black"), width=0.8))
    parts.append(Part(panes, fill=lit, line=None if k.age > 7 else lit))
    return k.thing("building", *parts)


def car(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """A car; a box with many wheels while young."""
    paint, s = k.liked(), k.child.sun_side
    r, tall = wide * 0.11, wide * 0.2
    y = base - r
    body = box(x - wide / 2, y - tall, x + wide / 2, y)
    cabin = points((x - wide * 0.3, y - tall), (x - wide * 0.2, y - tall * 1.95), (x + wide * 0.16, y - tall * 1.95), (x + wide * 0.28, y - tall))
    if k.age > 8:
        body = curve((x - wide / 2, y - tall * 0.1), (x - wide / 2, y - tall * 0.9), (x - wide * 0.2, y - tall * 1.05), (x + wide * 0.3, y - tall * 1.0), (x + wide / 2, y - tall * 0.7), (x + wide / 2, y), (x, y + tall * 0.05), closed=True)
    at = [x - wide * 0.3, x + wide * 0.3] if k.age > 6.3 else list(np.linspace(x - wide * 0.38, x + wide * 0.38, k.count(2, 4)))
    tires = tuple(ellipse(a, y, r) for a in at)
    panes = (box(x - wide * 0.2, y - tall * 1.75, x - wide * 0.04, y - tall * 1.05), box(x + wide * 0.0, y - tall * 1.75, x + wide * 0.15, y - tall * 1.05))
    lamp = ellipse(x + s * wide * 0.46, y - tall * 0.6, wide * 0.03)
    return k.thing("car", Part((cabin,), fill=paint), Part((body,), fill=paint), Part(panes, fill="sky"), Part((lamp,), fill="yellow", width=0.6),
                   Part(tires, fill=k.light("black"), line=k.light("black")), Part(tuple(ellipse(a, y, r * 0.4) for a in at), fill="gray", line=None))  # fmt: skip


def boat(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """A sailing boat."""
    s = k.child.sun_side
    hull = points((x - wide / 2, base - wide * 0.2), (x + wide / 2, base - wide * 0.2), (x + wide * 0.34, base), (x - wide * 0.34, base))
    mast = points((x, base - wide * 0.2), (x, base - wide * 1.0))
    sail = points((x + s * 1.5, base - wide * 0.95), (x + s * wide * 0.42, base - wide * 0.28), (x + s * 1.5, base - wide * 0.26))
    jib = points((x - s * 1.5, base - wide * 0.85), (x - s * wide * 0.32, base - wide * 0.28), (x - s * 1.5, base - wide * 0.26))
    return k.thing("boat", Part(paths=(mast,), line="brown"), Part((sail, jib) if k.age > 6.8 else (sail,), fill=k.pick("white", "yellow", "red", k.liked())), Part((hull,), fill=k.pick("red", "brown", "blue", k.liked())))


def rocket(k: Sketch, x: float, base: float, tall: float) -> Thing:
    """A rocket with fins, a round window and flames."""
    w = tall * 0.15
    hull = curve((x, base - tall), (x + w, base - tall * 0.66), (x + w, base - tall * 0.25), (x - w, base - tall * 0.25), (x - w, base - tall * 0.66), closed=True)
    if k.age < 6.5:
        hull = points((x, base - tall), (x + w, base - tall * 0.72), (x + w, base - tall * 0.22), (x - w, base - tall * 0.22), (x - w, base - tall * 0.72))
    fins = tuple(points((x + s * w, base - tall * 0.45), (x + s * w * 2.2, base - tall * 0.16), (x + s * w * 0.9, base - tall * 0.24)) for s in (-1, 1))
    flame = points((x - w * 0.8, base - tall * 0.22), (x - w * 0.5, base - tall * 0.04), (x - w * 0.2, base - tall * 0.12), (x, base), (x + w * 0.3, base - tall * 0.12), (x + w * 0.6, base - tall * 0.03), (x + w * 0.8, base - tall * 0.22))
    return k.thing("rocket", Part((flame,), fill="orange", second="red", line="red"), Part(fins, fill=k.pick("red", "orange", k.liked())), Part((hull,), fill=k.pick("white", "gray", "red", k.liked())),
                   Part((ellipse(x, base - tall * 0.6, w * 0.5),), fill="sky"), Part(paths=(points((x - w * 0.9, base - tall * 0.36), (x + w * 0.9, base - tall * 0.36)),), line="red", hides=False))  # fmt: skip


def planet(k: Sketch, x: float, y: float, r: float) -> Thing:
    """A planet with a ring or bands."""
    name, other = k.liked(), k.liked()
    ring = arc(x, y, r * 1.6, r * 0.42, start=-20, end=200)
    bands = tuple(curve((x - r * 0.85, y + r * d), (x, y + r * (d + 0.12)), (x + r * 0.85, y + r * d)) for d in (-0.35, 0.1, 0.5))
    decor = Part(paths=(ring,), line=other if other != name else "yellow", width=1.3) if k.maybe(0.55) else Part(paths=bands, line=other, width=1.2, hides=False)
    return k.thing("planet", Part((ellipse(x, y, r),), fill=name), decor)


def robot(k: Sketch, x: float, base: float, tall: float) -> Thing:
    """A robot of boxes with lamps, dials and an aerial."""
    metal, trim = k.pick("gray", "sky", k.liked()), k.liked()
    w = tall * 0.19
    head = box(x - w * 0.65, base - tall * 0.88, x + w * 0.65, base - tall * 0.64)
    body = box(x - w, base - tall * 0.61, x + w, base - tall * 0.27)
    legs = tuple(box(x + s * w * 0.55 - w * 0.22, base - tall * 0.27, x + s * w * 0.55 + w * 0.22, base - tall * 0.04) for s in (-1, 1))
    feet = tuple(box(x + s * w * 0.62 - w * 0.42, base - tall * 0.05, x + s * w * 0.62 + w * 0.42, base) for s in (-1, 1))
    arms = tuple(box(min(x + s * w, x + s * w * 1.9), base - tall * (0.56 + 0.02 * s), max(x + s * w, x + s * w * 1.9), base - tall * 0.47) for s in (-1, 1))
    claws = tuple(arc(x + s * w * 2.15, base - tall * 0.515, w * 0.28, w * 0.3, start=90 * s - 50 + 180 * (s < 0), end=90 * s + 230 + 180 * (s < 0)) for s in (-1, 1))
    eyes = tuple(ellipse(x + s * w * 0.28, base - tall * 0.79, w * 0.15) for s in (-1, 1))
    mouth = box(x - w * 0.32, base - tall * 0.70, x + w * 0.32, base - tall * 0.665)
    aerial = Part(paths=(points((x, base - tall * 0.88), (x, base - tall * 0.96)),), line=k.light("black"))
    knob = Part((ellipse(x, base - tall * 0.975, w * 0.13),), fill="red", line="red")
    knobs = tuple(ellipse(x + w * d, base - tall * 0.36, w * 0.13) for d in (-0.5, 0, 0.5))
    screen = box(x - w * 0.6, base - tall * 0.55, x + w * 0.6, base - tall * 0.43)
    return k.thing("robot", aerial, knob, Part(arms, fill=trim), Part(paths=claws, line=k.edge_of(metal)), Part(legs, fill=trim), Part(feet, fill=metal), Part((body,), fill=metal), Part((head,), fill=metal),
                   Part(eyes, fill="yellow", line="black"), Part((mouth,), fill="white", line="black", width=0.6), Part((screen,), fill=k.liked()), Part(knobs, fill=k.pick("red", "yellow", "green"), line=None))  # fmt: skip


def volcano(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """A volcano spitting fire."""
    tall = wide * 0.55
    cone = points((x - wide / 2, base), (x - wide * 0.22, base - tall * 0.55), (x - wide * 0.09, base - tall), (x + wide * 0.09, base - tall), (x + wide * 0.2, base - tall * 0.55), (x + wide / 2, base))
    lava = curve((x - wide * 0.09, base - tall), (x + wide * 0.09, base - tall), (x + wide * 0.12, base - tall * 0.6), (x + wide * 0.06, base - tall * 0.62), (x + wide * 0.03, base - tall * 0.35),
                 (x - wide * 0.03, base - tall * 0.6), (x - wide * 0.07, base - tall * 0.45), (x - wide * 0.11, base - tall * 0.7), closed=True)  # fmt: skip
    jets = [curve((x + d * wide * 0.07, base - tall), (x + d * wide * 0.14, base - tall * k.between(1.2, 1.5)), (x + d * wide * k.between(0.22, 0.34), base - tall * k.between(1.15, 1.65))) for d in (-1, -0.5, 0, 0.5, 1)]
    return k.thing("volcano", Part(paths=tuple(jets[::2]), line="red", width=1.3), Part(paths=tuple(jets[1::2]), line="orange", width=1.3), Part((cone,), fill="brown", second="dark brown" if k.age > 8 else None), Part((lava,), fill="red", second="orange", line="red"))


def snowman(k: Sketch, x: float, base: float, tall: float) -> Thing:
    """Three balls of snow with a hat and a carrot."""
    sizes = (0.21, 0.16, 0.12)
    ys = (base - tall * 0.2, base - tall * 0.5, base - tall * 0.72)
    balls = tuple(ellipse(x, y, tall * r) for y, r in zip(ys, sizes, strict=True))
    r, y = tall * 0.12, ys[2]
    hat = (box(x - r * 1.3, y - r * 0.95, x + r * 1.3, y - r * 0.7), box(x - r * 0.8, y - r * 2.0, x + r * 0.8, y - r * 0.9))
    line = "sky" if not k.dark else "white"
    arms = tuple(points((x + s * tall * 0.14, ys[1]), (x + s * tall * 0.32, ys[1] - tall * 0.1)) for s in (-1, 1))
    coal = tuple(ellipse(x, ys[1] + tall * 0.16 * d, tall * 0.018) for d in (-0.4, 0.1, 0.6))
    carrot = points((x, y), (x + r * 0.9, y + r * 0.18), (x, y + r * 0.25))
    eyes = tuple(ellipse(x + s * r * 0.35, y - r * 0.3, r * 0.1) for s in (-1, 1))
    scarf = box(x - r * 1.0, y + r * 0.75, x + r * 1.0, y + r * 1.15)
    return k.thing("snowman", Part(paths=arms, line="brown"), *(Part((ball,), fill="white", line=line if k.child.outline != "black" or k.dark else "black") for ball in balls), Part((*coal, *eyes), fill="black", line="black", width=0.5),
                   Part((carrot,), fill="orange", line="orange", width=0.7), Part((scarf,), fill=k.liked(), line=None), Part(hat, fill="black" if not k.dark else "violet"))  # fmt: skip


def ice_cream(k: Sketch, x: float, base: float, tall: float, *, back: str | None = None) -> Thing:
    """A cone with scoops."""
    w = tall * 0.2
    cone = points((x - w, base - tall * 0.5), (x + w, base - tall * 0.5), (x, base))
    grid = tuple(points((x - w * a, base - tall * 0.5 * b), (x + w * c, base - tall * 0.5 * d)) for a, b, c, d in ((0.9, 0.95, 0.3, 0.3), (0.55, 0.6, 0.1, 0.12), (-0.3, 0.3, 0.9, 0.95)))
    scoops = [Part((puff(x + k.u * k.between(-1, 1), base - tall * (0.56 + 0.14 * i), w * 1.08, w * 0.85, bumps=7, depth=0.08),), fill=k.other(back)) for i in range(k.count(2, 3))]
    return k.thing("ice cream", *scoops, Part((cone,), fill="tan"), Part(paths=grid, line="brown", width=0.6, hides=False), Part((ellipse(x, base - tall * (0.62 + 0.14 * len(scoops)), w * 0.26),), fill="red", line="red"))
