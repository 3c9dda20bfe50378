"""The index: found as a linear scan finds, whole or damaged, never a name, never two truths."""

from __future__ import annotations

import csv
import gzip
import random
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.errors import DiskError
from portfolio.search import Document, Index, IndexBusy, IndexDamaged, Tier, current_stamp
from portfolio.search import index as index_module
from portfolio.search.words import fold
from tests.support.linear_search import plain_words, scan, scan_phrase
from tests.support.outside import outside

STAMP = current_stamp()
SENTINELS = ("Zyxqel", "Quorrab", "Łucjaxyz", "O'Vrrtnik")


def build(folder: Path, *documents: Document, position: int = 0, known=()) -> Index:
    return Index.build(folder, STAMP, documents=documents, position=position, known_words=known)


def ids(index: Index, words: str, **more) -> set[str]:
    return {hit.work_id for hit in index.search(words, limit=None, **more).hits}


def tier_of(index: Index, words: str, work_id: str) -> Tier | None:
    return next((hit.tier for hit in index.search(words, limit=None).hits if hit.work_id == work_id), None)


# --- against a linear scan -------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def museum(tmp_path_factory):
    """Every 25th of 20,000 records of real works. Source: Tate collection data (CC0)."""
    with gzip.open(outside("museum", "works_20000.csv.gz"), "rt", encoding="utf-8", newline="") as handle:
        rows = [row for number, row in enumerate(csv.DictReader(handle)) if number % 25 == 0]
    documents = [
        Document(row["record"], row["subjects"].replace("; ", "\n"), row["title"], row["medium"]) for row in rows
    ]
    texts = {d.work_id: (d.reflection, d.title, d.tags) for d in documents}
    index = Index.build(tmp_path_factory.mktemp("museum"), STAMP, documents=documents, position=len(rows))
    yield index, texts
    index.close()


def test_quoted_words_are_found_as_a_scan_finds_them(museum):
    """Each of 150 words of real titles and subjects is found in exactly the works that hold it."""
    index, texts = museum
    assert len(texts) == 800
    vocabulary = sorted({word for parts in texts.values() for part in parts for word in plain_words(part)})
    for word in random.Random(1).sample(vocabulary, 150):
        result = index.search(f'"{word}"', limit=None)
        assert {hit.work_id for hit in result.hits} == scan(texts, [word]), word
        assert result.total == len(result.hits)
        assert all(hit.tier is Tier.EXACT for hit in result.hits)


def test_quoted_phrases_are_found_as_a_scan_finds_them(museum):
    """Each of 60 pairs of neighboring words is found in exactly the works that hold them side by side."""
    index, texts = museum
    chance = random.Random(2)
    titles = [words for parts in texts.values() if len(words := plain_words(parts[1])) > 1]
    for words in chance.sample(titles, 60):
        at = chance.randrange(len(words) - 1)
        phrase = words[at : at + 2]
        assert ids(index, f'"{" ".join(phrase)}"') == scan_phrase(texts, phrase), phrase


def test_all_words_must_be_there(museum):
    """Two quoted words find the works that hold both; without quotes at least those, the exact ones first."""
    index, texts = museum
    for words in (["man", "sea"], ["boat", "river"], ["woman", "portrait"], ["tree", "hill"]):
        both = scan(texts, words)
        assert both
        assert ids(index, " ".join(f'"{word}"' for word in words)) == both
        loose = index.search(" ".join(words), limit=None)
        assert both <= {hit.work_id for hit in loose.hits if hit.tier is Tier.EXACT}
        order = [list(Tier).index(hit.tier) for hit in loose.hits]
        assert order == sorted(order)


@settings(max_examples=30, deadline=None)
@given(data=st.data())
def test_allowed_ids_only_narrow(museum, data):
    """A filter of ids gives exactly the hits that are allowed, in the same order, and counts only those."""
    index, texts = museum
    word = data.draw(st.sampled_from(["man", "sea", "watercolour", "house", "tree", "girl"]))
    allowed = data.draw(st.sets(st.sampled_from(sorted(texts)), max_size=200))
    everything = index.search(word, limit=None)
    narrowed = index.search(word, limit=None, allowed_ids=allowed)
    assert narrowed.hits == tuple(hit for hit in everything.hits if hit.work_id in allowed)
    assert narrowed.total == len(narrowed.hits) == sum(narrowed.by_tier)
    assert index.search(word, limit=3, allowed_ids=allowed).hits == narrowed.hits[:3]


# --- tiers --------------------------------------------------------------------------------------------------------


