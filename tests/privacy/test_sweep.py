"""One fixture for each place where a name can hide; each must be caught, and the hit must not tell the name."""

import base64
import gzip
import io
import json
import random
import struct
import zipfile

import pikepdf
import pytest
import typst
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, PngImagePlugin

from portfolio.model.assets import asset
from portfolio.model.people import Audience
from portfolio.privacy.matching import forbidden_for
from portfolio.privacy.sweep import Granted, sweep, sweep_bytes
from tests.support.names import DAY, make_child

FORBIDDEN = forbidden_for(
    [make_child("Zyxqel", "Quorrab", also=("Zyx",)), make_child("Ana", "Łópez", student_id=2)], Audience.PUBLIC, day=DAY
)
NAMES = ("Zyxqel", "Quorrab", "Ana", "Łópez")


def picture(**save) -> bytes:
    out = io.BytesIO()
    noise = Image.effect_noise((64, 48), 90).convert("RGB")
    noise.save(out, save.pop("format", "JPEG"), **save)
    return out.getvalue()


def exif(tag: int, value) -> bytes:
    fields = Image.Exif()
    fields[tag] = value
    return fields.tobytes()


def jpeg_with_segment(marker: int, body: bytes) -> bytes:
    plain = picture()
    return plain[:2] + struct.pack(">BBH", 0xFF, marker, len(body) + 2) + body + plain[2:]


def png_text(name: str, *, kind: str) -> bytes:
    notes = PngImagePlugin.PngInfo()
    if kind == "itxt":
        notes.add_itxt("Author", name, zip=True)
    else:
        notes.add_text("Author", name.encode("latin-1", "ignore").decode("latin-1"), zip=kind == "ztxt")
    return picture(format="PNG", pnginfo=notes)


def pdf(name: str, *, where: str) -> bytes:
    document = pikepdf.new()
    document.add_blank_page()
    if where == "info":
        document.docinfo["/Author"] = name
    elif where == "xmp":
        with document.open_metadata() as notes:
            notes["dc:creator"] = [name]
    elif where == "text":
        spelled = "".join(f"\\{byte:03o}" for byte in name.encode("latin-1", "replace"))
        document.pages[0].Contents = document.make_stream(f"BT ({spelled}) Tj ET".encode())
    else:
        document.pages[0].Note = pikepdf.Dictionary(Says=pikepdf.String(name))
    out = io.BytesIO()
    modes = pikepdf.ObjectStreamMode
    document.save(
        out, object_stream_mode=modes.generate if where == "object stream" else modes.disable, compress_streams=True
    )
    return out.getvalue()


def zipped(name: str, *, body: str = "", comment: str = "", entry: str = "a.txt") -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(entry, body)
        archive.comment = comment.encode()
    return out.getvalue()


def typeset(name: str) -> bytes:
    source = f'#set text(font: "Andika")\n= Show\n#"{name}" made this'
    return typst.compile(source.encode(), font_paths=[str(asset("print", "fonts"))])


