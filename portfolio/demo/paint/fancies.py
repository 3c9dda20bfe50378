"""Grammar of what children like to invent: robots, volcanoes, snowmen, ice cream."""

from portfolio.demo.paint.marks import Part, Thing
from portfolio.demo.paint.shape import arc, box, curve, ellipse, points, puff
from portfolio.demo.paint.sketch import Sketch


def robot(k: Sketch, x: float, base: float, tall: float) -> Thing:
    """A robot of boxes with lamps, dials and an aerial."""
    metal, trim = k.pick("gray", "sky", k.liked()), k.liked()
    w = tall * 0.19
    head = box(x - w * 0.65, base - tall * 0.88, x + w * 0.65, base - tall * 0.64)
    body = box(x - w, base - tall * 0.61, x + w, base - tall * 0.27)
    legs = tuple(
        box(x + s * w * 0.55 - w * 0.22, base - tall * 0.27, x + s * w * 0.55 + w * 0.22, base - tall * 0.04)
        for s in (-1, 1)
    )
    feet = tuple(
        box(x + s * w * 0.62 - w * 0.42, base - tall * 0.05, x + s * w * 0.62 + w * 0.42, base) for s in (-1, 1)
    )
    arms = tuple(
        box(
            min(x + s * w, x + s * w * 1.9),
            base - tall * (0.56 + 0.02 * s),
            max(x + s * w, x + s * w * 1.9),
            base - tall * 0.47,
        )
        for s in (-1, 1)
    )
    claws = tuple(
        arc(
            x + s * w * 2.15,
            base - tall * 0.515,
            w * 0.28,
            w * 0.3,
            start=90 * s - 50 + 180 * (s < 0),
            end=90 * s + 230 + 180 * (s < 0),
        )
        for s in (-1, 1)
    )
    eyes = tuple(ellipse(x + s * w * 0.28, base - tall * 0.79, w * 0.15) for s in (-1, 1))
    mouth = box(x - w * 0.32, base - tall * 0.70, x + w * 0.32, base - tall * 0.665)
    aerial = Part(paths=(points((x, base - tall * 0.88), (x, base - tall * 0.96)),), line=k.light("black"))
    knob = Part((ellipse(x, base - tall * 0.975, w * 0.13),), fill="red", line="red")
    knobs = tuple(ellipse(x + w * d, base - tall * 0.36, w * 0.13) for d in (-0.5, 0, 0.5))
    screen = box(x - w * 0.6, base - tall * 0.55, x + w * 0.6, base - tall * 0.43)
    return k.thing(
        "robot",
        aerial,
        knob,
        Part(arms, fill=trim),
        Part(paths=claws, line=k.edge_of(metal)),
        Part(legs, fill=trim),
        Part(feet, fill=metal),
        Part((body,), fill=metal),
        Part((head,), fill=metal),
        Part(eyes, fill="yellow", line="black"),
        Part((mouth,), fill="white", line="black", width=0.6),
        Part((screen,), fill=k.liked()),
        Part(knobs, fill=k.pick("red", "yellow", "green"), line=None),
    )


def volcano(k: Sketch, x: float, base: float, wide: float) -> Thing:
    """A volcano spitting fire."""
    tall = wide * 0.55
    cone = points(
        (x - wide / 2, base),
        (x - wide * 0.22, base - tall * 0.55),
        (x - wide * 0.09, base - tall),
        (x + wide * 0.09, base - tall),
        (x + wide * 0.2, base - tall * 0.55),
        (x + wide / 2, base),
    )
    lava = curve(
        (x - wide * 0.09, base - tall),
        (x + wide * 0.09, base - tall),
        (x + wide * 0.12, base - tall * 0.6),
        (x + wide * 0.06, base - tall * 0.62),
        (x + wide * 0.03, base - tall * 0.35),
        (x - wide * 0.03, base - tall * 0.6),
        (x - wide * 0.07, base - tall * 0.45),
        (x - wide * 0.11, base - tall * 0.7),
        closed=True,
    )
    jets = [
        curve(
            (x + d * wide * 0.07, base - tall),
            (x + d * wide * 0.14, base - tall * k.between(1.2, 1.5)),
            (x + d * wide * k.between(0.22, 0.34), base - tall * k.between(1.15, 1.65)),
        )
        for d in (-1, -0.5, 0, 0.5, 1)
    ]
    return k.thing(
        "volcano",
        Part(paths=tuple(jets[::2]), line="red", width=1.3),
        Part(paths=tuple(jets[1::2]), line="orange", width=1.3),
        Part((cone,), fill="brown", second="dark brown" if k.age > 8 else None),
        Part((lava,), fill="red", second="orange", line="red"),
    )


