"""Makers of children with names no real child has, and of what their families allowed."""

from datetime import date

from portfolio.model.people import Audience, ChildName, NameForm, Release
from portfolio.model.showing import KnownChild
from portfolio.privacy.seal import seal

DAY = date(2026, 10, 6)


def make_name(given="Zyxqel", family="Quorrab", *, preferred=None, middle=None, also=()) -> ChildName:
    return ChildName(
        seal(given),
        seal(family),
        preferred=seal(preferred) if preferred else None,
        middle=seal(middle) if middle else None,
        also=tuple(seal(one) for one in also),
    )


def make_release(audience=Audience.PUBLIC, *, allowed=True, form=NameForm.NONE, from_day=date(2026, 9, 1), to_day=None):
    return Release(1, audience, allowed, form, from_day, to_day, "form of 2026")


def make_child(given="Zyxqel", family="Quorrab", *, student_id=1, releases=(), classes=(), **more) -> KnownChild:
    name = make_name(given, family, **more)
    return KnownChild(student_id, name, tuple(releases), frozenset(classes))