def test_tiers_say_how_a_work_was_found(tmp_path):
    """Spelled this way, a child's spelling, maybe: each work under the right head, best first."""
    index = build(
        tmp_path,
        Document("right", "my giraffe is tall"),
        Document("child", "my jiraff is tall"),
        Document("twin", "a flour in the garden"),
        Document("other", "a boat"),
    )
    assert tier_of(index, "giraffe", "right") is Tier.EXACT
    assert tier_of(index, "giraffe", "child") is Tier.CHILDREN
    assert tier_of(index, "flower", "twin") is Tier.MAYBE
    assert [hit.work_id for hit in index.search("giraffe").hits] == ["right", "child"]
    assert index.search("giraffe").by_tier == (1, 1, 0)


def test_quoted_words_are_exact_only(tmp_path):
    """In quotes neither stem nor child's spelling nor correction is tried."""
    index = build(tmp_path, Document("a", "I painted it"), Document("b", "my jiraff"), Document("c", "we paint"))
    assert ids(index, '"paint"') == {"c"}
    assert ids(index, '"giraffe"') == set()
    assert ids(index, '"girafe"') == set()
    assert ids(index, "paint") == {"a", "c"}


def test_a_slip_is_corrected_and_said(tmp_path):
    """A word that no work holds is read as the nearest word of the archive, and the result says so."""
    index = build(tmp_path, Document("a", "the giraffe"), Document("b", "an elephant"))
    result = index.search("girafe")
    assert [hit.work_id for hit in result.hits] == ["a"]
    assert result.showing_for[0].typed == "girafe"
    assert result.showing_for[0].shown == ("giraffe",)
    assert index.search("giraffe").showing_for == ()
    assert index.search("zebra").hits == ()


def test_titles_weigh_more_than_running_text(tmp_path):
    """The work that is called "Volcano" stands before the one that mentions a volcano."""
    index = build(tmp_path, Document("said", "I saw a volcano once"), Document("called", "", "Volcano"))
    assert [hit.work_id for hit in index.search("volcano").hits] == ["called", "said"]
    index.apply([Document("called", "", "Volcano")], [], 1)
    index.apply([Document("said", "I saw a volcano once")], [], 2)
    assert [hit.work_id for hit in index.search("volcano").hits] == ["called", "said"]


def test_other_writing_is_found(tmp_path):
    """Accents, apostrophes and other scripts do not keep a work from being found."""
    index = build(
        tmp_path,
        Document("es", "mi árbol es grande"),
        Document("ru", "красный дом"),
        Document("zh", "长颈鹿"),
        Document("hi", "लाल घर"),
        Document("en", "I didn’t know the cat’s name"),
    )
    for words, work in [("arbol", "es"), ("árbol", "es"), ("дом", "ru"), ("长颈鹿", "zh"), ("लाल", "hi")]:
        assert ids(index, words) == {work}
    assert ids(index, "didnt") == ids(index, "didn't") == ids(index, "cat") == {"en"}


@settings(max_examples=40, deadline=None)
@given(words=st.text(max_size=60))
def test_no_question_breaks_it(museum, words):
    """Whatever is typed gives an answer: signs, half quotes, control characters."""
    index, texts = museum
    result = index.search(words)
    assert {hit.work_id for hit in result.hits} <= set(texts)
    assert all(isinstance(word, str) for word in index.suggest(words))


# --- suggestions ----------------------------------------------------------------------------------------------------


def test_suggestions_are_words_of_the_archive(tmp_path):
    """From two letters on, words that begin so; right spellings first; nothing that finds nothing."""
    index = build(tmp_path, Document("a", "giraffe girl gingerbread giraf girrl"), Document("b", "giraffe"))
    assert index.suggest("g") == []
    assert index.suggest("my gi")[0] == "giraffe"
    assert set(index.suggest("gi")) == {"giraffe", "girl", "gingerbread", "giraf", "girrl"}
    assert set(index.suggest("gi")[3:]) == {"giraf", "girrl"}
    assert index.suggest("gi ") == []
    assert all(ids(index, f'"{word}"') for word in index.suggest("gi"))


# --- writing ----------------------------------------------------------------------------------------------------------


works = st.lists(st.tuples(st.sampled_from("abcdefgh"), st.sampled_from(["red", "blue", "green", None])), max_size=6)


