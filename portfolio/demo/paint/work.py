"""A child's work from start to finish: the plan (subject, sheet, colors), then the painting.

Everything follows from the child's seed, the work's seed, grade, month, medium and subject; two processes give the
same bytes
with the same library versions.
"""

from dataclasses import dataclass

import cv2
import numpy as np

from portfolio.demo.paint import collage, relief, strips, studio, weaving
from portfolio.demo.paint.chance import as_bytes, chance, smooth_2d
from portfolio.demo.paint.child import COLORS, Child
from portfolio.demo.paint.clay import ClayPlan, clay_plan
from portfolio.demo.paint.creatures import creature
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.marks import Scene
from portfolio.demo.paint.outdoors import border
from portfolio.demo.paint.palette import plain, sheet_color
from portfolio.demo.paint.pots import pot
from portfolio.demo.paint.scenes import MAKERS
from portfolio.demo.paint.scenes_free import scribble
from portfolio.demo.paint.shape import Bytes
from portfolio.demo.paint.sketch import Sketch

SUBJECTS: tuple[str, ...] = tuple(MAKERS)
# medium: long and short side of its sheet in millimeters (common art room sheets, no source)
_SHEETS_MM: dict[str, tuple[float, float]] = {
    "crayon": (305, 229),
    "oil pastel": (305, 229),
    "colored pencil": (279, 216),
    "marker": (305, 229),
    "tempera": (457, 305),
    "watercolor": (305, 229),
    "chalk": (305, 229),
    "collage": (305, 229),
    "mixed media": (305, 229),
    "print": (229, 178),
    "stencil": (305, 229),
    "weaving": (254, 178),
    "pencil": (279, 216),
}
_SOLID = ("clay", "paper sculpture")
MEDIA: tuple[str, ...] = (*_SHEETS_MM, *_SOLID)
_CUT_MEDIA = ("crayon", "oil pastel", "marker", "colored pencil", "watercolor")
_CUT_SUBJECTS = ("butterfly", "dinosaur", "robot", "snail", "ice cream", "castle", "owl", "snowman")
_NOT_DRAWN = ("stencil", "weaving", *_SOLID)


@dataclass(frozen=True)
class Painted:
    """A finished work. ``picture``: ``(height, width, 3)`` sRGB bytes, the whole sheet edge to edge, or a solid thing
    on nothing.

    ``alpha`` is None for a full rectangular sheet, else a byte mask of the same size (cut out, torn, or solid).
    """

    picture: Bytes
    alpha: Bytes | None
    width_mm: float
    height_mm: float
    subject: str
    solid: bool
    sheet: str


@dataclass(frozen=True)
class Facts:
    """What can be said of a work without painting it: subject, things in it, main colors in everyday words, sheet."""

    subject: str
    things: tuple[str, ...]
    colors: tuple[str, ...]
    sheet: str
    medium: str
    solid: bool


@dataclass(frozen=True)
class _Plan:
    scene: Scene
    clay: ClayPlan | None = None
    shapes: tuple[str, ...] = ()
    cut: bool = False


def paint(
    child: Child,
    *,
    grade: int,
    month: int,
    medium: str,
    subject: str | None = None,
    work_seed: int,
    long_px: int = 1200,
) -> Painted:
    """Paint one work of a child in a grade (0 = K) and month of the school year (0-9);
    refuses an unknown medium or subject with ValueError.
    """
    plan = _plan(child, grade=grade, month=month, medium=medium, subject=subject, work_seed=work_seed)
    hand = Hand(
        child, child.age(grade, month), chance("hand", child.seed, work_seed, medium, plan.scene.subject, grade, month)
    )
    scene = plan.scene
    if medium in _SOLID:
        return _solid(plan, hand, medium, long_px)
    if plan.cut:
        return _cut_out(scene, hand, medium, long_px)
    picture = _flat(plan, hand, medium, long_px)
    alpha = _torn(picture, hand) if medium in ("collage", "mixed media") and hand.rng.random() < 0.05 else None
    return Painted(picture, alpha, scene.width_mm, scene.height_mm, scene.subject, solid=False, sheet=scene.sheet)


def describe(child: Child, *, grade: int, month: int, medium: str, subject: str | None = None, work_seed: int) -> Facts:
    """What the work of the same arguments shows, for titles and reflections; paints nothing."""
    scene = _plan(child, grade=grade, month=month, medium=medium, subject=subject, work_seed=work_seed).scene
    return Facts(
        scene.subject,
        scene.names or (scene.subject,),
        tuple(dict.fromkeys(plain(name) for name in scene.colors)),
        scene.sheet,
        medium,
        medium in _SOLID,
    )


