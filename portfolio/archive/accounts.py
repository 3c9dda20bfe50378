"""Who may sign in, which browsers are signed in, and the code that opens the first set-up.

Secrets never reach this file: passwords come as finished hashes, session secrets and codes as SHA-256.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func
from sqlmodel import Session, col, select

from portfolio.archive.tables import Account, SetupCode, SignIn


@dataclass(frozen=True, slots=True)
class AccountSeen:
    """An account as the sign-in needs it; the hash is argon2's own text."""

    account_id: int
    role: str
    password_hash: str
    failures: int
    next_try_utc: datetime | None


@dataclass(frozen=True, slots=True)
class SignInSeen:
    """One signed-in browser."""

    sign_in_id: int
    account_id: int
    role: str
    created_utc: datetime
    seen_utc: datetime
    ends_utc: datetime
    class_id: int | None = None
    """The class of a station."""


@dataclass(frozen=True, slots=True)
class AccountLine:
    """An account in a list; ``login`` is what is typed to sign in."""

    account_id: int
    login: str
    role: str
    created_utc: datetime


def has_role(session: Session, role: str) -> bool:
    """Whether anyone with this role can sign in."""
    return session.exec(select(func.count()).select_from(Account).where(Account.role == role)).one() > 0


def account(session: Session, login: str) -> AccountSeen | None:
    """The account with this login."""
    row = session.exec(select(Account).where(Account.login == login)).first()
    return None if row is None else _account_seen(row)


def _account_seen(row: Account) -> AccountSeen:
    assert row.id is not None
    return AccountSeen(row.id, row.role, row.password_hash, row.failures, row.next_try_utc)


def accounts(session: Session) -> tuple[AccountLine, ...]:
    """Everyone who may sign in, by login."""
    rows = session.exec(select(Account).order_by(col(Account.login)))
    return tuple(AccountLine(row.id or 0, row.login, row.role, row.created_utc) for row in rows)


def remove_account(session: Session, account_id: int) -> None:
    """Remove an account and sign out all its browsers."""
    end_all(session, account_id)
    session.flush()
    session.delete(session.get_one(Account, account_id))


def put_account(session: Session, login: str, *, role: str, password_hash: str, now_utc: datetime) -> AccountSeen:
    """Make the account, or give it a new password; either way its failed tries are forgotten."""
    row = session.exec(select(Account).where(Account.login == login)).first()
    if row is None:
        row = Account(role=role, login=login, password_hash=password_hash, created_utc=now_utc)
    row.password_hash = password_hash
    row.failures = 0
    row.next_try_utc = None
    session.add(row)
    session.flush()
    return _account_seen(row)


def note_failure(session: Session, account_id: int, *, failures: int, next_try_utc: datetime | None) -> None:
    """Keep how many tries failed in a row, and when the next one is heard."""
    row = session.get(Account, account_id)
    if row is not None:
        row.failures = failures
        row.next_try_utc = next_try_utc
        session.add(row)


def forget_failures(session: Session, account_id: int) -> None:
    """The account's failed tries no longer count."""
    who = session.get_one(Account, account_id)
    who.failures = 0
    who.next_try_utc = None
    session.add(who)


def start_sign_in(
    session: Session,
    account_id: int,
    *,
    secret_sha256: str,
    now_utc: datetime,
    ends_utc: datetime,
    role: str | None = None,
    class_id: int | None = None,
) -> SignInSeen:
    """Keep a new signed-in browser, in the account's own role or in a lesser one; forgets every sign-in that has ended.

    ``class_id``: the class of a station.
    """
    who = session.get_one(Account, account_id)
    for old in session.exec(select(SignIn).where(col(SignIn.ends_utc) < now_utc)):
        session.delete(old)
    row = SignIn(
        account_id=account_id,
        secret_sha256=secret_sha256,
        role=role or who.role,
        class_id=class_id,
        created_utc=now_utc,
        seen_utc=now_utc,
        ends_utc=ends_utc,
    )
    session.add(row)
    session.flush()
    return _sign_in_seen(row)


def _sign_in_seen(row: SignIn) -> SignInSeen:
    assert row.id is not None
    return SignInSeen(
        row.id, row.account_id, row.role, row.created_utc, row.seen_utc, row.ends_utc, class_id=row.class_id
    )


def sign_in(session: Session, secret_sha256: str) -> SignInSeen | None:
    """The signed-in browser that holds this secret, whether or not its time is over."""
    row = session.exec(select(SignIn).where(SignIn.secret_sha256 == secret_sha256)).first()
    return None if row is None else _sign_in_seen(row)


def sign_ins(session: Session, *, now_utc: datetime) -> tuple[SignInSeen, ...]:
    """Every signed-in browser whose time is not over, the newest first."""
    asked = select(SignIn).where(col(SignIn.ends_utc) > now_utc).order_by(col(SignIn.id).desc())
    return tuple(_sign_in_seen(row) for row in session.exec(asked))


def note_seen(session: Session, sign_in_id: int, *, now_utc: datetime) -> None:
    """The browser was seen again."""
    row = session.get(SignIn, sign_in_id)
    if row is not None:
        row.seen_utc = now_utc
        session.add(row)


def end_sign_in(session: Session, sign_in_id: int) -> None:
    """Sign one browser out."""
    row = session.get(SignIn, sign_in_id)
    if row is not None:
        session.delete(row)


def end_others(session: Session, sign_in_id: int) -> int:
    """Sign out every browser but this one; gives how many there were."""
    found = session.exec(select(SignIn).where(col(SignIn.id) != sign_in_id)).all()
    for row in found:
        session.delete(row)
    return len(found)


def end_all(session: Session, account_id: int) -> int:
    """Sign out every browser of an account; gives how many there were."""
    found = session.exec(select(SignIn).where(SignIn.account_id == account_id)).all()
    for row in found:
        session.delete(row)
    return len(found)


def put_code(session: Session, secret_sha256: str, *, ends_utc: datetime) -> None:
    """Keep a new set-up code; every older one stops working."""
    for old in session.exec(select(SetupCode)):
        session.delete(old)
    session.add(SetupCode(secret_sha256=secret_sha256, ends_utc=ends_utc))


def take_code(session: Session, secret_sha256: str, *, now_utc: datetime) -> bool:
    """Use a set-up code up. False when it is unknown, used or too old."""
    row = session.exec(select(SetupCode).where(SetupCode.secret_sha256 == secret_sha256)).first()
    if row is None or row.used or row.ends_utc <= now_utc:
        return False
    row.used = True
    session.add(row)
    return True