@settings(max_examples=12, deadline=None)
@given(batches=st.lists(works, max_size=4), again=st.booleans())
def test_batches_leave_what_was_said_last(tmp_path_factory, batches, again):
    """After any batches of changes and deletions the index holds the last word on each work, once; applying a batch
    twice changes nothing."""
    folder = tmp_path_factory.mktemp("batches")
    index = build(folder)
    truth: dict[str, str] = {}
    for number, batch in enumerate(batches, start=1):
        last = dict(batch)
        upserts = [Document(work, color) for work, color in last.items() if color]
        deletes = [work for work, color in last.items() if not color]
        for _ in range(1 + again):
            index.apply(upserts, deletes, number)
        truth |= {work: color for work, color in last.items() if color}
        truth = {work: color for work, color in truth.items() if work not in deletes}
    assert index.position() == len(batches)
    for color in ("red", "blue", "green"):
        assert ids(index, f'"{color}"') == {work for work, said in truth.items() if said == color}
    index.close()


def test_a_second_reader_sees_the_change(tmp_path):
    """Another open index follows a commit, and a rebuild into a new folder, without being told."""
    writer = build(tmp_path, Document("a", "red"), position=1)
    reader = Index.open(tmp_path, STAMP)
    assert ids(reader, "red") == {"a"}
    writer.apply([Document("b", "red")], [], 2)
    assert ids(reader, "red") == {"a", "b"}
    build(tmp_path, Document("c", "red"), position=9)
    assert ids(reader, "red") == {"c"}
    assert reader.position() == writer.position() == 9
    assert len(list(tmp_path.glob("words-*"))) == 1


def test_many_ask_while_one_writes(tmp_path):
    """Eight threads search and suggest while one applies batches: each answer is of a whole batch."""
    index = build(tmp_path, *[Document(f"s{n}", "stone") for n in range(50)])
    troubles: list[BaseException] = []
    done = threading.Event()

    def ask() -> None:
        try:
            while not done.is_set():
                assert len(ids(index, "wave")) % 10 == 0
                assert len(ids(index, "stone")) == 50
                assert "stone" in index.suggest("st")
        except BaseException as error:  # noqa: BLE001 - told after the threads are joined
            troubles.append(error)

    askers = [threading.Thread(target=ask) for _ in range(8)]
    for asker in askers:
        asker.start()
    for batch in range(6):
        index.apply([Document(f"w{batch}-{n}", "wave") for n in range(10)], [], batch)
    done.set()
    for asker in askers:
        asker.join()
    assert not troubles
    assert len(ids(index, "wave")) == 60


def test_a_second_writer_is_refused(tmp_path):
    """While one process writes, another is told that the index is busy, and nothing is written."""
    index = build(tmp_path, Document("a", "red"), position=1)
    held = index._whoosh.writer()
    try:
        with pytest.raises(IndexBusy):
            index.apply([Document("b", "red")], [], 2)
    finally:
        held.cancel()
    assert index.position() == 1
    index.apply([Document("b", "red")], [], 2)
    assert index.position() == 2


def test_a_full_disk_is_said_and_leaves_the_old_state(tmp_path, monkeypatch):
    """The disk is full in the middle of a batch: the teacher's sentence, the old state, and the next batch works."""
    index = build(tmp_path, Document("a", "red"), position=1)

    def full(*_args, **_named):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patched:
        patched.setattr(index_module, "entry_of", full)
        with pytest.raises(DiskError) as told:
            index.apply([Document("b", "red")], [], 2)
    assert told.value.code == "disk-full"
    assert index.position() == 1
    assert ids(index, "red") == {"a"}
    index.apply([Document("b", "red")], [], 2)
    assert ids(index, "red") == {"a", "b"}


# --- damage -----------------------------------------------------------------------------------------------------------


def torn(path: Path) -> None:
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])


def zeroed(path: Path) -> None:
    path.write_bytes(bytes(path.stat().st_size))


@pytest.mark.parametrize("harm", [torn, zeroed, Path.unlink])
@pytest.mark.parametrize("pattern", ["words-*/*.toc", "words-*/*.seg", "words-*/seal.json", "words-*/stamp", "current"])
def test_a_torn_index_is_said_to_be_damaged(tmp_path, pattern, harm):
    """Any file torn in half, emptied by a power cut or gone: ``IndexDamaged`` on opening, and a rebuild heals it."""
    build(tmp_path, *[Document(f"w{n}", f"red boat {n}") for n in range(20)], position=3).close()
    for path in tmp_path.glob(pattern):
        harm(path)
    with pytest.raises(IndexDamaged):
        Index.open(tmp_path, STAMP)
    healed = build(tmp_path, Document("w", "red"), position=5)
    assert ids(healed, "red") == {"w"}


