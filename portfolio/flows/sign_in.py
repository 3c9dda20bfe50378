"""Signing in: the first set-up, the password, the browser that stays signed in, and signing out.

A browser holds a random secret of 256 bits; the library keeps only its SHA-256, so it can be ended here at any time.
It ends 60 minutes after the last request and 12 hours after signing in. Passwords are kept as argon2id hashes.
A reflection station (``flows/station.py``) is such a browser too: it ends at its own time, however quiet it is.
"""

from __future__ import annotations

import hashlib
import secrets
import threading
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Final

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError

from portfolio.archive import accounts
from portfolio.archive.library import Library, Session
from portfolio.errors import Refused
from portfolio.flows.common_passwords import COMMON

TEACHER: Final = "teacher"
HELPER: Final = "helper"
STATION: Final = "station"
IDLE: Final = timedelta(minutes=60)
LONGEST: Final = timedelta(hours=12)
CODE_LASTS: Final = timedelta(minutes=30)
SEEN_EVERY: Final = timedelta(minutes=5)
"""How often "seen" is written down: rarely enough to leave the disk alone, often enough for the idle limit."""
PASSWORD_MIN: Final = 8
PASSWORD_MAX: Final = 128
FREE_TRIES: Final = 5
WAIT_MOST_SECONDS: Final = 60

CODE_LETTERS: Final = "ABCDEFGHJKLMNPQRSTUVWXYZ23456789"
"""32 signs without 0/O and 1/I: five bits each, 16 of them make 80 bits."""
_HASHER: Final = PasswordHasher(time_cost=3, memory_cost=64 * 1024, parallelism=1)
_ONE_AT_A_TIME = threading.Semaphore(1)
"""One hash needs 64 MiB; twenty sign-ins at once would need 1.3 GiB."""


@dataclass(frozen=True, slots=True)
class Visitor:
    """Whoever sends a request and is signed in."""

    role: str
    account_id: int
    sign_in_id: int
    ends_utc: datetime
    class_id: int | None = None
    """The class of a station; nobody else has one."""


@dataclass(frozen=True, slots=True)
class Opened:
    """A browser that has just been signed in: the secret it must keep, and when that ends at the latest."""

    secret: str
    ends_utc: datetime


def has_teacher(library: Library) -> bool:
    """Whether the library has been set up: someone can sign in as the teacher."""
    with library.reading() as session:
        return accounts.has_role(session, TEACHER)


def new_setup_code(library: Library, *, now: datetime | None = None) -> str:
    """A one-time code of 80 bits, in groups of four, to be shown once in the console. Older codes stop working."""
    moment = now or datetime.now(UTC)
    code = new_code()
    with library.writing(who="program", what="made a set-up code") as writing:
        accounts.put_code(writing.session, _digest(letters_of(code)), ends_utc=moment + CODE_LASTS)
    return code


def new_code() -> str:
    """A secret of 80 bits that can be read aloud and typed: four groups of four."""
    letters = "".join(secrets.choice(CODE_LETTERS) for _ in range(16))
    return "-".join(letters[start : start + 4] for start in range(0, 16, 4))


def letters_of(typed: str) -> str:
    """The signs of a code that count: small or capital, with or without what parts its groups."""
    return "".join(sign for sign in typed.upper() if sign in CODE_LETTERS)


def set_up(library: Library, code: str, *, password: str, now: datetime | None = None) -> Opened:
    """Choose the first password with the code from the console, and sign this browser in.

    Refuses when the teacher has a password already, a code that does not fit, and a password that is easy to guess.
    """
    moment = now or datetime.now(UTC)
    letters = letters_of(code)
    check_password(password)
    hashed = hash_of(password)
    with library.writing(who=TEACHER, what="chose a password") as writing:
        if accounts.has_role(writing.session, TEACHER):
            raise Refused("set-up-done", item="This library")
        if not accounts.take_code(writing.session, _digest(letters), now_utc=moment):
            raise Refused("set-up-code", item="The set-up code")
        who = accounts.put_account(writing.session, TEACHER, role=TEACHER, password_hash=hashed, now_utc=moment)
        return _start(writing.session, who.account_id, moment)


