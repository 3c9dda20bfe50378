"""Relief print and stencil: a block with carved lines, inked and pressed; sponge dabs through a cut shape."""

import cv2
import numpy as np

from portfolio.demo.paint.canvas import Canvas
from portfolio.demo.paint.chance import smooth_2d
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.marks import Scene
from portfolio.demo.paint.palette import color
from portfolio.demo.paint.paper import grain
from portfolio.demo.paint.shape import Bytes, Plane, Points, arc, ellipse, heart, points, star, turned
from portfolio.demo.paint.stage import Stage, drawn

BLOCK = 0.80  # the block's share of the sheet


def print_(scene: Scene, hand: Hand, *, long_px: int) -> Bytes:
    """A relief print, ``(height, width, 3)`` sRGB: the scene's lines are carved and stay paper."""
    canvas = Canvas(scene.sheet, (scene.width_mm, scene.height_mm), long_px=long_px, tooth="fine", rng=hand.rng)
    carved = _carved(scene, canvas, hand)
    size = (canvas.height, canvas.width)
    ink = _pressed(canvas, hand, 1 - carved) * _block(canvas, hand)
    ink += np.clip(cv2.GaussianBlur(ink, (0, 0), 2.2) - 0.30, 0, 1) * (1 - ink) * carved * np.float32(0.05)
    shade = _rolled([color(name, palette="tempera") for name in scene.colors], size, hand)
    for plane, tint in zip(canvas.planes, shade, strict=True):
        np.add(plane, (tint - plane) * ink * np.float32(0.94), out=plane)
    _fingers(canvas, hand, color(scene.colors[0], palette="tempera"))
    return canvas.picture()


def _carved(scene: Scene, canvas: Canvas, hand: Hand) -> Plane:
    """Where the tool took the block away, 0-1; drawn at full sheet and shrunk onto the block."""
    width_mm, gap_mm = float(hand.rng.uniform(2.0, 3.0)), float(hand.rng.uniform(10, 16))
    made: Plane = np.zeros((canvas.height, canvas.width), np.float32)
    for placed in Stage(drawn(scene, hand), canvas, hand, halo_mm=2.5, opaque=False):
        part, ground = placed.part, placed.thing.ground
        strokes = [stroke for shape in part.shapes for stroke in hand.outline(shape)] if not ground else []
        strokes += [stroke for path in part.paths for stroke in hand.line(path)]
        if ground and part.shapes:
            rows = [
                row
                for shape in part.shapes
                for row in hand.coloring(shape, width_mm=gap_mm, angle=part.angle, twice=False)
            ]
            covers = [canvas.rows(rows, width_mm * 0.7)]
        else:
            covers = [canvas.strokes(strokes, width_mm)]
        for cover in covers:
            if cover is not None:
                shown = placed.shown(cover.area)
                cut = np.clip(cover.amount * 2.4 - 0.5, 0, 1) * (1 if shown is None else shown)
                made[cover.area] = np.maximum(made[cover.area], cut)
    turn = cv2.getRotationMatrix2D((canvas.width / 2, canvas.height / 2), 0, BLOCK)
    return np.asarray(cv2.warpAffine(made, turn, (canvas.width, canvas.height), flags=cv2.INTER_AREA), dtype=np.float32)


def _block(canvas: Canvas, hand: Hand) -> Plane:
    mask = np.zeros((canvas.height, canvas.width), np.float32)
    x, y, w, h = canvas.width / 2, canvas.height / 2, canvas.width * BLOCK / 2, canvas.height * BLOCK / 2
    corners = points((x - w, y - h), (x + w, y - h), (x + w, y + h), (x - w, y + h)) + hand.rng.normal(
        0, canvas.width * 0.004, (4, 2)
    )
    cv2.fillPoly(
        mask,
        [np.asarray(turned(corners, float(hand.rng.normal(0, 0.9)), about=(x, y)) * 16, dtype=np.int32)],
        1.0,
        cv2.LINE_AA,
        4,
    )
    return mask


def _pressed(canvas: Canvas, hand: Hand, block: Plane) -> Plane:
    """Ink that reached the paper: mottled, thin where the hand pressed less, darker at rims."""
    size = (canvas.height, canvas.width)
    mottle = grain("mottle", size, rng=hand.rng).astype(np.float32) * np.float32(1 / 255)
    press = smooth_2d(hand.rng, size, cell_px=size[1] / 3) * np.float32(0.22) + np.float32(0.96 + 0.12 * hand.control)
    ink = np.clip(
        (press - mottle * np.float32(0.62) - canvas.tooth.astype(np.float32) * np.float32(0.30 / 255)) * 4.5, 0, 1
    )
    rim = np.clip(block - cv2.blur(block, (9, 9)), 0, 1)
    return np.asarray(np.clip(block * (ink * 0.94 + rim), 0, 1), dtype=np.float32)


def _rolled(colors: list[Points], size: tuple[int, int], hand: Hand) -> list[Plane]:
    """The ink on the block: one color, or several rolled side by side that blend."""
    height, width = size
    across = np.linspace(0, len(colors) - 1, height, dtype=np.float32)[:, None] + smooth_2d(
        hand.rng, size, cell_px=width / 2
    ) * np.float32(0.12)
    shades: list[Plane] = []
    for channel in range(3):
        knots = [float(rgb[channel]) for rgb in colors]
        shades.append(np.interp(np.clip(across, 0, len(colors) - 1), np.arange(len(colors)), knots).astype(np.float32))
    return shades


