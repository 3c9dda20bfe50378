"""Roster files of every shape: what is read, what is told, and what never gets in."""

import io
import json
import zipfile
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.errors import PortfolioError
from portfolio.privacy.seal import unseal_for_storage
from portfolio.roster import oneroster, parts, table
from portfolio.roster.columns import ROSTER, guess_columns
from portfolio.roster.read import look_at_roster, read_roster
from portfolio.roster.table import read_table
from tests.support import rosters
from tests.support.outside import outside
from tests.support.rosters import Pupil, make_pupils, oneroster_files, sheet_rows, write_set, write_sheet, write_zip

TODAY = date(2026, 9, 8)


def read(path: Path, **more):
    return read_roster(path, today=TODAY, **more)


def sheet(tmp_path: Path, text: str | bytes, *, name="list.csv", **more):
    path = tmp_path / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read(path, **more)


def opened(child) -> tuple[str, str]:
    return unseal_for_storage(child.name.given), unseal_for_storage(child.name.family)


def codes(file) -> list[tuple[int | None, str]]:
    return [(one.line, one.code) for one in file.problems]


# --- any spreadsheet --------------------------------------------------------------------------------------


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_the_same_list_however_it_was_saved(tmp_path, delimiter, encoding):
    """Separator, byte-order mark and encoding change nothing of what is read."""
    pupils = make_pupils()
    path = write_sheet(tmp_path / "list.csv", sheet_rows(pupils), delimiter=delimiter, encoding=encoding)
    file = read(path)
    assert [opened(child) for child in file.children] == [(one.given, one.family) for one in pupils]
    assert not file.problems
    assert {one.label: one.grade for one in file.classes} == {"3A": "3", "3B": "3"}


def test_an_old_windows_file_keeps_its_accents(tmp_path):
    """cp1252, as older spreadsheet programs write it."""
    file = sheet(tmp_path, "First,Last,Class\nZoë,Peña-d’Arbo,3B\n".encode("cp1252"))
    assert opened(file.children[0]) == ("Zoë", "Peña-d’Arbo")


def test_titles_above_sep_lines_and_quoted_newlines(tmp_path):
    """A title, a ``sep=`` line and a cell with a line break do not shift the line numbers told."""
    text = 'sep=;\nQuarry School;;\nStudent Name;Class;Grade\n"Quorrab, Zyx";3B;3\n"Vand\nrell, Ana";3B;3\n;3B;3\n'
    file = sheet(tmp_path, text)
    assert [opened(child) for child in file.children] == [("Zyx", "Quorrab"), ("Ana", "Vand rell")]
    assert codes(file) == [(7, "roster-name-missing")]


def test_bad_lines_are_told_with_their_number_and_good_ones_come_in(tmp_path):
    """Each faulty line has its code; the others are there."""
    text = (
        "First,Last,Class,Grade,Number,ID,Entry date\n"
        "Zyx,Quorrab,3B,3,1,a1,2026-09-01\n"
        ",,3B,3,2,a2,\n"  # roster-name-missing
        "Ana,Brem,,3,3,a3,\n"  # roster-class-missing
        "Tob,Brem,3B,Z99,4,a4,\n"  # roster-grade-unknown: the class's grade is known
        "Una,Brem,3B,3,77,a5,\n"  # roster-number-outside
        "Vik,Brem,3B,3,five,a6,\n"  # roster-number-outside
        "Wim,Brem,3B,3,6,a1,\n"  # roster-id-twice
        "Xia,Brem,3B,3,7,a7,2026-13-45\n"  # roster-date-unreadable
        "Zyx,Quorrab,3B,3,1,a1,2026-09-01\n"  # roster-line-twice
        "Yan,Brem,Art Club,,8,a8,\n"  # roster-grade-unknown: nobody knows it
    )
    file = sheet(tmp_path, text)
    assert codes(file) == [
        (3, "roster-name-missing"),
        (4, "roster-class-missing"),
        (5, "roster-grade-unknown"),
        (6, "roster-number-outside"),
        (7, "roster-number-outside"),
        (8, "roster-id-twice"),
        (9, "roster-date-unreadable"),
        (10, "roster-line-twice"),
        (11, "roster-grade-unknown"),
    ]
    assert [opened(child)[0] for child in file.children] == ["Zyx", "Tob", "Una", "Vik", "Xia"]
    assert all("Brem" not in one.sentence and "Art" not in one.sentence for one in file.problems)


