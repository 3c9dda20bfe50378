import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from portfolio.archive import finding, people, tables
from portfolio.archive.library import Library
from portfolio.errors import DiskError, LibraryError, NotFound
from portfolio.flows import describe, settle
from portfolio.flows.find import filters_of, find, find_by_color, find_now, suggest
from portfolio.flows.indexing import Words
from portfolio.model.finding import COLORS, SIZES, Filters
from portfolio.model.people import ChildName
from portfolio.privacy.seal import seal
from portfolio.search import Index
from tests.support.school import given_name, make_class, make_library, make_work

ROOT = Path(__file__).parents[2]


@pytest.fixture
def school(tmp_path: Path):
    with make_library(tmp_path) as library:
        with library.writing(who="teacher", what="set up media") as writing:
            writing.session.add_all([tables.Medium(label="tempera", card=61), tables.Medium(label="clay", card=62)])
        class_id, ids = make_class(library, children=3)
        other, others = make_class(library, label="KA", grade="K", children=2)
        make_work(library, class_id=class_id, number=1, student_id=ids[0], medium_id=1, reflection="A giraffe is tall")
        make_work(library, class_id=class_id, number=2, student_id=ids[1], medium_id=2, title="The big day")
        make_work(
            library,
            class_id=other,
            number=1,
            student_id=others[0],
            medium_id=1,
            reflection="my girafe is yelo",
            made_on=date(2026, 11, 3),
        )
        words = Words(library)
        words.catch_up()
        yield library, words
        words.close()


def ids(found) -> list[int]:
    return [one.work.work_id for one in found.works]


def test_words_find_works_in_tiers_and_children_spell_as_they_do(school) -> None:
    """The right spelling comes first; the child's spelling is found too and says so."""
    found = find(*school, "giraffe")
    assert ids(found) == [1, 3]
    assert [one.tier for one in found.works] == ["exact", "children"]


def test_without_words_everything_that_fits_is_there_newest_first(school) -> None:
    """An empty question with filters is a filter; facets count what each further filter would leave."""
    assert ids(find(*school, "")) == [3, 1, 2]
    found = find(*school, "  ", filters=Filters(medium="tempera"))
    assert ids(found) == [3, 1]
    assert found.facets["grade"] == (("K", 1), ("3", 1))
    assert found.facets["class_label"] == (("3B", 1), ("KA", 1))
    assert ids(find(*school, "", filters=Filters(grade="3", medium="clay"))) == [2]


@pytest.mark.parametrize(("name", "value"), [("color", "plaid"), ("color", "work_id"), ("size", "tiny")])
def test_filters_are_known_by_the_words_outside(name: str, value: str) -> None:
    """Class, center and student by these words; what is empty is not asked; a color or size that is none is told."""
    asked = {"class": "3B", "center": "drawing", "student": None, "year": "", "color": "blue", "with_words": False}
    assert filters_of(asked) == Filters(class_label="3B", centre="drawing", color="blue", with_words=False)
    with pytest.raises(NotFound) as caught:
        filters_of({name: value})
    assert value in caught.value.sentence


def test_sizes_colors_and_words_are_counted_in_full(school) -> None:
    """Each chip's count is how many works it leaves, also when it is more than one; "about" is told beside its size."""
    library, words = school
    sides = {1: (152.0, 229.0), 2: (229.0, 305.0), 3: (305.0, 457.0)}
    with library.writing(who="teacher", what="described a work") as writing:
        for key, (width, height) in sides.items():
            work = writing.session.get(tables.Work, key)
            work.width_mm, work.height_mm, work.size_about = width, height, key == 3
            writing.session.add(tables.WorkColor(work_id=key, blue=60 if key < 3 else 0))
    facets = find(library, words, "").facets
    assert facets["size"] == (("small", 1), ("medium", 1), ("large", 1), ("about", 1))
    assert facets["color"] == (("blue", 2),)
    assert facets["words"] == (("with", 2), ("without", 1))
    assert {size: ids(find(library, words, "", filters=Filters(size=size))) for size in SIZES} == {
        "small": [1],
        "medium": [2],
        "large": [3],
        "about": [3],
        "unmeasured": [],
    }
    assert find(library, words, "giraffe").facets["size"] == (("small", 1), ("large", 1), ("about", 1))


def test_a_changed_title_is_found_and_the_old_one_is_not(school) -> None:
    """The index follows the records; undoing brings the old word back."""
    library, words = school
    describe.describe(library, 2, title="Kites for my sister", tags=["family"])
    words.catch_up()
    assert ids(find(library, words, "kites")) == [2]
    assert ids(find(library, words, "family")) == [2]
    assert find(library, words, '"big day"').total == 0