@pytest.mark.parametrize("pattern", ["words-*/*.toc", "words-*/*.seg"])
def test_damage_under_an_open_index_is_damage_too(tmp_path, pattern):
    """A file torn while the index is open never becomes a wrong answer to a new commit: it is damage."""
    index = build(tmp_path, Document("a", "red"), position=1)
    for path in tmp_path.glob(pattern):
        torn(path)
    index.close()
    with pytest.raises(IndexDamaged):
        index.apply([Document("b", "blue")], [], 2)


def test_a_commit_that_was_not_sealed_is_not_trusted(tmp_path):
    """Power lost between commit and seal: whether the bytes reached the disk is not known, so rebuild."""
    index = build(tmp_path, Document("a", "red"), position=1)
    index._commit(index._whoosh, (), gone=(), position=2, roll="", memory_mb=8)
    index.close()
    with pytest.raises(IndexDamaged):
        Index.open(tmp_path, STAMP)


def test_another_version_is_rebuilt(tmp_path):
    """An index made by other words, another model or another library is not read."""
    build(tmp_path, Document("a", "red")).close()
    with pytest.raises(IndexDamaged):
        Index.open(tmp_path, "another-version")
    with pytest.raises(IndexDamaged):
        Index.open(tmp_path / "nothing", STAMP)


def test_a_failed_rebuild_leaves_the_old_index(tmp_path):
    """A rebuild that stops halfway leaves no half index behind; the old one counts."""
    build(tmp_path, Document("a", "red"), position=1).close()

    def broken():
        yield Document("b", "red")
        raise RuntimeError("stopped")

    with pytest.raises(IndexDamaged):
        Index.build(tmp_path, STAMP, documents=broken(), position=2)
    assert len(list(tmp_path.glob("words-*"))) == 1
    assert ids(Index.open(tmp_path, STAMP), "red") == {"a"}


KILLED = """
import itertools, sys
from pathlib import Path
from portfolio.search import Document, Index, current_stamp
index = Index.open(Path(sys.argv[1]), current_stamp())
for batch in itertools.count(1):
    index.apply([Document(f"b{batch}-{n}", "wave") for n in range(5)], [], batch)
    print(batch, flush=True)
"""


