"""How the shipped spelling model was made: counts of which letters stand for which, from pairs of words.

A pair is (what was written, what was meant). The two are laid side by side with the fewest changes; each change is
counted alone and with its neighbors, up to three letters on either side (Brill and Moore, "An improved error
model for noisy channel spelling correction", 2000). ``python -m portfolio.search.training`` with the word lists
rebuilds the files in ``data/``; see ``data/NOTICE``. Nothing here runs while the program is used.
"""

from __future__ import annotations

import argparse
import csv
import gzip
import json
import math
import textwrap
from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Final

from portfolio.search.pieces import LONGEST_PIECE, Pieces
from portfolio.search.words import fold, is_plain, stem, words_of

SMOOTHING: Final = 6.0
"""Added to how often a piece was seen, so that one lucky sight of a rare piece does not count as a rule."""

CHILD_CHANCE: Final = math.log(0.02)
"""Least chance given to each pair of :data:`CHILD_PIECES`."""

CHILD_PIECES: Final = (
    "c>k c>s k>c ck>k ck>c k>ck s>c s>z z>s ss>c g>j j>g dge>j ge>j ph>f f>ph gh>f gh> x>ks x>cs ks>x qu>kw q>k "
    "ch>c ch>tch tch>ch sh>ch ch>sh ti>sh ci>sh si>sh tio>shu wh>w w>wh kn>n wr>r mb>m gn>n h> t>d d>t ed>t ed>d "
    "le>l le>el le>ul el>l er>r er>ur er>or ir>er ur>er or>er ar>er ai>a ay>a ea>e ee>e ie>e ei>a ey>y y>e y>ee "
    "igh>i ih>i ow>o oa>o ou>ow ow>ou oo>u ue>u ew>oo ue>ew au>o aw>o ou>u ea>ee ee>ea ai>ay a>ai i>ie i>y e>ee u>oo "
    "e$>$ $>e$ ow$>o$ o$>ow$ ff>f ll>l tt>t pp>p bb>b dd>d mm>m nn>n rr>r zz>z cc>c gg>g f>ff l>ll t>tt p>pp n>nn "
    "m>mm ur>r tu>ch tur>cher"
)
"""Letters that stand for one sound in English, as children who write by ear use them: meant > written. Common
knowledge of any first reader, set down by hand because the training pairs are slips of adults, who rarely write
by ear; no counts stand behind it."""

Step = tuple[str, str]


def aligned(meant: str, written: str) -> list[Step]:
    """The two words side by side, letter by letter, with the fewest changes: ("f", "f"), ("f", "") and so on.

    A vowel for a vowel costs less than a vowel for a consonant, so that "giraf" and "giraffe" meet where a reader
    would lay them.
    """
    rows, columns = len(meant) + 1, len(written) + 1
    cost = [[0.0] * columns for _ in range(rows)]
    for row in range(rows):
        for column in range(columns):
            if row or column:
                cost[row][column] = min(_ways(cost, meant, written, row, column))[0]
    steps: list[Step] = []
    row, column = len(meant), len(written)
    while row or column:
        _, back_row, back_column = min(_ways(cost, meant, written, row, column))
        steps.append((meant[back_row:row], written[back_column:column]))
        row, column = back_row, back_column
    return steps[::-1]


def _ways(cost: list[list[float]], meant: str, written: str, row: int, column: int) -> Iterator[tuple[float, int, int]]:
    if row and column:
        yield cost[row - 1][column - 1] + _swap(meant[row - 1], written[column - 1]), row - 1, column - 1
    if row:
        yield cost[row - 1][column] + 1.0, row - 1, column
    if column:
        yield cost[row][column - 1] + 1.0, row, column - 1
    if row > 1 and column > 1 and meant[row - 2 : row] == written[column - 2 : column][::-1]:
        yield cost[row - 2][column - 2] + 1.0, row - 2, column - 2


def _swap(one: str, other: str) -> float:
    if one == other:
        return 0.0
    return 1.0 if (one in "aeiouy") == (other in "aeiouy") else 1.4


def changes(steps: list[Step]) -> Iterator[Step]:
    """Every change with up to two neighbors, as (meant piece, written piece), neither over three letters."""
    for at, (meant, written) in enumerate(steps):
        if meant == written:
            continue
        for first in range(max(0, at - 2), at + 1):
            for last in range(at, min(len(steps), at + 3)):
                piece = "".join(step[0] for step in steps[first : last + 1])
                as_written = "".join(step[1] for step in steps[first : last + 1])
                if max(len(piece), len(as_written)) <= LONGEST_PIECE:
                    yield piece, as_written


def train(pairs: Iterable[tuple[str, str]]) -> Pieces:
    """The table of pieces from (written, meant) pairs, both folded. A word's edges are marked ``^`` and ``$``."""
    seen: Counter[str] = Counter()
    changed: dict[str, Counter[str]] = defaultdict(Counter)
    for written, meant in pairs:
        framed = f"^{meant}$"
        for size in range(LONGEST_PIECE + 1):
            seen.update(framed[at : at + size] for at in range(len(framed) - size + 1))
        for piece, as_written in changes(aligned(framed, f"^{written}$")):
            changed[piece][as_written] += 1
    table = {
        piece: {
            as_written: math.log(count / (seen[piece] + SMOOTHING))
            for as_written, count in sorted(written_as.items())
            if count > 1 or len(piece) < LONGEST_PIECE
        }
        for piece, written_as in sorted(changed.items())
    }
    for pair in CHILD_PIECES.split(" "):
        piece, _, as_written = pair.partition(">")
        if piece and max(len(piece), len(as_written)) <= LONGEST_PIECE:
            row = table.setdefault(piece, {})
            row[as_written] = max(row.get(as_written, CHILD_CHANCE), CHILD_CHANCE)
    return table


