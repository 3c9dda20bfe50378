"""What the file says about itself: when, with which camera, how turned, in which color space.

Pillow finds the EXIF block and says the turn; ``exifread`` reads only that block. Given a whole file, exifread 3.5
did not end on a 160 kB JPEG with a huge MakerNote count (ianare/exif-py#182) and raises on ordinary HEIC (#139);
on a HEIC it also reports a turn that the decoder has already made.
"""

from __future__ import annotations

import contextlib
import logging
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO
from typing import Final, TypeVar

import exifread
from PIL import Image, ImageCms

from portfolio.model.photo import PhotoFacts, Taken, TakenSource

MAX_BLOCK_BYTES: Final = 256 * 1024
"""An EXIF block in a JPEG cannot pass 64 kB; anything above this is not read."""

_ORIENTATION, _EXIF_IFD, _INTEROP_IFD, _INTEROP_INDEX = 0x0112, 0x8769, 0xA005, 1

# Our word → (exifread's key, tag number); tags of the EXIF part unless the key begins with "Image".
_TAGS: Final = {
    "make": ("Image Make", 0x010F),
    "model": ("Image Model", 0x0110),
    "original": ("EXIF DateTimeOriginal", 0x9003),
    "original part": ("EXIF SubSecTimeOriginal", 0x9291),
    "original offset": ("EXIF OffsetTimeOriginal", 0x9011),
    "digitized": ("EXIF DateTimeDigitized", 0x9004),
    "digitized part": ("EXIF SubSecTimeDigitized", 0x9292),
    "digitized offset": ("EXIF OffsetTimeDigitized", 0x9012),
    "focal": ("EXIF FocalLengthIn35mmFilm", 0xA405),
    "zoom": ("EXIF DigitalZoomRatio", 0xA404),
    "width": ("EXIF ExifImageWidth", 0xA002),
    "height": ("EXIF ExifImageLength", 0xA003),
}
_TIME = re.compile(r"(\d{4})[:\-/](\d\d)[:\-/](\d\d)[ T](\d\d):(\d\d):(\d\d)")
_OFFSET = re.compile(r"([+-])(\d\d):?(\d\d)")
# Pillow turns a TIFF while it loads it, so its pixels arrive upright like those of a HEIC.
_TURNED_BY_READER: Final = frozenset({"TIFF", "HEIF"})

Result = TypeVar("Result")

logging.getLogger("exifread").setLevel(logging.CRITICAL)


@dataclass(frozen=True, slots=True)
class Told:
    """What an opened, not yet decoded picture says. ``turn``: orientation still to be applied to its pixels."""

    facts: PhotoFacts
    turn: int
    icc: bytes | None
    adobe_rgb: bool


def describe(image: Image.Image) -> Told:
    """Read the description of an opened picture. A broken description costs its facts, never the photo."""
    format_word = image.format or ""
    orientation = _attempt(lambda: _orientation(image), 1)
    turn = 1 if format_word in _TURNED_BY_READER else orientation
    icc = _rgb_profile(image.info.get("icc_profile"))
    adobe = icc is None and _attempt(lambda: _is_adobe_rgb(image), otherwise=False)
    tags = _tags(image)
    width, height = image.size if turn < 5 else (image.height, image.width)
    facts = PhotoFacts(
        format=format_word,
        width_px=width,
        height_px=height,
        orientation=orientation,
        taken=_taken(tags),
        camera=_camera(tags),
        focal_35mm=_attempt(lambda: _focal(tags, image.size), None),
        profile="Adobe RGB" if adobe else _profile_name(icc),
        notes=_notes(image),
    )
    return Told(facts, turn, icc, adobe)


def _attempt(read: Callable[[], Result], otherwise: Result) -> Result:
    try:
        return read()
    except Exception:  # noqa: BLE001 - descriptions are hostile input; both readers raise almost anything on them
        return otherwise


def _orientation(image: Image.Image) -> int:
    value = image.getexif().get(_ORIENTATION, 1)
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _is_adobe_rgb(image: Image.Image) -> bool:
    """DCF marks an Adobe RGB photo without a profile by the interoperability index "R03" (from memory of DCF 2.0)."""
    return str(image.getexif().get_ifd(_INTEROP_IFD).get(_INTEROP_INDEX, "")).startswith("R03")


def _tags(image: Image.Image) -> Mapping[str, str]:
    """The few tags used here as plain text: exifread's view of Pillow's block, Pillow's own where that is silent."""
    silent: dict[str, str] = {}
    by_pillow = _attempt(lambda: _tags_by_pillow(image), silent)
    return {**by_pillow, **_attempt(lambda: _tags_by_exifread(image), silent)}


