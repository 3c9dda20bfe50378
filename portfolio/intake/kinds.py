"""Which files are obviously no photos. A name decides nothing alone: the first bytes may overrule it."""

from __future__ import annotations

from typing import Final

HEAD_BYTES: Final = 32

IGNORED_NAMES: Final = frozenset({"thumbs.db", "desktop.ini", "ehthumbs.db", "icon\r"})
IGNORED_FOLDERS: Final = frozenset({"__macosx", "$recycle.bin", "system volume information", "lost+found", "@eadir"})

_SOUND_AND_FILM: Final = ".mov .mp4 .m4v .avi .mkv .webm .3gp .mts .m2ts .wmv .mpg .mpeg .mp3 .m4a .wav .aac .ogg .amr"
"""A phone puts them beside the photos; they may hold faces and voices."""
_NOTES: Final = ".aae .xmp .thm .lrv .ini .db .json .xml .log .tmp .part .crdownload"
"""Notes that cameras, picture programs and browsers keep beside a photo."""
_PAPERS: Final = ".txt .md .csv .tsv .pdf .doc .docx .odt .xls .xlsx .ods .ppt .pptx .odp .pages .numbers .key .rtf"
_PAGES: Final = ".html .htm .url .webloc .lnk"
_PROGRAMS: Final = ".zip .rar .7z .tar .gz .tgz .xz .exe .msi .dmg .pkg .deb .apk .bat .sh .py .js"

LEFT_OUT: Final = frozenset(f"{_SOUND_AND_FILM} {_NOTES} {_PAPERS} {_PAGES} {_PROGRAMS}".split())
"""Endings that obviously belong to no photo."""


def is_ignored(name: str) -> bool:
    """A hidden or system file: never mentioned."""
    return name.startswith(".") or name.lower() in IGNORED_NAMES


def is_ignored_folder(name: str) -> bool:
    """A hidden or system folder: never entered."""
    return name.startswith(".") or name.lower() in IGNORED_FOLDERS


def is_left_out(name: str, head: bytes) -> bool:
    """Obviously no photo: the ending says so and the first bytes are not those of a picture."""
    dot = name.rfind(".")
    ending = name[dot:].lower() if dot > 0 else ""
    return ending in LEFT_OUT and not looks_like_picture(head)


def looks_like_picture(head: bytes) -> bool:
    """Whether the first bytes are those of JPEG, PNG, GIF, WebP, TIFF, BMP or a still picture of the HEIF family."""
    return (
        head.startswith((b"\xff\xd8\xff", b"\x89PNG\r\n\x1a\n", b"GIF8", b"II*\x00", b"MM\x00*", b"BM"))
        or (head[:4] == b"RIFF" and head[8:12] == b"WEBP")
        or (head[4:8] == b"ftyp" and head[8:12] in _STILL_BRANDS)
    )


_STILL_BRANDS: Final = frozenset({b"heic", b"heix", b"heim", b"heis", b"mif1", b"msf1", b"avif", b"avis", b"hevc"})
"""Major brands of HEIF and AVIF stills and bursts (ISO/IEC 23008-12); films say isom, mp42, qt and so on."""
