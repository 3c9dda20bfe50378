"""The printed pages, measured from their own pixels: what leaves the printer is the contract."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

import cv2
import numpy as np
import pikepdf
import pytest
from PIL import Image

from portfolio.cards.draw import srgb_of, tag_modules
from portfolio.cards.geometry import (
    CARD,
    PAPER_REFLECTANCE,
    PATCH_INSET_MM,
    PATCH_REFLECTANCE,
    PATCHES,
    TAGS,
    VALUES,
    Rect,
    Side,
    card_of_tag,
    tags_of,
)
from portfolio.cards.sheets import CHECK_MM, CardToPrint, Paper, black_outline, card_sheets, how_to_sheet
from portfolio.errors import PortfolioError
from portfolio.model.cards import CardKind

DPI = 150
PX_PER_MM = DPI / 25.4
DETECTOR = cv2.aruco.ArucoDetector(cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11))
READ: dict[int, dict[tuple[CardKind, int], dict[Side, np.ndarray]]] = {}
"""Pages are read once; several tests measure them."""
EVERY_CARD = [
    CardToPrint(kind, value)
    for kind, values in VALUES.items()
    for value in values
    if kind is not CardKind.CONTROL or value <= 106
]
LABELED = [
    CardToPrint(CardKind.CLASS, 301, "3B"),
    CardToPrint(CardKind.CLASS, 360, "Room 12 Kindergarten, afternoon"),
    CardToPrint(CardKind.MEDIUM, 61, "crayon"),
    CardToPrint(CardKind.MEDIUM, 79, "papier-mâché"),
]


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """Gray pages by paper: every card on Letter, some of each kind on A4."""
    if shutil.which("pdftoppm") is None:
        if os.environ.get("CI") == "true":
            pytest.fail("pdftoppm (poppler-utils) is needed to measure the printed pages")
        pytest.skip("pdftoppm (poppler-utils) is not here: the printed pages cannot be measured")
    some = [card for card in EVERY_CARD if card.value in {1, 9, 40, 90, 101, 106, 342}]
    folder = tmp_path_factory.mktemp("pages")
    return {
        Paper.LETTER: _rendered(card_sheets([*EVERY_CARD, *LABELED]), folder / "letter"),
        Paper.A4: _rendered(card_sheets([*some, *LABELED], paper=Paper.A4), folder / "a4"),
    }


def _rendered(pdf: bytes, stem: Path) -> list[np.ndarray]:
    """Outside check: poppler makes the pixels."""
    stem.with_suffix(".pdf").write_bytes(pdf)
    command = ["pdftoppm", "-r", str(DPI), "-gray", str(stem.with_suffix(".pdf")), str(stem)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    return [np.asarray(Image.open(path)) for path in sorted(stem.parent.glob(f"{stem.name}-*.pgm"))]


def _cards_on(page: np.ndarray) -> dict[tuple[CardKind, int], dict[Side, np.ndarray]]:
    """Outside check: OpenCV reads the tags; corners in millimeters of the page."""
    found, ids, _ = DETECTOR.detectMarkers(page)
    cards: dict[tuple[CardKind, int], dict[Side, np.ndarray]] = {}
    for quad, tag in zip(found, ids.ravel().tolist(), strict=True):
        meaning = card_of_tag(tag)
        assert meaning is not None
        fine = cv2.cornerSubPix(page, quad.reshape(-1, 1, 2).copy(), (4, 4), (-1, -1), (3, 40, 0.001))
        cards.setdefault((meaning.kind, meaning.value), {})[meaning.side] = (fine.reshape(4, 2) + 0.5) / PX_PER_MM
    return cards


def _all_cards(pages: list[np.ndarray]) -> Iterator[tuple[np.ndarray, tuple[CardKind, int], dict[Side, np.ndarray]]]:
    for page in pages:
        key = hash(page.tobytes())
        if key not in READ:
            READ[key] = _cards_on(page)
        for card, sides in READ[key].items():
            assert set(sides) == set(Side), card
            yield page, card, sides


def _origin(sides: dict[Side, np.ndarray]) -> np.ndarray:
    """Where the card's top left corner must lie, by the middles of its two tags."""
    middles = np.array([sides[side].mean(axis=0) for side in Side])
    return middles.mean(axis=0) - np.mean([TAGS[side].center for side in Side], axis=0)


