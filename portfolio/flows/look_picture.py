"""What was seen, drawn over the photo: the picture a teacher sends when asking for help.

Cards with their tags and gray patches, the work's edge with its measures; below, in words, what that means, beside the
work as it was cut out. A whole line is sure, a dashed line is to check.
"""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

from portfolio.cards.geometry import CARD, PATCH_INSET_MM, PATCHES, Rect, Side, tag_corners
from portfolio.model.assets import asset
from portfolio.model.cards import CardSeen, CardStatus, Polygon
from portfolio.model.photo import PhotoSeen, SizeMm, Straightened
from portfolio.reading import open_photo

_LONG_PX: Final = 1600
_CROP_PX: Final = 300
_CARD, _OUTLINE, _INK = (0, 96, 176), (196, 30, 58), (32, 32, 36)
_PLATE, _PAGE = (255, 255, 255), (250, 249, 246)

Color = tuple[int, int, int]
Place = tuple[float, float]


def draw_seen(seen: PhotoSeen, photo: Path) -> bytes:
    """A PNG of the photo with what was seen, and a strip of words below it."""
    picture = open_photo(photo, file=seen.file)
    shrink = picture.shrink_for(_LONG_PX)
    shown = Image.fromarray(picture.rgb(shrink))
    pen = _Pen(ImageDraw.Draw(shown), shrink, max(2, max(shown.size) // 500))
    for each in seen.each:
        _draw_edge(pen, each)
    for card in {card for each in seen.each for card in each.reading.cards}:
        _draw_card(pen, card)
    out = BytesIO()
    _with_words(shown, words_of(seen), seen.straightened).save(out, "PNG")
    return out.getvalue()


def words_of(seen: PhotoSeen) -> list[str]:
    """What was seen, one line for each thing; for each of several works in turn."""
    if seen.works:
        return [line for each in seen.each for line in words_of(each)]
    reading, made = seen.reading, seen.straightened
    lines = [f"{card.kind.value.capitalize()} card {card.value}: {_state(card)}" for card in reading.cards]
    lines = lines or ["No card can be seen"]
    if made and made.crop:
        said = "clear, cropped without asking" if made.crop.sure else f"to check ({made.crop.why or 'it is not clear'})"
        lines.append(f"Edge of the work: {said}")
    else:
        lines.append("Edge of the work: not found, the photo is shown as it was taken")
    if made and made.size:
        lines.append(f"Size: {_size_words(made.size)}")
    if made and made.color:
        said = "too bright to correct, take it again" if made.color.clipped else "corrected by the card's grays"
        lines.append(f"Color: {said}")
        if made.color.table_near_white:
            lines.append("The table is nearly as white as paper: a darker cloth shows edges better")
    return lines + ([reading.problem.sentence] if reading.problem else [])


def _state(card: CardSeen) -> str:
    return "read surely" if card.status is CardStatus.SURE else f"to check ({card.why or card.status.value})"


def _size_words(size: SizeMm) -> str:
    about, sheet = "about " if size.about else "", f", {size.sheet}" if size.sheet else ""
    return f"{about}{size.width_mm:.0f} × {size.height_mm:.0f} mm{sheet}"


def _draw_edge(pen: _Pen, seen: PhotoSeen) -> None:
    """The edge of a work; of a sheet with its measures."""
    made = seen.straightened
    if made is None or made.crop is None:
        return
    pen.polygon(made.crop.outline_px, _OUTLINE, dashed=not made.crop.sure)
    if made.size and made.crop.shape == "sheet":
        _draw_measures(pen, made.crop.outline_px, made.size)


def _draw_card(pen: _Pen, card: CardSeen) -> None:
    """Its edge, its tags and the gray patches as far as they can be told, and what it says."""
    dashed = card.status is not CardStatus.SURE
    to_px = _card_to_px(card)
    if to_px is not None:
        pen.polygon(_carried(CARD, to_px), _CARD, dashed=dashed)
        for patch in PATCHES:
            pen.polygon(_carried(patch.inset(PATCH_INSET_MM), to_px), _CARD, dashed=False, thin=True)
    tags = [tag for tag in (card.left_px, card.right_px) if tag]
    for tag in tags:
        pen.polygon(tag, _CARD, dashed=dashed, thin=to_px is not None)
    if tags:
        corners = _carried(CARD, to_px) if to_px is not None else tags[0]
        word = "" if card.kind.value == "number" else f"{card.kind.value} "
        pen.words(_top_of(corners), f"{word}{card.value}{' ?' if dashed else ''}", _CARD)


def _card_to_px(card: CardSeen) -> NDArray[np.float64] | None:
    """From millimeters on the card to the photo; only both tags tell it well enough to draw."""
    if card.left_px is None or card.right_px is None:
        return None
    card_mm = np.array([*tag_corners(Side.LEFT), *tag_corners(Side.RIGHT)], np.float64)
    found, _ = cv2.findHomography(card_mm, np.array([*card.left_px, *card.right_px], np.float64), 0)
    return None if found is None else np.asarray(found, np.float64)


def _carried(rect: Rect, to_px: NDArray[np.float64]) -> Polygon:
    ends = cv2.perspectiveTransform(np.array([rect.corners], np.float64), to_px)[0]
    return tuple((float(x), float(y)) for x, y in ends)


def _top_of(corners: Polygon) -> Place:
    """Above the polygon, at its left."""
    return min(x for x, _ in corners), min(y for _, y in corners)


def _draw_measures(pen: _Pen, outline: Polygon, size: SizeMm) -> None:
    """The two lengths, each in the middle of a side of that length: the longer on the longer side."""
    sides = [(outline[i], outline[(i + 1) % len(outline)]) for i in range(2)]
    lengths = [((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5 for a, b in sides]
    millimeters = sorted((size.width_mm, size.height_mm), reverse=lengths[0] >= lengths[1])
    for (a, b), length in zip(sides, millimeters, strict=True):
        pen.words(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), f"{length:.0f} mm", _OUTLINE, anchor="mm")


def _with_words(shown: Image.Image, lines: list[str], made: Straightened | None) -> Image.Image:
    """The photo on a page, the words below it, and the work as it was cut out at the right."""
    crop = _crop_picture(made)
    size = max(16, shown.width // 55)
    font = ImageFont.truetype(str(asset("print", "fonts", "Besley-SemiBold.ttf")), size)
    room = shown.width - 3 * size - (crop.width + size if crop else 0)
    folded = [part for line in lines for part in _folded(line, font, room)]
    strip = max(int(1.5 * size) * len(folded), crop.height if crop else 0) + 2 * size
    page = Image.new("RGB", (shown.width, shown.height + strip), _PAGE)
    page.paste(shown)
    draw = ImageDraw.Draw(page)
    for index, line in enumerate(folded):
        draw.text((size, shown.height + size + int(1.5 * size) * index), line, font=font, fill=_INK)
    if crop:
        page.paste(crop, (shown.width - size - crop.width, shown.height + size))
    return page


def _crop_picture(made: Straightened | None) -> Image.Image | None:
    """The smallest picture of the work, when it was cropped without asking."""
    if made is None or made.crop is None or not made.crop.sure or not made.derivatives:
        return None
    smallest = min(made.derivatives, key=lambda one: one.long_side_px)
    picture = Image.open(BytesIO(smallest.jpeg)).convert("RGB")
    picture.thumbnail((_CROP_PX, _CROP_PX))
    return picture


def _folded(line: str, font: ImageFont.FreeTypeFont, room_px: float) -> list[str]:
    """The line broken at spaces so that it fits."""
    parts, now = [], ""
    for word in line.split(" "):
        longer = f"{now} {word}".strip()
        if now and font.getlength(longer) > room_px:
            parts.append(now)
            now = f"   {word}"
        else:
            now = longer
    return [*parts, now]


class _Pen:
    """Draws in pixels of the full photo onto a shrunk copy."""

    def __init__(self, draw: ImageDraw.ImageDraw, shrink: int, width_px: int) -> None:
        self._draw, self._shrink, self._width_px = draw, shrink, width_px
        self._font = ImageFont.truetype(str(asset("print", "fonts", "Besley-SemiBold.ttf")), 10 * width_px)

    def polygon(self, points: Polygon, color: Color, *, dashed: bool, thin: bool = False) -> None:
        """A closed line through ``points``."""
        scaled = [self._scaled(point) for point in points]
        width = max(1, self._width_px // 2) if thin else self._width_px
        for start, end in zip(scaled, scaled[1:] + scaled[:1], strict=True):
            self._line(start, end, color, dashed=dashed, width=width)

    def words(self, at: Place, text: str, color: Color, *, anchor: str = "lb") -> None:
        """``text`` on a white plate, wholly in the picture, so that it can be read on any photo."""
        x, y = self._scaled(at)
        left, top, right, bottom = self._draw.textbbox((x, y), text, font=self._font, anchor=anchor)
        pad = 2 * self._width_px
        wide, high = self._draw.im.size
        x += max(0, pad - left) - max(0, right + pad - wide)
        y += max(0, pad - top) - max(0, bottom + pad - high)
        left, top, right, bottom = self._draw.textbbox((x, y), text, font=self._font, anchor=anchor)
        self._draw.rectangle((left - pad, top - pad, right + pad, bottom + pad), fill=_PLATE, outline=color)
        self._draw.text((x, y), text, font=self._font, fill=color, anchor=anchor)

    def _scaled(self, point: Place) -> Place:
        return (point[0] + 0.5) / self._shrink - 0.5, (point[1] + 0.5) / self._shrink - 0.5

    def _line(self, start: Place, end: Place, color: Color, *, dashed: bool, width: int) -> None:
        dash_px = 8 * self._width_px
        length = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
        count = max(1, round(length / dash_px)) if dashed else 1
        for index in range(0, count, 2):
            a, b = index / count, min(1.0, (index + 1) / count)
            ends = [(start[0] + (end[0] - start[0]) * t, start[1] + (end[1] - start[1]) * t) for t in (a, b)]
            self._draw.line([*ends[0], *ends[1]], fill=color, width=width)