def test_a_work_taken_out_is_not_found_any_more(school) -> None:
    """Taken out of the records = gone from every answer."""
    library, words = school
    describe.take_out(library, 1)
    words.catch_up()
    assert ids(find(library, words, "giraffe")) == [3]
    assert ids(find(library, words, "")) == [3, 2]


def test_a_childs_name_finds_the_childs_works_and_is_in_no_byte_of_the_index(school) -> None:
    """The teacher may type a name; the index never holds one."""
    library, words = school
    found = find(library, words, given_name("3B", 2).lower())
    assert [(one.work.work_id, one.tier) for one in found.works] == [(2, "name")]
    for path in library.index.rglob("*"):
        if path.is_file():
            data = path.read_bytes().lower()
            assert b"vorn" not in data
            assert b"quilm" not in data


def rename(library: Library, given: str) -> None:
    with library.writing(who="teacher", what="renamed a child") as writing:
        people.change_student(writing.session, 1, name=ChildName(seal(given), seal("Quilm")))


def every_byte(library: Library) -> bytes:
    return b"".join(path.read_bytes() for path in library.index.rglob("*") if path.is_file()).lower()


def test_a_word_that_becomes_a_name_leaves_the_index(school) -> None:
    """The roll is taken anew before anything is written: a child who is now called Jiraff is no giraffe, neither in
    older entries nor in new ones."""
    library, words = school
    describe.describe(library, 2, title="Jiraff and me", tags=[])
    words.catch_up()
    assert b"jiraff" in every_byte(library)
    assert ids(find(library, words, "giraffe")) == [1, 2, 3]
    rename(library, "Jiraff")
    describe.describe(library, 2, title="Jiraff and my boat", tags=[])
    words.catch_up()
    assert b"jiraff" not in every_byte(library)
    assert ids(find(library, words, "giraffe")) == [1, 3]
    assert ids(find(library, words, "boat")) == [2]


def test_names_are_read_for_the_index_only_after_a_change(school, monkeypatch) -> None:
    """A question costs no reading of all names; a new child does, once. What changed while the index was closed
    counts too."""
    library, words = school
    read = []
    names = people.names
    monkeypatch.setattr(people, "names", lambda *asked: read.append(1) or names(*asked))
    words.catch_up()
    words.catch_up()
    assert not read
    make_class(library, label="5A", children=1)
    words.catch_up()
    words.catch_up()
    assert len(read) == 1
    words.close()
    rename(library, "Boat")
    again = Words(library)
    assert again.catch_up() == 3
    assert again.catch_up() == 0
    again.close()


def test_a_torn_index_is_built_anew_without_a_word(school) -> None:
    """Damage is not the teacher's business: the next search has the same answer."""
    library, words = school
    words.close()
    for path in library.index.rglob("*.seg"):
        path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    again = Words(library)
    assert ids(find(library, again, "giraffe")) == [1, 3]
    again.close()


def test_suggestions_are_words_of_the_archive(school) -> None:
    """From two letters on; a name is never suggested."""
    _, words = school
    assert "giraffe" in suggest(words, "gi")
    assert suggest(words, "g") == []
    assert suggest(words, "vorn") == []


def test_beside_an_open_app_a_missing_index_is_said_and_not_built(school) -> None:
    """Only the one who writes the library may build the index; a reader gets a sentence."""
    library, words = school
    words.close()
    for path in library.index.rglob("*"):
        if path.is_file():
            path.unlink()
    with Library.open(library.folder, write=False) as beside, pytest.raises(LibraryError) as caught:
        find(beside, Words(beside, write=False), "giraffe")
    assert caught.value.code == "index-unready"


def test_an_index_that_cannot_be_written_answers_by_what_it_knows(school, monkeypatch) -> None:
    """index-behind: the disk is full. Words known before are found, newer ones are said to be missing, filters alone
    are whole; a torn index that cannot be built leaves children's names; with room again the next search knows all.
    """
    library, words = school
    describe.describe(library, 1, title="Zebra at night")

    def full(*_: object, **__: object) -> None:
        raise DiskError("disk-full", item="The search index")

    with monkeypatch.context() as stopped:
        stopped.setattr(Index, "apply", full)
        stopped.setattr(Index, "build", full)
        known, new, plain = (find_now(library, words, typed, filters=Filters()) for typed in ("giraffe", "zebra", ""))
        assert (ids(known), known.behind) == ([1, 3], True)
        assert (ids(new), new.behind) == ([], True)
        assert (len(plain.works), plain.behind) == (3, False)
        words.close()
        for path in library.index.rglob("*"):
            if path.is_file():
                path.unlink()
        named = find_now(library, words, given_name("3B", 1), filters=Filters())
        assert (ids(named), named.behind, named.total) == ([1], True, 1)
    found = find_now(library, words, "zebra", filters=Filters())
    assert (ids(found), found.behind) == ([1], False)


