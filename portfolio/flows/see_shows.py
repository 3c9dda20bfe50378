"""What was published of a show, for the teacher's screen. Only reads."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date

from portfolio.archive import finding, shows
from portfolio.archive.library import Library, Session
from portfolio.flows.plan_show import why_barred
from portfolio.model.people import Audience
from portfolio.model.showing import KnownChild, PublicationValue
from portfolio.privacy.releases import name_form, strictest

OUT_OF_DATE = "out of date"


def publications_of(library: Library, show_id: int, *, today: date) -> tuple[PublicationValue, ...]:
    """Everything built of a show, newest first. What holds a work that ``today`` may no longer be shown is "out of
    date": whether a release was withdrawn, ran out, or the work was taken out. So is what calls a child by more of
    the name than ``today`` is allowed. The next build mends both.
    """
    with library.reading() as session:
        children = {child.student_id: child for child in shows.known_children(session)}
        return tuple(
            replace(one, state=OUT_OF_DATE) if _no_longer_fits(session, one, children, day=today) else one
            for one in shows.publications(session, show_id)
        )


def _no_longer_fits(
    session: Session, publication: PublicationValue, children: Mapping[int, KnownChild], *, day: date
) -> bool:
    if publication.state != "current" or publication.audience is Audience.TEACHER:
        return False
    ids = sorted(set(shows.standing_works(session, publication.publication_id)))
    works = finding.shown(session, ids)
    if len(works) < len(ids) or any(why_barred(one, children, publication.audience, day=day) for one in works):
        return True
    makers = {student_id for work in works for student_id in work.student_ids}
    return _says_more_than_allowed(session, publication, [children[one] for one in makers], day=day)


def _says_more_than_allowed(
    session: Session, publication: PublicationValue, makers: Iterable[KnownChild], *, day: date
) -> bool:
    """A family has allowed less of the name since the site was built."""
    audience, built_utc = publication.audience, publication.built_utc
    built_on, before = built_utc.astimezone().date(), shows.releases_known(session, by=built_utc)

    def says_more(child: KnownChild) -> bool:
        then = name_form(before.get(child.student_id, ()), audience, day=built_on)
        return strictest((then, name_form(child.releases, audience, day=day))) is not then

    return any(says_more(child) for child in makers)
