"""Grammar of faces: eyes, mouth, nose and hair by the child's own schemata, and the portrait."""

import numpy as np

from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.shape import Points, arc, box, curve, ellipse, limb, points, puff
from portfolio.demo.paint.sketch import Sketch


class Look:
    """Skin, hair and clothes of one drawn person."""

    def __init__(self, k: Sketch, skin: str, hair: str, form: str) -> None:
        self.skin, self.hair, self.form = skin, hair, form
        self.shirt, self.pants = k.liked(), k.pick("blue", "brown", "black", k.liked())
        self.shoes = k.pick("black", "brown", "red", "blue")


def face(k: Sketch, x: float, y: float, r: float) -> list[Part]:
    """Eyes, mouth and, by age, nose, cheeks and brows."""
    level = y - r * (0.28 if k.age < 6 else 0.18 if k.age < 8 else 0.06)
    gap, eye = r * 0.36, r * (0.13 if k.age < 7 else 0.115)
    dark = k.child.skin >= 3
    parts = _eyes(k, x, level, gap, eye, whites=dark or k.child.eyes in ("almond", "ring"))
    parts += _mouth(k, x, y + r * 0.42, r)
    if k.age > 6.2:
        parts.append(_nose(k, x, y + r * 0.1, r))
    if k.child.cheeks:
        parts.append(
            Part(
                (ellipse(x - r * 0.55, y + r * 0.25, r * 0.14), ellipse(x + r * 0.55, y + r * 0.25, r * 0.14)),
                fill="pink",
                line=None,
                hides=False,
            )
        )
    if k.age > 8.6:
        brows = tuple(arc(x + s * gap, level - eye * 0.9, eye * 1.7, eye * 1.3, start=205, end=335) for s in (-1, 1))
        parts.append(
            Part(
                paths=brows, line=k.light(k.child.hair_color if k.child.hair_color != "yellow" else "brown"), width=0.6
            )
        )
    return parts


def _eyes(k: Sketch, x: float, y: float, gap: float, r: float, *, whites: bool) -> list[Part]:
    spots = [(x - gap, y), (x + gap, y)]
    tint = ("blue", "green", "brown", "black")[int(k.child.interests * 31) % 4]
    form = k.child.eyes if k.age > 5.6 else "dot"
    pupils = Part(tuple(ellipse(a, b, r * 0.6) for a, b in spots), fill="black", line="black", width=0.45)
    if form == "dot":
        white = (
            [Part(tuple(ellipse(a, b, r * 1.3, r * 1.1) for a, b in spots), fill="white", line=None)] if whites else []
        )
        return [*white, pupils]
    almond = form == "almond" and k.age > 7
    shapes = tuple(
        curve((a - r * 1.8, b), (a, b - r * 1.05), (a + r * 1.8, b), (a, b + r * 0.95), closed=True)
        if almond
        else ellipse(a, b, r * 1.45)
        for a, b in spots
    )
    parts = [
        Part(shapes, fill="white", line="black", width=0.45),
        Part(tuple(ellipse(a, b, r * 0.75) for a, b in spots), fill=tint, line="black", width=0.4),
    ]
    if form == "lash":
        lashes = tuple(
            points((a + d * r, b - r * 1.4), (a + d * r * 1.9, b - r * 2.2)) for a, b in spots for d in (-0.7, 0, 0.7)
        )
        parts.append(Part(paths=lashes, line="black", width=0.45))
    return parts


def _mouth(k: Sketch, x: float, y: float, r: float) -> list[Part]:
    form = k.child.mouth if k.age > 5.8 else "smile"
    if form == "open":
        return [
            Part(
                (
                    np.concatenate(
                        [
                            arc(x, y - r * 0.08, r * 0.42, r * 0.34, start=0, end=180),
                            points((x - r * 0.42, y - r * 0.08)),
                        ]
                    ),
                ),
                fill="red",
                line="red",
                width=0.5,
            )
        ]
    if form == "lips":
        lips = curve(
            (x - r * 0.34, y),
            (x - r * 0.12, y - r * 0.11),
            (x, y - r * 0.06),
            (x + r * 0.12, y - r * 0.11),
            (x + r * 0.34, y),
            (x, y + r * 0.15),
            closed=True,
        )
        return [Part((lips,), fill=k.pick("red", "pink"), line="red", width=0.5)]
    wide = 0.58 if form == "wide" else 0.42
    return [
        Part(
            paths=(arc(x, y - r * 0.2, r * wide, r * 0.36, start=160, end=20),),
            line="red" if k.maybe(0.7) else "black",
            width=0.65,
        )
    ]


def _nose(k: Sketch, x: float, y: float, r: float) -> Part:
    if k.age < 7.5:
        return Part(
            paths=(points((x - r * 0.06, y - r * 0.06), (x + r * 0.04, y + r * 0.06)),), line="black", width=0.6
        )
    turn = curve((x - r * 0.02, y - r * 0.22), (x + r * 0.13, y + r * 0.06), (x - r * 0.05, y + r * 0.11))
    return Part(paths=(turn,), line="brown" if k.child.skin < 3 else "black", width=0.5)


