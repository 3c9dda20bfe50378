"""Take files apart for the sweep: which bytes are words, which are only the dots of a picture.

Every byte is given back in one of the pieces, except the compressed dots of a picture (JPEG scans, PNG ``IDAT``, WebP
``VP8``, fonts inside a PDF): those hold no words, and three-letter names would be "found" in them by chance. Of them
only long readable stretches are given back. What is compressed is opened.

Sources: ITU-T T.81 (JPEG), PNG third edition, RFC 1950-1952, RIFF/WebP container, PDF 32000-1.
"""

from __future__ import annotations

import gzip
import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

OPENED_MAX: Final = 64 * 1024 * 1024
"""The most that one compressed piece may open to; beyond it the piece counts as unreadable."""
_STRETCH: Final = re.compile(rb"[ -~]{16,}")


@dataclass(frozen=True, slots=True)
class Piece:
    """Part of a file. ``loose``: not known to be text, so a very short name counts only inside readable words.
    ``flat``: already taken apart.
    """

    where: str
    data: bytes
    loose: bool = False
    flat: bool = False


class Unreadable(Exception):
    """A piece that cannot be opened, so nobody can say what is in it. Says where."""


def pieces_of(data: bytes) -> Iterator[Piece] | None:
    """The pieces of a file of a known kind, or ``None`` for anything else (then the whole file is one piece)."""
    for start, take_apart in _KINDS:
        if data.startswith(start):
            return take_apart(data)
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return _webp(data)
    return None


def unpack(data: bytes, *, where: str) -> bytes:
    """Inflate a zlib stream (or what is left of one); refuses what opens to too much."""
    opener = zlib.decompressobj()
    try:
        opened = opener.decompress(data, OPENED_MAX)
    except zlib.error as error:
        raise Unreadable(where) from error
    if opener.unconsumed_tail:
        raise Unreadable(where)
    return opened


# --- JPEG -------------------------------------------------------------------------------------------------


def _jpeg(data: bytes) -> Iterator[Piece]:
    at, extended = 2, b""
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            break
        marker = data[at + 1]
        if marker == 0xFF or marker in {0x01, *range(0xD0, 0xD9)}:
            at += 1 if marker == 0xFF else 2
            continue
        if marker == 0xD9:
            at += 2
            break
        size = struct.unpack(">H", data[at + 2 : at + 4])[0]
        body = data[at + 4 : at + 2 + size]
        if marker == 0xE1 and body.startswith(b"http://ns.adobe.com/xmp/extension/\0"):
            extended += body[75:]
        yield from _jpeg_segment(marker, body, head=data[at : at + 4])
        at += 2 + max(size, 2)
        if marker == 0xDA:
            start, at = at, _after_scan(data, at)
            yield from _readable(data[start:at])
    if extended:
        yield Piece("extended picture notes", extended)
    if data[at:]:
        yield Piece("after the picture's end", data[at:], loose=True)


def _readable(dots: bytes) -> Iterator[Piece]:
    """Readable stretches among compressed dots: chance hardly makes them, somebody may."""
    for match in _STRETCH.finditer(dots):
        yield Piece("words among the picture's dots", match.group(), loose=True)


def _jpeg_segment(marker: int, body: bytes, *, head: bytes) -> Iterator[Piece]:
    if marker == 0xE1:
        inner = body.find(b"\xff\xd8\xff", 6)
        yield Piece("picture notes (EXIF, XMP)", body if inner < 0 else body[:inner])
        if inner >= 0:
            yield Piece("the small picture inside the picture notes", body[inner:])
    elif marker == 0xFE:
        yield Piece("picture comment", body)
    elif 0xE0 <= marker <= 0xEF:
        yield Piece(f"picture notes (APP{marker - 0xE0})", body)
    else:
        yield Piece("the picture's own tables", head + body, loose=True)


def _after_scan(data: bytes, at: int) -> int:
    while True:
        at = data.find(b"\xff", at)
        if at < 0 or at + 1 >= len(data):
            return len(data)
        if data[at + 1] == 0 or 0xD0 <= data[at + 1] <= 0xD7 or data[at + 1] == 0xFF:
            at += 1 if data[at + 1] == 0xFF else 2
            continue
        return at


# --- PNG, WebP, GIF ---------------------------------------------------------------------------------------


