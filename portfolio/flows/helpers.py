"""Helpers: people whom the teacher lets in to add photos and say numbers. She makes and removes their accounts."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

from portfolio.archive import accounts
from portfolio.archive.library import Library, Session
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.flows.sign_in import HELPER, TEACHER, hash_of, letters_of, new_code

LOGIN_MAX: Final = 40


@dataclass(frozen=True, slots=True)
class HelperSeen:
    """A helper in a list."""

    account_id: int
    login: str
    since_utc: datetime


def see_helpers(library: Library) -> tuple[HelperSeen, ...]:
    """Every helper, by name."""
    with library.reading() as session:
        return tuple(HelperSeen(one.account_id, one.login, one.created_utc) for one in _helpers(session))


def _helpers(session: Session) -> list[accounts.AccountLine]:
    return [one for one in accounts.accounts(session) if one.role == HELPER]


def add_helper(library: Library, login: str, *, now: datetime | None = None) -> str:
    """Let somebody in under a name; gives the password, which is kept nowhere and shown once.

    Refuses a name that is empty, too long or taken.
    """
    plain, password = " ".join(login.split()), new_code()
    if not plain or len(plain) > LOGIN_MAX:
        raise PortfolioError("bad-request", item="The name", found=f"it needs 1 to {LOGIN_MAX} letters")
    hashed = hash_of(letters_of(password))
    with library.writing(who=TEACHER, what="let a helper in") as writing:
        taken = {one.login.casefold() for one in accounts.accounts(writing.session)}
        if plain.casefold() in taken:
            raise Refused("helper-known", item=f"“{plain}”")
        accounts.put_account(
            writing.session, plain, role=HELPER, password_hash=hashed, now_utc=now or datetime.now(UTC)
        )
    return password


def new_password(library: Library, account_id: int) -> tuple[str, str]:
    """Give a helper another password, and sign the helper's browsers out; gives name and password."""
    password = new_code()
    hashed = hash_of(letters_of(password))
    with library.writing(who=TEACHER, what="gave a helper a new password") as writing:
        found = _helper(writing.session, account_id)
        accounts.put_account(writing.session, found.login, role=HELPER, password_hash=hashed, now_utc=datetime.now(UTC))
        accounts.end_all(writing.session, account_id)
    return found.login, password


def remove_helper(library: Library, account_id: int) -> str:
    """End a helper's account and browsers at once; photos that were added stay. Gives the name."""
    with library.writing(who=TEACHER, what="removed a helper") as writing:
        found = _helper(writing.session, account_id)
        accounts.remove_account(writing.session, account_id)
    return found.login


def _helper(session: Session, account_id: int) -> accounts.AccountLine:
    """Only a helper can be removed here, never the teacher."""
    found = next((one for one in _helpers(session) if one.account_id == account_id), None)
    if found is None:
        raise NotFound("not-found", item="This helper")
    return found
