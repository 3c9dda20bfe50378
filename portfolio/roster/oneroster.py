"""OneRoster CSV 1.1 and 1.2 (1EdTech), read tolerantly: extra columns, long rows, old status words, missing manifest.

Of every file only the columns of ``WANTED`` are ever looked at: email, phone, sms, password, user names, other ids and
demographic facts are dropped at the door. Figures and columns: 1EdTech OneRoster CSV tables 1.1 (2017) and 1.2 (2023).
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Final

from portfolio.errors import PortfolioError
from portfolio.model.people import ChildName
from portfolio.roster.columns import told
from portfolio.roster.names import child_name, name_order
from portfolio.roster.sessions import Sessions, read_sessions
from portfolio.roster.table import Table, read_table
from portfolio.roster.values import LineProblem, RosterChild, RosterClass, RosterFile, trouble
from portfolio.roster.words import date_of, grade_in_label, grade_of, label_key

FILES: Final = (
    "manifest.csv",
    "academicsessions.csv",
    "classes.csv",
    "users.csv",
    "roles.csv",
    "enrollments.csv",
    "courses.csv",
)
NEEDED: Final = ("users.csv", "classes.csv", "enrollments.csv")
WANTED: Final[Mapping[str, tuple[str, ...]]] = {
    "manifest.csv": ("propertyName", "value"),
    "academicsessions.csv": ("sourcedId", "status", "title", "type", "startDate", "endDate", "schoolYear"),
    "courses.csv": ("sourcedId", "title", "subjects"),
    "classes.csv": (
        *("sourcedId", "status", "title", "grades", "grade", "courseSourcedId", "classCode", "classType"),
        *("termSourcedIds", "subjects"),
    ),
    "users.csv": (
        *("sourcedId", "status", "role", "givenName", "familyName", "middleName", "identifier", "grades", "grade"),
        *("preferredGivenName", "preferredFamilyName"),
    ),
    "roles.csv": ("userSourcedId", "status", "role"),
    "enrollments.csv": ("classSourcedId", "userSourcedId", "status", "role", "beginDate", "endDate"),
}
GONE: Final = ("tobedeleted", "inactive")
MAX_TOLD: Final = 20
"""More students without a class than this are told as one count: then the file is simply the whole school."""

Row = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class _User:
    line: int
    name: ChildName
    key: tuple[str, ...] = field(repr=False)
    """Plain sort key; never leaves this module."""
    identifier: str | None
    grade: str | None


@dataclass(slots=True)
class _Class:
    label: str
    grade: str | None
    homeroom: bool
    art: bool
    source_id: str


@dataclass(frozen=True, slots=True)
class _Seat:
    """One enrolment row that holds: a user in a class."""

    line: int
    user: str
    group: str
    begins: date | None
    ends: date | None


def read_oneroster(parts: Mapping[str, bytes], *, file: str, year: str | None = None, today: date) -> RosterFile:
    """Read the files of a OneRoster set (name in lower case → bytes) for one school year.

    Without ``year`` the school year that holds ``today`` is taken, else the newest that the set tells.
    """
    for name in NEEDED:
        if name not in parts:
            raise PortfolioError("roster-file-missing", item=name)
    return _Set(parts, file=file).roster(year=year, today=today)


class _Set:
    """One OneRoster set while it is read. Problems gather in ``problems``."""

    def __init__(self, parts: Mapping[str, bytes], *, file: str) -> None:
        self.file = file
        self.problems: list[LineProblem] = []
        self.notes: list[str] = []
        self.rows = {name: list(self._read(content, name)) for name, content in parts.items() if name in WANTED}
        self.told = {row["propertyName"]: row["value"] for _, row in self.rows.get("manifest.csv", [])}
        self.gone_users: set[str] = set()

    def roster(self, *, year: str | None, today: date) -> RosterFile:
        """Everything that may be kept."""
        sessions = read_sessions(self.rows.get("academicsessions.csv", []), year=year, today=today)
        if sessions.note:
            self.notes.append(sessions.note)
        users = self._users()
        groups, others = self._classes(sessions)
        seats, gone = self._seats(users, groups, others)
        chosen = self._choose(groups, seats)
        kept = [seat for seat in seats if seat.group in chosen]
        self._grades(chosen, kept, users)
        children = self._children(kept, chosen, users)
        self._tell_classless(users, {seat.user for seat in seats})
        classes = tuple(
            RosterClass(one.label, one.grade, one.source_id)
            for one in sorted(chosen.values(), key=lambda one: one.label)
            if one.grade is not None
        )
        return RosterFile(
            self.file,
            f"OneRoster {self._version()}",
            classes,
            children,
            tuple(sorted(self.problems, key=lambda one: (one.problem.item.rpartition(" ")[2], one.line or 0))),
            year=sessions.year,
            whole=self.told.get("file.enrollments", "bulk") != "delta",
            gone=tuple((chosen[group].label, user) for group, user in gone if group in chosen),
            notes=tuple(self.notes),
        )

    def _version(self) -> str:
        told_version = self.told.get("oneroster.version", "")
        return told_version or ("1.2" if "roles.csv" in self.rows else "1.1")

    # --- reading the files ---

    def _read(self, content: bytes, name: str) -> Iterator[tuple[int, Row]]:
        try:
            table = read_table(content, file=name)
        except PortfolioError as error:
            if error.code == "roster-empty" and name not in NEEDED:
                return
            raise
        self.problems.extend(LineProblem(None, problem) for problem in table.problems)
        places = _places(table, name)
        for line in table.lines[1:]:
            cells = {key: line.cells[i] if i < len(line.cells) else "" for key, i in places.items()}
            yield line.line, {key: cells.get(key, "") for key in WANTED[name]}

    def _tell(self, code: str, line: int, file: str, found: str = "") -> None:
        self.problems.append(trouble(code, line, file, found=found))

    def _users(self) -> dict[str, _User]:
        """Students by sourcedId. 1.1 says the role in the row, 1.2 in roles.csv; if neither, the enrolment decides."""
        roles: dict[str, set[str]] = {}
        for _, row in self.rows.get("roles.csv", []):
            if row["status"].casefold() not in GONE:
                roles.setdefault(row["userSourcedId"], set()).add(row["role"].casefold())
        found: dict[str, _User] = {}
        for line, row in self.rows["users.csv"]:
            source_id = row["sourcedId"]
            said = {row["role"].casefold()} if row["role"] else roles.get(source_id, set())
            if row["status"].casefold() in GONE:
                self.gone_users.add(source_id)
            elif not said or "student" in said:
                self._user(found, line, row)
            else:
                self.gone_users.add(source_id)  # a grown-up: their enrolments are no trouble
        return found

    def _user(self, found: dict[str, _User], line: int, row: Row) -> None:
        source_id = row["sourcedId"]
        name = child_name(
            row["givenName"],
            row["familyName"],
            preferred=row["preferredGivenName"],
            middle=row["middleName"],
            also=(row["preferredFamilyName"],),
        )
        if not source_id:
            self._tell("roster-line-odd", line, "users.csv", "it has no sourcedId")
        elif name is None:
            self._tell("roster-name-missing", line, "users.csv")
            self.gone_users.add(source_id)
        elif source_id in found:
            same = found[source_id].name == name
            where = f"line {found[source_id].line}"
            self._tell("roster-line-twice" if same else "roster-id-twice", line, "users.csv", where)
        else:
            key = name_order(row["givenName"], row["familyName"])
            found[source_id] = _User(line, name, key, row["identifier"] or None, self._grade(row, line, "users.csv"))

    def _grade(self, row: Row, line: int, file: str) -> str | None:
        """The first known grade of a list like "02,03"."""
        words = [word.strip() for word in (row["grades"] or row["grade"]).split(",") if word.strip()]
        known = [grade for grade in map(grade_of, words) if grade is not None]
        if words and not known:
            self._tell("roster-grade-unknown", line, file, told(words[0]))
        return known[0] if known else None

    def _classes(self, sessions: Sessions) -> tuple[dict[str, _Class], set[str]]:
        """Classes of the year by sourcedId, and the ids of classes that are known but not meant."""
        courses = {row["sourcedId"]: row for _, row in self.rows.get("courses.csv", [])}
        found: dict[str, _Class] = {}
        others: set[str] = set()
        for line, row in self.rows["classes.csv"]:
            terms = [one.strip() for one in row["termSourcedIds"].split(",") if one.strip()]
            if row["status"].casefold() in GONE or sessions.is_other_year(terms):
                others.add(row["sourcedId"])
                continue
            label = (row["title"] or row["classCode"])[:40].strip()
            if not label or not row["sourcedId"]:
                self._tell("roster-class-missing", line, "classes.csv")
                continue
            course = courses.get(row["courseSourcedId"], {})
            words = f"{row['title']} {row['subjects']} {course.get('title', '')} {course.get('subjects', '')}"
            found[row["sourcedId"]] = _Class(
                label,
                self._grade(row, line, "classes.csv") or grade_in_label(label),
                row["classType"].casefold() == "homeroom",
                bool({"art", "arts"} & set(words.casefold().replace(",", " ").split())),
                row["sourcedId"],
            )
        if others:
            self.notes.append(f"{len(others)} classes of other years or marked as ended were left out.")
        return found, others

    def _seats(
        self, users: Mapping[str, _User], groups: Mapping[str, _Class], others: set[str]
    ) -> tuple[list[_Seat], list[tuple[str, str]]]:
        """Who sits where, and what the set itself says has ended."""
        seats: dict[tuple[str, str], _Seat] = {}
        gone: list[tuple[str, str]] = []
        for line, row in self.rows["enrollments.csv"]:
            user, group = row["userSourcedId"], row["classSourcedId"]
            if row["role"].casefold() not in ("student", "") or group in others:
                continue
            if row["status"].casefold() in GONE or user in self.gone_users:
                gone.append((group, user))
            elif group not in groups:
                self._tell("roster-class-unknown", line, "enrollments.csv", told(group))
            elif user not in users:
                self._tell("roster-child-unknown", line, "enrollments.csv")
            else:
                seats.setdefault((group, user), self._seat(line, row))
        return list(seats.values()), gone

    def _seat(self, line: int, row: Row) -> _Seat:
        days = []
        for key in ("beginDate", "endDate"):
            day = date_of(row[key]) if row[key] else None
            if row[key] and day is None:
                self._tell("roster-date-unreadable", line, "enrollments.csv", told(row[key]))
            days.append(day)
        # endDate is exclusive: the day after the last one
        ends = days[1] - timedelta(days=1) if days[1] is not None else None
        return _Seat(line, row["userSourcedId"], row["classSourcedId"], days[0], ends)

    # --- choosing ---

    def _choose(self, groups: dict[str, _Class], seats: list[_Seat]) -> dict[str, _Class]:
        """Which classes are the art teacher's: of a whole school's timetable, not math and gym.

        Homerooms count, and scheduled classes none of whose children has a homeroom. Without homerooms: the classes
        named art, if a child would else sit in several; else all. Common practice, no source; told in the notes.
        """
        seated = {seat.group for seat in seats}
        filled = {key: one for key, one in groups.items() if key in seated}
        at_home = {seat.user for seat in seats if filled[seat.group].homeroom}
        per_child = Counter(seat.user for seat in seats)
        if at_home:
            mirror = {seat.group for seat in seats if seat.user in at_home}
            chosen = {key: one for key, one in filled.items() if one.homeroom or key not in mirror}
        elif any(one.art for one in filled.values()) and per_child and max(per_child.values()) > 1:
            chosen = {key: one for key, one in filled.items() if one.art}
        else:
            chosen = filled
        if len(chosen) < len(filled):
            kind = "homerooms" if at_home else "art classes"
            self.notes.append(f"{len(filled) - len(chosen)} scheduled classes were left out: {kind} were taken.")
        self._part_labels(chosen)
        return chosen

    def _part_labels(self, chosen: dict[str, _Class]) -> None:
        """Two classes with one title get a number behind it."""
        seen: Counter[str] = Counter()
        for one in chosen.values():
            seen[label_key(one.label)] += 1
            if seen[label_key(one.label)] > 1:
                one.label = f"{one.label} ({seen[label_key(one.label)]})"

    def _grades(self, chosen: dict[str, _Class], seats: list[_Seat], users: Mapping[str, _User]) -> None:
        """A class without a grade takes that of most of its children; without any it is told and left out."""
        lines = {row["sourcedId"]: line for line, row in self.rows["classes.csv"]}
        votes: dict[str, Counter[str]] = defaultdict(Counter)
        for seat in seats:
            if (grade := users[seat.user].grade) is not None:
                votes[seat.group][grade] += 1
        for key, one in list(chosen.items()):
            one.grade = one.grade or (votes[key].most_common(1)[0][0] if key in votes else None)
            if one.grade is None:
                self._tell("roster-grade-unknown", lines[key], "classes.csv", "no grade is given")
                del chosen[key]

    def _children(
        self, seats: list[_Seat], chosen: Mapping[str, _Class], users: Mapping[str, _User]
    ) -> tuple[RosterChild, ...]:
        last: dict[str, date] = {}
        for seat in seats:
            last[seat.group] = max(last.get(seat.group, date.min), seat.ends or date.max)
        ranked = sorted(seats, key=lambda seat: (users[seat.user].key, users[seat.user].line, seat.line))
        found = []
        for place, seat in enumerate(ranked):
            user = users[seat.user]
            if seat.group not in chosen:
                continue
            child = RosterChild(
                line=seat.line,
                file="enrollments.csv",
                name=user.name,
                class_label=chosen[seat.group].label,
                order=place,
                source_id=seat.user,
                identifier=user.identifier,
                from_day=seat.begins,
            )
            early = seat.ends is not None and seat.ends < last[seat.group]
            found.append(replace(child, to_day=seat.ends) if early else child)
        return tuple(sorted(found, key=lambda child: child.line))

    def _tell_classless(self, users: Mapping[str, _User], seated: set[str]) -> None:
        without = [user for key, user in users.items() if key not in seated]
        if len(without) > MAX_TOLD:
            self.notes.append(f"{len(without)} students of the set are in no class of it and were left out.")
            return
        for user in without:
            self._tell("roster-no-class", user.line, "users.csv")


def _places(table: Table, name: str) -> dict[str, int]:
    """Wanted column → index, by heading without capitals and ``ext_`` columns ignored by themselves."""
    if not table.lines:
        raise PortfolioError("roster-empty", item=name)
    heads = {cell.casefold(): i for i, cell in reversed(list(enumerate(table.lines[0].cells)))}
    places = {key: heads[key.casefold()] for key in WANTED[name] if key.casefold() in heads}
    need = {
        "users.csv": ("sourcedId", "givenName", "familyName"),
        "classes.csv": ("sourcedId", "title"),
        "enrollments.csv": ("classSourcedId", "userSourcedId"),
    }.get(name, ())
    missing = [key for key in need if key not in places]
    if missing:
        raise PortfolioError("roster-columns-missing", item=name, found=" and ".join(missing))
    return places
