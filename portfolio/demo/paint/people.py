"""Grammar of people: from the tadpole figure to a figure with bent arms, by drawing age."""

import math

import numpy as np

from portfolio.demo.paint.faces import Look, face, hair_of
from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.shape import Points, box, curve, ellipse, heart, limb, points, star
from portfolio.demo.paint.sketch import Sketch


def person(
    k: Sketch,
    x: float,
    base: float,
    tall: float,
    *,
    skin: int | None = None,
    hair: str | None = None,
    other: bool = False,
) -> Thing:
    """A person ``tall`` millimeters high with the feet on ``base``."""
    skin_name = f"skin{k.child.skin if skin is None else skin}"
    look = Look(
        k,
        skin_name,
        hair or k.child.hair_color,
        str(k.rng.choice(np.array(["cap", "bob", "long", "curls", "bun"]))) if other else k.child.hair,
    )
    if k.age < 5.5:
        return _tadpole(k, look, x, base, tall)
    if k.age < 6.7:
        return _stick_figure(k, look, x, base, tall)
    return _figure(k, look, x, base, tall)


def _tadpole(k: Sketch, look: Look, x: float, base: float, tall: float) -> Thing:
    r = tall * 0.3
    y = base - tall + r
    line = k.pick("black", "brown", k.liked())
    legs = [points((x + s * r * 0.35, y + r * 0.9), (x + s * r * 0.45, base)) for s in (-1, 1)]
    feet = [points((x + s * r * 0.45, base), (x + s * r * 0.8, base + 1)) for s in (-1, 1)]
    arms = (
        [points((x + s * r * 0.95, y + r * 0.2), (x + s * r * 2.1, y + r * k.between(-0.2, 0.5))) for s in (-1, 1)]
        if k.maybe(0.75)
        else []
    )
    head = Part((ellipse(x, y, r * k.between(0.9, 1.15), r),), fill=look.skin if k.maybe(0.35) else None, line=line)
    return k.thing(
        "person",
        Part(paths=tuple(legs + feet + arms), line=line),
        head,
        *face(k, x, y, r),
        *hair_of(k, look, x, y, r)[1:],
    )


def _stick_figure(k: Sketch, look: Look, x: float, base: float, tall: float) -> Thing:
    r = tall * 0.19
    y, foot = base - tall + r, base
    neck, hem = y + r * 0.95, base - tall * 0.27
    wide = tall * 0.17
    body = {
        "triangle": points((x, neck - 1), (x + wide * 1.25, hem), (x - wide * 1.25, hem)),
        "oval": ellipse(x, (neck + hem) / 2, wide * 0.95, (hem - neck) / 2),
        "box": box(x - wide, neck, x + wide, hem),
    }[k.child.body]
    limb_color = look.skin if k.maybe(0.5) else k.edge_of(None)
    legs = [points((x + s * wide * 0.45, hem), (x + s * wide * 0.5, foot)) for s in (-1, 1)]
    feet = [ellipse(x + s * wide * 0.85, foot, wide * 0.42, wide * 0.2) for s in (-1, 1)]
    shoulder = neck + (hem - neck) * (0.25 if k.child.body != "triangle" else 0.35)
    reach = tall * 0.2
    half = wide * (0.6 if k.child.body == "triangle" else 0.9)
    tips = [(x + s * (half + reach), shoulder + k.between(-0.3, 0.25) * reach) for s in (-1, 1)]
    arms = [points((x + s * half * 0.8, shoulder), tip) for s, tip in zip((-1, 1), tips, strict=True)]
    hair = hair_of(k, look, x, y, r)
    return k.thing(
        "person",
        Part(paths=tuple(legs + arms), line=limb_color),
        Part(tuple(feet), fill=look.shoes),
        *hands(k, tips, (x, shoulder), r * 0.32, limb_color),
        hair[0],
        Part((body,), fill=look.shirt),
        *_pattern(k, x, (neck + hem) / 2, wide, look),
        Part((ellipse(x, y, r, r * 1.03),), fill=look.skin),
        *face(k, x, y, r),
        *hair[1:],
    )