PLACES = {
    "text": lambda n: f"<p>by {n}</p>".encode(),
    "capitals": lambda n: f"<p>{n.upper()}</p>".encode(),
    "UTF-16, little end first": lambda n: f"by {n}".encode("utf-16-le"),
    "UTF-16, big end first": lambda n: f"by {n}".encode("utf-16-be"),
    "UTF-16 at an odd place": lambda n: b"x" + f"by {n}".encode("utf-16-le"),
    "Latin-1": lambda n: f"\xe9t\xe9 {n}".encode("latin-1", "replace"),
    "entities": lambda n: "".join(f"&#{ord(c)};" for c in n).encode(),
    "entities, hexadecimal": lambda n: "".join(f"&#x{ord(c):x};" for c in n).encode(),
    "percent signs": lambda n: "".join(f"%{byte:02X}" for byte in n.encode()).encode(),
    "percent signs inside entities": lambda n: "".join(f"&#37;{byte:02X}" for byte in n.encode()).encode(),
    "JSON escapes": lambda n: json.dumps({"a": n + "\u2019s"}).encode(),
    "JavaScript escapes": lambda n: "".join(f"\\u{{{ord(c):x}}}" for c in n).encode(),
    "CSS escapes": lambda n: "".join(f"\\{ord(c):x} " for c in n).encode(),
    "quoted printable": lambda n: "".join(f"={byte:02X}" for byte in n.encode()).encode(),
    "a tag inside the name": lambda n: f"{n[0]}<b>{n[1:]}</b>".encode(),
    "a comment inside the name": lambda n: f"{n[0]}<!-- -->{n[1:]}".encode(),
    "a soft hyphen": lambda n: f"{n[0]}\u00ad{n[1:]}".encode(),
    "a soft hyphen as entity": lambda n: f"{n[0]}&shy;{n[1:]}".encode(),
    "base64": lambda n: b"data:text/plain;base64," + base64.b64encode(f"made by {n}".encode()),
    "base64 of UTF-16": lambda n: base64.b64encode(f"made by {n}".encode("utf-16-le")) if n.isascii() else n.encode(),
    "a picture in base64": lambda n: (
        b"url(data:image/jpeg;base64," + base64.b64encode(jpeg_with_segment(0xFE, n.encode()))
    ),
    "JPEG comment": lambda n: picture(comment=n.encode()),
    "EXIF artist": lambda n: picture(exif=exif(0x013B, n)),
    "EXIF title in UTF-16 (XPTitle)": lambda n: picture(exif=exif(0x9C9B, n.encode("utf-16-le") + b"\0\0")),
    "EXIF author in UTF-16 (XPAuthor)": lambda n: picture(exif=exif(0x9C9D, n.encode("utf-16-le") + b"\0\0")),
    "XMP": lambda n: jpeg_with_segment(
        0xE1, b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta><dc:creator>" + n.encode() + b"</dc:creator>"
    ),
    "IPTC": lambda n: jpeg_with_segment(
        0xED, b"Photoshop 3.0\x008BIM\x04\x04\0\0\0\x10\x1c\x02\x50\0\x08" + n.encode()
    ),
    "ICC profile": lambda n: jpeg_with_segment(0xE2, b"ICC_PROFILE\0\x01\x01desc" + n.encode("utf-16-be")),
    "after the JPEG's end": lambda n: picture() + b"\0\0made by " + n.encode() + b" and friends",
    "the small picture inside EXIF": lambda n: jpeg_with_segment(
        0xE1, b"Exif\0\0" + jpeg_with_segment(0xFE, n.encode())
    ),
    "EXIF in a WebP": lambda n: picture(format="WEBP", exif=exif(0x013B, n)),
    "XMP in a WebP": lambda n: picture(format="WEBP", xmp=f"<x><dc:creator>{n}</dc:creator></x>".encode()),
    "PNG text": lambda n: png_text(n, kind="text"),
    "PNG compressed text": lambda n: png_text(n, kind="ztxt"),
    "PNG international text": lambda n: png_text(n, kind="itxt"),
    "PNG EXIF": lambda n: picture(format="PNG", exif=exif(0x013B, n)),
    "PNG color profile": lambda n: picture(format="PNG", icc_profile=b"desc " + n.encode() + b" "),
    "PDF author": lambda n: pdf(n, where="info"),
    "PDF XMP": lambda n: pdf(n, where="xmp"),
    "PDF record": lambda n: pdf(n, where="plain"),
    "PDF object stream": lambda n: pdf(n, where="object stream"),
    "PDF text, escaped": lambda n: pdf(n, where="text"),
    "PDF text in an embedded font": typeset,
    "gzip": lambda n: gzip.compress(f"by {n}".encode()),
    "zip": lambda n: zipped(n, body=f"by {n}"),
    "zip entry's name": lambda n: zipped(n, entry=f"{n}.jpg"),
    "zip comment": lambda n: zipped(n, comment=n),
    "zip in a zip": lambda n: zipped(n, body=base64.b64encode(zipped(n, body=f"by {n}")).decode()),
}
NOT_IN_LATIN_1 = {
    "Latin-1",
    "PNG text",
    "PNG compressed text",
    "PDF text, escaped",
    "EXIF artist",
    "EXIF in a WebP",
    "PNG EXIF",
}


@pytest.mark.parametrize("place", PLACES)
def test_a_name_is_found_in_every_place_it_can_hide(place, tmp_path):
    """Long names, a three-letter name and a name with marks, each in each place."""
    for name in NAMES:
        if place in NOT_IN_LATIN_1 and not name.isascii():
            continue
        file = tmp_path / f"{NAMES.index(name)}.bin"
        file.write_bytes(PLACES[place](name))
        result = sweep(tmp_path, FORBIDDEN)
        assert result.hits, (place, name)
        told = repr(result.as_json()).lower()
        assert not any(one.lower() in told for one in NAMES), "a hit told the name"
        file.unlink()


@pytest.mark.parametrize("place", PLACES)
def test_the_same_places_are_quiet_without_a_name(place, tmp_path):
    """No false alarm: the same files with another word in them are clean."""
    (tmp_path / "a.bin").write_bytes(PLACES[place]("Banana"))
    assert sweep(tmp_path, FORBIDDEN).clean


def test_names_of_files_and_folders(tmp_path):
    """A name in a path is found, also escaped, and kept back in what is said about it."""
    (tmp_path / "Quorrab").mkdir()
    (tmp_path / "Quorrab" / "work_Ana2.html").write_text("x")
    (tmp_path / "Zyx%71el.html").write_text("x")
    hits = sweep(tmp_path, FORBIDDEN).hits
    assert {hit.where for hit in hits} == {"its own name"}
    assert {hit.kind for hit in hits} >= {"a child's family name", "a child's first name"}
    assert not any(word in hit.file for hit in hits for word in ("Quorrab", "Ana"))


def test_a_hit_says_where(tmp_path):
    """Kind of name, file, line: enough to find it, without the name."""
    (tmp_path / "works").mkdir()
    (tmp_path / "works" / "k3f7.html").write_text("<p>\n\nthis is zyxqel\n")
    (hit,) = sweep(tmp_path, FORBIDDEN).hits
    assert hit.sentence == "a child's first name, in works/k3f7.html, line 3"


