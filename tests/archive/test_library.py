import threading
from datetime import date
from pathlib import Path

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError
from sqlmodel import SQLModel, select

from portfolio.archive import history, migrate, outbox, tables
from portfolio.archive.columns import SealedColumn, UtcColumn
from portfolio.archive.engines import make_engine
from portfolio.archive.library import Library
from portfolio.errors import LibraryError, Refused
from tests.support.school import make_class, make_library, make_work


@pytest.fixture
def library(tmp_path: Path):
    with make_library(tmp_path) as made:
        yield made


def test_eight_threads_that_read_add_and_write_lose_no_update(library: Library) -> None:
    """Every acknowledged change stands: 8 threads × 25 additions to one number give exactly 200 more."""
    class_id, ids = make_class(library, children=1)
    work_id = make_work(library, class_id=class_id, number=1, student_id=ids[0])

    def add() -> None:
        for _ in range(25):
            with library.writing(who="teacher", what="counted") as writing:
                work = writing.session.get(tables.Work, work_id)
                work.number += 1

    threads = [threading.Thread(target=add) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with library.reading() as session:
        assert session.get(tables.Work, work_id).number == 201


def test_the_database_is_opened_as_promised(library: Library) -> None:
    """WAL, synchronous=FULL and foreign keys on the writer; readers cannot write at all."""
    with library.writing(who="teacher", what="looked") as writing:
        words = [
            writing.session.execute(text(f"PRAGMA {name}")).scalar()
            for name in ("journal_mode", "synchronous", "foreign_keys")
        ]
    assert words == ["wal", 2, 1]
    with library.reading() as session:
        assert session.execute(text("PRAGMA query_only")).scalar() == 1
        with pytest.raises(Exception, match="readonly"):
            session.execute(text("DELETE FROM work"))


def test_an_error_of_the_database_holds_no_value(library: Library) -> None:
    """What was to be written stands in no error's text: it would go into logs, and it may be a name."""
    with (
        library.writing(who="teacher", what="looked") as writing,
        pytest.raises(Exception, match="no such table") as stopped,
    ):
        writing.session.execute(text("INSERT INTO nowhere VALUES (:word)"), {"word": "Marisol Quintanilla"})
    assert "Marisol" not in str(stopped.value)


def test_a_library_is_opened_for_writing_only_once(library: Library) -> None:
    """A second writer is told which process holds the library; a reader may come in."""
    with pytest.raises(LibraryError, match=r"in use by another Portfolio \(process \d+\)") as caught:
        Library.open(library.folder)
    assert caught.value.code == "library-in-use"
    with Library.open(library.folder, write=False) as reader, reader.reading() as session:
        assert session.exec(select(tables.Work)).all() == []


def test_an_exception_leaves_nothing_behind(library: Library) -> None:
    """A transaction that fails leaves no row, no history line and no outbox line."""
    class_id, _ = make_class(library)
    with library.reading() as session:
        before = len(session.exec(select(tables.HistoryLine)).all())

    def change_and_fail() -> None:
        with library.writing(who="teacher", what="failed") as writing:
            writing.session.add(tables.Work(class_id=class_id, number=1, made_on=date(2026, 10, 6)))
            writing.session.flush()
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        change_and_fail()
    with library.reading() as session:
        assert session.exec(select(tables.Work)).all() == []
        assert len(session.exec(select(tables.HistoryLine)).all()) == before
        assert outbox.newest(session) == 0


def test_every_change_is_told_and_can_be_undone_and_redone(library: Library) -> None:
    """Undo brings back every row of an action; undoing the undo brings the change back."""
    class_id, ids = make_class(library, children=2)
    work_id = make_work(
        library, class_id=class_id, number=2, student_id=ids[1], reflection="I made the wind go sidways"
    )
    with library.writing(who="teacher", what="named a work") as named:
        named.session.get(tables.Work, work_id).title = "The wind"
    with library.reading() as session:
        lines = session.exec(select(tables.HistoryLine).where(tables.HistoryLine.action_id == named.action_id)).all()
    assert [(line.subject, line.before["title"], line.after["title"]) for line in lines] == [("work", "", "The wind")]

    def undo(action_id: int) -> int:
        with library.writing(who="teacher", what="undid a step") as writing:
            assert history.undo(writing.session, action_id, undoing_id=writing.action_id) == [work_id]
        return writing.action_id

    undone = undo(named.action_id)
    with library.reading() as session:
        assert session.get(tables.Work, work_id).title == ""
    undo(undone)
    with library.reading() as session:
        assert session.get(tables.Work, work_id).title == "The wind"


def test_undo_refuses_what_was_changed_again(library: Library) -> None:
    """A step with later changes on the same record is refused and nothing moves."""
    class_id, ids = make_class(library, children=1)
    work_id = make_work(library, class_id=class_id, number=1, student_id=ids[0])
    with library.reading() as session:
        filed = session.exec(select(tables.Action.id).where(tables.Action.what == "filed a photo")).one()
    with library.writing(who="teacher", what="named a work") as writing:
        writing.session.get(tables.Work, work_id).title = "Cat"

    def undo() -> None:
        with library.writing(who="teacher", what="undid a step") as writing:
            history.undo(writing.session, filed, undoing_id=writing.action_id)

    with pytest.raises(Refused, match="changed again afterwards") as caught:
        undo()
    assert caught.value.code == "cannot-undo"
    with library.reading() as session:
        assert session.get(tables.Work, work_id).title == "Cat"


def test_changed_words_are_put_into_the_search_outbox_by_themselves(library: Library) -> None:
    """No flow can forget the index: a new work, its reflection and a tag each mark the work."""
    class_id, ids = make_class(library, children=1)
    work_id = make_work(library, class_id=class_id, number=1, student_id=ids[0], reflection="A cat")
    with library.reading() as session:
        assert {work for _, work in outbox.waiting(session, 0)} == {work_id}
        last = outbox.newest(session)
    with library.writing(who="teacher", what="tagged") as writing:
        tag = tables.Tag(label="animals")
        writing.session.add(tag)
        writing.session.flush()
        writing.session.add(tables.WorkTag(work_id=work_id, tag_id=tag.id))
    with library.reading() as session:
        assert [work for _, work in outbox.waiting(session, last)] == [work_id]


def test_the_migrations_have_one_head() -> None:
    """Two newest versions at once would make "newest" a matter of luck."""
    assert len(ScriptDirectory.from_config(migrate.config()).get_heads()) == 1


def test_the_migrated_schema_has_no_difference_to_the_code(library: Library) -> None:
    """Alembic compares the database it made with the tables and finds nothing."""

    def same_type(_c, _ic, _mc, _it, metadata_type):
        return False if isinstance(metadata_type, UtcColumn | SealedColumn) else None

    with library._writer.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": same_type})
        assert compare_metadata(context, SQLModel.metadata) == []


def test_an_older_library_is_brought_forward_with_everything_in_it(tmp_path: Path) -> None:
    """A database of the first schema, with a photo that a question is about, comes to the newest and keeps both."""
    path = tmp_path / "portfolio.db"
    path.touch()
    engine = make_engine(path, write=True)
    with engine.begin() as connection:
        command.upgrade(migrate.config(connection), "0001")
    facts = "(id, created_utc, source, mode, state, expected) VALUES (1, '2026-09-01', 'app', 'cards', 'done', 1)"
    photo = "(id, sha256, batch_id, position, file_name, size_bytes, state, stored_utc)"
    question = "(id, kind, photo_id, evidence, state, asked_utc)"
    with engine.begin() as connection:
        for line in (
            f"INSERT INTO batch {facts}",
            f"INSERT INTO photo {photo} VALUES (7, 'aa', 1, 0, 'IMG_1.JPG', 5, 'filed', '2026-09-01')",
            f"INSERT INTO question {question} VALUES (5, 'no-card', 7, '', 'open', '2026-09-01')",
        ):
            connection.execute(text(line))
    assert migrate.to_head(engine)
    with engine.begin() as connection:
        assert connection.execute(text("SELECT id, sha256, part FROM photo")).all() == [(7, "aa", 0)]
        assert connection.execute(text("SELECT photo_id FROM question")).all() == [(7,)]
        assert connection.execute(text("PRAGMA foreign_keys")).scalar() == 1
        with pytest.raises(IntegrityError):
            connection.execute(text("DELETE FROM photo"))
    engine.dispose()


def test_a_newer_library_is_refused(library: Library) -> None:
    """A schema version this program does not know is refused before anything is changed."""
    library.close()
    engine = tables_engine(library.folder)
    with engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    engine.dispose()
    with pytest.raises(LibraryError) as caught:
        Library.open(library.folder)
    assert caught.value.code == "library-newer"


def tables_engine(folder: Path):
    return make_engine(folder / "portfolio.db", write=True)


def test_a_torn_database_is_said_in_a_sentence(library: Library) -> None:
    """Garbage instead of records gives the coded sentence with the way back, not a traceback."""
    library.close()
    (library.folder / "portfolio.db").write_bytes(b"not a database at all, but long enough to look like one" * 99)
    with pytest.raises(LibraryError) as caught:
        Library.open(library.folder)
    assert caught.value.code == "library-damaged"


def test_a_missing_library_and_a_second_creation_are_said(tmp_path: Path) -> None:
    """Opening nothing, and making one twice, are refused with their own codes."""
    with pytest.raises(LibraryError) as missing:
        Library.open(tmp_path)
    assert missing.value.code == "library-missing"
    make_library(tmp_path).close()
    with pytest.raises(LibraryError) as twice:
        make_library(tmp_path)
    assert twice.value.code == "library-exists"


def test_a_name_never_shows_when_a_row_is_printed(library: Library) -> None:
    """A student's row prints and serialises without the name."""
    make_class(library, children=1)
    with library.reading() as session:
        row = session.exec(select(tables.Student)).one()
    assert "Vorn" not in repr(row)
    assert "kept back" in repr(row)
    with pytest.raises(Exception, match="serialize"):
        row.model_dump_json()
