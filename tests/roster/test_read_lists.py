"""Rosters as schools send them: good lines come in, each bad line is told with its number and its reason."""

import json
import zipfile
from datetime import date
from pathlib import Path

import pytest

from portfolio.errors import NotFound, PortfolioError
from portfolio.model.calendar import Calendar, SchoolYear
from portfolio.privacy.seal import unseal_for_storage
from portfolio.roster import columns, parts, school_files, table
from portfolio.roster.read import look_at_roster, read_form, read_roster
from tests.support.outside import outside
from tests.support.rosters import (
    SENTINELS,
    V11_USERS,
    V12_USERS,
    enrolment,
    make_pupils,
    oneroster_files,
    rows_text,
    sheet_rows,
    write_set,
    write_sheet,
    write_zip,
)

TODAY = date(2026, 9, 7)
HEAD = "First Name,Last Name,Class,Grade,Number,Student ID,From\n"


def write(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    path = folder / "list.csv"
    path.write_bytes(text.encode(encoding))
    return path


def read(path: Path):
    return read_roster(path, today=TODAY)


def told(roster) -> list[tuple[int | None, str]]:
    return [(one.line, one.code) for one in roster.problems]


def full(child) -> str:
    return f"{unseal_for_storage(child.name.given)} {unseal_for_storage(child.name.family)}"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_any_spreadsheet_is_read_alike(tmp_path: Path, encoding: str, delimiter: str) -> None:
    """Byte-order mark, semicolons, tabs, UTF-16: the same children with the same names."""
    pupils = make_pupils()
    plain = read(write_sheet(tmp_path / "plain.csv", sheet_rows(pupils)))
    roster = read(write_sheet(tmp_path / "other.csv", sheet_rows(pupils), delimiter=delimiter, encoding=encoding))
    assert [full(one) for one in roster.children] == [full(one) for one in plain.children]
    assert {full(one) for one in roster.children} == {f"{one.given} {one.family}" for one in pupils}
    assert told(roster) == []


def test_names_with_apostrophes_and_other_letters_come_in_whole(tmp_path: Path) -> None:
    """Every script, apostrophe and hyphen; also in the old Windows code page."""
    names = ["Kaʻiu,O'Sullivan", "Νίκος,Παπ", "ليلى,حداد", "दीया,शर्मा", "Łucja,Ó Briain-Smith", "Mei,欧阳"]
    roster = read(write(tmp_path, "First Name,Last Name,Class,Grade\n" + "".join(f"{one},3B,3\n" for one in names)))
    assert [full(one) for one in roster.children] == [one.replace(",", " ") for one in names]
    old = read(write(tmp_path, "First Name,Last Name,Class,Grade\nRenée,O’Brün,3B,3\n", "cp1252"))
    assert full(old.children[0]) == "Renée O’Brün"


@pytest.mark.parametrize(
    ("line", "code"),
    [
        (",,3B,3,1,a,", "roster-name-missing"),
        ("Zyx,Quor,,3,1,a,", "roster-class-missing"),
        ("Zyx,Quor,Blue,99,1,a,", "roster-grade-unknown"),
        ("Zyx,Quor,3B,3,41,a,", "roster-number-outside"),
        ("Zyx,Quor,3B,3,none,a,", "roster-number-outside"),
        ("Zyx,Quor,3B,3,1,a,someday", "roster-date-unreadable"),
        ("Vlin,Ott,3B,3,1,first,", "roster-id-twice"),
        ("Brem,Emi,3B,3,1,first,", "roster-line-twice"),
        (f"{'x' * 3000},Quor,3B,3,1,a,", "roster-line-odd"),
    ],
)
def test_a_bad_line_is_told_and_the_good_ones_come_in(tmp_path: Path, line: str, code: str) -> None:
    """Line 3 has its reason with its number; lines 2 and 4 are there."""
    roster = read(write(tmp_path, HEAD + "Brem,Emi,3B,3,7,first,\n" + line + "\nOxa,Usk,3B,3,8,last,\n"))
    assert (3, code) in [(one.line or int(one.problem.item.split()[1]), one.code) for one in roster.problems]
    names = {full(one) for one in roster.children}
    assert {"Brem Emi", "Oxa Usk"} <= names
    assert not any(word in one.sentence for one in roster.problems for word in ("Zyx", "Quor", "Vlin", "Emi"))


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "roster-empty"),
        (b"\n\n\n", "roster-empty"),
        (b"PK\x03\x04 not a zip", "zip-damaged"),
        (b"%PDF-1.7 something", "roster-not-a-table"),
        (b"a,b\0\0\0,c\0\0\0\0\n" * 50, "roster-not-a-table"),
        (b"Colour,Shape\nred,round\n", "roster-columns-missing"),
    ],
)
def test_what_is_no_list_of_children_is_refused_whole(tmp_path: Path, content: bytes, code: str) -> None:
    """Nothing is guessed from a file that is something else."""
    path = tmp_path / "list.csv"
    path.write_bytes(content)
    with pytest.raises(PortfolioError) as caught:
        read(path)
    assert caught.value.code == code