def _figure(k: Sketch, look: Look, x: float, base: float, tall: float) -> Thing:
    grown = min(1.0, max(0.0, (k.age - 6.7) / 4))
    r = tall * (0.165 - 0.04 * grown)
    y = base - tall + r
    shoulder, hip = y + r * 1.22, base - tall * (0.36 + 0.08 * grown)
    half = tall * (0.115 - 0.01 * grown)
    dress = k.child.body == "triangle" and k.age < 10
    bend = k.age > 8.5
    limb_mm = tall * 0.075
    foot = base - tall * 0.025
    legs = [
        limb(
            curve(
                (x + s * half * 0.52, hip - 2),
                (x + s * half * 0.6, (hip + foot) / 2),
                (x + s * half * (0.75 if bend else 0.6), foot),
            ),
            limb_mm * 1.15,
            limb_mm * 0.95,
        )
        for s in (-1, 1)
    ]
    shoes = [ellipse(x + s * half * 1.0, base - tall * 0.015, tall * 0.055, tall * 0.026) for s in (-1, 1)]
    up = [k.between(-0.5, 0.7) if k.age < 9 else k.between(-0.9, 1.0) for _ in (0, 1)]
    tips, arms, sleeves = [], [], []
    for s, lift in zip((-1, 1), up, strict=True):
        start = (x + s * half * 0.85, shoulder + limb_mm * 0.6)
        elbow = (start[0] + s * tall * 0.12, start[1] + tall * 0.11 * (0.9 - lift * (0.3 if bend else 0.9)))
        tip = (elbow[0] + s * tall * (0.06 if bend else 0.10), elbow[1] + tall * 0.11 * (0.6 - 1.3 * lift))
        tips.append(tip)
        arms.append(limb(curve(start, elbow, tip), limb_mm * 0.95, limb_mm * 0.75))
        sleeves.append(
            limb(
                points(start, ((start[0] * 0.45 + elbow[0] * 0.55), (start[1] * 0.45 + elbow[1] * 0.55))),
                limb_mm * 1.25,
                limb_mm * 1.25,
            )
        )
    torso = points(
        (x - half, shoulder),
        (x - half * 0.4, shoulder - r * 0.18),
        (x + half * 0.4, shoulder - r * 0.18),
        (x + half, shoulder),
        (x + half * (1.9 if dress else 1.0), hip + (tall * 0.1 if dress else 2)),
        (x - half * (1.9 if dress else 1.0), hip + (tall * 0.1 if dress else 2)),
    )
    hair = hair_of(k, look, x, y, r)
    neck = Part((box(x - r * 0.28, y + r * 0.6, x + r * 0.28, shoulder),), fill=look.skin)
    return k.thing(
        "person",
        hair[0],
        Part(tuple(legs), fill=look.skin if dress else look.pants),
        Part(tuple(shoes), fill=look.shoes),
        Part(tuple(arms), fill=look.skin),
        *hands(k, tips, (x, shoulder + tall * 0.1), r * 0.3, look.skin),
        neck,
        Part((torso, *sleeves), fill=look.shirt),
        *_pattern(k, x, (shoulder + hip) / 2, half, look),
        Part((ellipse(x, y, r * 0.93, r * 1.05),), fill=look.skin),
        *face(k, x, y, r),
        *hair[1:],
    )


def _pattern(k: Sketch, x: float, y: float, half: float, look: Look) -> list[Part]:
    tint = "yellow" if look.shirt != "yellow" else "red"
    form = int(k.child.interests * 97) % 5 if k.maybe(0.7) else k.count(0, 4)
    if k.child.detail < -0.3 or form == 4:
        return [
            Part(
                tuple(ellipse(x, y + half * d, half * 0.11) for d in (-0.7, 0, 0.7)),
                fill="black",
                line="black",
                width=0.6,
                hides=False,
            )
        ]
    if form == 0:
        return [
            Part(
                paths=tuple(
                    points((x - half * 0.75, y + half * d), (x + half * 0.75, y + half * d)) for d in (-0.7, 0.05, 0.75)
                ),
                line=tint,
                hides=False,
            )
        ]
    mark = (star(x, y, half * 0.55), heart(x, y, half * 0.95), ellipse(x, y, half * 0.45))[form - 1]
    return [Part((mark,), fill=tint, line=None, hides=False)]


def hands(k: Sketch, tips: list[tuple[float, float]], middle: tuple[float, float], r: float, name: str) -> list[Part]:
    """Hands at the arms' tips: rakes, suns, mitts or balls."""
    form = k.child.hands
    if form in ("mitt", "ball") or k.age > 9.5:
        return [
            Part(
                tuple(ellipse(a, b, r * (1.0 if form == "ball" else 1.15), r) for a, b in tips),
                fill=name if name.startswith("skin") else None,
                line=name if not name.startswith("skin") else "edge",
            )
        ]
    spread = (150 if form == "sun" else 80) * (1 if k.age < 8 else 0.7)
    count = k.count(3, 6) if k.age < 6.5 else 5
    paths: list[Points] = []
    for a, b in tips:
        out = math.degrees(math.atan2((b - middle[1]) * 0.5, a - middle[0]))
        for i in range(count):
            t = math.radians(out - spread / 2 + spread * i / max(1, count - 1))
            paths.append(points((a, b), (a + math.cos(t) * r * 1.6, b + math.sin(t) * r * 1.6)))
    return [Part(paths=tuple(paths), line=name, width=0.6 if k.age < 8 else 0.8)]