def test_order_is_by_family_then_given(tmp_path):
    """The order in which numbers are handed out, whatever the order of the lines."""
    file = sheet(tmp_path, "First,Last,Class\nZyx,Ogg,3B\nBo,Ogg,3B\nMononym,,3B\nAna,o'Brem,3B\n")
    ordered = sorted(file.children, key=lambda child: child.order)
    assert [opened(child)[0] for child in ordered] == ["Mononym", "Ana", "Bo", "Zyx"]


def test_a_list_of_one_class_is_told_its_class(tmp_path):
    """Without a class column the class must be said; then it is read."""
    text = "First name,Last name\nZyx,Quorrab\n"
    with pytest.raises(PortfolioError) as refused:
        sheet(tmp_path, text)
    assert refused.value.code == "roster-columns-missing"
    file = sheet(tmp_path, text, class_label="K-Smyx", grade="K")
    assert [(one.label, one.grade) for one in file.classes] == [("K-Smyx", "K")]


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "roster-empty"),
        (b"\n\n  \n", "roster-empty"),
        (b"First,Last,Class\n", "roster-empty"),
        (b"%PDF-1.7 not a list", "roster-not-a-table"),
        (b"\xff\xfe\x00", "roster-not-a-table"),
        (bytes(range(256)) * 20, "roster-not-a-table"),
        (b"Lunch,Menu\nMonday,Soup\nTuesday,Rice\n", "roster-columns-missing"),
    ],
)
def test_what_is_no_list_of_children_is_refused(tmp_path, content, code):
    """One sentence says what was found instead."""
    with pytest.raises(PortfolioError) as refused:
        sheet(tmp_path, content)
    assert refused.value.code == code


def test_a_workbook_is_asked_for_as_csv(tmp_path):
    """A spreadsheet program's own file is a zip inside; it is told to be saved as CSV."""
    with pytest.raises(PortfolioError) as refused:
        read(write_zip(tmp_path / "list.xlsx", {"[Content_Types].xml": "<x/>", "xl/sheet1.xml": "<x/>"}))
    assert refused.value.code == "roster-not-a-table"


def test_a_file_of_fifty_megabytes_is_refused_before_it_is_read(tmp_path):
    """roster-too-large: the size alone says it."""
    path = tmp_path / "big.csv"
    with path.open("wb") as stream:
        stream.truncate(50 * 1024 * 1024)
    with pytest.raises(PortfolioError) as refused:
        read(path)
    assert refused.value.code == "roster-too-large"


def test_an_endless_cell_costs_one_line(tmp_path):
    """roster-line-odd: a cell of a million letters, and one of ten thousand."""
    text = f"First,Last,Class\nZyx,Quorrab,3B\n{'x' * 1_000_000},Brem,3B\nAna,{'y' * 10_000},3B\nTob,Brem,3B\n"
    file = sheet(tmp_path, text)
    assert [opened(child)[0] for child in file.children] == ["Zyx", "Tob"]
    assert {one.code for one in file.problems} == {"roster-line-odd"}


def test_a_list_without_end_is_refused(tmp_path, monkeypatch):
    """More lines than a district has children are not a list of children."""
    monkeypatch.setattr(table, "MAX_LINES", 3)
    with pytest.raises(PortfolioError) as refused:
        sheet(tmp_path, "First,Last,Class\nA,B,3B\nC,D,3B\nE,F,3B\n")
    assert refused.value.code == "roster-too-large"


@given(st.binary(max_size=400))
@settings(max_examples=150, deadline=None)
def test_any_bytes_give_a_table_or_a_sentence(content):
    """Nothing that is thrown at the reader is our own mistake."""
    code = "roster-read"
    try:
        guess_columns(read_table(content, file="x.csv"), ROSTER)
    except PortfolioError as error:
        code = error.code
    assert code.startswith("roster-")


# --- guessing ---------------------------------------------------------------------------------------------


def guess(text: str, **more):
    return guess_columns(read_table(text.encode(), file="x.csv"), ROSTER, **more)


def meanings(found) -> list[str | None]:
    return [one.meaning for one in found.columns]


