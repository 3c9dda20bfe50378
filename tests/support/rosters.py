"""Makers of roster files: seeded, with names that no real child has, and with contact data that must never be kept."""

import csv
import io
import random
import zipfile
from dataclasses import dataclass
from pathlib import Path

GIVEN = ("Zyx", "Quor", "Vlin", "Brem", "Oxa", "Tiph", "Jul", "Wend", "Krab", "Ploi")
GIVEN_ENDS = ("qel", "ina", "ott", "emi", "ora", "usk")
FAMILY = ("O'Quorrab", "Vandrell", "Śtępiak", "Nguyếnova", "d’Arbo", "Smyx-Teal", "Łuk", "al Farouz")
FAMILY_ENDS = ("", "on", "sky", "ez", "ish")
SENTINELS = {
    "email": "sentinel.mail@example.org",
    "phone": "555-0199-7731",
    "sms": "555-0199-7732",
    "password": "sentinel-Passw0rd",
    "username": "sentinel_login_77",
    "birthDate": "2018-02-29",
}
"""Values that no record, sidecar, index or printed line may ever hold."""

V11_USERS = [
    "sourcedId",
    "status",
    "dateLastModified",
    "enabledUser",
    "orgSourcedIds",
    "role",
    "username",
    "userIds",
    "givenName",
    "familyName",
    "middleName",
    "identifier",
    "email",
    "sms",
    "phone",
    "agentSourcedIds",
    "grades",
    "password",
]
V12_USERS = [
    "sourcedId",
    "status",
    "dateLastModified",
    "enabledUser",
    "username",
    "userIds",
    "givenName",
    "familyName",
    "middleName",
    "identifier",
    "email",
    "sms",
    "phone",
    "agentSourcedIds",
    "grades",
    "password",
    "userMasterIdentifier",
    "preferredGivenName",
    "preferredMiddleName",
    "preferredFamilyName",
    "primaryOrgSourcedId",
    "pronouns",
]
CLASSES = [
    "sourcedId",
    "status",
    "dateLastModified",
    "title",
    "grades",
    "courseSourcedId",
    "classCode",
    "classType",
    "location",
    "schoolSourcedId",
    "termSourcedIds",
    "subjects",
    "subjectCodes",
    "periods",
]
ENROLLMENTS = [
    "sourcedId",
    "status",
    "dateLastModified",
    "classSourcedId",
    "schoolSourcedId",
    "userSourcedId",
    "role",
    "primary",
    "beginDate",
    "endDate",
]
SESSIONS = [
    "sourcedId",
    "status",
    "dateLastModified",
    "title",
    "type",
    "startDate",
    "endDate",
    "parentSourcedId",
    "schoolYear",
]
ROLES = [
    "sourcedId",
    "status",
    "dateLastModified",
    "userSourcedId",
    "roleType",
    "role",
    "beginDate",
    "endDate",
    "orgSourcedId",
    "userProfileSourcedId",
]


@dataclass(frozen=True)
class Pupil:
    key: str
    given: str
    family: str
    class_label: str
    grade: str
    preferred: str = ""


def make_pupils(*, classes=("3A", "3B"), children=6, seed=1) -> list[Pupil]:
    """``children`` for each class, in no order."""
    chance = random.Random(seed)
    found = []
    for label in classes:
        for n in range(children):
            given = chance.choice(GIVEN) + chance.choice(GIVEN_ENDS) + "aeiou"[n % 5] + "bdgk"[n % 4]
            family = chance.choice(FAMILY) + chance.choice(FAMILY_ENDS)
            found.append(Pupil(f"p{seed}-{label}-{n}", given, family, label, label[0]))
    chance.shuffle(found)
    return found


def rows_text(rows, *, delimiter=",") -> str:
    stream = io.StringIO(newline="")
    csv.writer(stream, delimiter=delimiter, lineterminator="\r\n").writerows(rows)
    return stream.getvalue()


def sheet_rows(pupils, *, number=None, ids=True) -> list[list[str]]:
    """A school office's list: headings and one line a child, contact data among them."""
    head = ["First Name", "Last Name", "Class", "Grade", "E-mail", "Parent Phone", "Birthdate"]
    head += (["Student ID"] if ids else []) + (["Number"] if number else [])
    rows = [head]
    for one in pupils:
        private = [SENTINELS["email"], SENTINELS["phone"], SENTINELS["birthDate"]]
        row = [one.given, one.family, one.class_label, one.grade, *private]
        rows.append(row + ([one.key] if ids else []) + ([str(number(one))] if number else []))
    return rows