def _cut(page: np.ndarray, origin: np.ndarray, rect: Rect) -> np.ndarray:
    (left, top), _, (right, bottom), _ = np.rint((np.array(rect.corners) + origin) * PX_PER_MM).astype(int)
    return page[top:bottom, left:right]


def test_every_card_is_read_back_from_the_page(pages) -> None:
    """All 40 number, 30 medium, 6 control and 60 class cards are printed and read, both tags of each."""
    seen = {card for _, card, _ in _all_cards(pages[Paper.LETTER])}
    assert seen == {(card.kind, card.value) for card in EVERY_CARD}
    assert len(seen) == 40 + 30 + 6 + 60


@pytest.mark.parametrize("paper", list(Paper))
def test_tags_lie_to_a_third_of_a_millimeter(pages, paper: Paper) -> None:
    """Every tag corner is within 0.3 mm of the contract, and cards stand straight on the page."""
    for _, card, sides in _all_cards(pages[paper]):
        origin = _origin(sides)
        for side in Side:
            expected = origin + np.array(TAGS[side].corners)
            assert np.abs(sides[side] - expected).max() < 0.3, card


@pytest.mark.parametrize("paper", list(Paper))
def test_patches_lie_where_the_contract_says_and_have_their_gray(pages, paper: Paper) -> None:
    """Each patch is full of its gray, and 0.3 mm beyond its edge there is none of it."""
    grays = srgb_of(np.array(PATCH_REFLECTANCE, dtype=np.float32) / PAPER_REFLECTANCE)
    for page, card, sides in _all_cards(pages[paper]):
        origin = _origin(sides)
        for patch, gray in zip(PATCHES, grays.tolist(), strict=True):
            assert abs(float(np.median(_cut(page, origin, patch.inset(PATCH_INSET_MM)))) - gray) <= 1, card
            assert np.abs(_cut(page, origin, patch.inset(0.3)).astype(int) - gray).max() <= 1, card
            ring = _cut(page, origin, patch.inset(-0.3))
            edge = np.concatenate([ring[0], ring[-1], ring[:, 0], ring[:, -1]])
            assert edge.min() >= 250, card


@pytest.mark.parametrize("paper", list(Paper))
def test_the_rest_of_the_card_is_bare_paper(pages, paper: Paper) -> None:
    """Round the tags, up to the edge of the card, nothing is printed: no frame, no word, no tint."""
    for page, card, sides in _all_cards(pages[paper]):
        origin = _origin(sides)
        for bare in (
            Rect(0.4, 0.4, 139.2, 8.2),
            Rect(0.4, 52.4, 139.2, 7.2),
            Rect(0.4, 0.4, 7.2, 59.2),
            Rect(48.4, 0.4, 4.2, 59.2),
            Rect(87.4, 0.4, 4.2, 59.2),
            Rect(132.4, 0.4, 7.2, 59.2),
        ):
            assert _cut(page, origin, bare).min() >= 250, card


@pytest.mark.parametrize("paper", list(Paper))
def test_the_check_line_measures_a_hundred_millimeters(pages, paper: Paper) -> None:
    """Every page has the line, 100 mm long within 0.2 mm from outer edge to outer edge of its ticks."""
    for page in pages[paper]:
        foot = page[-round(30 * PX_PER_MM) :] < 128
        longest = 0.0
        for row in foot:
            runs = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(np.int8), [0]])))
            longest = max(longest, float(np.max(runs[1::2] - runs[::2], initial=0)) / PX_PER_MM)
        assert abs(longest - CHECK_MM) <= 0.2


@pytest.mark.parametrize("paper", list(Paper))
def test_nothing_is_printed_where_printers_cannot(pages, paper: Paper) -> None:
    """Four millimeters round the page stay free."""
    rim = round(4 * PX_PER_MM)
    for page in pages[paper]:
        for strip in (page[:rim], page[-rim:], page[:, :rim], page[:, -rim:]):
            assert strip.min() == 255