def test_a_student_number_of_seven_digits_is_an_id():
    """The cells have a word in it: small numbers are numbers, long ones ids."""
    long = guess("First,Last,Class,Student Number\nZyx,Quorrab,3B,1000412\nAna,Brem,3B,1000413\n")
    short = guess("First,Last,Class,Student Number\nZyx,Quorrab,3B,1\nAna,Brem,3B,2\n")
    assert meanings(long)[-1] == "id"
    assert meanings(short)[-1] == "number"


def test_name_beside_last_name_is_the_first_name():
    """Two columns never claim one name twice."""
    assert meanings(guess("Name,Last Name,Class\nZyx,Quorrab,3B\n")) == ["first name", "last name", "class"]
    assert meanings(guess("Student Name,Homeroom Teacher,Gr.\nZyx Q,Upperson,3\n")) == ["full name", "class", "grade"]


def test_without_headings_nothing_is_applied_unseen():
    """Only the cells speak then; the guess says that it must be looked at."""
    found = guess('"Quorrab, Zyx",3B,1\n"Brem, Ana",3B,2\n"Vandrell, Tob",3B,3\n')
    assert meanings(found) == ["full name", "class", "number"]
    assert not found.sure
    assert found.doubts[0] == "no line of headings was found"


def test_a_named_column_wins():
    """What the teacher says of a column stands above the guess."""
    found = guess("First,Last,Room,Level\nZyx,Quorrab,12,3B\n", named={"class": 4})
    assert found.column_of("class") == 3
    assert "class" not in meanings(found)[:3]


def test_a_guess_shows_shapes_and_never_letters():
    """Samples tell the form of a cell; private columns tell nothing at all."""
    pupils = make_pupils()
    found = guess(rosters.rows_text(sheet_rows(pupils)))
    shown = " ".join(sample for one in found.columns for sample in one.samples)
    assert set(shown) <= set("Xx9? ,.'’-/:#()")
    private = [one for one in found.columns if one.header in ("E-mail", "Parent Phone", "Birthdate")]
    assert [(one.meaning, one.samples) for one in private] == [("left out", ())] * 3


def test_looking_first_gives_the_guess_and_none_for_a_set(tmp_path):
    """A OneRoster set needs no guess."""
    pupils = make_pupils()
    assert look_at_roster(write_sheet(tmp_path / "a.csv", sheet_rows(pupils))).sure
    assert look_at_roster(write_set(tmp_path / "set", oneroster_files(pupils))) is None


# --- OneRoster --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("version", ["1.1", "1.2"])
@pytest.mark.parametrize("how", ["folder", "zip", "zip with a folder", "one file of the folder"])
def test_a_set_however_it_comes(tmp_path, version, how):
    """1.1 and 1.2, as folder, zip, zipped folder or by its users file: the same children; grown-ups stay out."""
    pupils = make_pupils()
    files = oneroster_files(pupils, version=version)
    path = {
        "folder": lambda: write_set(tmp_path / "set", files),
        "zip": lambda: write_zip(tmp_path / "set.zip", files),
        "zip with a folder": lambda: write_zip(tmp_path / "set.zip", files, below="export/"),
        "one file of the folder": lambda: write_set(tmp_path / "set", files) / "users.csv",
    }[how]()
    file = read(path)
    assert {opened(child) for child in file.children} == {(one.given, one.family) for one in pupils}
    assert file.form == f"OneRoster {version}"
    assert file.year.label == "2026-27"
    assert (file.year.starts_on, file.year.ends_on) == (date(2026, 8, 17), date(2027, 6, 11))
    assert [one.label for one in file.year.terms] == ["Fall", "Spring"]
    assert not file.problems


def test_our_reader_knows_the_columns_of_the_standard():
    """Every column read stands in the header tables of OneRoster CSV 1.1 and 1.2 (1EdTech), and so do our makers'."""
    told = json.loads(outside("facts", "oneroster.json").read_text())
    listed: dict[str, set[str]] = {"manifest.csv": {"propertyName", "value"}}
    for version in ("v1.1", "v1.2"):
        for name, entry in told[version].items():
            listed.setdefault(name.casefold(), set()).update(entry.get("columns", "").split(","))
    for name, wanted in oneroster.WANTED.items():
        tolerated = {"grade"}  # some systems write it for "grades"
        assert set(wanted) - tolerated <= listed[name], name
    assert told["v1.1"]["users.csv"]["columns"].split(",") == rosters.V11_USERS
    assert told["v1.2"]["users.csv"]["columns"].split(",") == rosters.V12_USERS
    assert told["v1.1"]["classes.csv"]["columns"].split(",") == rosters.CLASSES
    assert told["v1.1"]["enrollments.csv"]["columns"].split(",") == rosters.ENROLLMENTS
    assert told["v1.1"]["academicSessions.csv"]["columns"].split(",") == rosters.SESSIONS
    assert told["v1.2"]["roles.csv"]["columns"].split(",") == rosters.ROLES