def write_sheet(path: Path, rows, *, delimiter=",", encoding="utf-8") -> Path:
    path.write_bytes(rows_text(rows, delimiter=delimiter).encode(encoding))
    return path


def oneroster_files(pupils, *, version="1.1", kind="homeroom", year=2027, extra=()) -> dict[str, str]:
    """A whole set for one school year: classes, children, a teacher, contact data, and ``extra`` enrolment rows."""
    labels = sorted({one.class_label for one in pupils})
    grade = {one.class_label: one.grade for one in pupils}
    users = V12_USERS if version == "1.2" else V11_USERS
    files = {
        "manifest.csv": [["propertyName", "value"], ["manifest.version", "1.0"], ["oneroster.version", version]],
        "academicSessions.csv": [SESSIONS, *_sessions(year)],
        "orgs.csv": [["sourcedId", "status", "dateLastModified", "name", "type"], ["o1", "", "", "Quarry", "school"]],
        "classes.csv": [
            CLASSES,
            *(
                _fill(
                    CLASSES,
                    sourcedId=f"c-{label}",
                    title=label,
                    grades=f"0{grade[label]}",
                    classType=kind,
                    termSourcedIds="y",
                )
                for label in labels
            ),
        ],
        "users.csv": [users, *(_user(users, one) for one in pupils), _teacher(users)],
        "enrollments.csv": [
            ENROLLMENTS,
            *(
                _fill(
                    ENROLLMENTS,
                    sourcedId=f"e{n}",
                    classSourcedId=f"c-{one.class_label}",
                    userSourcedId=one.key,
                    role="student",
                )
                for n, one in enumerate(pupils)
            ),
            _fill(ENROLLMENTS, sourcedId="et", classSourcedId=f"c-{labels[0]}", userSourcedId="t1", role="teacher"),
            *extra,
        ],
        "demographics.csv": [["sourcedId", "birthDate"], *([one.key, SENTINELS["birthDate"]] for one in pupils)],
    }
    if version == "1.2":
        roles = [(one.key, "student") for one in pupils] + [("t1", "teacher")]
        files["roles.csv"] = [ROLES, *(_fill(ROLES, sourcedId=f"r{k}", userSourcedId=k, role=r) for k, r in roles)]
    return {name: rows_text(rows) for name, rows in files.items()}


def enrolment(pupil_key, class_label, **more) -> list[str]:
    given = {"role": "student"} | more
    return _fill(
        ENROLLMENTS, sourcedId=f"x-{pupil_key}", classSourcedId=f"c-{class_label}", userSourcedId=pupil_key, **given
    )


def write_set(folder: Path, files) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / name).write_bytes(text.encode() if isinstance(text, str) else text)
    return folder


def write_zip(path: Path, files, *, below="") -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in files.items():
            archive.writestr(below + name, text)
    return path


def _sessions(year):
    yield _fill(
        SESSIONS,
        sourcedId="y",
        title="Year",
        type="schoolYear",
        startDate=f"{year - 1}-08-17",
        endDate=f"{year}-06-12",
        schoolYear=str(year),
    )
    yield _fill(
        SESSIONS,
        sourcedId="t1",
        title="Fall",
        type="term",
        startDate=f"{year - 1}-08-17",
        endDate=f"{year}-01-16",
        schoolYear=str(year),
    )
    yield _fill(
        SESSIONS,
        sourcedId="t2",
        title="Spring",
        type="term",
        startDate=f"{year}-01-16",
        endDate=f"{year}-06-12",
        schoolYear=str(year),
    )


def _user(columns, one):
    private = {key: SENTINELS[key] for key in ("email", "phone", "sms", "password", "username")}
    private["userIds"] = "{sis:" + SENTINELS["username"] + "}"
    preferred = {"preferredGivenName": one.preferred} if "preferredGivenName" in columns else {}
    role = {"role": "student"} if "role" in columns else {}
    return _fill(
        columns, sourcedId=one.key, enabledUser="TRUE", givenName=one.given, familyName=one.family,
        identifier=f"n{one.key}", grades=f"0{one.grade}", **role, **preferred, **private,
    )  # fmt: skip


def _teacher(columns):
    role = {"role": "teacher"} if "role" in columns else {}
    return _fill(columns, sourcedId="t1", enabledUser="true", givenName="Grown", familyName="Upperson", **role)


def _fill(columns, **cells) -> list[str]:
    return [cells.get(column, "") for column in columns]