def check_password(password: str) -> None:
    """Refuses a password that is too short, too long or on the list of common ones. Any characters are welcome."""
    if len(password) < PASSWORD_MIN:
        found = f"it has {len(password)} characters and needs at least {PASSWORD_MIN}"
    elif len(password) > PASSWORD_MAX:
        found = f"it has {len(password)} characters and may have {PASSWORD_MAX} at most"
    elif _is_common(password):
        found = "it is one of the first that anyone would try"
    else:
        return
    raise Refused("password-weak", item="This password", found=found)


def _is_common(password: str) -> bool:
    plain = password.casefold()
    core = plain.rstrip("0123456789!.?*#")
    return plain in COMMON or core in COMMON or core == "" or len(set(plain)) < 3


def sign_in(library: Library, password: str, *, now: datetime | None = None) -> Opened:
    """Sign this browser in as the teacher.

    Refuses a password that does not fit; from the fifth failure in a row the next try is heard only after
    1, 2, 4 … 60 seconds. Nobody is ever locked out for good: a whole school may share one address.
    """
    moment = now or datetime.now(UTC)
    return _open(library, _teacher_by(library, password, moment, item="The password"), moment)


def _teacher_by(library: Library, password: str, moment: datetime, *, item: str) -> accounts.AccountSeen:
    """The teacher's account, if this is her password; ``item``: what is said not to fit."""
    with library.reading() as session:
        who = accounts.account(session, TEACHER)
    if who is None:
        raise Refused("set-up-needed", item="This library")
    check_wait(who.next_try_utc, moment)
    if not _fits(who.password_hash, password):
        _count_failure(library, who, moment)
        raise Refused("sign-in-wrong", item=item)
    return who


def sign_in_helper(library: Library, login: str, password: str, *, now: datetime | None = None) -> Opened:
    """Sign this browser in as a helper, until the day is over. Refuses alike whether the name or the password is wrong;
    wrong passwords of a name are slowed down as the teacher's are.
    """
    moment, plain = now or datetime.now(UTC), " ".join(login.split()).casefold()
    with library.reading() as session:
        lines = accounts.accounts(session)
        known = next((one.login for one in lines if one.role == HELPER and one.login.casefold() == plain), "")
        who = accounts.account(session, known) if known else None
    check_wait(who.next_try_utc if who else None, moment)
    if not _fits(who.password_hash if who else _nobodys_hash(), letters_of(password)) or who is None:
        if who is not None:
            _count_failure(library, who, moment)
        raise Refused("helper-wrong", item="The name or the password")
    return _open(library, who, moment, ends=_end_of_day(moment))


def _end_of_day(moment: datetime) -> datetime:
    local = moment.astimezone()
    return (local + timedelta(days=1)).replace(hour=0, minute=0, second=0, microsecond=0).astimezone(UTC)


def check_wait(next_try: datetime | None, moment: datetime) -> None:
    """Refuses a try that comes before the next one is heard."""
    if next_try is not None and moment < next_try:
        wait = int((next_try - moment).total_seconds()) + 1
        raise Refused("sign-in-wait", item="This try", found=f"{wait} second{'s' if wait > 1 else ''}")


def _count_failure(library: Library, who: accounts.AccountSeen, moment: datetime) -> None:
    failures = who.failures + 1
    pause = pause_after(failures)
    with library.writing(who="program", what="refused a sign-in") as writing:
        accounts.note_failure(
            writing.session,
            who.account_id,
            failures=failures,
            next_try_utc=moment + pause if pause else None,
        )


def pause_after(failures: int) -> timedelta:
    """How long the next try is not heard after so many failures in a row."""
    seconds = min(2 ** (failures - FREE_TRIES), WAIT_MOST_SECONDS) if failures >= FREE_TRIES else 0
    return timedelta(seconds=seconds)


def open_demo(library: Library, *, now: datetime | None = None) -> Opened:
    """Sign a browser in to the invented school without a password; the caller has checked its one-time link."""
    moment = now or datetime.now(UTC)
    with library.reading() as session:
        who = accounts.account(session, TEACHER)
    if who is None:
        nobody_knows = hash_of(secrets.token_urlsafe(32))
        with library.writing(who="program", what="opened the invented school") as writing:
            who = accounts.put_account(
                writing.session, TEACHER, role=TEACHER, password_hash=nobody_knows, now_utc=moment
            )
    return _open(library, who, moment)