def test_no_private_column_of_the_standard_is_wanted():
    """email, phone, sms, password, username, userIds, pronouns and demographics are not even looked at."""
    wanted = {column.casefold() for columns in oneroster.WANTED.values() for column in columns}
    assert wanted.isdisjoint(
        {"email", "phone", "sms", "password", "username", "userids", "pronouns", "birthdate", "sex"}
    )
    assert "demographics.csv" not in oneroster.FILES


@pytest.mark.parametrize("version", ["1.1", "1.2"])
def test_contact_data_is_dropped_at_the_door(tmp_path, version):
    """No value that leaves the reader holds a sentinel, not even in what it would print."""
    for path in (
        write_set(tmp_path / "set", oneroster_files(make_pupils(), version=version)),
        write_sheet(tmp_path / "list.csv", sheet_rows(make_pupils())),
    ):
        file = read(path)
        names = [unseal_for_storage(part) for child in file.children for part in everything(child.name)]
        shown = " ".join([repr(file), *map(repr, file.children), *names, *(one.sentence for one in file.problems)])
        assert not [word for word in rosters.SENTINELS.values() if word in shown]


def everything(name):
    return [part for part in (name.given, name.family, name.preferred, name.middle, *name.also) if part]


def test_odd_sets_are_read_all_the_same(tmp_path):
    """A byte-order mark, ``ext_`` columns, rows longer than the header, ``grade`` for ``grades``, no manifest."""
    files = oneroster_files(make_pupils(classes=("2A",), children=3))
    del files["manifest.csv"], files["academicSessions.csv"], files["orgs.csv"]
    head, *rows = files["users.csv"].splitlines()
    files["users.csv"] = "\ufeff" + "\r\n".join(
        [head.replace("grades", "grade") + ",ext_bus", *(row + ",7,surplus,more" for row in rows)]
    )
    file = read(write_set(tmp_path / "set", files))
    assert len(file.children) == 3
    assert file.form == "OneRoster 1.1"
    assert file.year is None
    assert not file.problems


def test_what_is_marked_as_gone_does_not_come_in(tmp_path):
    """``tobedeleted`` and ``inactive`` lines are told as gone, not taken in as children."""
    pupils = make_pupils(classes=("3A",), children=4)
    files = oneroster_files(pupils)
    files["users.csv"] = files["users.csv"].replace(f"{pupils[0].key},,", f"{pupils[0].key},tobedeleted,")
    files["enrollments.csv"] = files["enrollments.csv"].replace("e1,,", "e1,inactive,")
    file = read(write_set(tmp_path / "set", files))
    assert {child.source_id for child in file.children} == {pupils[2].key, pupils[3].key}
    assert set(file.gone) == {("3A", pupils[0].key), ("3A", pupils[1].key)}


def test_lines_that_point_nowhere_are_told(tmp_path):
    """An enrolment of an unknown class or child, a child in no class, a child without a name."""
    pupils = [*make_pupils(classes=("3A",), children=3), Pupil("bare", "", "", "3A", "3")]
    lost = Pupil("lost", "Zyx", "Lostov", "3A", "3")
    extra = [rosters.enrolment(pupils[0].key, "9Z"), rosters.enrolment("ghost", "3A")]
    files = oneroster_files(pupils, extra=extra)
    alone = rosters.rows_text([rosters._user(rosters.V11_USERS, lost)])
    file = read(write_set(tmp_path / "set", files | {"users.csv": files["users.csv"] + alone}))
    assert {one.code for one in file.problems} == {
        "roster-class-unknown",
        "roster-child-unknown",
        "roster-no-class",
        "roster-name-missing",
    }
    assert len(file.children) == 3