def _plan(child: Child, *, grade: int, month: int, medium: str, subject: str | None, work_seed: int) -> _Plan:
    if medium not in MEDIA:
        raise ValueError(f"no such medium: {medium!r}")
    if subject is not None and subject not in SUBJECTS and medium not in _NOT_DRAWN:
        raise ValueError(f"no such subject: {subject!r}")
    rng = chance("plan", child.seed, work_seed, medium, subject, grade, month)
    age = child.age(grade, month)
    if medium in _NOT_DRAWN:
        return _made_plan(child, Hand(child, age, rng), medium)
    chosen = subject or _chosen(child, medium, age, rng)
    sheet = _sheet(medium, rng)
    long_mm, short_mm = _SHEETS_MM[medium]
    upright = rng.random() < MAKERS[chosen][1]
    w, h = (short_mm, long_mm) if upright else (long_mm, short_mm)
    dark = float(sheet_color(sheet).mean()) < 0.5 and medium in ("chalk", "oil pastel", "tempera", "crayon")
    sketch = Sketch(child, age, w, h, dark, medium, rng, lift=float(rng.uniform(-0.09, 0.07)))
    made = scribble(sketch) if age < 5.0 and rng.random() < 0.35 else MAKERS[chosen][0](sketch)
    if child.border and medium != "print" and rng.random() < 0.4:
        made.append(border(sketch))
    things = tuple(thing for thing in made if thing is not None)
    cut = medium in _CUT_MEDIA and chosen in _CUT_SUBJECTS and age > 5.4 and rng.random() < 0.07
    if cut:
        things = tuple(thing for thing in things if thing.name == chosen)
    scene = Scene(chosen, things, w, h, sheet)
    if medium == "print":
        inks = ("black", "blue", "dark blue", "red", "green", "violet")
        colors = tuple(
            str(c) for c in rng.permutation(np.array(inks))[: 1 if rng.random() < 0.65 else int(rng.integers(2, 4))]
        )
    else:
        colors = _main_colors(scene)
    return _Plan(Scene(chosen, things, w, h, sheet, colors), cut=cut)


def _chosen(child: Child, medium: str, age: float, rng: np.random.Generator) -> str:
    """A subject by the child's lasting interests: the first three weigh 4, the next four 2, the rest 1."""
    order = chance("interests", child.seed).permutation(len(SUBJECTS)).tolist()
    weights = np.ones(len(SUBJECTS))
    weights[order[:3]], weights[order[3:7]] = 4, 2
    for index, subject in enumerate(SUBJECTS):
        if subject in ("landscape", "still life") and age < 7:
            weights[index] *= 0.2
        if medium == "chalk" and subject in ("night", "space", "owl"):
            weights[index] *= 2
        if medium == "print" and subject in ("family", "soccer", "portrait", "city"):
            weights[index] *= 0.2
    return SUBJECTS[int(rng.choice(len(SUBJECTS), p=weights / weights.sum()))]


# medium: (share up to here, sheets to choose from)
_PAPERS: dict[str, tuple[tuple[float, tuple[str, ...]], ...]] = {
    "chalk": ((0.75, ("black",)), (1, ("blue", "violet", "gray"))),
    "collage": ((1, ("sky", "red", "violet", "green", "black", "orange", "white", "pink", "blue")),),
    "print": ((0.6, ("white",)), (1, ("manila", "pink", "sky", "yellow"))),
    "tempera": ((0.72, ("sulphite",)), (0.9, ("manila",)), (1, ("sky", "black", "pink"))),
    "watercolor": ((1, ("watercolor",)),),
    "mixed media": ((1, ("watercolor",)),),
    "crayon": ((0.5, ("white",)), (0.72, ("sulphite",)), (0.94, ("manila",)), (1, ("sky",))),
    "oil pastel": ((0.5, ("white",)), (0.72, ("sulphite",)), (0.94, ("manila",)), (1, ("sky", "black"))),
}


def _sheet(medium: str, rng: np.random.Generator) -> str:
    roll = rng.random()
    sheets = next((names for share, names in _PAPERS.get(medium, ()) if roll <= share), ("white",))
    return sheets[int(rng.integers(len(sheets)))]


def _main_colors(scene: Scene) -> tuple[str, ...]:
    """Color names by the area they fill, largest first, three at most."""
    areas: dict[str, float] = {}
    for thing in scene.things:
        for part in thing.parts:
            name = plain(part.fill or part.line or "black")
            size = (
                sum(float(cv2.contourArea(shape.astype(np.float32))) for shape in part.shapes)
                if part.fill
                else 60.0 * (len(part.paths) + len(part.shapes))
            )
            areas[name] = areas.get(name, 0) + size * (0.4 if thing.ground else 1)
    return tuple(sorted(areas, key=lambda name: -areas[name])[:3])