def _png(data: bytes) -> Iterator[Piece]:
    at = 8
    while at + 12 <= len(data):
        size = struct.unpack(">I", data[at : at + 4])[0]
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + size]
        if kind in (b"IDAT", b"fdAT"):
            yield from _readable(body)
        else:
            yield Piece("picture notes", data[at : at + 8 + size])
            yield Piece("picture notes", body)
            yield from _png_chunk(kind, body)
        at += 12 + size
        if kind == b"IEND":
            break
    if data[at:]:
        yield Piece("after the picture's end", data[at:], loose=True)


def _png_chunk(kind: bytes, body: bytes) -> Iterator[Piece]:
    word = kind.decode("latin-1")
    _, _, rest = body.partition(b"\0")
    if kind in (b"zTXt", b"iCCP") and rest:
        yield Piece(f"picture notes ({word})", unpack(rest[1:], where=f"picture notes ({word})"))
    if kind == b"iTXt" and rest[:1] == b"\1":
        packed = rest[2:].split(b"\0", 2)[-1]
        yield Piece(f"picture notes ({word})", unpack(packed, where=f"picture notes ({word})"))


def _webp(data: bytes) -> Iterator[Piece]:
    at, end = 12, min(len(data), 8 + struct.unpack("<I", data[4:8])[0])
    while at + 8 <= end:
        kind, size = data[at : at + 4], struct.unpack("<I", data[at + 4 : at + 8])[0]
        if kind in (b"VP8 ", b"VP8L", b"ALPH", b"ANMF"):
            yield from _readable(data[at + 8 : at + 8 + size])
        else:
            where = f"picture notes ({kind.decode('latin-1').strip()})"
            yield Piece(where, data[at : at + 8 + size])
            yield Piece(where, data[at + 8 : at + 8 + size])
        at += 8 + size + size % 2
    if data[end:]:
        yield Piece("after the picture's end", data[end:], loose=True)


# --- compressed files -------------------------------------------------------------------------------------


def _zip(data: bytes) -> Iterator[Piece]:
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            yield Piece("the comment of a zip file", archive.comment)
            for count, entry in enumerate(archive.infolist(), start=1):
                notes = entry.filename.encode() + b"\n" + entry.comment + b"\n" + entry.extra
                yield Piece(f"the name of entry {count}", notes)
                if entry.file_size > OPENED_MAX:
                    raise Unreadable(f"entry {count}")
                yield Piece(f"entry {count}", archive.read(entry))
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError, zlib.error, EOFError, ValueError) as error:
        raise Unreadable("a zip file") from error


def _gzip(data: bytes) -> Iterator[Piece]:
    yield Piece("the head of a compressed file", data[:512], loose=True, flat=True)
    try:
        with gzip.GzipFile(fileobj=io.BytesIO(data)) as packed:
            opened = packed.read(OPENED_MAX + 1)
    except (OSError, EOFError, zlib.error) as error:
        raise Unreadable("a compressed file") from error
    if len(opened) > OPENED_MAX:
        raise Unreadable("a compressed file")
    yield Piece("a compressed file", opened)


# --- PDF --------------------------------------------------------------------------------------------------

_STREAM: Final = re.compile(rb"stream\r?\n(.*?)(?:\r?\n)?endstream", re.DOTALL)
_ESCAPE: Final = re.compile(rb"\\([0-7]{1,3}|[nrtbf()\\]|\r?\n)")
_STRING: Final = re.compile(rb"\((?:[^()\\]|\\.|\((?:[^()\\]|\\.)*\))*\)", re.DOTALL)
_HEX: Final = re.compile(rb"<([0-9A-Fa-f\s]{2,})>")
_PDF_LETTERS: Final = {0x80 + at: letter for at, letter in enumerate("•†‡…—–ƒ⁄‹›−‰„“”‘’‚™ﬁﬂŁŒŠŸŽıłœšž")}
_UNICODE_MAP: Final = re.compile(rb"beginbf(char|range)(.*?)endbf", re.DOTALL)


def _pdf(data: bytes) -> Iterator[Piece]:
    bare = _STREAM.sub(b" ", data)
    yield Piece("the PDF's records", bare, flat=True)
    yield Piece("the PDF's records", _pdf_strings(bare))
    pages: list[bytes] = []
    maps: list[dict[int, str]] = []
    for count, match in enumerate(_STREAM.finditer(data), start=1):
        head = data[max(0, match.start() - 600) : match.start()].rsplit(b" obj", 1)[-1]
        opened = _pdf_stream(head, match[1], count=count)
        if opened is None:
            continue
        yield opened
        if b"beginbf" in opened.data:
            maps.append(_glyph_words(opened.data))
        elif b"BT" in opened.data and b"Tj" in opened.data.replace(b"TJ", b"Tj"):
            pages.append(opened.data)
        yield Piece(opened.where, _pdf_strings(opened.data), loose=opened.loose)
    for page in pages:
        for glyphs in maps:
            yield Piece("the words of a PDF page", _page_words(page, glyphs).encode(), loose=True)