def test_a_killed_writer_leaves_whole_batches(tmp_path):
    """kill -9 in the middle of commits: the index opens, or says that it is damaged; what it shows is whole batches,
    none that was acknowledged is lost, and the position tells how many."""
    damaged = 0
    for batches in (2, 4, 6):
        folder = tmp_path / str(batches)
        build(folder).close()
        command = [sys.executable, "-W", "ignore", "-c", KILLED, str(folder)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
            told = [int(process.stdout.readline()) for _ in range(batches)]
            process.kill()
            told += [int(line) for line in process.stdout.read().split()]
        try:
            index = Index.open(folder, STAMP)
        except IndexDamaged:  # killed between a commit and its seal
            damaged += 1
            continue
        assert index.position() >= told[-1]
        assert len(ids(index, "wave")) == 5 * index.position()
        index.apply([Document("after", "wave")], [], 999)
        assert index.position() == 999
        index.close()
    assert damaged < 3


# --- names ------------------------------------------------------------------------------------------------------------


def every_byte(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in folder.rglob("*") if path.is_file()).lower()


def test_no_name_stands_in_any_byte_of_the_index(tmp_path):
    """Names on the roll are left out, however they are written, also in later batches and also in the spelling."""
    index = build(tmp_path, Document("a", "Zyxqel and QUORRAB helped me", "For zyxqel"), known=SENTINELS)
    index.apply([Document("b", "Łucjaxyz's tree and o’vrrtnik", "", "quorrab")], [], 1)
    found = every_byte(tmp_path)
    for name in ("zyxqel", "quorrab", "łucjaxyz", "lucjaxyz", "vrrtnik"):
        assert name.encode() not in found
        assert name.encode("utf-16-le") not in found
        assert ids(index, name) == set()
        assert index.suggest(name[:3]) == []
    assert ids(index, "helped") == {"a"}


def test_a_name_that_is_a_word_stays_a_word(tmp_path):
    """With a child called Rose, "a rose" and the title "Rose" are found; "Rose helped me" is not."""
    index = build(
        tmp_path,
        Document("small", "I drew a rose"),
        Document("title", "", "Rose"),
        Document("child", "Rose helped me"),
        known=["Rose"],
    )
    assert ids(index, "rose") == {"small", "title"}


def test_a_name_is_never_corrected(tmp_path):
    """A name on the roll is no slip: neither the child's text nor the teacher's question is bent to another word."""
    index = build(tmp_path, Document("a", "Jiraff helped"), Document("b", "the giraffe"), known=["Jiraff"])
    assert ids(index, "giraffe") == {"b"}
    assert index.search("jiraff").showing_for == ()
    assert ids(index, "jiraff") == set()


def test_a_new_name_is_taken_without_a_rebuild_when_no_entry_holds_it(tmp_path):
    """The new roll counts at once, in memory and for later batches, and is remembered by a digest, not by a name."""
    index = build(tmp_path, Document("a", "the giraffe"), known=["Quorrab"])
    assert index.search("jiraff").showing_for[0].shown == ("giraffe",)
    assert index.know_words(["Quorrab", "Jiraff"])
    assert index.search("jiraff").showing_for == ()
    index.apply([Document("b", "Jiraff helped")], [], 1)
    assert ids(index, "giraffe") == {"a"}
    index.close()
    again = Index.open(tmp_path, STAMP, known_words=["Quorrab", "Jiraff"])
    assert again.know_words(["Jiraff", "Quorrab"])
    assert b"jiraff" not in every_byte(tmp_path)


@pytest.mark.parametrize("roll", [["Quorrab", "Zyxqel"], ["Zyxqel"], []])
def test_an_index_that_does_not_hold_by_the_roll_says_so(tmp_path, roll):
    """A word of an entry has become a name, or a name is none any more: only building anew is right, and it stays
    so until then, also when opened again."""
    index = build(tmp_path, Document("a", "Zyxqel helped Quorrab"), known=["Quorrab"])
    index.apply([], ["a"], 1)
    assert not index.know_words(roll)
    assert index.suggest("zy") == ["zyxqel"] * (not roll)
    index.apply([Document("b", "a boat")], [], 2)
    assert not index.know_words(roll)
    index.close()
    assert not Index.open(tmp_path, STAMP, known_words=roll).know_words(roll)
    assert build(tmp_path, Document("a", "Zyxqel helped"), known=roll).know_words(roll)


def test_names_in_any_dress_stay_out(tmp_path):
    """Stretched, stroked and small-capital letters, and a name in the middle of a script without spaces."""
    known = ["Łucja", "عمر", "Lucja", "สมชาย", "지우", "Zyxqel"]
    for text in ("ʟucja came", "رسم عـمـر", "ชื่อสมชายครับ", "지우는 그렸다", "ᴢyxqel"):
        build(tmp_path, Document("a", text), known=known)
        found = every_byte(tmp_path)
        word = next(word for word in text.split() if word not in ("came", "رسم", "그렸다"))
        assert word.lower().encode() not in found, text


@pytest.mark.parametrize("word", ["𝐀", "ϓ", "ᾳ\u0345", "\u212b", "ﬃ", "İ"])
def test_a_folded_word_folds_to_itself(word):
    """Source: compatibility caseless matching, The Unicode Standard, D146."""
    assert fold(fold(word)) == fold(word)
    assert fold(word) == fold(word.upper()) == fold(word.lower())


def test_quoted_words_do_not_meet_over_a_dropped_name(tmp_path):
    """Where a name was left out there is a gap: "red bird" is not found in "red Zyxqel bird"."""
    index = build(tmp_path, Document("a", "red Zyxqel bird", "bird"), Document("b", "red bird"), known=SENTINELS)
    assert ids(index, '"red bird"') == {"b"}
    assert ids(index, '"bird red"') == set()


def test_erased_words_are_gone_after_compacting(tmp_path):
    """After an erasure and ``compact`` no byte of the deleted words is left; the rest is untouched."""
    index = build(tmp_path, Document("gone", "splendiferous wugwump"), Document("kept", "boat"), position=4)
    index.apply([], ["gone"], 5)
    assert index.search("wugwump").hits == ()
    index.compact()
    assert b"wugwump" not in every_byte(tmp_path)
    assert index.position() == 5
    assert ids(index, "boat") == {"kept"}


def test_the_library_is_imported_without_a_warning(tmp_path):
    """A fresh interpreter that turns every warning into an error imports, builds and asks."""
    code = (
        "import sys, pathlib\nfrom portfolio.search import *\n"
        "folder, documents = pathlib.Path(sys.argv[1]), [Document('a', 'red')]\n"
        "index = Index.build(folder, current_stamp(), documents=documents, position=1)\n"
        "assert index.search('red').total == 1\n"
    )
    environment = {"PYTHONPYCACHEPREFIX": str(tmp_path / "pyc"), "PATH": ""}
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code, str(tmp_path / "i")],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
