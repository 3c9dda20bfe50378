"""Text under its disguises: encodings, entities, percent signs, escapes, base64, tags in the middle of a word."""

from __future__ import annotations

import base64
import binascii
import html
import re
from collections.abc import Iterator
from typing import Final
from urllib.parse import unquote

_CONTROL: Final = re.compile(rb"[\x00-\x08\x0e-\x1f]")
_CONTROL_TEXT: Final = re.compile(r"[\x00-\x08\x0e-\x1f\x7f\ufffd]")
_ENTITY: Final = re.compile(r"&(?:#\d|#[xX][0-9a-fA-F]|[A-Za-z])")
_PERCENT: Final = re.compile(r"%[0-9A-Fa-f]{2}")
_ESCAPED: Final = re.compile(r"\\u\{?([0-9A-Fa-f]{1,6})\}?|\\x([0-9A-Fa-f]{2})|\\([0-9A-Fa-f]{1,6})\s?")
_INLINE: Final = (
    r"(?:!--.{0,2000}?--|/?(?:a|abbr|b|bdi|bdo|cite|code|em|font|i|mark|q|s|small|span|strong|sub|sup|u|wbr)"
    r"\b[^<>]{0,2000})>"
)
_TAG: Final = re.compile(rf"<(?<=\w<){_INLINE}(?:<{_INLINE})*(?=\w)", re.IGNORECASE | re.DOTALL)
"""Tags that stand inside a word without parting it. It begins with a plain "<" so that texts are skimmed fast."""
_BASE64: Final = re.compile(r"[A-Za-z0-9+/_-]{8,}={0,2}")
_QUOTED_PRINTABLE: Final = re.compile(r"=([0-9A-F]{2})")


def decodings(data: bytes) -> Iterator[tuple[str, bool]]:
    """The text of ``data`` in every encoding it could be in, and whether it reads as text.

    Plain UTF-8 without control characters can hold no UTF-16, so it is read once.
    """
    try:
        text, plain = data.decode("utf-8"), True
    except UnicodeDecodeError:
        text, plain = data.decode("utf-8", "replace"), False
    odd = _CONTROL.search(data) is not None
    yield text, plain and not odd
    if not plain:
        yield data.decode("latin-1"), False
    if odd or not plain:
        for shift in (0, 1):
            even = data[shift : len(data) - (len(data) - shift) % 2]
            for encoding in ("utf-16-le", "utf-16-be"):
                yield even.decode(encoding, "replace"), False


def undressed(text: str) -> Iterator[str]:
    """``text`` and what it says once its disguises are taken off, twice over (an entity may hide an escape)."""
    seen = {text}
    layer = [text]
    for _ in range(2):
        fresh: list[str] = []
        for one in layer:
            for bare in _take_off(one):
                if bare not in seen:
                    seen.add(bare)
                    fresh.append(bare)
        layer = fresh
    yield from seen


def _take_off(text: str) -> Iterator[str]:
    if "&" in text and _ENTITY.search(text):
        yield html.unescape(text)
    if "%" in text and _PERCENT.search(text):
        yield unquote(text)
    if "\\" in text and _ESCAPED.search(text):
        yield _ESCAPED.sub(_letter, text)
    if "=" in text and _QUOTED_PRINTABLE.search(text):
        raw = _QUOTED_PRINTABLE.sub(lambda match: chr(int(match[1], 16)), text.replace("=\n", "").replace("=\r\n", ""))
        yield raw.encode("latin-1", "replace").decode("utf-8", "replace")
    if _TAG.search(text):
        yield _TAG.sub(lambda match: "\n" * match.group().count("\n"), text)


def _letter(match: re.Match[str]) -> str:
    number = int(next(group for group in match.groups() if group), 16)
    return chr(number) if number < 0x110000 else "\ufffd"


def hidden_in_base64(text: str) -> Iterator[bytes]:
    """What stands in base64 in ``text``. Ordinary words of eight letters and more are not taken for it."""
    for word in dict.fromkeys(_BASE64.findall(text)):
        if len(word) < 16 and (word.isalpha() and (word.islower() or word[1:].islower() or word.isupper())):
            continue
        opened = _from_base64(word)
        if opened and (_is_file(opened) or _reads(opened)):
            yield opened


def _from_base64(word: str) -> bytes:
    bare = word.rstrip("=").replace("-", "+").replace("_", "/")
    bare = bare[: len(bare) - 1] if len(bare) % 4 == 1 else bare
    try:
        return base64.b64decode(bare + "=" * (-len(bare) % 4))
    except (binascii.Error, ValueError):
        return b""


def _is_file(data: bytes) -> bool:
    return data.startswith((b"\xff\xd8\xff", b"\x89PNG", b"PK\x03\x04", b"\x1f\x8b", b"%PDF", b"RIFF", b"wOF2"))


def _reads(data: bytes) -> bool:
    """Whether the bytes are readable text: UTF-8, or ASCII in UTF-16 (then every other byte is zero)."""
    wide = data.count(0) * 2 >= len(data) - 1
    for encoding in ("utf-16-le", "utf-16-be") if wide else ("utf-8",):
        try:
            text = data.decode(encoding)
        except UnicodeDecodeError:
            continue
        if text and not _CONTROL_TEXT.search(text):
            return True
    return False