def snowman(k: Sketch, x: float, base: float, tall: float) -> Thing:
    """Three balls of snow with a hat and a carrot."""
    sizes = (0.21, 0.16, 0.12)
    ys = (base - tall * 0.2, base - tall * 0.5, base - tall * 0.72)
    balls = tuple(ellipse(x, y, tall * r) for y, r in zip(ys, sizes, strict=True))
    r, y = tall * 0.12, ys[2]
    hat = (
        box(x - r * 1.3, y - r * 0.95, x + r * 1.3, y - r * 0.7),
        box(x - r * 0.8, y - r * 2.0, x + r * 0.8, y - r * 0.9),
    )
    line = "sky" if not k.dark else "white"
    arms = tuple(points((x + s * tall * 0.14, ys[1]), (x + s * tall * 0.32, ys[1] - tall * 0.1)) for s in (-1, 1))
    coal = tuple(ellipse(x, ys[1] + tall * 0.16 * d, tall * 0.018) for d in (-0.4, 0.1, 0.6))
    carrot = points((x, y), (x + r * 0.9, y + r * 0.18), (x, y + r * 0.25))
    eyes = tuple(ellipse(x + s * r * 0.35, y - r * 0.3, r * 0.1) for s in (-1, 1))
    scarf = box(x - r * 1.0, y + r * 0.75, x + r * 1.0, y + r * 1.15)
    return k.thing(
        "snowman",
        Part(paths=arms, line="brown"),
        *(
            Part((ball,), fill="white", line=line if k.child.outline != "black" or k.dark else "black")
            for ball in balls
        ),
        Part((*coal, *eyes), fill="black", line="black", width=0.5),
        Part((carrot,), fill="orange", line="orange", width=0.7),
        Part((scarf,), fill=k.liked(), line=None),
        Part(hat, fill="black" if not k.dark else "violet"),
    )


def ice_cream(k: Sketch, x: float, base: float, tall: float, *, back: str | None = None) -> Thing:
    """A cone with scoops."""
    w = tall * 0.2
    cone = points((x - w, base - tall * 0.5), (x + w, base - tall * 0.5), (x, base))
    grid = tuple(
        points((x - w * a, base - tall * 0.5 * b), (x + w * c, base - tall * 0.5 * d))
        for a, b, c, d in ((0.9, 0.95, 0.3, 0.3), (0.55, 0.6, 0.1, 0.12), (-0.3, 0.3, 0.9, 0.95))
    )
    scoops = [
        Part(
            (
                puff(
                    x + k.u * k.between(-1, 1), base - tall * (0.56 + 0.14 * i), w * 1.08, w * 0.85, bumps=7, depth=0.08
                ),
            ),
            fill=k.other(back),
        )
        for i in range(k.count(2, 3))
    ]
    return k.thing(
        "ice cream",
        *scoops,
        Part((cone,), fill="tan"),
        Part(paths=grid, line="brown", width=0.6, hides=False),
        Part((ellipse(x, base - tall * (0.62 + 0.14 * len(scoops)), w * 0.26),), fill="red", line="red"),
    )
