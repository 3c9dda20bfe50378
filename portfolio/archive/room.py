"""The art room's records: media with their cards, centers with their media and the days they open."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from sqlalchemy import func
from sqlmodel import Session, col, select

from portfolio.archive import tables
from portfolio.archive.rows import existing
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.model.media import STARTER_CENTRES, STARTER_MEDIA
from portfolio.model.school import MEDIUM_CARD_MAX, MEDIUM_CARD_MIN, Centre, CentreOpening, Medium


def media(session: Session) -> tuple[Medium, ...]:
    """Every medium, in the teacher's order."""
    rows = session.exec(select(tables.Medium).order_by(col(tables.Medium.position), col(tables.Medium.id))).all()
    return tuple(_medium(row) for row in rows)


def medium_by_card(session: Session, card: int) -> Medium | None:
    """The medium that a medium card (61-90) stands for."""
    row = session.exec(select(tables.Medium).where(tables.Medium.card == card)).first()
    return None if row is None else _medium(row)


def medium_by_label(session: Session, label: str) -> Medium:
    """The medium with this label; capitals don't matter."""
    found = next((one for one in media(session) if one.label.casefold() == label.strip().casefold()), None)
    if found is None:
        raise NotFound("not-found", item=f"The medium {label}")
    return found


def add_medium(
    session: Session, label: str, *, aat_id: str | None = None, card: int | None = None, solid: bool = False
) -> Medium:
    """A new medium, last in order. Without ``card`` it takes the next free medium card, if one is left."""
    known = media(session)
    if any(one.label.casefold() == label.casefold() for one in known):
        raise Refused("school-exists", item=f"The medium {label}")
    taken = {one.card for one in known}
    if card is None:
        card = next((free for free in range(MEDIUM_CARD_MIN, MEDIUM_CARD_MAX + 1) if free not in taken), None)
    elif card in taken or not MEDIUM_CARD_MIN <= card <= MEDIUM_CARD_MAX:
        raise PortfolioError("bad-request", item=f"Card {card}", found="it is taken or is no medium card")
    row = tables.Medium(
        label=label, aat_id=aat_id, card=card, solid=solid, position=_last(session, tables.Medium.position)
    )
    session.add(row)
    session.flush()
    return _medium(row)


def change_medium(
    session: Session,
    medium_id: int,
    *,
    label: str | None = None,
    aat_id: str | None = None,
    solid: bool | None = None,
) -> Medium:
    """Change what is given; the rest stays. An empty ``aat_id`` takes it away."""
    row = existing(session, tables.Medium, medium_id, item=f"Medium {medium_id}")
    row.label = row.label if label is None else label
    row.aat_id = row.aat_id if aat_id is None else aat_id or None
    row.solid = row.solid if solid is None else solid
    session.flush()
    return _medium(row)


def _last(session: Session, position: Any) -> int:
    """The place after every other."""
    found: int | None = session.exec(select(func.max(position))).one()
    return 0 if found is None else found + 1


def add_starter(session: Session) -> None:
    """The starter media (cards 61-90 in order) and centers, where they are not there yet."""
    known = {one.label for one in media(session)}
    for starter in STARTER_MEDIA:
        if starter.label not in known:
            add_medium(session, starter.label, aat_id=starter.aat_id, solid=starter.solid)
    ids = {one.label: one.medium_id for one in media(session)}
    there = {one.label for one in centres(session)}
    for centre in STARTER_CENTRES:
        if centre.label not in there:
            add_centre(session, centre.label, medium_ids=[ids[label] for label in centre.media])


def centres(session: Session) -> tuple[Centre, ...]:
    """Every center, in the teacher's order."""
    rows = session.exec(select(tables.Centre).order_by(col(tables.Centre.position), col(tables.Centre.id))).all()
    links = session.exec(select(tables.CentreMedium).order_by(col(tables.CentreMedium.id))).all()
    return tuple(_centre(row, links) for row in rows)


def centre_by_label(session: Session, label: str) -> Centre:
    """The center with this label; capitals don't matter."""
    found = next((one for one in centres(session) if one.label.casefold() == label.strip().casefold()), None)
    if found is None:
        raise NotFound("not-found", item=f"The center {label}")
    return found


