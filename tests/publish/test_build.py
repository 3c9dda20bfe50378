"""A site is built whole, rebuilt in part, and put into place in one step."""

import io
import json
import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest
from PIL import Image

from portfolio.errors import Refused
from portfolio.model.people import Audience
from portfolio.model.showing import Picture
from portfolio.publish.build import Built, build
from portfolio.publish.pages import ONE_PAGE_MAX, count_words, linked_data, size_words
from portfolio.publish.parts import fixed_pieces
from portfolio.publish.place import move_into_place, refuse_foreign, staging
from tests.support.shows import make_jpeg, make_labels, make_text

VISUAL_ARTWORK = {"@context", "@type", "name", "artist", "image", "isPartOf", "artMedium", "width", "height"}
"""Properties used; each is a property of VisualArtwork or its parents in schema.org release 30.0
(repo schemaorg/schemaorg, data/releases/30.0)."""
FORBIDDEN_PROPERTIES = {"identifier", "birthDate", "exifData", "familyName", "givenName", "dateCreated"}


@pytest.fixture
def site(tmp_path):
    folder = tmp_path / "site"
    folder.mkdir()
    labels = make_labels(tmp_path / "pictures")
    return folder, labels, build(make_text(), labels, folder)


class Page(HTMLParser):
    def __init__(self, text: str) -> None:
        super().__init__()
        self.links, self.images = [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        for name in ("href", "src"):
            if name in found:
                self.links.append(found[name])
        for source in re.findall(r"(\S+) \d+w", found.get("srcset", "")):
            self.links.append(source)
        if tag == "img":
            self.images.append(found)


def test_every_link_leads_to_a_file_of_the_site(site):
    """Works from a folder: nothing points outside, nothing is missing."""
    folder, _, built = site
    for path in folder.rglob("*.html"):
        for link in Page(path.read_text()).links:
            target, _, part = link.partition("#")
            assert "//" not in target
            file = (path.parent / target).resolve() if target else path
            assert file.is_file(), link
            if part and part != "start":
                assert f'id="{part}"' in file.read_text(), link
    assert built.pages == 8
    assert built.pictures == 6


def test_every_picture_has_words_and_a_size(site):
    """Alternative text is title and medium; width and height keep the page from jumping."""
    folder, labels, _ = site
    images = [image for path in folder.rglob("*.html") for image in Page(path.read_text()).images]
    assert len(images) == 12
    assert {image["alt"] for image in images} == {f"{label.title or 'Untitled'}, {label.medium}" for label in labels}
    assert all(image["width"].isdigit() and image["height"].isdigit() for image in images)


def test_no_class_no_number_no_date(site):
    """What a page for the public says of a work: title, grade, medium, size, words."""
    folder, _, _ = site
    told = "\n".join(path.read_text() for path in folder.rglob("*.html"))
    assert not re.search(r"\d{4}-\d\d-\d\d|[0-5][A-D]-\d|number \d", told)


def test_text_from_outside_is_escaped(tmp_path):
    """A title cannot close an element, an attribute, a script, or bring one in."""
    nasty = '</script><script>alert(1)</script>" onload="x <b>&amp;'
    labels = make_labels(tmp_path / "pictures", 2, title=nasty, words=nasty, maker=nasty)
    folder = tmp_path / "site"
    folder.mkdir()
    build(make_text(title=nasty, intro=nasty), labels, folder)
    for path in folder.rglob("*.html"):
        text = path.read_text()
        assert "<script>alert" not in text
        assert '" onload="x' not in text
    index = re.search(r'id="works">(.*?)</script>', (folder / "find.html").read_text(), re.DOTALL)
    assert json.loads(index[1])[0]["title"] == nasty


def test_no_template_piece_can_be_forged(tmp_path):
    """What the sweep lets pass holds markup that escaped text cannot hold: titles made of it do not bring it in."""
    for piece in sorted(fixed_pieces()):
        assert "<" in piece or '"' in piece
    (quiet,) = make_labels(tmp_path / "pictures", 1, picture=None, title="x", words="y")
    whole = " ".join(sorted(fixed_pieces()))
    loud = replace(quiet, title=f"x {whole}", words=f"y {whole}", maker=f"Grade 2 artist {whole}")
    told = []
    for label in (quiet, loud):
        folder = tmp_path / str(len(told))
        folder.mkdir()
        build(make_text(), (label,), folder)
        told.append("".join(path.read_text() for path in sorted(folder.rglob("*.html"))))
    for piece in fixed_pieces():
        assert told[1].count(piece) <= told[0].count(piece), piece


def test_only_what_changed_is_written(site, tmp_path):
    """One title: its page, the wall and the find page; everything else is taken over, to the byte."""
    folder, labels, built = site
    again = tmp_path / "again"
    again.mkdir()
    changed = (replace(labels[0], title="Ship"), *labels[1:])
    rebuilt = build(make_text(), changed, again, standing=folder, before=Built.from_json(built.as_json()))
    assert rebuilt.written == 3
    whole = tmp_path / "whole"
    whole.mkdir()
    fresh = build(make_text(), changed, whole)
    assert {name: file.sha256 for name, file in rebuilt.files.items()} == {
        name: file.sha256 for name, file in fresh.files.items()
    }
    assert rebuilt.digest == fresh.digest


def test_a_file_changed_by_somebody_is_written_again(site, tmp_path):
    """What stands there is only taken over when it is what was built."""
    folder, labels, built = site
    (folder / "works" / f"{labels[0].key}.html").write_text("scribbled over")
    again = tmp_path / "again"
    again.mkdir()
    assert build(make_text(), labels, again, standing=folder, before=built).written == 1


def test_pictures_carry_nothing_along(tmp_path):
    """EXIF, XMP, comments and profiles of a derivative do not reach the site; its dots are the same."""
    exif = Image.Exif()
    exif[0x013B] = "Zyxqel Quorrab"
    source = tmp_path / "a.jpg"
    source.write_bytes(
        make_jpeg(672, 504, exif=exif.tobytes(), comment=b"Zyxqel", xmp=b"<x>Zyxqel</x>", icc_profile=b"Zyxqel")
    )
    folder = tmp_path / "site"
    folder.mkdir()
    (label,) = make_labels(tmp_path / "pictures", 1, picture=Picture((source,)))
    build(make_text(), (label,), folder)
    pictures = sorted((folder / "pictures").iterdir())
    assert [path.suffix for path in pictures] == [".jpg", ".webp"]
    for path in pictures:
        assert b"Zyxqel" not in path.read_bytes()
        with Image.open(path) as opened:
            assert not opened.getexif()
            assert not {"exif", "xmp", "comment", "icc_profile"} & set(opened.info)
    with Image.open(pictures[0]) as shown, Image.open(source) as made:
        assert shown.tobytes() == made.tobytes()


def test_marked_regions_are_covered_in_every_size(tmp_path):
    """Nothing of a marked region is left in any JPEG or WebP; the rest of the picture is there."""
    mask = ((0.5, 0.0), (1.0, 0.0), (1.0, 1.0), (0.5, 1.0))
    labels = make_labels(tmp_path / "pictures", 1)
    label = replace(labels[0], picture=Picture(labels[0].picture.files, (mask,)))
    folder = tmp_path / "site"
    folder.mkdir()
    build(make_text(), (label,), folder)
    paths = sorted((folder / "pictures").iterdir())
    assert len(paths) == 5
    for path in paths:
        with Image.open(io.BytesIO(path.read_bytes())) as opened:
            rgb = opened.convert("RGB")
            width, height = rgb.size
            for x in (0.51, 0.75, 0.98):
                assert all(abs(value - 128) < 12 for value in rgb.getpixel((int(x * width), height // 2)))
            assert rgb.getpixel((width // 4, height // 2))[0] > 170


def test_a_mask_makes_a_new_picture(site, tmp_path):
    """A region marked later is covered at the next build, although the derivative did not change."""
    folder, labels, built = site
    mask = ((0.0, 0.0), (0.2, 0.0), (0.2, 0.2))
    masked = (replace(labels[0], picture=Picture(labels[0].picture.files, (mask,))), *labels[1:])
    again = tmp_path / "again"
    again.mkdir()
    rebuilt = build(make_text(), masked, again, standing=folder, before=built)
    assert rebuilt.written == 5


def test_many_works_hang_on_walls_of_their_own(tmp_path):
    """Beyond one page's worth, each sign has its wall; the first page shows a beginning of each."""
    one = make_labels(tmp_path / "pictures", 1, picture=None)[0]
    labels = tuple(
        replace(one, key=f"k{n // 100}t{n // 10 % 10}z{n % 10}", sign="K–2" if n % 2 else "3–5")
        for n in range(ONE_PAGE_MAX + 10)
    )
    folder = tmp_path / "site"
    folder.mkdir()
    build(make_text(), labels, folder)
    assert (folder / "k-2.html").read_text().count("<article") == 125
    assert (folder / "index.html").read_text().count("<article") == 24
    for path in [folder / "index.html", folder / "works" / f"{labels[0].key}.html"]:
        for link in Page(path.read_text()).links:
            assert (path.parent / link.partition("#")[0]).exists()


def test_small_numbers_are_not_told_outside_the_school():
    """Fewer than ten works: "a few"; the school itself may read the number."""
    assert count_words(9, make_text()) == "a few works"
    assert count_words(10, make_text()) == "10 works"
    assert count_words(3, make_text(Audience.COMMUNITY)) == "a few works"
    assert count_words(1, make_text(Audience.SCHOOL)) == "1 work"


def test_linked_data_is_a_visual_artwork_without_a_child(tmp_path):
    """Only properties that schema.org release 30.0 has for it; the artist is a grade, also where a name is released."""
    (label,) = make_labels(tmp_path, 1, maker="Ana")
    found = linked_data(make_text(), label)
    assert set(found) == VISUAL_ARTWORK
    assert found["artist"] == {"@type": "Person", "name": "Grade 2 artist"}
    assert not FORBIDDEN_PROPERTIES & set(json.dumps(found).replace('"', " ").split())
    assert found["width"] == {"@type": "QuantitativeValue", "value": 305, "unitCode": "MMT"}


def test_linked_data_is_for_the_web_only(site, tmp_path):
    """A booklet's or the hall's site has no reader for it."""
    folder, labels, _ = site
    assert "ld+json" in (folder / "works" / f"{labels[0].key}.html").read_text()
    school = tmp_path / "school"
    school.mkdir()
    build(make_text(Audience.SCHOOL), labels, school)
    assert not any("ld+json" in path.read_text() for path in school.rglob("*.html"))


def test_sizes_are_said_in_the_school_s_units(tmp_path):
    """12 × 9 in, or 31 × 23 cm (305 × 229 mm); an unknown size is said to be unknown."""
    (label,) = make_labels(tmp_path, 1)
    assert size_words(label, "in") == "12 × 9 in"
    assert size_words(label, "cm") == "30 × 23 cm"
    assert size_words(replace(label, width_mm=None), "in") == "Size not measured"


def test_a_folder_with_other_things_is_never_replaced(site, tmp_path):
    """Only an empty folder, or one with nothing but a site of ours."""
    folder, _, _ = site
    refuse_foreign(tmp_path / "nothing")
    refuse_foreign(folder)
    (folder / "holiday.jpg").write_bytes(b"x")
    with pytest.raises(Refused, match="holds other files"):
        refuse_foreign(folder)
    other = tmp_path / "documents"
    other.mkdir()
    refuse_foreign(other)
    (other / "letter.txt").write_text("dear")
    with pytest.raises(Refused) as refused:
        refuse_foreign(other)
    assert refused.value.code == "site-place-taken"


def test_the_old_site_stands_until_the_new_one_does(tmp_path):
    """In one step; when that step fails the old site is back; a staged rest of a crash is cleared."""
    target = tmp_path / "site"
    target.mkdir()
    (target / "old.html").write_text("old")
    with staging(target) as staged:
        left = staged
        (staged / "new.html").write_text("new")
        move_into_place(staged, target)
    assert [path.name for path in target.iterdir()] == ["new.html"]
    with pytest.raises(FileNotFoundError):
        move_into_place(tmp_path / "gone", target)
    assert [path.name for path in target.iterdir()] == ["new.html"]
    left.mkdir()
    with staging(target):
        pass
    assert sorted(path.name for path in tmp_path.iterdir()) == ["site"]
