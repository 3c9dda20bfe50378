"""What the teacher can change so that the next stack comes out better; each thing once a batch, in words to act on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType

from portfolio.model.filing import Hint, PhotoQuality, PrintedScale
from portfolio.model.phrases import listed

FEW = 4
"""Up to so many photos are named by their place; more are counted."""
LIGHT_SHARE = 0.2
"""A table is told to be too light when this share of the photos says so: one pale corner is not the table."""


def batch_hints(
    photos: Sequence[PhotoQuality],
    scale: PrintedScale | None,
    *,
    sizes_corrected: bool = False,
    clocks: Mapping[str, int] = MappingProxyType({}),
) -> tuple[Hint, ...]:
    """The hints of one batch. ``sizes_corrected``: the teacher has let the sizes be corrected by the scale;
    ``clocks``: camera → minutes that were added to its clock.
    """
    clipped = [photo.place for photo in photos if photo.clipped]
    light = [photo.place for photo in photos if photo.table_near_white]
    found = []
    if clipped:
        found.append(Hint("card-too-bright", _too_bright(clipped)))
    if light and len(light) >= LIGHT_SHARE * len(photos):
        found.append(Hint("table-too-light", _too_light(light)))
    if scale is not None:
        code = "card-scale-corrected" if sizes_corrected else "card-scale"
        found.append(Hint(code, _off_scale(scale, sizes_corrected=sizes_corrected)))
    found += [Hint("camera-clock", _off_clock(camera, minutes)) for camera, minutes in clocks.items() if minutes]
    return tuple(found)


def _off_clock(camera: str, minutes: int) -> str:
    way = "slow" if minutes > 0 else "fast"
    return (
        f"The clock of the camera{f' “{camera}”' if camera else ''} is {abs(minutes)} minutes {way}. These photos were "
        "filed by the right time. Set its clock when you can; with class cards in the next photos that is noticed."
    )


def _where(places: Sequence[int]) -> str:
    if len(places) > FEW:
        return f"In {len(places)} photos"
    return f"In photo{'s' if len(places) != 1 else ''} {listed(places)}"


def _too_bright(places: Sequence[int]) -> str:
    them = "them" if len(places) != 1 else "it"
    return (
        f"{_where(places)} the white of the card is too bright, so the colors are left as they were taken. The numbers "
        f"are safe. Take {them} again in less light: away from the window or the lamp, or a step darker on the phone."
    )


def _too_light(places: Sequence[int]) -> str:
    return (
        f"{_where(places)} the table is nearly as white as the paper, so edges are hard to find. What was found stays. "
        "Lay a dark cloth or colored paper under the works next time."
    )


def _off_scale(scale: PrintedScale, *, sizes_corrected: bool) -> str:
    percent = abs(round((1 / scale.scale - 1) * 100))
    way = "large" if scale.scale < 1 else "small"
    told = (
        f"{scale.sheets} of {scale.of} sheets measure {percent} % too {way}, all by the same factor: the number cards "
        f"were probably printed at {round(scale.scale * 100)} % of their size (\u201cfit to page\u201d)."
    )
    about = "Numbers and pictures are right; its sizes are marked \u201cabout\u201d until you let them be corrected."
    done = "The sizes of this batch were corrected as you said." if sizes_corrected else about
    return f"{told} {done} Print the cards again at 100 % and check the 100 mm line on the sheet."
