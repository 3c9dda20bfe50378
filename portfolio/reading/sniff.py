"""What kind of file is this? Decided by its first bytes; the name and its extension are never looked at."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

HEAD_BYTES: Final = 64
"""Enough of a file's beginning to know its kind."""


@dataclass(frozen=True, slots=True)
class Kind:
    """``format``: Pillow's word when the kind is read here, else ``None``. ``found``: what to tell the teacher."""

    format: str | None
    found: str
    is_picture: bool = True


_READ: Final[tuple[tuple[bytes, str], ...]] = (
    (b"\xff\xd8\xff", "JPEG"),
    (b"\x89PNG\r\n\x1a\n", "PNG"),
    (b"GIF87a", "GIF"),
    (b"GIF89a", "GIF"),
    (b"II*\0", "TIFF"),
    (b"MM\0*", "TIFF"),
    (b"BM", "BMP"),
)

# Kinds that are known but not read: the sentence can then say what the file is.
_KNOWN: Final[tuple[tuple[bytes, str, bool], ...]] = (
    (b"8BPS", "a layered painting-program file", True),
    (b"\0\0\1\0", "an icon", True),
    (b"\0\0\2\0", "a mouse pointer", True),
    (b"\0\0\0\x0cjP  ", "a JPEG 2000 picture", True),
    (b"\xff\x4f\xff\x51", "a JPEG 2000 picture", True),
    (b"\0\0\0\x0cJXL ", "a JPEG XL picture", True),
    (b"\xff\x0a", "a JPEG XL picture", True),
    (b"%PDF", "a PDF", False),
    (b"PK\3\4", "a zip file or office document", False),
    (b"\x1f\x8b", "a compressed file", False),
    (b"\x1aE\xdf\xa3", "a video", False),
    (b"ID3", "a sound file", False),
    (b"MZ", "a program", False),
    (b"\x7fELF", "a program", False),
)

_HEIF_BRANDS: Final = frozenset(
    {
        b"heic",
        b"heix",
        b"hevc",
        b"hevx",
        b"heim",
        b"heis",
        b"hevm",
        b"hevs",
        b"mif1",
        b"msf1",
    }
)
_AVIF_BRANDS: Final = frozenset({b"avif", b"avis"})


def sniff(head: bytes) -> Kind:
    """The kind of the file that begins with ``head`` (the first :data:`HEAD_BYTES` bytes; fewer for a tiny file)."""
    if head[4:8] == b"ftyp":
        return _boxed(head)
    if head[:4] == b"RIFF":
        return (
            Kind("WEBP", "a WebP picture") if head[8:12] == b"WEBP" else Kind(None, "sound or video", is_picture=False)
        )
    for magic, format_word in _READ:
        if head.startswith(magic):
            return Kind(format_word, f"a {format_word} picture")
    for magic, found, is_picture in _KNOWN:
        if head.startswith(magic):
            return Kind(None, found, is_picture)
    return Kind(None, _textual(head), is_picture=False)


def _boxed(head: bytes) -> Kind:
    """An ISO base media file: HEIC, AVIF, a raw photo or a video, by its major brand, then its compatible brands."""
    size = int.from_bytes(head[:4], "big")
    compatible = head[16 : max(16, min(size, len(head)))]
    brands = [
        head[8:12],
        *(compatible[at : at + 4] for at in range(0, len(compatible), 4)),
    ]
    if any(brand in _AVIF_BRANDS for brand in brands):
        return Kind("AVIF", "an AVIF picture")
    if any(brand in _HEIF_BRANDS for brand in brands):
        return Kind("HEIF", "a HEIC picture")
    if brands[0] == b"crx ":
        return Kind(None, "a camera's raw file")
    return Kind(None, "a video", is_picture=False)


def _textual(head: bytes) -> str:
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if text.startswith((b"<svg", b"<?xml")):
        return "a vector drawing or XML text"
    if text.startswith((b"<!doctype", b"<html")):
        return "a web page"
    if head and all(byte >= 32 or byte in b"\t\r\n" for byte in head):
        return "text"
    return "no kind of picture known here"
