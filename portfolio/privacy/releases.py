"""What a family has allowed, on a given day, for a given audience. Nothing recorded = the most private.

A refusal is never worn out by time: it stands, also after the child has left, until a later line allows again
(34 CFR 99.37(b) asks this for refusals made while attending).
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Final

from portfolio.model.people import Audience, NameForm, Release

_ORDER: Final = (NameForm.NONE, NameForm.FIRST, NameForm.FIRST_INITIAL, NameForm.FULL)

WIDEST: Final = {
    Audience.TEACHER: NameForm.FULL,
    Audience.FAMILY: NameForm.FULL,
    Audience.SCHOOL: NameForm.FIRST_INITIAL,
    Audience.COMMUNITY: NameForm.FIRST,
    Audience.PUBLIC: NameForm.FIRST,
}
"""The widest form of a name that an audience ever meets, whatever was released."""


def narrower(one: NameForm, other: NameForm) -> NameForm:
    """The form that tells less."""
    return min(one, other, key=_ORDER.index)


def standing(releases: Iterable[Release], audience: Audience, *, day: date) -> Release | None:
    """The one line that counts on ``day``: the newest refusal, or the newest allowance that covers the day.

    Of two lines from the same day the more private one counts.
    """
    lines = [line for line in releases if line.audience is audience and line.from_day <= day]
    lines.sort(key=lambda line: (-line.from_day.toordinal(), line.allowed, _ORDER.index(line.name_form)))
    for line in lines:
        if not line.allowed or line.to_day is None or day <= line.to_day:
            return line
    return None


def may_show(releases: Iterable[Release], audience: Audience, *, day: date) -> bool:
    """Whether a child's works may be shown to ``audience`` on ``day``. The teacher sees all."""
    if audience is Audience.TEACHER:
        return True
    line = standing(releases, audience, day=day)
    return line is not None and line.allowed


def name_form(releases: Iterable[Release], audience: Audience, *, day: date) -> NameForm:
    """The form of the name that ``audience`` may see: as released, never wider than the audience's own limit.

    Families get :attr:`NameForm.NONE` here: that is for children who are not theirs.
    """
    if audience is Audience.TEACHER:
        return NameForm.FULL
    line = standing(releases, audience, day=day)
    if line is None or not line.allowed or audience is Audience.FAMILY:
        return NameForm.NONE
    return narrower(line.name_form, WIDEST[audience])


def strictest(forms: Iterable[NameForm]) -> NameForm:
    """The form for a group work: the strictest of its makers'. No maker known = no name."""
    found = list(forms)
    return min(found, key=_ORDER.index) if found else NameForm.NONE


def all_may_show(makers: Iterable[Iterable[Release]], audience: Audience, *, day: date) -> bool:
    """Whether a work may be shown: only if every maker's family allows it. A work without a maker may not."""
    each = [may_show(releases, audience, day=day) for releases in makers]
    return bool(each) and all(each)