# --- the lexicon -------------------------------------------------------------------------------------------------

OWN_LEVEL: Final = 2
LONGEST_RARE_WORD: Final = 12
"""Letters; longer words of the rarer lists are left out, children do not write them."""


def lexicon_levels(scowl: Mapping[int, Iterable[str]], *, own: Iterable[str], seen: Collection[str]) -> dict[str, int]:
    """Word → level of rarity, 1-4. ``scowl``: words of sizes 10, 20 and 35; ``own``: words of the art room and of
    children's pictures; ``seen``: words met in titles and subjects of real works, which lift a size-35 word.

    A size-35 word enters when its stem is that of a more common word, of an own word or of a seen one.
    """
    common = {*scowl[10], *scowl[20]}
    own_words = {form for word in own for form in with_endings(word, allowed={*common, *scowl[35]})}
    stems = {stem(word) for word in (*common, *own_words, *seen)}
    levels = {
        word: 3 if word in seen else 4
        for word in scowl[35]
        if word in seen or (len(word) <= LONGEST_RARE_WORD and stem(word) in stems)
    }
    levels |= dict.fromkeys(scowl[20], 3) | dict.fromkeys(own_words, OWN_LEVEL) | dict.fromkeys(scowl[10], 1)
    return {word: level for word, level in sorted(levels.items()) if is_plain(word)}


def with_endings(word: str, *, allowed: Collection[str]) -> list[str]:
    """An own word with its plain plural, and with those endings that make a word of the ``allowed`` list."""
    forms = [word] if word.endswith(("s", "x", "y", "z", "sh", "ch")) else [word, f"{word}s"]
    guessed = [word + ending for ending in ("es", "ed", "ing", "er", "y")]
    guessed += [word.removesuffix("e") + ending for ending in ("ed", "ing", "er", "y")]
    guessed += [word.removesuffix("y") + "ies"]
    return list(dict.fromkeys(forms + [form for form in guessed if form in allowed]))


def _own_words(text: str) -> list[str]:
    return [word for line in text.splitlines() if not line.startswith("#") for word in words_of(line)]


def misspelling_pairs(text: str) -> list[tuple[str, str]]:
    """(written, meant) from a list in which a line with ``$`` is the target of the lines below it. Only pairs of
    plain words; of a target of two words nothing can be learnt about letters.
    """
    pairs: list[tuple[str, str]] = []
    meant = ""
    for line in text.split("\n"):
        if line.startswith("$"):
            meant = fold(line[1:].strip())
        elif is_plain(written := fold(line.strip())) and is_plain(meant) and written != meant:
            pairs.append((written, meant))
    return pairs


def _scowl(folder: Path, size: int) -> list[str]:
    names = (f"english-words.{size}", f"american-words.{size}")
    lines = [line for name in names for line in (folder / name).read_text(encoding="latin-1").splitlines()]
    return sorted({fold(line.strip()) for line in lines} - {""})


def _works_words(path: Path) -> set[str]:
    with gzip.open(path, "rt", encoding="utf-8", newline="") as handle:
        return {word for row in csv.DictReader(handle) for word in words_of(f"{row['title']} {row['subjects']}")}


def write_data(scowl: Path, works: Path, *, misspellings: Path, folder: Path) -> None:
    """Write ``lexicon.txt`` and ``pieces.json`` into ``folder``; ``own_words.txt`` is read from there."""
    own = _own_words((folder / "own_words.txt").read_text(encoding="utf-8"))
    levels = lexicon_levels({size: _scowl(scowl, size) for size in (10, 20, 35)}, own=own, seen=_works_words(works))
    lines = [
        f"{level}\t{line}"
        for level in sorted({*levels.values()})
        for line in textwrap.wrap(" ".join(word for word in levels if levels[word] == level), width=116)
    ]
    (folder / "lexicon.txt").write_text("\n".join(lines) + "\n", encoding="ascii", newline="\n")
    pieces = rounded(train(misspelling_pairs(misspellings.read_text(encoding="utf-8"))))
    rows = [f"{json.dumps(piece)}:{json.dumps(row, separators=(',', ':'))}" for piece, row in sorted(pieces.items())]
    text = "{\n" + ",\n".join(rows) + "\n}\n"
    (folder / "pieces.json").write_text(text, encoding="ascii", newline="\n")


def rounded(pieces: Pieces) -> dict[str, dict[str, float]]:
    """The table as it is shipped: two places are plenty for a rank."""
    return {piece: {as_: round(chance, 2) for as_, chance in row.items()} for piece, row in pieces.items()}


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="Rebuild the spelling model from its sources.")
    parser.add_argument("scowl", type=Path, help="folder with english-words.10 and so on")
    parser.add_argument("works", type=Path, help="records of real works, a gzipped table with title and subjects")
    parser.add_argument("misspellings", type=Path, help="list of common misspellings")
    given = parser.parse_args()
    write_data(given.scowl, given.works, misspellings=given.misspellings, folder=Path(__file__).parent / "data")
