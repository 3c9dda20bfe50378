"""Who stands before whom: one map of the sheet that says which part is in front, and from it what of each mark may
show.

Until about eight a child lets things show through each other; older children stop at the edge of what is nearer. Sky,
grass and
water are colored around everything.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import cv2
import numpy as np
import numpy.typing as npt

from portfolio.demo.paint.canvas import Area, Canvas, Clip
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.marks import Part, Scene, Thing
from portfolio.demo.paint.shape import Bytes, Plane


@dataclass(frozen=True)
class Placed:
    """A part in the order of drawing with its thing and what of it may show."""

    part: Part
    thing: Thing
    shown: Clip


def drawn(scene: Scene, hand: Hand) -> Scene:
    """The scene with every shape as the hand makes it."""
    things = [
        replace(
            thing,
            parts=tuple(
                replace(part, shapes=tuple(part.shapes if thing.ground else (hand.contour(s) for s in part.shapes)))
                for part in thing.parts
            ),
        )
        for thing in scene.things
    ]
    return replace(scene, things=tuple(things))


def nothing_hidden(_area: Area) -> Plane | None:
    """Everything may show."""
    return None


class Stage:
    """The map of what is in front, for one drawn scene. ``halo_mm`` below zero:
    grounds are painted up to and under the things.
    """

    def __init__(self, scene: Scene, canvas: Canvas, hand: Hand, *, halo_mm: float, opaque: bool) -> None:
        self._scene, self._opaque = scene, opaque
        self._between, self._inside = hand.age >= 8.0, hand.age >= 7.4
        self._front = np.full((canvas.height, canvas.width), -1, np.int16)
        self._kept = np.full((canvas.height, canvas.width), -1, np.int16)  # white shapes: left free at every age
        index = 0
        things: Bytes = np.zeros((canvas.height, canvas.width), np.uint8)
        for thing in scene.things:
            for part in thing.parts:
                if part.hides:
                    pixels = [canvas.pixels(shape) for shape in part.shapes]
                    for shape in pixels:
                        cv2.fillPoly(self._front, [shape], index, cv2.LINE_8, 4)
                        if part.fill == "white" and not thing.ground:
                            cv2.fillPoly(self._kept, [shape], index, cv2.LINE_8, 4)
                        cv2.fillPoly(things, [shape], 0 if thing.ground else 255, cv2.LINE_8, 4)
                index += 1
        self._things = _grown(things, halo_mm * canvas.scale)

    def __iter__(self) -> Iterator[Placed]:
        index = 0
        for thing in self._scene.things:
            last = index + len(thing.parts) - 1
            for part in thing.parts:
                yield Placed(part, thing, self._clip(index, last, ground=thing.ground))
                index += 1

    def _clip(self, index: int, last: int, *, ground: bool) -> Clip:
        if ground:
            return self._around
        if self._opaque:
            return nothing_hidden
        if not self._inside:
            return lambda area: self._behind(self._kept[area], index, last)
        return lambda area: self._behind(self._front[area], index, last)

    def _around(self, area: Area) -> Plane:
        return np.asarray(1 - self._things[area].astype(np.float32) * np.float32(1 / 255), dtype=np.float32)

    def _behind(self, front: npt.NDArray[np.int16], index: int, last: int) -> Plane | None:
        hidden = front > index
        if not self._between:
            hidden &= front <= last
        if not hidden.any():
            return None
        return np.asarray(1 - cv2.blur(hidden.astype(np.float32), (3, 3)), dtype=np.float32)


def _grown(mask: Bytes, by_px: float) -> Bytes:
    reach = round(abs(by_px))
    if reach:
        disk = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
        mask = np.asarray(cv2.dilate(mask, disk) if by_px > 0 else cv2.erode(mask, disk), dtype=np.uint8)
    return np.asarray(cv2.blur(mask, (3, 3)), dtype=np.uint8)