def _open(library: Library, who: accounts.AccountSeen, moment: datetime, *, ends: datetime | None = None) -> Opened:
    with library.writing(who=who.role, what="signed in") as writing:
        accounts.forget_failures(writing.session, who.account_id)
        return _start(writing.session, who.account_id, moment, ends=ends)


def _start(session: Session, account_id: int, moment: datetime, *, ends: datetime | None = None) -> Opened:
    secret, ends = secrets.token_urlsafe(32), min(ends or moment + LONGEST, moment + LONGEST)
    accounts.start_sign_in(session, account_id, secret_sha256=_digest(secret), now_utc=moment, ends_utc=ends)
    return Opened(secret, ends)


def start_station(library: Library, class_id: int, *, ends_utc: datetime, now: datetime | None = None) -> Opened:
    """Make a browser the reflection station of one class until its time is over; it can do nothing else."""
    moment, secret = now or datetime.now(UTC), secrets.token_urlsafe(32)
    with library.writing(who=TEACHER, what="started a reflection station") as writing:
        who = accounts.account(writing.session, TEACHER)
        if who is None:
            raise Refused("set-up-needed", item="This library")
        accounts.start_sign_in(
            writing.session,
            who.account_id,
            secret_sha256=_digest(secret),
            now_utc=moment,
            ends_utc=ends_utc,
            role=STATION,
            class_id=class_id,
        )
    return Opened(secret, ends_utc)


def who_is(library: Library, secret: str, *, now: datetime | None = None) -> Visitor | None:
    """Who holds this secret, or ``None`` when it is unknown, was signed out, was idle too long or is too old."""
    moment = now or datetime.now(UTC)
    with library.reading() as session:
        found = accounts.sign_in(session, _digest(secret))
    if found is None or not stands(found, moment):
        return None
    if moment - found.seen_utc >= SEEN_EVERY:
        with library.writing(who=found.role, what="stayed signed in") as writing:
            accounts.note_seen(writing.session, found.sign_in_id, now_utc=moment)
    return Visitor(found.role, found.account_id, found.sign_in_id, found.ends_utc, found.class_id)


def stands(found: accounts.SignInSeen, moment: datetime) -> bool:
    """Whether a sign-in still opens anything: its time is not over, and it was not idle too long."""
    idle = found.role != STATION and moment - found.seen_utc >= IDLE
    return moment < found.ends_utc and not idle


def sign_out(library: Library, visitor: Visitor) -> None:
    """End this browser's sign-in at once."""
    with library.writing(who=visitor.role, what="signed out") as writing:
        accounts.end_sign_in(writing.session, visitor.sign_in_id)


def reset_password(library: Library, password: str, *, now: datetime | None = None) -> int:
    """Give the teacher a new password, on the machine itself; signs every browser out and gives how many."""
    check_password(password)
    hashed = hash_of(password)
    with library.writing(who=TEACHER, what="chose a new password") as writing:
        who = accounts.put_account(
            writing.session,
            TEACHER,
            role=TEACHER,
            password_hash=hashed,
            now_utc=now or datetime.now(UTC),
        )
        return accounts.end_all(writing.session, who.account_id)


def change_password(
    library: Library, visitor: Visitor, *, current: str, password: str, now: datetime | None = None
) -> int:
    """The teacher chooses a new password in the app; every other browser is signed out, and it gives how many.

    Refuses when the one she has now does not fit, slowed down as at the door, and a new one that is easy to guess.
    """
    moment = now or datetime.now(UTC)
    _teacher_by(library, current, moment, item="The password you have now")
    check_password(password)
    hashed = hash_of(password)
    with library.writing(who=TEACHER, what="chose a new password") as writing:
        accounts.put_account(writing.session, TEACHER, role=TEACHER, password_hash=hashed, now_utc=moment)
        return accounts.end_others(writing.session, visitor.sign_in_id)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


@cache
def _nobodys_hash() -> str:
    """Compared with when the name is unknown, so that the answer takes as long as for a known one."""
    return hash_of(secrets.token_urlsafe(32))


def hash_of(password: str) -> str:
    """A password as it is kept."""
    with _ONE_AT_A_TIME:
        return _HASHER.hash(password)


def _fits(hashed: str, password: str) -> bool:
    if len(password) > PASSWORD_MAX:
        return False
    with _ONE_AT_A_TIME:
        try:
            return _HASHER.verify(hashed, password)
        except (VerificationError, InvalidHashError):
            return False