def _fingers(canvas: Canvas, hand: Hand, rgb: Points) -> None:
    for _ in range(int(hand.rng.integers(0, 3))):
        place = (
            np.array([hand.rng.uniform(0.03, 0.97) * canvas.width, hand.rng.choice([0.04, 0.96]) * canvas.height])
            / canvas.scale
        )
        cover = canvas.shape_cover(
            [ellipse(float(place[0]), float(place[1]), 6, 8, turn=float(hand.rng.uniform(-30, 30)))], 4
        )
        if cover is not None:
            ridges = canvas.tooth[cover.area].astype(np.float32) / 255
            canvas.glaze(
                cover.area,
                np.asarray(cv2.blur(cover.amount, (7, 7)) * (ridges > 0.5) * np.float32(0.16), dtype=np.float32),
                rgb,
                opacity=0.8,
            )


def stencil_shapes(rng: np.random.Generator) -> tuple[str, ...]:
    """The one or two shapes that were cut out of card."""
    return tuple(
        str(name)
        for name in rng.permutation(np.array(["heart", "star", "leaf", "fish", "moon", "drop"]))[
            : int(rng.integers(1, 3))
        ]
    )


def _shape(name: str, x: float, y: float, r: float, turn: float) -> Points:
    if name == "heart":
        return heart(x, y, r * 1.9, turn=turn)
    if name == "star":
        return star(x, y, r, turn=turn)
    if name == "moon":
        outer, inner = arc(x, y, r, r, start=60, end=300), arc(x + r * 0.45, y, r * 0.75, r * 0.75, start=285, end=75)
        return turned(np.concatenate([outer, inner]), turn, about=(x, y))
    if name == "drop":
        t = np.linspace(0, 2 * np.pi, 30, endpoint=False)
        return turned(
            np.stack([x + r * 0.62 * np.sin(t) * np.sin(t / 2), y - r * np.cos(t) * 0.95], axis=1),
            turn + 180,
            about=(x, y),
        )
    if name == "fish":
        tail = points((x - r * 0.6, y), (x - r, y - r * 0.5), (x - r, y + r * 0.5))
        return turned(
            np.concatenate([ellipse(x + r * 0.15, y, r * 0.8, r * 0.45, start=182), tail]), turn, about=(x, y)
        )
    half = arc(x, y, r * 0.42, r, start=-90, end=90)
    return turned(np.concatenate([half, np.stack([2 * x - half[:, 0], half[:, 1]], axis=1)[::-1]]), turn, about=(x, y))


def stencil(
    size_mm: tuple[float, float],
    hand: Hand,
    *,
    sheet: str,
    shapes: tuple[str, ...],
    inks: tuple[str, ...],
    long_px: int,
) -> Bytes:
    """Stencil work, ``(height, width, 3)`` sRGB: shapes turned and repeated, dabbed with a sponge."""
    canvas = Canvas(sheet, size_mm, long_px=long_px, tooth="tooth", rng=hand.rng)
    rng = hand.rng
    u = min(size_mm) / 100
    across = max(3, round(size_mm[0] / (u * 25)))
    down = max(3, round(size_mm[1] / (u * 25)))
    for i in range(across):
        for j in range(down):
            if rng.random() < 0.05 + 0.1 * (1 - hand.control):
                continue
            loose = 1.4 - hand.control
            x = size_mm[0] * (i + 0.5 + rng.normal(0, 0.12 * loose)) / across
            y = size_mm[1] * (j + 0.5 + rng.normal(0, 0.12 * loose)) / down
            shape = _shape(
                shapes[(i + j) % len(shapes)],
                x,
                y,
                u * 12 * float(rng.uniform(0.92, 1.05)),
                float(rng.normal(0, 12 * loose)),
            )
            _dab(
                canvas,
                hand,
                shape,
                [
                    color(name, palette="tempera")
                    for name in rng.permutation(np.array(inks)).tolist()[: 1 + int(rng.random() < 0.7)]
                ],
            )
    return canvas.picture()


def _dab(canvas: Canvas, hand: Hand, shape: Points, inks: list[Points]) -> None:
    cover = canvas.shape_cover([shape], 5)
    if cover is None:
        return
    rng, size = hand.rng, (cover.amount.shape[0], cover.amount.shape[1])
    bleed = cv2.GaussianBlur(cover.amount, (0, 0), 1.6) * np.float32(0.35) * (smooth_2d(rng, size, cell_px=20) > 0.25)
    window = np.maximum(cover.amount, bleed)
    for index, rgb in enumerate(inks):
        mottle = grain("mottle", size, rng=rng).astype(np.float32) / 255
        press = smooth_2d(rng, size, cell_px=max(8, size[1] / 2.2)) * np.float32(0.5) + np.float32(
            0.82 if index == 0 else 0.42
        )
        amount = np.clip((press - mottle * np.float32(0.75)) * 5, 0, 1) * window
        canvas.glaze(
            cover.area,
            np.asarray(amount * np.float32(0.93), dtype=np.float32),
            np.clip(rgb * (1 + rng.normal(0, 0.03, 3)), 0, 1),
            opacity=0.95,
        )