def test_what_cannot_be_opened_is_not_called_clean(tmp_path):
    """A damaged zip, a bomb and a locked zip are hits: nobody can say what is in them."""
    whole = zipped("x", body="y" * 4000)
    (tmp_path / "cut.zip").write_bytes(whole[: len(whole) // 2])
    (tmp_path / "bomb.gz").write_bytes(gzip.compress(bytes(70_000_000)))
    assert {hit.kind for hit in sweep(tmp_path, FORBIDDEN).hits} == {"a part that cannot be opened"}
    assert len(sweep(tmp_path, FORBIDDEN).hits) == 2


def test_a_link_out_of_the_folder_is_a_hit(tmp_path):
    """A link could lead to anything."""
    (tmp_path / "a").symlink_to("/etc")
    assert [hit.kind for hit in sweep(tmp_path, FORBIDDEN).hits] == ["a link out of the folder"]


def test_the_dots_of_a_picture_hold_no_names():
    """Three-letter names are not "found" by chance in compressed dots: 4 MB of noise, JPEG, PNG and WebP."""
    short = forbidden_for(
        [
            make_child(one, f"Qu{one}rrab", student_id=key)
            for key, one in enumerate(["Ana", "Bea", "Eli", "Ida", "Leo", "Mia", "Noa", "Zoe", "Max", "Sam"])
        ],
        Audience.PUBLIC,
        day=DAY,
    )
    noise = Image.frombytes("RGB", (700, 500), random.Random(4).randbytes(700 * 500 * 3))
    for form, more in (("JPEG", {"quality": 95}), ("PNG", {}), ("WEBP", {"lossless": True})):
        out = io.BytesIO()
        noise.save(out, form, **more)
        assert sweep_bytes(out.getvalue(), short, name="a") == []


def test_the_program_s_own_files_and_words_are_no_hits(tmp_path):
    """Only by construction: own files byte for byte, own words together with markup that user text cannot hold."""
    may = forbidden_for([make_child("May", "Foot")], Audience.PUBLIC, day=DAY)
    page = '<p class="foot">May be printed</p>\n<p>{}</p>'
    (tmp_path / "a.html").write_text(page.format("sunny"))
    granted = Granted(everywhere=frozenset({'<p class="foot">May be printed</p>', "May", "sunny"}))
    assert not sweep(tmp_path, may).clean
    assert sweep(tmp_path, may, granted=granted).clean
    (tmp_path / "a.html").write_text(page.format("by May"))
    (hit,) = sweep(tmp_path, may, granted=granted).hits
    assert hit.where == "line 2"


def test_a_released_label_is_granted_in_its_file_only(tmp_path):
    """Two children called Ana: the released one's label stands on her page, nowhere else."""
    for name in ("a.html", "b.html"):
        (tmp_path / name).write_text('<span class="by">Ana</span>')
    granted = Granted(in_file={"a.html": frozenset({'<span class="by">Ana</span>'})})
    assert [hit.file for hit in sweep(tmp_path, FORBIDDEN, granted=granted).hits] == ["b.html"]


def test_it_counts_what_it_searched(tmp_path):
    """Every file, every byte."""
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "a").write_bytes(bytes(1000))
    (tmp_path / "b").write_bytes(b"")
    result = sweep(tmp_path, FORBIDDEN)
    assert (result.files, result.bytes, result.clean) == (2, 1000, True)


@settings(max_examples=60, deadline=None)
@given(st.binary(max_size=300), st.binary(max_size=300), st.sampled_from(["utf-8", "utf-16-le", "utf-16-be"]))
def test_any_bytes_around_a_name_do_not_hide_it(before, after, encoding):
    """Whatever stands around: parted by a blank, the name is found, and nothing breaks."""
    data = before + " Zyxqel ".encode(encoding) + after
    kinds = {hit.kind for hit in sweep_bytes(data, FORBIDDEN, name="a")}
    assert kinds & {"a child's first name", "a part that cannot be opened"}


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(PLACES)), st.data())
def test_damaged_files_never_stop_the_sweep(place, data):
    """Cut anywhere, any byte changed: an answer, never a crash."""
    whole = bytearray(SMALL[place])
    cut = data.draw(st.integers(0, len(whole)))
    at = data.draw(st.integers(0, max(0, len(whole) - 1)))
    if whole:
        whole[at] ^= data.draw(st.integers(0, 255))
    assert isinstance(sweep_bytes(bytes(whole[:cut]), FORBIDDEN, name="a"), list)


def test_a_zip_file_whose_list_points_before_its_beginning_cannot_be_opened():
    """Its directory says that it lies one byte later than it does, so that its first entry would begin at -1."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("a.txt", "Zyxqel")
    data = bytearray(out.getvalue())
    place = data.rindex(b"PK\x05\x06") + 16
    data[place : place + 4] = struct.pack("<I", struct.unpack_from("<I", data, place)[0] + 1)
    assert "a part that cannot be opened" in {hit.kind for hit in sweep_bytes(bytes(data), FORBIDDEN, name="a")}


SMALL = {place: make("Banana") for place, make in PLACES.items()}
