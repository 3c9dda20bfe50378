"""Open one photo safely: fixed list of readers, size limits before any decoding, repairs of odd color modes.

Traps kept out here (each measured in 2026 with Pillow 13):

* ``Image.open`` tries every plug-in unless told which; here the first bytes choose one.
* ``draft`` rewrites ``im.size``: the pixel limit is checked before it.
* 16-bit gray clips to white in ``convert("RGB")``: it is scaled first (python-pillow/Pillow#2574).
* Alpha is dropped by ``convert``: it is laid on white first.
* The upright turn comes only from Pillow; a HEIC is upright already when it is opened.
"""

from __future__ import annotations

import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from io import BytesIO
from pathlib import Path
from typing import Final

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageFile, UnidentifiedImageError

from portfolio.errors import PortfolioError, Problem
from portfolio.model.photo import PhotoFacts
from portfolio.reading.exif import describe
from portfolio.reading.jpeg import frame_of
from portfolio.reading.modes import eight_bit
from portfolio.reading.sniff import HEAD_BYTES, sniff
from portfolio.reading.stand_in import StandIn, fits, stand_in_from
from portfolio.reading.upright import BACK, upright

Pixels = NDArray[np.uint8]

MAX_BYTES: Final = 400_000_000
"""A photo file may weigh this much; more is refused before it is read into memory."""

MAX_MEGAPIXELS: Final = {"JPEG": 250, "MPO": 250, "HEIF": 210}
"""Per kind; a progressive JPEG and every other kind: :data:`MAX_OTHER_MEGAPIXELS`. Memory measured, see module."""

MAX_OTHER_MEGAPIXELS: Final = 100

# One process, one policy: Pillow's own guard stays on at our largest limit (it raises at twice this figure).
Image.MAX_IMAGE_PIXELS = 250_000_000

try:
    from pillow_heif import register_heif_opener
except ImportError:  # the extra "heic" is not installed
    HAS_HEIC = False
else:
    register_heif_opener()
    HAS_HEIC = True

_WHOLE_SHARE = 0.995
_KEEP_WHOLE_PX = 60_000_000
_tolerant_lock = threading.Lock()


class PhotoRefused(PortfolioError):
    """This photo cannot be opened; :attr:`problem` is the line for the batch report."""

    @property
    def problem(self) -> Problem:
        """The same bad news as a value."""
        return Problem(self.code, self.item, self.found)


