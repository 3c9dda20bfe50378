"""Grammar of what stands: houses, castles, town houses, by drawing age."""

import numpy as np

from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.shape import Points, arc, box, ellipse, points, turned
from portfolio.demo.paint.sketch import Sketch


def house(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """A house: a slanting chimney while young, an oblique side later."""
    wall, roof = (
        k.own(k.pick("red", "yellow", "orange", k.liked())),
        k.own(k.pick("red", "brown", "blue", "violet", "black")),
    )
    roof = roof if roof != wall else "brown"
    tall, peak = wide * k.between(0.62, 0.78), wide * k.between(0.4, 0.52)
    left, right, eave = x - wide / 2, x + wide / 2, base - tall
    if k.age >= 9.3:
        return _oblique_house(k, left, base, wide, wall=wall, roof=roof)
    top = points((left - wide * 0.09, eave), (x, eave - peak), (right + wide * 0.09, eave))
    parts: list[Part | None] = [
        *_chimney(k, x, eave, wide, peak),
        Part((box(left, eave, right, base),), fill=wall),
        Part((top,), fill=roof),
    ]
    if k.age > 7.2 and k.child.detail > 0:
        tiles = tuple(
            arc(x + dx * wide * 0.13, eave - peak * h, wide * 0.06, peak * 0.13, start=0, end=180)
            for h in (0.12, 0.38)
            for dx in ((-2, -1, 0, 1, 2) if h < 0.2 else (-1, 0, 1))
        )
        parts.append(Part(paths=tiles, line="black" if not k.dark else "white", width=0.5, hides=False))
    return k.thing("house", *parts, *_openings(k, x, base, wide, tall))


def _openings(k: Sketch, x: float, base: float, wide: float, tall: float) -> list[Part]:
    door_w, door_h = wide * 0.2, tall * 0.5
    dx = x + wide * (0 if k.age < 7 else k.between(-0.08, 0.08))
    door = box(dx - door_w / 2, base - door_h, dx + door_w / 2, base)
    if k.child.detail > 0.2:
        door = np.concatenate(
            [
                points((dx - door_w / 2, base)),
                arc(dx, base - door_h * 0.75, door_w / 2, door_h * 0.3, start=180, end=360),
                points((dx + door_w / 2, base)),
            ]
        )
    s = wide * 0.2
    y = base - tall + s * (0.1 if k.age < 7.2 else 0.35)
    inset = wide * (0.02 if k.age < 7.2 else 0.09)
    corners = [(x - wide / 2 + inset, y), (x + wide / 2 - inset - s, y)]
    panes = tuple(box(a, b, a + s, b + s) for a, b in corners)
    bars = tuple(
        p
        for a, b in corners
        for p in (points((a + s / 2, b), (a + s / 2, b + s)), points((a, b + s / 2), (a + s, b + s / 2)))
    )
    line = k.edge_of("brown")
    return [
        Part((door,), fill=k.pick("brown", k.liked())),
        Part(
            (ellipse(dx + door_w * 0.28, base - door_h * 0.45, max(0.8, wide * 0.012)),),
            fill="yellow",
            line="black",
            width=0.4,
        ),
        Part(panes, fill=k.pick("sky", "yellow"), line=line),
        Part(paths=bars, line=line, width=0.7),
    ]


def _chimney(k: Sketch, x: float, eave: float, wide: float, peak: float) -> list[Part]:
    cx, cy = x + wide * 0.26, eave - peak * 0.5
    w, h = wide * 0.12, peak * 0.62
    block = box(cx - w / 2, cy - h, cx + w / 2, cy + peak * 0.12)
    top = (cx, cy - h)
    if k.age < 7.4:  # at right angles to the roof, as young children see it
        lean = float(np.degrees(np.arctan2(peak, wide / 2 + wide * 0.09)))
        block = turned(block, lean, about=(cx, cy))
        top = (cx + h * float(np.sin(np.radians(lean))), cy - h * float(np.cos(np.radians(lean))))
    t = np.linspace(0, 1, 40)
    r = wide * 0.06 * (0.5 + t)
    smoke = np.stack(
        [top[0] + t * wide * 0.22 + r * np.cos(t * 20), top[1] - wide * 0.05 - t * wide * 0.3 + r * np.sin(t * 20)],
        axis=1,
    )
    return (
        [Part((block,), fill=k.pick("brown", "red", "gray")), Part(paths=(smoke,), line="gray", width=0.8)]
        if k.child.detail > -0.5
        else []
    )


def _oblique_house(k: Sketch, left: float, base: float, wide: float, *, wall: str, roof: str) -> Thing:
    front, side, s = wide * 0.5, wide * 0.5, k.child.sun_side
    tall, peak, rise = wide * 0.5, wide * 0.28, wide * 0.12

    def at(a: float, up: float) -> tuple[float, float]:
        return (left + a if s > 0 else left + wide - a), base - up

    face = points(at(0, 0), at(0, tall), at(front / 2, tall + peak), at(front, tall), at(front, 0))
    flank = points(at(front, 0), at(front, tall), at(front + side, tall + rise * 0.9), at(front + side, rise))
    slope = points(
        at(front / 2, tall + peak),
        at(front / 2 + side, tall + peak + rise * 0.5),
        at(front + side + wide * 0.04, tall + rise * 0.7),
        at(front + wide * 0.03, tall - wide * 0.02),
    )
    rows = tuple(
        points(
            at(front / 2 + side * 0.06 + (front / 2) * f, tall + peak * (1 - f)),
            at(front / 2 + side + (front / 2) * f, tall + rise * 0.5 + peak * (1 - f) * 0.95),
        )
        for f in (0.3, 0.6)
    )
    door = points(
        at(front * 0.36, 0), at(front * 0.36, tall * 0.52), at(front * 0.62, tall * 0.52), at(front * 0.62, 0)
    )
    pane = points(
        at(front + side * 0.3, tall * 0.5 + rise * 0.3),
        at(front + side * 0.3, tall * 0.85 + rise * 0.3),
        at(front + side * 0.7, tall * 0.85 + rise * 0.6),
        at(front + side * 0.7, tall * 0.5 + rise * 0.6),
    )
    gable = ellipse(*at(front / 2, tall + peak * 0.3), wide * 0.06)
    cross = tuple(
        points(p, q)
        for p, q in (
            ((pane[0] + pane[3]) / 2, (pane[1] + pane[2]) / 2),
            ((pane[0] + pane[1]) / 2, (pane[2] + pane[3]) / 2),
        )
    )
    line = k.edge_of("brown")
    return k.thing(
        "house",
        Part((flank,), fill=f"dark {wall}" if k.maybe(0.6) else wall),
        Part((face,), fill=wall),
        Part((slope,), fill=roof),
        Part(paths=rows, line=f"dark {roof}", width=0.6, hides=False),
        Part((door,), fill="brown" if wall != "brown" else "blue"),
        Part((pane, gable), fill=k.pick("sky", "yellow"), line=line),
        Part(paths=cross, line=line, width=0.6),
    )


def castle(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """Two towers with pointed roofs, a wall with teeth, a gate, flags."""
    stone = "gray" if k.age > 6.5 else k.own("gray")
    tops = k.pick("blue", "red", "violet", k.liked())
    tower, tall, wall = wide * 0.2, wide * 0.75, wide * 0.45
    loose = max(0.0, 7.5 - k.age) * 0.05
    left, right = x - wide / 2 + tower / 2, x + wide / 2 - tower / 2
    highs = [tall * (1 + k.between(-1, 1) * loose * 2) for _ in (0, 1)]
    teeth = _teeth(
        x - wide / 2 + tower, x + wide / 2 - tower, base - wall, base, step=wide * 0.055, count=5 if k.age < 7 else 7
    )
    towers = tuple(
        box(cx - tower / 2, base - h, cx + tower / 2, base) for cx, h in zip((left, right), highs, strict=True)
    )
    roofs = tuple(
        points((cx - tower * 0.7, base - h), (cx, base - h - wide * 0.26), (cx + tower * 0.7, base - h))
        for cx, h in zip((left, right), highs, strict=True)
    )
    poles = tuple(
        points((cx, base - h - wide * 0.26), (cx, base - h - wide * 0.38))
        for cx, h in zip((left, right), highs, strict=True)
    )
    flags = tuple(
        points((cx, base - h - wide * 0.38), (cx + wide * 0.09, base - h - wide * 0.345), (cx, base - h - wide * 0.31))
        for cx, h in zip((left, right), highs, strict=True)
    )
    g = wide * 0.1
    gate = np.concatenate(
        [points((x - g, base)), arc(x, base - wall * 0.4, g, g, start=180, end=360), points((x + g, base))]
    )
    slits = tuple(
        box(cx - tower * 0.13, base - h * 0.8, cx + tower * 0.13, base - h * 0.62)
        for cx, h in zip((left, right), highs, strict=True)
    )
    bricks = tuple(
        points((bx, by), (bx + wide * 0.05, by))
        for bx, by in k.rng.uniform(
            (x - wide * 0.26, base - wall * 0.8), (x + wide * 0.2, base - wall * 0.15), (8, 2)
        ).tolist()
    )
    return k.thing(
        "castle",
        Part((teeth,), fill=stone),
        Part(paths=bricks, line="black" if not k.dark else "white", width=0.5, hides=False) if k.age > 7 else None,
        Part(towers, fill=stone),
        Part(roofs, fill=tops),
        Part(paths=poles, line=k.light("black"), width=0.7),
        Part(flags, fill=k.pick("orange", "red", "yellow")),
        Part((gate,), fill="brown"),
        Part(slits, fill=k.light("black")),
    )


def _teeth(left: float, right: float, top: float, base: float, *, step: float, count: int) -> Points:
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
        parts.insert(
            0,
            Part(
                (
                    points(
                        (left - wide * 0.05, base - tall),
                        (left + wide / 2, base - tall - k.u * 9),
                        (left + wide * 1.05, base - tall),
                    ),
                ),
                fill=k.pick("red", "brown", "orange"),
            ),
        )
    elif form == 1:
        parts.insert(
            0,
            Part(
                paths=(points((left + wide / 2, base - tall), (left + wide / 2, base - tall - k.u * 9)),),
                line=k.light("black"),
                width=0.8,
            ),
        )
    parts.append(Part(panes, fill=lit, line=None if k.age > 7 else lit))
    return k.thing("building", *parts)