def add_centre(session: Session, label: str, *, medium_ids: Iterable[int] = ()) -> Centre:
    """A new center, last in order."""
    known = centres(session)
    if any(one.label.casefold() == label.casefold() for one in known):
        raise Refused("school-exists", item=f"The center {label}")
    row = tables.Centre(label=label, position=_last(session, tables.Centre.position))
    session.add(row)
    session.flush()
    assert row.id is not None
    return set_centre_media(session, row.id, medium_ids=medium_ids)


def set_centre_media(session: Session, centre_id: int, *, medium_ids: Iterable[int]) -> Centre:
    """Replace the media at hand in a center."""
    existing(session, tables.Centre, centre_id, item=f"Center {centre_id}")
    query = select(tables.CentreMedium).where(tables.CentreMedium.centre_id == centre_id)
    known = {row.medium_id: row for row in session.exec(query).all()}
    for medium_id in dict.fromkeys(medium_ids):
        if known.pop(medium_id, None) is None:
            session.add(tables.CentreMedium(centre_id=centre_id, medium_id=medium_id))
    for row in known.values():
        session.delete(row)
    session.flush()
    return next(one for one in centres(session) if one.centre_id == centre_id)


def rename_centre(session: Session, centre_id: int, label: str) -> Centre:
    """Give a center another name."""
    existing(session, tables.Centre, centre_id, item=f"Center {centre_id}").label = label
    session.flush()
    return next(one for one in centres(session) if one.centre_id == centre_id)


def openings(session: Session, year_id: int) -> tuple[CentreOpening, ...]:
    """When each center opens in a year, by day."""
    query = select(tables.CentreOpening).where(tables.CentreOpening.year_id == year_id)
    rows = session.exec(query.order_by(col(tables.CentreOpening.opens_on), col(tables.CentreOpening.id))).all()
    return tuple(CentreOpening(row.centre_id, row.year_id, row.opens_on, row.class_id, row.closes_on) for row in rows)


def open_centre(session: Session, opening: CentreOpening) -> None:
    """Say when a center opens (and closes) for a class or for all; replaces what was said for the same class."""
    if opening.closes_on is not None and opening.closes_on < opening.opens_on:
        raise PortfolioError("bad-request", item="The center", found="it closes before it opens")
    query = select(tables.CentreOpening).where(
        tables.CentreOpening.centre_id == opening.centre_id,
        tables.CentreOpening.year_id == opening.year_id,
        col(tables.CentreOpening.class_id).is_(None)
        if opening.class_id is None
        else tables.CentreOpening.class_id == opening.class_id,
    )
    row = session.exec(query).first() or tables.CentreOpening(
        centre_id=opening.centre_id, year_id=opening.year_id, class_id=opening.class_id, opens_on=opening.opens_on
    )
    row.opens_on, row.closes_on = opening.opens_on, opening.closes_on
    session.add(row)
    session.flush()


def open_centres(session: Session, year_id: int, *, class_id: int, day: date) -> tuple[Centre, ...]:
    """The centers that are open for a class on a day; what is said for the class wins over what is said for all."""
    said = openings(session, year_id)
    found = []
    for centre in centres(session):
        ours = [one for one in said if one.centre_id == centre.centre_id and one.class_id == class_id]
        all_classes = [one for one in said if one.centre_id == centre.centre_id and one.class_id is None]
        if centre.active and any(one.covers(day, class_id=class_id) for one in ours or all_classes):
            found.append(centre)
    return tuple(found)


def setting(session: Session, key: str) -> object:
    """A named value of the library, e.g. ``school_name``; ``None`` when it was never set."""
    row = session.get(tables.Setting, key)
    return None if row is None else row.value


def put_setting(session: Session, key: str, value: object) -> None:
    """Set a named value of the library."""
    row = session.get(tables.Setting, key) or tables.Setting(key=key)
    row.value = value
    session.add(row)
    session.flush()


def _medium(row: tables.Medium) -> Medium:
    assert row.id is not None
    return Medium(row.id, row.label, row.aat_id, row.card, row.solid, row.active)


def _centre(row: tables.Centre, links: Iterable[tables.CentreMedium]) -> Centre:
    assert row.id is not None
    return Centre(row.id, row.label, tuple(link.medium_id for link in links if link.centre_id == row.id), row.active)