def _made_plan(child: Child, hand: Hand, medium: str) -> _Plan:
    """Works that are made, not drawn: their subject follows from what they are."""
    rng = hand.rng
    colors = tuple(str(name) for name in rng.permutation(np.array([*child.favorites, *child.favorites, *COLORS])))
    colors = tuple(dict.fromkeys(colors))
    if medium == "clay":
        plan = clay_plan(hand)
        return _Plan(Scene(plan.form, (), 0, 0, plan.body, plan.glaze or ("brown",)), clay=plan)
    if medium == "paper sculpture":
        count = int(rng.integers(2, 4)) if hand.age < 6.5 else int(rng.integers(4, 8))
        return _Plan(Scene("paper sculpture", (), 0, 0, colors[0], (*colors[1:5], *colors[1:5])[:count]))
    long_mm, short_mm = _SHEETS_MM[medium]
    if medium == "weaving":
        return _Plan(
            Scene(
                "weaving",
                (),
                short_mm,
                long_mm,
                "kraft" if hand.age >= weaving.YARN_FROM_AGE else ("black", "white", colors[-1])[int(rng.integers(3))],
                colors[: int(rng.integers(2, 5))],
            )
        )
    shapes = relief.stencil_shapes(rng)
    sheet = ("white", "manila", "sky", "black", "pink")[int(rng.integers(5))]
    inks = tuple(name for name in colors if name != sheet)[: int(rng.integers(2, 4))]
    return _Plan(
        Scene(
            " and ".join({"leaf": "leaves", "fish": "fish"}.get(shape, f"{shape}s") for shape in shapes),
            (),
            long_mm,
            short_mm,
            sheet,
            inks,
        ),
        shapes=shapes,
    )


def _flat(plan: _Plan, hand: Hand, medium: str, long_px: int) -> Bytes:
    scene = plan.scene
    size = (scene.width_mm, scene.height_mm)
    if medium in ("collage", "print"):
        return (collage.work if medium == "collage" else relief.print_)(scene, hand, long_px=long_px)
    if medium == "stencil":
        return relief.stencil(size, hand, sheet=scene.sheet, shapes=plan.shapes, inks=scene.colors, long_px=long_px)
    if medium == "weaving":
        return weaving.weaving(size, hand, colors=scene.colors, sheet=scene.sheet, long_px=long_px)
    return studio.work(scene, hand, medium=medium, long_px=long_px)


def _solid(plan: _Plan, hand: Hand, medium: str, long_px: int) -> Painted:
    scene = plan.scene
    if medium == "paper sculpture":
        seen = strips.sculpture(hand, base=scene.sheet, strips=scene.colors, long_px=long_px)
    else:
        assert plan.clay is not None  # made for every clay work
        seen = (pot if plan.clay.form.endswith("pot") else creature)(plan.clay, hand, long_px=long_px)
    return Painted(
        seen.picture, seen.alpha, seen.width_mm, seen.height_mm, scene.subject, solid=True, sheet=scene.sheet
    )


def _cut_out(scene: Scene, hand: Hand, medium: str, long_px: int) -> Painted:
    """A drawing cut out with scissors a little outside its lines; the picture is its bounding box, ``long_px`` long."""
    whole = studio.work(scene, hand, medium=medium, long_px=long_px)
    scale = long_px / max(scene.width_mm, scene.height_mm)
    paper = np.median(whole.reshape(-1, 3)[::31], axis=0)
    drawn = (np.abs(whole.astype(np.float32) - paper.astype(np.float32)).sum(axis=2) > 60).astype(np.uint8)
    reach = round(3 * scale) * 2 + 1
    grown = cv2.dilate(cv2.medianBlur(drawn, 5), cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (reach, reach)))
    outlines, _ = cv2.findContours(grown, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    facets = cv2.approxPolyDP(max(outlines, key=cv2.contourArea), 1.2 * scale * (1.4 - hand.control), closed=True)
    mask = np.zeros(whole.shape[:2], np.uint8)
    cv2.fillPoly(mask, [facets], 255, cv2.LINE_AA)
    x, y, w, h = cv2.boundingRect(facets)
    x0, y0, x1, y1 = max(0, x - 2), max(0, y - 2), min(whole.shape[1], x + w + 2), min(whole.shape[0], y + h + 2)
    factor = long_px / max(x1 - x0, y1 - y0)
    size = (max(1, round((x1 - x0) * factor)), max(1, round((y1 - y0) * factor)))
    picture, alpha = (
        np.asarray(cv2.resize(part[y0:y1, x0:x1], size, interpolation=cv2.INTER_CUBIC), dtype=np.uint8)
        for part in (whole, mask)
    )
    wide, tall = (x1 - x0) / scale, (y1 - y0) / scale
    return Painted(picture, alpha, wide, tall, scene.subject, solid=False, sheet=scene.sheet)


def _torn(picture: Bytes, hand: Hand) -> Bytes:
    """A sheet with torn edges: its mask."""
    height, width = picture.shape[:2]
    mask = np.zeros((height, width), np.float32)
    inset = max(4, width // 70)
    mask[inset:-inset, inset:-inset] = 1
    soft = cv2.blur(mask, (inset * 2 + 1, inset * 2 + 1)) + smooth_2d(hand.rng, (height, width), cell_px=inset) * 0.25
    return as_bytes(np.asarray(np.clip((soft - 0.4) * 8, 0, 1), dtype=np.float32))