def _tags_by_exifread(image: Image.Image) -> dict[str, str]:
    block = image.info.get("exif")
    if not isinstance(block, bytes) or len(block) > MAX_BLOCK_BYTES:
        return {}
    block = block.removeprefix(b"Exif\0\0")
    found = exifread.process_file(BytesIO(block), details=False)
    texts = {word: _clean(str(found[key])) for word, (key, _) in _TAGS.items() if key in found}
    return {word: text for word, text in texts.items() if text}


def _tags_by_pillow(image: Image.Image) -> dict[str, str]:
    exif = image.getexif()
    inner = exif.get_ifd(_EXIF_IFD)
    texts = {}
    for word, (key, number) in _TAGS.items():
        value = exif.get(number) if key.startswith("Image") else inner.get(number)
        with contextlib.suppress(ValueError, ArithmeticError):
            texts[word] = _clean(str(value)) if value is not None else ""
    return {word: text for word, text in texts.items() if text}


def _clean(text: str) -> str:
    """Printable characters only, at most 64 of them: these words reach screens and sentences."""
    return " ".join("".join(char if char.isprintable() else " " for char in text[:200]).split())[:64]


def _taken(tags: Mapping[str, str]) -> Taken | None:
    for word, source in (
        ("original", TakenSource.ORIGINAL),
        ("digitized", TakenSource.DIGITIZED),
    ):
        local = _local_time(tags.get(word, ""), tags.get(f"{word} part", ""))
        if local is not None:
            return Taken(local, source, _offset_minutes(tags.get(f"{word} offset", "")))
    return None


def _local_time(text: str, part: str) -> datetime | None:
    """Camera wall time; ``part`` is the fraction of a second as digits. ``None`` for blank or impossible times."""
    match = _TIME.match(text)
    if match is None:
        return None
    digits = re.match(r"\d*", part)
    fraction = digits.group()[:6].ljust(6, "0") if digits else "0"
    try:
        local = datetime.strptime("".join(match.groups()), "%Y%m%d%H%M%S")  # noqa: DTZ007 - a camera's wall clock
        return local.replace(microsecond=int(fraction))
    except ValueError:
        return None


def _offset_minutes(text: str) -> int | None:
    match = _OFFSET.match(text)
    if match is None:
        return None
    minutes = int(match[2]) * 60 + int(match[3])
    return -minutes if match[1] == "-" else minutes


def _camera(tags: Mapping[str, str]) -> str | None:
    make, model = tags.get("make", ""), tags.get("model", "")
    return (model if model.lower().startswith(make.lower()) else f"{make} {model}").strip() or None


def _focal(tags: Mapping[str, str], size: tuple[int, int]) -> float | None:
    """35 mm equivalent, or ``None`` when absent, implausible, zoomed digitally, or the picture was cropped later."""
    focal = _number(tags.get("focal"))
    if focal is None or not 8 <= focal <= 200 or (_number(tags.get("zoom")) or 1.0) > 1.0:
        return None
    described = [side for side in (_number(tags.get("width")), _number(tags.get("height"))) if side]
    if len(described) == 2:
        same_shape = abs((max(described) / min(described)) / (max(size) / min(size)) - 1) <= 0.01
        if not same_shape or max(size) < 0.45 * max(described):
            return None
    return focal


def _number(text: str | None) -> float | None:
    match = re.search(r"(\d+(?:\.\d+)?)(?:/(\d+))?", text or "")
    if match is None or match[2] == "0":
        return None
    return float(match[1]) / float(match[2] or 1)


def _rgb_profile(icc: object) -> bytes | None:
    """An RGB profile as bytes; profiles of other color spaces are used up (CMYK) or ignored (gray) while decoding."""
    return icc if isinstance(icc, bytes) and len(icc) > 128 and icc[16:20] == b"RGB " else None


def _profile_name(icc: bytes | None) -> str | None:
    if icc is None:
        return None
    profile = _attempt(lambda: ImageCms.ImageCmsProfile(BytesIO(icc)), None)
    return _attempt(lambda: _clean(ImageCms.getProfileDescription(profile)), "") or None if profile else None


def _notes(image: Image.Image) -> tuple[str, ...]:
    frames = _attempt(lambda: int(getattr(image, "n_frames", 1)), 1)
    return (f"first of {frames} pictures in the file",) if frames > 1 else ()