def test_works_of_a_color_are_the_same_with_and_without_counts(school) -> None:
    """The wall of a color that was typed gives what the filter gives (total, works, the most of it first), and
    removed works are in neither; it only saves the counts of further filters.
    """
    library, words = school
    with library.writing(who="program", what="colors") as writing:
        shares = {1: 30, 2: 70, 3: 10}
        writing.session.add_all(tables.WorkColor(work_id=key, blue=share) for key, share in shares.items())
    plain = find(library, words, "", filters=Filters(color="blue"))
    short = find_by_color(library, "blue", filters=Filters())
    assert (ids(short), short.total) == (ids(plain), plain.total) == ([2, 1], 2)
    assert short.facets == {}
    assert ids(find_by_color(library, "blue", filters=Filters(medium="tempera"))) == [1]
    with library.writing(who="program", what="removed one") as writing:
        writing.session.get(tables.Work, 2).removed = True
    assert find_by_color(library, "blue", filters=Filters()).total == 1


def by_counting(library: Library) -> dict[str, dict[str, int]]:
    """The slow way: one count in SQL for each value that any record has."""
    asked = {
        "year": ["2026-27"],
        "grade": ["K", "3"],
        "class_label": ["3B", "KA", "3 Blue"],
        "medium": ["tempera", "clay", "mud"],
        "color": COLORS,
        "size": SIZES,
        "with_words": [True, False],
    }
    with library.reading() as session:
        return {
            name: {
                str(value): count
                for value in values
                if (count := finding.how_many(session, Filters(**{name: value})))  # type: ignore[arg-type]
            }
            for name, values in asked.items()
        }


def by_facets(library: Library, words: Words) -> dict[str, dict[str, int]]:
    found = {name: dict(values) for name, values in find(library, words, "").facets.items()}
    said = found.pop("words")
    assert found.pop("centre") == {}
    return found | {"with_words": {str(word == "with"): count for word, count in said.items()}}


def test_counts_are_right_after_every_kind_of_write(school) -> None:
    """What each work counts as is kept in memory: a changed, new, taken-out or undone record shows at once, and so
    does a label that got another name.
    """
    library, words = school
    assert by_facets(library, words) == by_counting(library)

    def colored(session) -> None:
        session.add(tables.WorkColor(work_id=2, blue=40, red=24))

    def recolored(session) -> None:
        session.get(tables.WorkColor, 2).red = 30

    def sized(session) -> None:
        session.get(tables.Work, 1).width_mm = session.get(tables.Work, 1).height_mm = 200.0

    def said(session) -> None:
        session.add(tables.Reflection(work_id=2, student_id=2, text="It flew", said_on=date(2026, 10, 7)))

    def unmatched(session) -> None:
        session.get(tables.Reflection, 1).work_id = None

    def renamed(session) -> None:
        session.get(tables.Medium, 1).label = "mud"
        session.get(tables.ClassGroup, 1).label = "3 Blue"

    seen = [by_facets(library, words)]
    for change in (colored, recolored, sized, said, unmatched, renamed):
        with library.writing(who="teacher", what="changed a record") as writing:
            change(writing.session)
        seen.append(by_facets(library, words))
        assert seen[-1] == by_counting(library) != seen[-2]
    make_work(library, class_id=1, number=3, student_id=3, medium_id=2)
    assert by_facets(library, words) == by_counting(library) != seen[-1]
    settle.undo(library)
    assert by_facets(library, words) == by_counting(library) == seen[-1], "the work is no more"
    taken = describe.take_out(library, 2)
    assert by_facets(library, words) == by_counting(library) != seen[-1]
    settle.undo(library, taken)
    assert by_facets(library, words) == by_counting(library) == seen[-1]


def test_counts_are_right_after_another_process_wrote(school) -> None:
    """What the command line changes is counted by a library that was open for reading all the time."""
    library, words = school
    described = describe.describe(library, 2, medium="tempera")
    library.close()
    with Library.open(library.folder, write=False) as beside:
        assert find(beside, words, "").facets["medium"] == (("tempera", 3),)
        command = [sys.executable, "-m", "portfolio", "check", "undo", str(described), "--library", str(library.folder)]
        subprocess.run(command, check=True, capture_output=True, cwd=ROOT)
        assert find(beside, words, "").facets["medium"] == (("tempera", 2), ("clay", 1))