def test_a_whole_school_without_classes_is_told_as_one_count(tmp_path):
    """Forty children of other teachers are one note, not forty problems."""
    files = oneroster_files(make_pupils(classes=("3A",), children=3))
    others = [rosters._user(rosters.V11_USERS, Pupil(f"o{n}", "Zyx", "Ogg", "", "3")) for n in range(40)]
    file = read(write_set(tmp_path / "set", files | {"users.csv": files["users.csv"] + rosters.rows_text(others)}))
    assert not file.problems
    assert any("40 students" in note for note in file.notes)


def test_homerooms_are_taken_and_their_mirrors_left_out(tmp_path):
    """A scheduled class whose children sit in homerooms is left out and told."""
    pupils = make_pupils(classes=("3A",), children=4)
    files = oneroster_files(pupils)
    math = rosters._fill(rosters.CLASSES, sourcedId="c-M", title="Math 3", grades="03", classType="scheduled")
    seats = [rosters.enrolment(one.key, "M") for one in pupils]
    files["classes.csv"] += rosters.rows_text([math])
    files["enrollments.csv"] += rosters.rows_text(seats)
    file = read(write_set(tmp_path / "set", files))
    assert [one.label for one in file.classes] == ["3A"]
    assert any("scheduled" in note for note in file.notes)


def test_of_several_scheduled_classes_art_is_taken(tmp_path):
    """Without homerooms a child in art, math and gym comes in once, with art."""
    pupils = make_pupils(classes=("3A",), children=4)
    files = oneroster_files(pupils, kind="scheduled")
    files["classes.csv"] = files["classes.csv"].replace(",3A,", ",Art 3A,")
    gym = rosters._fill(rosters.CLASSES, sourcedId="c-G", title="Gym 3", grades="03", classType="scheduled")
    files["classes.csv"] += rosters.rows_text([gym])
    files["enrollments.csv"] += rosters.rows_text([rosters.enrolment(one.key, "G") for one in pupils])
    file = read(write_set(tmp_path / "set", files))
    assert [one.label for one in file.classes] == ["Art 3A"]
    assert len(file.children) == 4


def test_two_years_in_one_set(tmp_path):
    """The year that holds today is taken, or the one asked for; classes of the other are left out."""
    files, older = oneroster_files(make_pupils()), oneroster_files(make_pupils(seed=2), year=2026)
    for name in ("academicSessions.csv", "classes.csv", "users.csv", "enrollments.csv"):
        body = older[name].split("\r\n", 1)[1]
        for key in ("y", "t1", "t2"):
            body = body.replace(f"\r\n{key},", f"\r\nold-{key},").replace(f",{key},", f",old-{key},")
        body = body if not body.startswith("y,") else "old-" + body
        files[name] += body.replace("c-3", "c-old-3")
    path = write_set(tmp_path / "set", files)
    now, then = read(path), read(path, year="2025-26")
    assert (now.year.label, then.year.label) == ("2026-27", "2025-26")
    assert {child.source_id[:2] for child in now.children} == {"p1"}
    assert {child.source_id[:2] for child in then.children} == {"p2"}
    other = read(path, year="2031-32")
    assert other.year is None
    assert "was taken as 2031-32" in " ".join(other.notes)


def test_a_child_who_leaves_before_the_class_ends_has_a_last_day(tmp_path):
    """endDate is the day after the last one; an end that the whole class shares is no leaving."""
    pupils = make_pupils(classes=("3A",), children=3)
    files = oneroster_files(pupils)
    rows = [rosters.enrolment(one.key, "3A", endDate="2027-06-12") for one in pupils[:2]]
    rows.append(rosters.enrolment(pupils[2].key, "3A", beginDate="2026-09-01", endDate="2026-11-02"))
    files["enrollments.csv"] = rosters.rows_text([rosters.ENROLLMENTS, *rows])
    file = read(write_set(tmp_path / "set", files))
    days = {child.source_id: (child.from_day, child.to_day) for child in file.children}
    assert days[pupils[2].key] == (date(2026, 9, 1), date(2026, 11, 1))
    assert days[pupils[0].key] == (None, None)