def test_a_file_that_is_far_too_large_is_refused_before_it_is_read(tmp_path: Path) -> None:
    """50 MB is no class list."""
    path = tmp_path / "list.csv"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)
    with pytest.raises(PortfolioError) as caught:
        read(path)
    assert caught.value.code == "roster-too-large"
    with pytest.raises(NotFound):
        read(tmp_path / "nowhere.csv")


def test_the_guess_is_shown_without_a_childs_letters(tmp_path: Path) -> None:
    """Column by column what it is taken for, how sure, and the shape of its cells; contact columns are left out."""
    guess = look_at_roster(write_sheet(tmp_path / "list.csv", sheet_rows(make_pupils())))
    meanings = {one.header: one.meaning for one in guess.columns}
    assert meanings["First Name"] == "first name"
    assert meanings["Class"] == "class"
    assert {meanings[name] for name in ("E-mail", "Parent Phone", "Birthdate")} == {columns.LEFT_OUT}
    shapes = "".join(sample for one in guess.columns for sample in one.samples)
    assert set(shapes) <= set("Xx9 ,.'’-/:#()?…")


@pytest.mark.parametrize("version", ["1.1", "1.2"])
@pytest.mark.parametrize("form", ["folder", "zip", "zip of a folder"])
def test_a_oneroster_set_is_read_in_both_versions(tmp_path: Path, version: str, form: str) -> None:
    """Children, classes, grades and the school year; the teacher is no child."""
    pupils = make_pupils()
    files = oneroster_files(pupils, version=version)
    if form == "folder":
        path = write_set(tmp_path / "set", files)
    else:
        path = write_zip(tmp_path / "set.zip", files, below="export/" if "folder" in form else "")
    roster = read(path)
    assert roster.form == f"OneRoster {version}"
    assert {(full(one), one.class_label) for one in roster.children} == {
        (f"{one.given} {one.family}", one.class_label) for one in pupils
    }
    assert {one.label: one.grade for one in roster.classes} == {"3A": "3", "3B": "3"}
    assert roster.year.label == "2026-27"
    assert [term.label for term in roster.year.terms] == ["Fall", "Spring"]
    assert told(roster) == []


@pytest.mark.parametrize(("version", "mine"), [("v1.1", V11_USERS), ("v1.2", V12_USERS)])
def test_the_makers_columns_are_those_of_the_standard(version: str, mine: list[str]) -> None:
    """Header order of users.csv in OneRoster 1.1 and 1.2 (1EdTech; tables read in two implementations)."""
    listed = json.loads(outside("facts", "oneroster.json").read_text())[version]["users.csv"]["columns"].split(",")
    assert mine == listed


def test_contact_data_and_demographics_never_leave_the_reader(tmp_path: Path) -> None:
    """No value that comes out holds an email, phone, password, login or birthday."""
    for version in ("1.1", "1.2"):
        roster = read(write_set(tmp_path / version, oneroster_files(make_pupils(), version=version)))
        assert not any(secret in repr(roster) for secret in SENTINELS.values())
        for child in roster.children:
            parts_of = [unseal_for_storage(one) for one in (child.name.given, child.name.family, *child.name.also)]
            assert not set(parts_of) & set(SENTINELS.values())


@pytest.mark.parametrize(
    ("name", "row", "code"),
    [
        ("enrollments.csv", enrolment("p1-3A-0", "9Z"), "roster-class-unknown"),
        ("enrollments.csv", enrolment("nobody", "3A"), "roster-child-unknown"),
        ("enrollments.csv", enrolment("p1-3A-0", "3B", beginDate="soon"), "roster-date-unreadable"),
        ("users.csv", ["", "", "", "true", "", "student", "", "", "Zyx", "Quor"], "roster-line-odd"),
        ("users.csv", ["u9", "", "", "true", "", "student", "", "", "", ""], "roster-name-missing"),
        ("users.csv", ["u9", "", "", "true", "", "student", "", "", "Zyx", "Quor"], "roster-no-class"),
        ("users.csv", ["p1-3A-0", "", "", "true", "", "student", "", "", "Zyx", "Quor"], "roster-id-twice"),
        ("classes.csv", ["c9", "", "", "", "03"], "roster-class-missing"),
    ],
)
def test_a_bad_row_of_a_set_is_told_with_its_file(tmp_path: Path, name: str, row: list[str], code: str) -> None:
    """The reason names the file and the line; everybody else comes in."""
    pupils = make_pupils()
    files = oneroster_files(pupils)
    files[name] += rows_text([row])
    roster = read(write_set(tmp_path / "set", files))
    lines = len(files[name].splitlines())
    assert (lines, code) in told(roster)
    assert any(name in one.problem.item for one in roster.problems)
    assert len({full(one) for one in roster.children}) == len(pupils)