@pytest.mark.parametrize("paper", list(Paper))
def test_all_four_corners_of_a_number_card_have_cut_marks(pages, paper: Paper) -> None:
    """Left and right of each corner a tick shows where to cut."""
    for page, (kind, value), sides in _all_cards(pages[paper]):
        if kind is not CardKind.NUMBER:
            continue
        for x_mm, away in ((0.0, -3.5), (CARD.width_mm, 3.5)):
            for y_mm in (0.0, CARD.height_mm):
                x, y = (_origin(sides) + np.array([x_mm + away, y_mm])) * PX_PER_MM
                assert page[round(y) - 2 : round(y) + 3, round(x)].min() < 160, value


@pytest.mark.parametrize("tag", [*tags_of(CardKind.NUMBER, 1), *tags_of(CardKind.CLASS, 360)])
def test_a_tag_is_one_filled_shape(tag: int) -> None:
    """Filled even-odd, the outline is the tag, square for square."""
    filled = np.zeros((40, 40), np.uint8)
    for loop in black_outline(tag):
        one = np.zeros_like(filled)
        points = np.array(loop)
        for start, end in zip(points, np.roll(points, -1, axis=0), strict=True):
            if start[0] == end[0]:  # an upright edge turns everything to its right over: the even-odd rule
                low, high = sorted((int(start[1]), int(end[1])))
                one[low:high, int(start[0]) :] ^= 1
        filled ^= one
    assert np.array_equal(filled.astype(bool), np.kron(tag_modules(tag), np.ones((5, 5), bool)))


def _same_but_for_time(make) -> bytes:
    first, second = make(), make()
    assert first == second
    return first


@pytest.mark.parametrize("paper", list(Paper))
def test_the_same_cards_give_the_same_bytes_and_say_nothing_else(paper: Paper) -> None:
    """PDFs are repeatable, tagged, of the right size, and hold no date, no author and no path of this machine."""
    sizes = {Paper.LETTER: (612.0, 792.0), Paper.A4: (595.276, 841.89)}
    for pdf in (
        _same_but_for_time(lambda: card_sheets(LABELED, paper=paper)),
        _same_but_for_time(lambda: how_to_sheet(paper=paper)),
    ):
        with pikepdf.open(BytesIO(pdf)) as opened:
            assert bool(opened.Root.MarkInfo.Marked)
            assert str(opened.Root.Lang).startswith("en")
            for page in opened.pages:
                assert [float(x) for x in page.mediabox] == pytest.approx([0, 0, *sizes[paper]], abs=0.01)
            assert "/Author" not in opened.docinfo
            assert not [key for key in opened.docinfo if "Date" in key]
            assert re.search(rb"<pdfuaid:part>1<", opened.Root.Metadata.read_bytes())
            opened.save(plain := BytesIO(), stream_decode_level=pikepdf.StreamDecodeLevel.all)
        for word in (str(Path.home()), str(Path.cwd()), "portfolio/static", "/print/fonts"):
            assert word.encode() not in plain.getvalue()


def test_the_how_to_is_one_page(tmp_path: Path) -> None:
    """The sheet beside the table is one sheet."""
    for paper in Paper:
        with pikepdf.open(BytesIO(how_to_sheet(paper=paper))) as opened:
            assert len(opened.pages) == 1


@pytest.mark.parametrize("label", ["#panic()", "*3B* $x$ @ref", "<b>", "\\end", '"', "3 B/Ω"])
def test_a_label_is_words_and_never_markup(label: str) -> None:
    """Whatever is written on a card is printed letter for letter; it never runs and never fails."""
    plain, marked = (card_sheets([CardToPrint(CardKind.CLASS, 301, words)]) for words in ("3B", label))
    assert marked.startswith(b"%PDF-")
    assert marked != plain


def test_letters_that_no_font_has_are_refused_in_a_sentence() -> None:
    """A label in letters that cannot be printed says so, instead of printing empty boxes."""
    with pytest.raises(PortfolioError, match="letter") as refused:
        card_sheets([CardToPrint(CardKind.CLASS, 301, "三年")])
    assert refused.value.code == "letters-not-printable"
    assert "三" in refused.value.sentence


def test_no_cards_make_no_pages() -> None:
    """An empty list is said, not printed."""
    with pytest.raises(PortfolioError, match="empty"):
        card_sheets([])


def test_a_card_that_does_not_exist_is_not_printed() -> None:
    """Number 41 has no tag."""
    with pytest.raises(ValueError, match="41"):
        card_sheets([CardToPrint(CardKind.NUMBER, 41)])
