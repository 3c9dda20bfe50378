from datetime import date
from pathlib import Path

import pytest
from sqlmodel import select

from portfolio.archive import history, tables
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.flows import reflections
from portfolio.model.words import Said
from tests.support.school import given_name, make_class, make_library, make_work

DAY = date(2026, 10, 6)
ODD = "  Its a “dog” \n becus… he runs, ĺ ok?\t"


@pytest.fixture
def library(tmp_path: Path):
    with make_library(tmp_path) as made:
        class_id, ids = make_class(made, children=4)
        make_work(made, class_id=class_id, number=1, student_id=ids[0])
        make_work(made, class_id=class_id, number=2, student_id=ids[1])
        make_work(made, class_id=class_id, number=2, student_id=ids[1], title="Second")
        make_work(made, class_id=class_id, number=3, student_id=ids[2], made_on=date(2026, 10, 13))
        yield made


def write(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    path = folder / "words.csv"
    path.write_bytes(text.encode(encoding))
    return path


def kept(library) -> list[tables.Reflection]:
    with library.reading() as session:
        return list(session.exec(select(tables.Reflection).order_by(tables.Reflection.id)).all())


def test_words_go_to_the_only_work_of_that_child_and_day(library, tmp_path: Path) -> None:
    """One work that day: matched at once. Two works, another day, no work: kept and asked."""
    path = write(
        tmp_path,
        "Class,Number,Date,Text\n3B,1,2026-10-06,mine\n3B,2,10/6/2026,which?\n3B,3,2026-10-06,late\n"
        "3B,4,2026-10-06,none\n",
    )
    taken = reflections.import_list(library, path)
    assert (taken.added, taken.questions, taken.same, taken.problems) == (4, 3, 0, ())
    assert [row.work_id for row in kept(library)] == [1, None, None, None]
    with library.reading() as session:
        questions = session.exec(select(tables.QuestionRow).order_by(tables.QuestionRow.id)).all()
    assert [[option["work"] for option in row.options] for row in questions] == [[2, 3], [4], []]
    assert [row.guess for row in questions] == [None, {"work": 4}, None]
    assert all(row.evidence.endswith(".") for row in questions)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_childs_words_are_kept_letter_for_letter(library, tmp_path: Path, encoding: str) -> None:
    """Spaces, line ends, quotes, tabs and invented spelling: the very same text comes back."""
    quoted = ODD.replace('"', '""')
    path = write(tmp_path, f'class;number;date;text\r\n3B;1;2026-10-06;"{quoted}"\r\n', encoding)
    assert reflections.import_list(library, path).problems == ()
    assert [row.text for row in kept(library)] == [ODD]


def test_the_same_list_twice_adds_nothing(library, tmp_path: Path) -> None:
    """Taking a corrected list in again skips what is kept."""
    path = write(tmp_path, "class,number,date,text\n3B,1,2026-10-06,mine\n")
    reflections.import_list(library, path)
    assert reflections.import_list(library, path).same == 1
    assert len(kept(library)) == 1


def test_bad_lines_are_told_with_their_number_and_the_rest_comes_in(library, tmp_path: Path) -> None:
    """Nobody's number, an unreadable date, a missing text: each its sentence, no child's words in it."""
    path = write(
        tmp_path,
        "class,number,date,text\n3B,9,2026-10-06,hello secret\n3B,1,someday,secret\n3B,1,2026-10-06,\n"
        "3B,1,2026-10-06,good\nX9,1,2026-10-06,secret\n3B,1,1999-10-06,secret\n",
    )
    taken = reflections.import_list(library, path)
    assert taken.added == 1
    assert [(problem.code, problem.item.split()[1]) for problem in taken.problems] == [
        ("words-nobody", "2"),
        ("words-line", "3"),
        ("words-line", "4"),
        ("words-nobody", "6"),
        ("words-nobody", "7"),
    ]
    assert not any("secret" in problem.sentence for problem in taken.problems)


def test_a_list_without_the_columns_is_refused_with_their_names(library, tmp_path: Path) -> None:
    """Nothing is guessed from a table that says no class and no date."""
    with pytest.raises(PortfolioError) as caught:
        reflections.import_list(library, write(tmp_path, "number,text\n1,mine\n"))
    assert caught.value.code == "words-columns"
    assert kept(library) == []


def test_an_answer_matches_the_words_and_can_be_undone(library, tmp_path: Path) -> None:
    """Answered once; a second tab's answer is refused; undo puts the question back."""
    reflections.import_list(library, write(tmp_path, "class,number,date,text\n3B,2,2026-10-06,which?\n"))
    action = reflections.answer(library, 1, work_id=3)
    assert kept(library)[0].work_id == 3
    with pytest.raises(Refused) as caught:
        reflections.answer(library, 1, work_id=2)
    assert caught.value.code == "already-answered"
    with library.writing(who="teacher", what="undid a step") as writing:
        history.undo(writing.session, action, undoing_id=writing.action_id)
    assert kept(library)[0].work_id is None
    with library.reading() as session:
        assert session.get(tables.QuestionRow, 1).state == "open"


def test_a_classmates_name_in_the_words_is_held(library) -> None:
    """The place where another child's name stands is noted; the words themselves stay as they are."""
    text = f"Me and {given_name('3B', 2)} made it"
    reflections.add(library, Said(1, text, DAY), work_id=1)
    row = kept(library)[0]
    assert row.text == text
    assert [text[place["start"] : place["end"]] for place in row.held] == [given_name("3B", 2)]


def test_words_for_a_work_that_is_not_there_are_refused(library) -> None:
    """Nothing is kept for a work number that does not exist."""
    with pytest.raises(NotFound):
        reflections.add(library, Said(1, "x", DAY), work_id=99)
    assert kept(library) == []