@pytest.mark.parametrize("missing", ["users.csv", "classes.csv", "enrollments.csv"])
def test_a_set_without_a_needed_file_is_refused(tmp_path, missing):
    """roster-file-missing names the file."""
    files = oneroster_files(make_pupils())
    del files[missing]
    with pytest.raises(PortfolioError) as refused:
        read(write_set(tmp_path / "set", files))
    assert (refused.value.code, refused.value.item) == ("roster-file-missing", missing)


def test_a_users_file_without_names_is_refused(tmp_path):
    """roster-columns-missing says which."""
    files = oneroster_files(make_pupils()) | {"users.csv": "sourcedId,role\np1,student\n"}
    with pytest.raises(PortfolioError) as refused:
        read(write_set(tmp_path / "set", files))
    assert refused.value.code == "roster-columns-missing"
    assert "givenName" in refused.value.found


# --- zip files --------------------------------------------------------------------------------------------


def test_a_zip_that_points_outside_is_refused_and_writes_nothing(tmp_path):
    """zip-entry-refused: ``..``, absolute and drive paths."""
    for name in ("../users.csv", "/users.csv", "C:\\users.csv", "a/../../users.csv"):
        files = oneroster_files(make_pupils())
        path = write_zip(tmp_path / "set.zip", files | {name: "x"})
        before = sorted(tmp_path.parent.rglob("*"))
        with pytest.raises(PortfolioError) as refused:
            read(path)
        assert refused.value.code == "zip-entry-refused"
        assert sorted(tmp_path.parent.rglob("*")) == before


def test_a_zip_bomb_is_stopped_while_it_unpacks(tmp_path, monkeypatch):
    """A users file that swells beyond the limit is refused, whatever size its entry claims."""
    monkeypatch.setattr(parts, "MAX_BYTES", 1_000_000)
    files = oneroster_files(make_pupils()) | {"users.csv": b"sourcedId,givenName,familyName\n" + b"0" * 4_000_000}
    with pytest.raises(PortfolioError) as refused:
        read(write_zip(tmp_path / "bomb.zip", files))
    assert refused.value.code == "roster-too-large"


def test_a_zip_of_a_thousand_files_is_refused(tmp_path):
    """A set has a dozen files."""
    with pytest.raises(PortfolioError) as refused:
        read(write_zip(tmp_path / "many.zip", {f"{n}.csv": "x" for n in range(parts.MAX_ENTRIES + 1)}))
    assert refused.value.code == "roster-too-large"


def test_a_cut_off_zip_is_told(tmp_path):
    """zip-damaged, at any place it is cut."""
    whole = write_zip(tmp_path / "set.zip", oneroster_files(make_pupils())).read_bytes()
    for cut in (5, 200, len(whole) // 2, len(whole) - 10):
        path = tmp_path / "cut.zip"
        path.write_bytes(whole[:cut])
        with pytest.raises(PortfolioError) as refused:
            read(path)
        assert refused.value.code == "zip-damaged"


def test_damaged_bytes_inside_a_zip_are_told(tmp_path):
    """A wrong checksum is trouble with the file, not with the program."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as archive:
        for name, text in oneroster_files(make_pupils()).items():
            archive.writestr(name, text)
    content = stream.getvalue()
    at = content.index(b"Quor") if b"Quor" in content else content.index(b"sourcedId")
    path = tmp_path / "bent.zip"
    path.write_bytes(content[:at] + b"#" + content[at + 1 :])
    with pytest.raises(PortfolioError) as refused:
        read(path)
    assert refused.value.code == "zip-damaged"


def test_a_path_that_is_not_there(tmp_path):
    """path-missing, by its own name, never its path."""
    with pytest.raises(PortfolioError) as refused:
        read(tmp_path / "nowhere.csv")
    assert refused.value.code == "path-missing"
    assert str(tmp_path) not in refused.value.sentence


def test_labels_that_two_classes_share_are_told_apart(tmp_path):
    """Two classes titled alike get a number behind the title."""
    pupils = [
        *make_pupils(classes=("3A",), children=2),
        *(replace(one, class_label="3B") for one in make_pupils(classes=("3A",), children=2, seed=5)),
    ]
    files = oneroster_files(pupils)
    files["classes.csv"] = files["classes.csv"].replace(",3B,", ",3A,")
    file = read(write_set(tmp_path / "set", files))
    assert [one.label for one in file.classes] == ["3A", "3A (2)"]
