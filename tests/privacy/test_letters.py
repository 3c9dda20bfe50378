"""Letters without their dress, and the way back from a folded letter to the place in the text where it stood."""

import sys
import unicodedata

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from portfolio.privacy.letters import fold, fold_in_place, runs_in_place

DRESSED = (
    "ΣΑΣ İstanbul Zoe\u0308 A\u0328\u0301b \u1112\u1161\u11ab 한 ǆ ﬃ ŉ Ⓩⓨⓧ रवि क\u093c\u094d ᾳ\u0301 O’Neil \U0001f170"
)


@given(st.text())
@example(DRESSED)
@example(unicodedata.normalize("NFD", DRESSED))
def test_each_folded_letter_knows_where_it_stood(text):
    """Folding in place gives the same letters as folding, each from a place that rises, and each gives that letter."""
    cut = fold_in_place(text)
    assert cut.letters == fold(text)
    assert len(cut.places) == len(cut.letters) + 1
    assert list(cut.places) == sorted(cut.places)
    assert all(letter in fold(text[at]) for letter, at in zip(cut.letters, cut.places, strict=False))


@given(st.text())
@example(DRESSED)
def test_composed_and_decomposed_are_alike(text):
    """NFC, NFD and no form at all: one folded text, apart from marks that nobody typed in that order."""
    assert fold(unicodedata.normalize("NFC", text)) == fold(unicodedata.normalize("NFD", text))


def test_every_sign_folds_to_what_it_folds_to():
    """Folding a folded sign changes nothing, for all of Unicode; what is left is small."""
    for sign in filter(str.isprintable, map(chr, range(sys.maxunicode + 1))):
        once = fold(sign)
        assert fold(once) == once, ascii(sign)
        assert once == once.lower()


@pytest.mark.parametrize(
    ("dressed", "plain"),
    [
        ("Ⓩⓨⓧ", "zyx"),
        ("🅰🄱🅲🇩", "abcd"),
        ("ᴀɴᴀ", "ana"),
        ("z\u1ab0y\u1dc4x", "zyx"),
        ("z\u20ddyx", "zyx"),
        ("Łucja Bjørn Đặng Ɓala", "lucja bjorn dang bala"),
        ("Ka\u02bbiu Ka\u02bciu Ka\u2018iu Ka\u2019iu", "ka'iu ka'iu ka'iu ka'iu"),
        ("3B–14 ३⑭➀", "3b 14 3141"),
        ("ع\u0640مر", "عمر"),
        ("".join(f"a{sign}" for sign in "\u00ad\u180e\u202a\u202e\u2066\u206f\ufe00\ufe0f\u3164\U000e0101"), "a" * 10),
        ("रवि राम", "रवि राम"),
        ("ज़ोया ज\u093cोया", "जोया जोया"),
    ],
)
def test_letters_without_their_dress(dressed, plain):
    """Circles, squares, small capitals, strokes, marks, invisible signs. Source: names, categories and
    Default_Ignorable_Code_Point of the Unicode Character Database."""
    assert fold(dressed) == plain


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("by Ⓩⓨⓧ!", [("by", False), ("Ⓩⓨⓧ", True)]),
        ("zoe\u0308 z", [("zoe\u0308", False), ("z", False)]),
        ("a\u200bna", [("a\u200bna", False)]),
        ("רבקה و", [("רבקה", True), ("و", True)]),
        ("रवि", [("रवि", True)]),
    ],
)
def test_runs_stand_where_they_were_written(text, words):
    """Marks and invisible signs belong to their word; a script without capitals needs none."""
    assert [(text[run.start : run.end], run.capital) for run in runs_in_place(fold_in_place(text))] == words