def test_a_set_may_have_more_columns_longer_rows_and_ended_people(tmp_path: Path) -> None:
    """Extra ``ext_`` columns, rows longer than the heading and ``tobedeleted`` rows are no trouble."""
    pupils = make_pupils()
    files = oneroster_files(pupils)
    head, *rest = files["users.csv"].splitlines()
    files["users.csv"] = "\r\n".join([head + ",ext_mood", *(f"{line},happy,more,and more" for line in rest)]) + "\r\n"
    gone = next(one.key for one in pupils if one.class_label == "3A")
    files["users.csv"] = files["users.csv"].replace(f"{gone},,,TRUE", f"{gone},tobedeleted,,TRUE")
    roster = read(write_set(tmp_path / "set", files))
    assert len(roster.children) == len(pupils) - 1
    assert ("3A", gone) in roster.gone


def test_a_folder_without_users_is_refused_with_the_files_name(tmp_path: Path) -> None:
    """A set is whole or it is not read."""
    files = oneroster_files(make_pupils())
    del files["users.csv"]
    with pytest.raises(PortfolioError) as caught:
        read(write_set(tmp_path / "set", files))
    assert (caught.value.code, caught.value.item) == ("roster-file-missing", "users.csv")


def test_a_zip_that_points_outside_or_is_a_bomb_is_refused(tmp_path: Path) -> None:
    """Zip slip, a bomb behind a small file, too many entries, another program's document."""
    files = oneroster_files(make_pupils())
    with pytest.raises(PortfolioError) as slip:
        read(write_zip(tmp_path / "slip.zip", {**files, "../../evil.csv": "x"}))
    assert slip.value.code == "zip-entry-refused"
    with pytest.raises(PortfolioError) as bomb:
        read(write_zip(tmp_path / "bomb.zip", {**files, "users.csv": "a" * (parts.MAX_BYTES + 10)}))
    assert bomb.value.code == "roster-too-large"
    with pytest.raises(PortfolioError) as many:
        read(write_zip(tmp_path / "many.zip", {f"{n}.csv": "x" for n in range(parts.MAX_ENTRIES + 1)}))
    assert many.value.code == "roster-too-large"
    with pytest.raises(PortfolioError) as document:
        read(write_zip(tmp_path / "book.zip", {"[Content_Types].xml": "x"}))
    assert document.value.code == "roster-not-a-table"
    path = write_zip(tmp_path / "torn.zip", files)
    path.write_bytes(path.read_bytes()[:200])
    with pytest.raises(PortfolioError) as torn:
        read(path)
    assert torn.value.code == "zip-damaged"
    assert zipfile.is_zipfile(tmp_path / "slip.zip")


@pytest.mark.parametrize(
    ("form", "text", "code"),
    [
        (columns.CALENDAR, "Day,Kind\nsoon,holiday\n", "roster-date-unreadable"),
        (columns.CALENDAR, "Day,Kind\n2026-10-12,party\n", "roster-word-unknown"),
        (columns.CALENDAR, "Day,Kind\n2031-10-12,holiday\n", "roster-date-outside"),
        (columns.TIMETABLE, "Class,Cycle Day,Start,End\n,1,9:10,9:50\n", "roster-class-missing"),
        (columns.TIMETABLE, "Class,Cycle Day,Start,End\n3B,9,9:10,9:50\n", "roster-cycle-day-outside"),
        (columns.TIMETABLE, "Class,Cycle Day,Start,End\n3B,1,early,late\n", "roster-time-unreadable"),
        (columns.RELEASES, "Class,Number,Audience,Allowed\n3B,1,martians,yes\n", "roster-word-unknown"),
    ],
)
def test_a_bad_line_of_a_school_file_is_told(tmp_path: Path, form, text: str, code: str) -> None:
    """Calendar, timetable and releases: the line, and what is wrong with it."""
    sheet, guess = read_form(write(tmp_path, text), form)
    year = SchoolYear(1, "2026-27", date(2026, 8, 24), date(2027, 6, 11))
    if form is columns.CALENDAR:
        problems = school_files.read_days(sheet, guess, year=year).problems
    elif form is columns.TIMETABLE:
        _, problems = school_files.read_lessons(sheet, guess, cycle_days=Calendar(year).cycle_days)
    else:
        _, problems = school_files.read_releases(sheet, guess)
    assert [(one.line, one.code) for one in problems] == [(2, code)]


def test_a_table_knows_its_lines(tmp_path: Path) -> None:
    """Empty lines and quoted line ends do not shift the numbers that a problem names."""
    found = table.read_table(b'a,b\n\n"x\ny",2\n3,4\n', file="t.csv")
    assert [(line.line, line.cells) for line in found.lines] == [(1, ("a", "b")), (3, ("x y", "2")), (5, ("3", "4"))]