@dataclass(eq=False)
class Picture:
    """One opened photo. Pixels come upright, 8 bits, at the scale asked for, and are kept until :meth:`forget`."""

    file: str
    data: bytes = field(repr=False)
    facts: PhotoFacts
    orientation: int = 1
    """Turn still to be applied to decoded pixels; :attr:`PhotoFacts.orientation` is what the file said."""
    icc: bytes | None = field(default=None, repr=False)
    """The embedded RGB profile; ``None`` = sRGB, or Adobe RGB when :attr:`adobe_rgb`."""
    adobe_rgb: bool = False
    is_stand_in: bool = False
    """Its pixels are those of a smaller picture; they come in the sizes that the original would have."""
    damage: str = ""
    """Set after decoding when part of the picture is missing, e.g. "only the upper 47 % of it is there"."""
    _kept: dict[tuple[str, int], Pixels] = field(default_factory=dict, repr=False)
    _tolerant: bool = False

    @property
    def can_scale(self) -> bool:
        """Whether the decoder itself can shrink (JPEG); other kinds are decoded whole and then reduced."""
        return self.facts.format in ("JPEG", "MPO")

    def shrink_for(self, least_px: int) -> int:
        """The largest of 1, 2, 4, 8 that leaves the long side at least ``least_px``; 1 when none does."""
        long_px = max(self.facts.width_px, self.facts.height_px)
        return next((shrink for shrink in (8, 4, 2) if long_px / shrink >= least_px), 1)

    def rgb(self, shrink: int = 1) -> Pixels:
        """H × W × 3 in the file's own color space. Raises :class:`PhotoRefused` when it cannot be decoded."""
        return self._pixels("RGB", shrink)

    def gray(self, shrink: int = 1) -> Pixels:
        """H × W brightness. Taken from pixels already decoded when there are any of this scale or twice as fine."""
        for finer in (shrink, shrink // 2):
            kept = self._kept.get(("RGB", finer))
            if kept is not None and ("L", shrink) not in self._kept:
                gray = np.asarray(cv2.cvtColor(kept, cv2.COLOR_RGB2GRAY), np.uint8)
                self._kept["L", shrink] = gray if finer == shrink else _halve(gray)
        return self._pixels("L", shrink)

    def forget(self) -> None:
        """Let go of all decoded pixels."""
        self._kept.clear()

    def _pixels(self, mode: str, shrink: int) -> Pixels:
        kept = self._kept.get((mode, shrink))
        if kept is None:
            kept = self._kept[mode, shrink] = self._reduce(mode, shrink) if shrink > 1 else self._decode(mode, 1)
        return kept

    def _reduce(self, mode: str, shrink: int) -> Pixels:
        """JPEG shrinks while decoding. Other kinds are decoded once, whole, in color; a very large one is not kept."""
        if self.can_scale:
            return self._decode(mode, shrink)
        if mode == "L":
            return np.asarray(cv2.cvtColor(self._pixels("RGB", shrink), cv2.COLOR_RGB2GRAY), np.uint8)
        is_large = self.facts.width_px * self.facts.height_px > _KEEP_WHOLE_PX
        whole = self._decode(mode, 1) if is_large else self._pixels(mode, 1)
        return np.asarray(Image.fromarray(whole).reduce(shrink))

    def _decode(self, mode: str, shrink: int) -> Pixels:
        if not self._tolerant:
            try:
                return self._load(mode, shrink)
            except MemoryError:
                raise
            except Exception:  # noqa: BLE001 - hostile bytes make decoders raise anything; tried once more below
                self._tolerant = True
        return self._load_damaged(mode, shrink)

    def _load(self, mode: str, shrink: int) -> Pixels:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            with Image.open(BytesIO(self.data), formats=_readers(self.facts.format)) as image:
                if self.can_scale and not self.is_stand_in and (shrink > 1 or mode == "L"):
                    image.draft(
                        mode,
                        (max(1, image.width // shrink), max(1, image.height // shrink)),
                    )
                pixels = eight_bit(image, mode)
        if self.is_stand_in:
            return _in_size(pixels, self.facts, shrink)
        return upright(pixels, self.orientation)

    def _load_damaged(self, mode: str, shrink: int) -> Pixels:
        """Second try: take what is there of a file that ends too early, and say how much that is."""
        try:
            with _accepting_truncation():
                pixels = self._load(mode, shrink)
        except MemoryError:
            raise
        except Exception as error:
            raise PhotoRefused("photo-damaged", self.file, "its picture data cannot be read") from error
        share = _whole_share(upright(pixels, BACK[self.orientation]))
        if share < _WHOLE_SHARE:
            self.damage = f"only the first {share:.0%} of the picture is there"
        elif "end marker missing" not in self.facts.notes:
            self.facts = replace(self.facts, notes=(*self.facts.notes, "end marker missing"))
        return pixels


def open_photo(source: Path | bytes, *, file: str) -> Picture:
    """Open a photo without decoding it. ``file`` is the name used in sentences.

    Raises :class:`PhotoRefused` with a ``photo-…`` code for whatever is empty, no picture, too large or not readable.
    """
    data = source if isinstance(source, bytes) else _bytes_of(source, file=file)
    if not data:
        raise PhotoRefused("photo-empty", file)
    stand_in = stand_in_from(data)
    return _open_any(data, file=file) if stand_in is None else _open_stand_in(stand_in, file=file)


def _open_stand_in(stand_in: StandIn, *, file: str) -> Picture:
    """The facts of the original, the pixels of the small picture, which is upright and sRGB already."""
    original, small = _open_any(stand_in.beginning, file=file), _open_any(stand_in.look, file=file)
    size, small_size = ((one.facts.width_px, one.facts.height_px) for one in (original, small))
    if not original.can_scale or not fits(size, small_size):
        raise PhotoRefused("photo-damaged", file, "the small picture sent ahead does not fit it")
    return replace(small, facts=original.facts, is_stand_in=True, orientation=1, icc=None, adobe_rgb=False)


def _open_any(data: bytes, *, file: str) -> Picture:
    kind = sniff(data[:HEAD_BYTES])
    if kind.format is None:
        raise PhotoRefused(
            "photo-unsupported" if kind.is_picture else "photo-not-a-picture",
            file,
            kind.found,
        )
    if kind.format == "HEIF" and not HAS_HEIC:
        raise PhotoRefused("photo-unsupported", file, "HEIC; install the extra 'heic' to read it")
    _refuse_large(data, kind.format, file=file)
    try:
        return _open(data, kind.format, file=file)
    except (PhotoRefused, MemoryError):
        raise
    except Image.DecompressionBombError as error:
        raise PhotoRefused("photo-too-large", file, "a picture of several hundred megapixels") from error
    except UnidentifiedImageError as error:
        raise PhotoRefused("photo-damaged", file, f"it begins like {kind.found} but cannot be opened") from error
    except Exception as error:
        raise PhotoRefused("photo-damaged", file, f"the description inside {kind.found} is broken") from error


def _bytes_of(path: Path, *, file: str) -> bytes:
    try:
        size = path.stat().st_size
        if size > MAX_BYTES:
            raise PhotoRefused("photo-too-heavy", file, f"{size / 1e6:.0f} MB")
        return path.read_bytes()
    except OSError as error:
        raise PhotoRefused("photo-unreadable-file", file, error.strerror or "the disk gave an error") from error


def _refuse_large(data: bytes, format_word: str, *, file: str) -> None:
    """The JPEG limits need the frame header: Pillow does not tell progressive from baseline before it decodes."""
    if format_word != "JPEG" or (frame := frame_of(data)) is None:
        return
    if frame.bits != 8:
        raise PhotoRefused("photo-unsupported", file, f"a JPEG with {frame.bits} bits a color")
    limit = MAX_OTHER_MEGAPIXELS if frame.progressive else MAX_MEGAPIXELS["JPEG"]
    _refuse_over(frame.width_px * frame.height_px, limit, file=file)


def _refuse_over(pixels: int, limit_megapixels: int, *, file: str) -> None:
    if pixels > limit_megapixels * 1_000_000:
        raise PhotoRefused("photo-too-large", file, f"a picture of {pixels / 1e6:.0f} megapixels")


def _open(data: bytes, format_word: str, *, file: str) -> Picture:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with Image.open(BytesIO(data), formats=_readers(format_word)) as image:
            limit = MAX_MEGAPIXELS.get(image.format or "", MAX_OTHER_MEGAPIXELS)
            _refuse_over(image.width * image.height, limit, file=file)
            told = describe(image)
    return Picture(
        file=file,
        data=data,
        facts=told.facts,
        orientation=told.turn,
        icc=told.icc,
        adobe_rgb=told.adobe_rgb,
    )


def _readers(format_word: str) -> list[str]:
    return ["JPEG", "MPO"] if format_word in ("JPEG", "MPO") else [format_word]


def _in_size(pixels: Pixels, facts: PhotoFacts, shrink: int) -> Pixels:
    """Pixels of a stand-in in the size in which a JPEG's decoder would give the original."""
    size = -(-facts.width_px // shrink), -(-facts.height_px // shrink)
    smaller = size[0] < pixels.shape[1]
    return np.asarray(cv2.resize(pixels, size, interpolation=cv2.INTER_AREA if smaller else cv2.INTER_CUBIC), np.uint8)


def _halve(gray: Pixels) -> Pixels:
    height, width = gray.shape
    return np.asarray(
        cv2.resize(gray, ((width + 1) // 2, (height + 1) // 2), interpolation=cv2.INTER_AREA),
        np.uint8,
    )


@contextmanager
def _accepting_truncation() -> Iterator[None]:
    """Pillow has only a global switch for this: held for one decode, under a lock, and always put back."""
    with _tolerant_lock:
        ImageFile.LOAD_TRUNCATED_IMAGES = True
        try:
            yield
        finally:
            ImageFile.LOAD_TRUNCATED_IMAGES = False


def _whole_share(pixels: Pixels) -> float:
    """Share of rows from the top that hold picture; a decoder fills what is missing with one flat color."""
    rows = pixels.reshape(pixels.shape[0], -1, pixels.shape[2] if pixels.ndim == 3 else 1)
    flat = (rows == rows[-1:, -1:]).all(axis=(1, 2))
    filled = int(np.argmin(flat[::-1])) if not flat.all() else len(flat)
    return 1 - filled / len(flat)
