"""What was seen, drawn over the photo: cards, outline, the crop's state, the size."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import Final

from PIL import Image, ImageDraw, ImageFont

from portfolio.model.assets import asset
from portfolio.model.cards import CardSeen, CardStatus, Polygon
from portfolio.model.photo import PhotoSeen
from portfolio.reading import open_photo

_LONG_PX: Final = 1600
_CARD, _OUTLINE, _PLATE = (0, 110, 190), (200, 40, 60), (255, 255, 255)


def draw_seen(seen: PhotoSeen, photo: Path) -> bytes:
    """A PNG of the photo with what was seen. A whole line is sure, a dashed line is to check."""
    picture = open_photo(photo, file=seen.file)
    shrink = picture.shrink_for(_LONG_PX)
    page = Image.fromarray(picture.rgb(shrink))
    pen = _Pen(ImageDraw.Draw(page), shrink, max(2, max(page.size) // 500))
    for card in seen.reading.cards:
        pen.card(card)
    made = seen.straightened
    if made and made.crop:
        pen.polygon(made.crop.outline_px, _OUTLINE, dashed=not made.crop.sure)
        if made.size:
            sheet = f" · {made.size.sheet}" if made.size.sheet else ""
            about = "about " if made.size.about else ""
            text = f"{about}{made.size.width_mm:.0f} × {made.size.height_mm:.0f} mm{sheet}"
            pen.words(made.crop.outline_px[0], text, _OUTLINE)
    out = BytesIO()
    page.save(out, "PNG")
    return out.getvalue()


class _Pen:
    """Draws in pixels of the full photo onto a shrunk copy."""

    def __init__(self, draw: ImageDraw.ImageDraw, shrink: int, width_px: int) -> None:
        self._draw, self._shrink, self._width_px = draw, shrink, width_px
        self._font = ImageFont.truetype(str(asset("print", "fonts", "Besley-SemiBold.ttf")), 12 * width_px)

    def card(self, card: CardSeen) -> None:
        """Both tags of a card and what it says."""
        tags = [tag for tag in (card.left_px, card.right_px) if tag]
        for tag in tags:
            self.polygon(tag, _CARD, dashed=card.status is not CardStatus.SURE)
        if tags:
            mark = "" if card.status is CardStatus.SURE else " ?"
            self.words(tags[0][0], f"{card.value}{mark}", _CARD)

    def polygon(self, points: Polygon, color: tuple[int, int, int], *, dashed: bool) -> None:
        """A closed line through ``points``."""
        scaled = [self._scaled(point) for point in points]
        for start, end in zip(scaled, scaled[1:] + scaled[:1], strict=True):
            self._line(start, end, color, dashed=dashed)

    def words(self, at: tuple[float, float], text: str, color: tuple[int, int, int]) -> None:
        """``text`` on a white plate, so that it can be read on any picture."""
        x, y = self._scaled(at)
        box = self._draw.textbbox((x, y), text, font=self._font, anchor="lb")
        self._draw.rectangle((box[0] - 4, box[1] - 4, box[2] + 4, box[3] + 4), fill=_PLATE)
        self._draw.text((x, y), text, font=self._font, fill=color, anchor="lb")

    def _scaled(self, point: tuple[float, float]) -> tuple[float, float]:
        return (point[0] + 0.5) / self._shrink - 0.5, (point[1] + 0.5) / self._shrink - 0.5

    def _line(
        self, start: tuple[float, float], end: tuple[float, float], color: tuple[int, int, int], *, dashed: bool
    ) -> None:
        dash_px = 10 * self._width_px
        length = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
        count = max(1, round(length / dash_px)) if dashed else 1
        for index in range(0, count, 2):
            a, b = index / count, min(1.0, (index + 1) / count)
            ends = [(start[0] + (end[0] - start[0]) * t, start[1] + (end[1] - start[1]) * t) for t in (a, b)]
            self._draw.line([*ends[0], *ends[1]], fill=color, width=self._width_px)