def hair_of(k: Sketch, look: Look, x: float, y: float, r: float) -> list[Part]:
    """Hair behind the head first, then what lies over it."""
    tint = k.light(look.hair)
    none = Part(hides=False)
    if k.age < 5.8:
        return [none, Part(paths=(_zigzag(x, y, r, 195, 26, low=1.0, high=1.2),), line=tint)]
    fringe = curve(*((x + r * a, y - r * b) for a, b in ((0.9, 0.2), (0.3, 0.58), (-0.2, 0.5), (-0.9, 0.2))))
    top = np.concatenate([arc(x, y, r * 1.06, r * 1.14, start=188, end=352), fringe])
    cap = Part((top,), fill=tint, line=tint)
    forms: dict[str, list[Part]] = {
        "long": [Part((_fall(x, y, r, 1.9),), fill=tint, line=tint), cap],
        "bob": [Part((_fall(x, y, r, 0.95),), fill=tint, line=tint), cap],
        "bun": [Part((ellipse(x, y - r * 1.25, r * 0.4, r * 0.34),), fill=tint, line=tint), cap],
        "curls": [none, Part((puff(x, y - r * 0.75, r * 1.1, r * 0.5, bumps=9, depth=0.25),), fill=tint, line=tint)],
        "spikes": [none, Part((_spiky(x, y, r),), fill=tint, line=tint)],
        "cap": [none, Part(_cap(x, y, r), fill=k.child.favorites[0])],
    }
    return forms[look.form] if look.form in forms else _tails(k, look, x, y, r, cap=cap)


def _zigzag(x: float, y: float, r: float, start: float, count: int, *, low: float, high: float) -> Points:
    """A zigzag over the top of a head, from ``start`` degrees to its mirror image."""
    t = np.radians(np.linspace(start, 540 - start, count))
    reach = r * (low + (high - low) * (np.arange(count) % 2))
    return np.stack([x + reach * np.cos(t), y + reach * np.sin(t)], axis=1)


def _fall(x: float, y: float, r: float, drop: float) -> Points:
    """Hair that falls behind the head."""
    side = ((1.05, -0.5), (1.25, drop), (0.6, drop))
    left = [(x - r * a, y + r * b) for a, b in side]
    right = [(x + r * a, y + r * b) for a, b in side]
    return curve(left[0], (x, y - r * 1.15), *right, left[2], left[1], closed=True)


def _spiky(x: float, y: float, r: float) -> Points:
    lower = curve((x + r * 0.8, y - r * 0.4), (x, y - r * 0.62), (x - r * 0.8, y - r * 0.4))
    return np.concatenate([_zigzag(x, y, r, 190, 15, low=0.98, high=1.38), lower])


def _cap(x: float, y: float, r: float) -> tuple[Points, Points]:
    brim = box(x + r * 0.2, y - r * 0.52, x + r * 1.65, y - r * 0.3)
    return arc(x, y - r * 0.35, r * 1.02, r * 0.85, start=180, end=360), brim


def _tails(k: Sketch, look: Look, x: float, y: float, r: float, *, cap: Part) -> list[Part]:
    """Pigtails or braids with bows."""
    end = 1.3 if look.form == "braids" else 0.8
    tails = tuple(
        limb(
            curve(*((x + s * r * a, y + r * b) for a, b in ((0.95, -0.3), (1.45, 0.2), (1.35, end)))),
            r * 0.45,
            r * 0.25,
        )
        for s in (-1, 1)
    )
    bows = tuple(ellipse(x + s * r * 1.02, y - r * 0.3, r * 0.16) for s in (-1, 1))
    tint = cap.fill
    return [Part(tails, fill=tint, line=tint), cap, Part(bows, fill=k.child.favorites[0], line=None)]


def portrait(k: Sketch) -> list[Thing]:
    """Head and shoulders, large."""
    look = Look(k, f"skin{k.child.skin}", k.child.hair_color, k.child.hair)
    x, r = k.w / 2 + k.u * k.between(-3, 3), k.u * (27 + 3 * (k.child.size - 1))
    y = k.h * 0.42
    ears = Part(tuple(ellipse(x + s * r * 0.95, y, r * 0.16, r * 0.25) for s in (-1, 1)), fill=look.skin)
    neck = Part((box(x - r * 0.3, y + r * 0.8, x + r * 0.3, y + r * 1.4),), fill=look.skin)
    top = y + r * 1.3
    chest = curve(
        (x - r * 1.5, k.h + 2),
        (x - r * 1.25, top + r * 0.25),
        (x - r * 0.35, top),
        (x + r * 0.35, top),
        (x + r * 1.25, top + r * 0.25),
        (x + r * 1.5, k.h + 2),
    )
    stripes = (
        tuple(points((x - r * 1.2, h), (x + r * 1.2, h)) for h in np.arange(top + r * 0.35, k.h, r * 0.28))
        if k.maybe(0.55)
        else ()
    )
    hair = hair_of(k, look, x, y, r)
    chin = 1.1 if k.age > 8 else 1.0
    return [
        k.thing(
            "face",
            hair[0],
            neck,
            Part((chest,), fill=look.shirt),
            Part(paths=stripes, line=k.liked()) if stripes else None,
            ears if k.age > 6 else None,
            Part((ellipse(x, y, r * 0.92, r * 1.02 * chin),), fill=look.skin),
            *face(k, x, y, r),
            *hair[1:],
        )
    ]