def _pdf_stream(head: bytes, body: bytes, *, count: int) -> Piece | None:
    where = f"stream {count} of the PDF"
    if b"DCTDecode" in head and b"FlateDecode" not in head:
        return Piece(where, body)
    if b"FlateDecode" not in head:
        return Piece(where, body, loose=True)
    is_dots = b"/Subtype/Image" in head.replace(b" ", b"") and b"DCTDecode" not in head
    opened = unpack(body, where=where)
    is_font = re.search(rb"/Length1|/FontFile|/Subtype\s*/(CIDFontType0C|Type1C|OpenType)", head) is not None
    return None if is_dots or is_font else Piece(where, opened, loose=b"DCTDecode" in head)


def _pdf_strings(data: bytes) -> bytes:
    """All strings of a PDF part, unescaped and out of hexadecimal, one a line."""
    found = [_ESCAPE.sub(_unescape, match.group()[1:-1]) for match in _STRING.finditer(data)]
    found += [_from_hex(match[1]) for match in _HEX.finditer(data)]
    return b"\n".join([*found, *(_pdf_words(text).encode() for text in found if not text.isascii())])


def _from_hex(digits: bytes) -> bytes:
    """What a string in hexadecimal says; a last digit that is missing counts as 0 (PDF 32000-1, 7.3.4.3)."""
    bare = b"".join(digits.split())
    return bytes.fromhex((bare + b"0" * (len(bare) % 2)).decode())


def _pdf_words(text: bytes) -> str:
    """A PDF text string: UTF-16 when it says so, else the PDF's own letters (PDF 32000-1, annex D)."""
    if text[:2] == b"\xfe\xff":
        return text[2:].decode("utf-16-be", "replace")
    return text.decode("latin-1").translate(_PDF_LETTERS)


def _unescape(match: re.Match[bytes]) -> bytes:
    word = match[1]
    if word[:1].isdigit():
        return bytes([int(word, 8) & 255])
    return {b"n": b"\n", b"r": b"\r", b"t": b"\t", b"b": b" ", b"f": b" "}.get(word, word.strip(b"\r\n"))


def _glyph_words(cmap: bytes) -> dict[int, str]:
    """Which letters the numbers of a font stand for, from its ``ToUnicode`` table."""
    glyphs: dict[int, str] = {}
    for kind, body in _UNICODE_MAP.findall(cmap):
        numbers = [bytes.fromhex(h.decode()) for h in re.findall(rb"<([0-9A-Fa-f]+)>", body) if len(h) % 2 == 0]
        step = 2 if kind == b"char" else 3
        for row in zip(*[iter(numbers)] * step, strict=False):
            low, high = int.from_bytes(row[0]), int.from_bytes(row[step - 2])
            first = row[-1].decode("utf-16-be", "replace")
            for offset in range(min(high - low, 65535) + 1):
                glyphs[low + offset] = first[:-1] + chr(min(ord(first[-1]) + offset, 0x10FFFF)) if first else ""
    return glyphs


def _page_words(page: bytes, glyphs: dict[int, str]) -> str:
    """What a page says if its strings are read with one font's table. Two bytes a glyph, as embedded fonts are."""
    said: list[str] = []
    for match in re.finditer(rb"\[(.*?)\]\s*TJ|(<[0-9A-Fa-f\s]+>|\((?:[^()\\]|\\.)*\))\s*Tj", page, re.DOTALL):
        raw = _pdf_strings_joined(match[1] if match[1] is not None else match[2])
        said.append("".join(glyphs.get(int.from_bytes(raw[i : i + 2]), " ") for i in range(0, len(raw) - 1, 2)))
    return " ".join(said) + "\n" + "".join(said)


def _pdf_strings_joined(data: bytes) -> bytes:
    joined = b""
    for match in re.finditer(rb"<([0-9A-Fa-f\s]+)>|(\((?:[^()\\]|\\.)*\))", data, re.DOTALL):
        if match[1] is not None:
            joined += _from_hex(match[1])
        else:
            joined += _ESCAPE.sub(_unescape, match[2][1:-1])
    return joined


_KINDS: Final = (
    (b"\xff\xd8\xff", _jpeg),
    (b"\x89PNG\r\n\x1a\n", _png),
    (b"PK\x03\x04", _zip),
    (b"\x1f\x8b\x08", _gzip),
    (b"%PDF", _pdf),
)
