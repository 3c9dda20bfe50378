"""Shows, the works in them, what was published and to whom. Session in, frozen values out; nothing commits here."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import UTC, date, datetime
from typing import Any

from sqlmodel import Session, col, func, select

from portfolio.archive import people, tables
from portfolio.archive.rows import existing
from portfolio.archive.works import regions_of
from portfolio.errors import NotFound
from portfolio.model.cards import Point, Polygon
from portfolio.model.people import Audience, Release
from portfolio.model.seen_json import as_polygon
from portfolio.model.showing import (
    HeldPlace,
    KnownChild,
    Mark,
    MarkedPicture,
    PublicationValue,
    Reason,
    ShowValue,
    ShowWorkValue,
    WordsKept,
)

# --- shows ------------------------------------------------------------------------------------------------


def add_show(session: Session, show: ShowValue) -> int:
    """A new show; gives its id. ``show_id`` and ``works`` of the value are not looked at."""
    row = tables.Show(
        title=show.title,
        intro=show.intro,
        year_id=show.year_id,
        opens_on=show.opens_on,
        closes_on=show.closes_on,
        place=show.place,
        rules=dict(show.rules),
    )
    session.add(row)
    session.flush()
    assert row.id is not None
    return row.id


def shows(session: Session) -> tuple[ShowValue, ...]:
    """Every show, newest first."""
    counts = _counts(session)
    years = dict(session.exec(select(tables.SchoolYear.id, tables.SchoolYear.label)).all())
    rows = session.exec(select(tables.Show).order_by(col(tables.Show.id).desc())).all()
    return tuple(_show(row, counts.get(row.id or 0, 0), years.get(row.year_id or 0, "")) for row in rows)


def find_show(session: Session, asked: str | int) -> ShowValue:
    """A show by its id or its title (the newest of that title); refuses one that is not there."""
    wanted = str(asked).strip()
    found = [one for one in shows(session) if str(one.show_id) == wanted or one.title.casefold() == wanted.casefold()]
    if not found:
        raise NotFound("not-found", item="This show")
    return next((one for one in found if str(one.show_id) == wanted), found[0])


def _counts(session: Session) -> dict[int, int]:
    shown = col(tables.ShowWork.mark).in_([Mark.CHOSEN.value, Mark.MUST.value])
    asked = select(tables.ShowWork.show_id, func.count()).where(shown).group_by(col(tables.ShowWork.show_id))
    return dict(session.exec(asked).all())


def _show(row: tables.Show, works: int, year: str) -> ShowValue:
    assert row.id is not None
    return ShowValue(
        show_id=row.id,
        title=row.title,
        intro=row.intro,
        year_id=row.year_id,
        year=year,
        place=row.place,
        opens_on=row.opens_on,
        closes_on=row.closes_on,
        rules=row.rules or {},
        works=works,
    )


def change_show(session: Session, show_id: int, **changes: Any) -> None:
    """Change what is given of a show: title, intro, place, dates, rules."""
    row = existing(session, tables.Show, show_id, item="This show")
    for name, value in changes.items():
        setattr(row, name, value)


# --- works of a show --------------------------------------------------------------------------------------


def marks(session: Session, show_id: int) -> tuple[ShowWorkValue, ...]:
    """Every work of a show with its mark and reason, by place and id."""
    order = col(tables.ShowWork.position), col(tables.ShowWork.work_id)
    rows = session.exec(select(tables.ShowWork).where(tables.ShowWork.show_id == show_id).order_by(*order)).all()
    return tuple(ShowWorkValue(row.work_id, Mark(row.mark), row.reason, row.position) for row in rows)


def set_marks(session: Session, show_id: int, wanted: Mapping[int, tuple[Mark, str]]) -> int:
    """Give works their mark and reason in a show, adding those that are new to it; tells how many changed."""
    asked = select(tables.ShowWork).where(tables.ShowWork.show_id == show_id)
    there = {row.work_id: row for row in session.exec(asked).all()}
    changed = 0
    for work_id, (mark, reason) in sorted(wanted.items()):
        row = there.get(work_id)
        if row is None:
            session.add(tables.ShowWork(show_id=show_id, work_id=work_id, mark=mark.value, reason=reason))
            changed += 1
        elif (row.mark, row.reason) != (mark.value, reason):
            row.mark, row.reason = mark.value, reason
            changed += 1
    return changed


def set_choice(session: Session, show_id: int, reasons: Mapping[int, Reason]) -> int:
    """Record a choice: chosen or offered, with the reason. The teacher's own marks stay."""
    own = {one.work_id: one.mark for one in marks(session, show_id) if one.mark in (Mark.MUST, Mark.NEVER)}
    wanted = {
        key: (own.get(key, Mark.CHOSEN if reason.chosen else Mark.OFFERED), reason.why)
        for key, reason in reasons.items()
    }
    return set_marks(session, show_id, wanted)


def shown_elsewhere(session: Session, show_id: int) -> frozenset[int]:
    """Works that were chosen for another show."""
    asked = select(tables.ShowWork.work_id).where(
        tables.ShowWork.show_id != show_id, col(tables.ShowWork.mark).in_([Mark.CHOSEN.value, Mark.MUST.value])
    )
    return frozenset(session.exec(asked).all())


# --- what a page needs ------------------------------------------------------------------------------------


def known_children(session: Session) -> tuple[KnownChild, ...]:
    """Every child ever, also those who left, with all releases and classes. Erased children have no name left."""
    allowed = releases_known(session)
    asked = select(tables.Enrolment.student_id, tables.ClassGroup.label).join(
        tables.ClassGroup, col(tables.ClassGroup.id) == col(tables.Enrolment.class_id)
    )
    labels: dict[int, set[str]] = {}
    for student_id, label in session.exec(asked).all():
        labels.setdefault(student_id, set()).add(label)
    return tuple(
        KnownChild(key, name, allowed.get(key, ()), frozenset(labels.get(key, ())))
        for key, name in people.names(session).items()
    )


def releases_known(session: Session, *, by: datetime | None = None) -> dict[int, tuple[Release, ...]]:
    """What every family has allowed, by child; ``by``: as it was recorded at that moment (UTC)."""
    allowed: dict[int, dict[tuple[Audience, date], Release]] = {}
    for release in people.releases(session, known_by=by):  # in the order recorded: of one day's lines the last counts
        allowed.setdefault(release.student_id, {})[release.audience, release.from_day] = release
    return {student_id: tuple(lines.values()) for student_id, lines in allowed.items()}


def children_per_grade(session: Session, year_id: int) -> dict[str, int]:
    """How many children each grade has had in a year."""
    asked = (
        select(tables.ClassGroup.grade, func.count(func.distinct(col(tables.Enrolment.student_id))))
        .join(tables.ClassGroup, col(tables.ClassGroup.id) == col(tables.Enrolment.class_id))
        .where(tables.ClassGroup.year_id == year_id)
        .group_by(col(tables.ClassGroup.grade))
    )
    return dict(session.exec(asked).all())


def words_kept(session: Session, work_ids: Collection[int]) -> dict[int, WordsKept]:
    """The newest words about each work."""
    asked = select(tables.Reflection).where(col(tables.Reflection.work_id).in_(list(work_ids)))
    found: dict[int, WordsKept] = {}
    for row in session.exec(asked.order_by(col(tables.Reflection.id))).all():
        if row.work_id is not None and row.text.strip():
            held = tuple(HeldPlace.from_json(place) for place in row.held or ())
            found[row.work_id] = WordsKept(row.text.strip(), row.language, held)
    return found


def held_words(session: Session, *, work_ids: Collection[int] | None = None) -> dict[int, tuple[int | None, WordsKept]]:
    """Words with a place that waits for a decision: reflection → its work and the words (of these works only)."""
    asked = select(tables.Reflection).where(col(tables.Reflection.held).is_not(None))
    if work_ids is not None:
        asked = asked.where(col(tables.Reflection.work_id).in_(list(work_ids)))
    found: dict[int, tuple[int | None, WordsKept]] = {}
    for row in session.exec(asked.order_by(col(tables.Reflection.id))).all():
        held = tuple(HeldPlace.from_json(place) for place in row.held or ())
        if any(place.decided is None for place in held):
            found[row.id or 0] = (row.work_id, WordsKept(row.text, row.language, held))
    return found


def all_words(session: Session) -> dict[int, WordsKept]:
    """Every child's words, by reflection."""
    return {
        row.id or 0: WordsKept(row.text, row.language, tuple(HeldPlace.from_json(place) for place in row.held or ()))
        for row in session.exec(select(tables.Reflection).order_by(col(tables.Reflection.id))).all()
    }


def words_of(session: Session, reflection_id: int) -> WordsKept:
    """One child's words, letter for letter, with their held places."""
    row = existing(session, tables.Reflection, reflection_id, item="These words")
    return WordsKept(row.text, row.language, tuple(HeldPlace.from_json(place) for place in row.held or ()))


def set_held(session: Session, reflection_id: int, held: Iterable[HeldPlace]) -> None:
    """Record which places of a child's words are held and what was decided about them; the words stay as they are."""
    row = existing(session, tables.Reflection, reflection_id, item="These words")
    row.held = [place.as_json() for place in held]


def marked_pictures(session: Session, work_ids: Collection[int]) -> dict[int, MarkedPicture]:
    """Main views that have marked regions, by work. A region counts for every work whose picture may show it: also when
    it was marked in another view, or in another work, of the same photo.
    """
    order = col(tables.View.role) != "front", col(tables.View.position), col(tables.View.id)
    of_photo = col(tables.Photo.id) == col(tables.View.photo_id)
    asked = select(tables.View, tables.Photo).join(tables.Photo, of_photo)
    main: dict[int, tuple[tables.View, tables.Photo]] = {}
    for view, photo in session.exec(asked.where(col(tables.View.work_id).in_(list(work_ids))).order_by(*order)).all():
        main.setdefault(view.work_id, (view, photo))
    originals = {photo.sha256 for _, photo in main.values()}
    regions: dict[str, dict[int | None, list[Polygon]]] = {}
    for original, view_id, marked in regions_of(session, originals):
        regions.setdefault(original, {}).setdefault(view_id, []).extend(marked)
    found = {key: _marked(view, photo, regions.get(photo.sha256, {})) for key, (view, photo) in main.items()}
    return {key: one for key, one in found.items() if one.regions_px}


def _marked(view: tables.View, photo: tables.Photo, regions: Mapping[int | None, Iterable[Polygon]]) -> MarkedPicture:
    """``regions``: view of this photo → what is marked in it. The view's own count wherever they lie."""
    crop = view.crop
    outline = as_polygon(crop["outline_px"]) if crop else None
    return MarkedPicture(
        regions_px=tuple(
            region
            for view_id, marked in sorted(regions.items(), key=lambda pair: pair[0] or 0)
            for region in marked
            if view_id == view.id or outline is None or _may_meet(region, outline)
        ),
        photo_px=(photo.width_px, photo.height_px) if photo.width_px and photo.height_px else None,
        outline_px=outline,
        shape=crop["shape"] if crop else "sheet",
        quarter_turns=view.quarter_turns,
        right_px=_right_of_card(photo.reading),
    )


_ROUND_A_WORK = 0.1
"""A picture may show so much of the table round its work, as a share of the work's sides (own judgment, generous)."""


def _may_meet(region: Polygon, outline: Polygon) -> bool:
    """Whether a region may lie in the picture of a work: one far from it is no reason to withhold the picture."""
    for own, other in zip(zip(*region, strict=True), zip(*outline, strict=True), strict=True):
        around = _ROUND_A_WORK * (max(other) - min(other))
        if max(own) < min(other) - around or min(own) > max(other) + around:
            return False
    return True


def _right_of_card(reading: Any) -> Point | None:
    for card in (reading or {}).get("cards", ()):
        tag = card.get("left_px") or card.get("right_px")
        if tag:
            return tag[1][0] - tag[0][0], tag[1][1] - tag[0][1]
    return None


# --- publications -----------------------------------------------------------------------------------------


def publications(session: Session, show_id: int | None = None) -> tuple[PublicationValue, ...]:
    """Everything published (of one show), newest first."""
    asked = select(tables.Publication).order_by(col(tables.Publication.id).desc())
    if show_id is not None:
        asked = asked.where(tables.Publication.show_id == show_id)
    return tuple(
        PublicationValue(
            row.id or 0, row.show_id, Audience(row.audience), row.built_utc, row.state, row.pages, row.pictures
        )
        for row in session.exec(asked).all()
    )


def opaque_ids(session: Session, show_id: int, audience: Audience) -> dict[int, str]:
    """The opaque id of every work that ever stood in this show's site for this audience: ids stay between builds."""
    asked = (
        select(tables.PublicationWork)
        .join(tables.Publication, col(tables.Publication.id) == col(tables.PublicationWork.publication_id))
        .where(tables.Publication.show_id == show_id, tables.Publication.audience == audience.value)
        .order_by(col(tables.PublicationWork.id))
    )
    return {row.work_id: row.opaque_id for row in session.exec(asked).all()}


def record_publication(
    session: Session,
    show: ShowValue,
    audience: Audience,
    *,
    digest: str,
    pages: int,
    pictures: int,
    sweep: Mapping[str, object],
    works: Mapping[int, str],
) -> int:
    """Note what was published, with its works, and who was given it; the one before counts as replaced."""
    earlier = select(tables.Publication).where(
        tables.Publication.show_id == show.show_id,
        tables.Publication.audience == audience.value,
        tables.Publication.state != "replaced",
    )
    for row in session.exec(earlier).all():
        row.state = "replaced"
    now = datetime.now(UTC)
    publication = tables.Publication(
        show_id=show.show_id,
        kind="site",
        audience=audience.value,
        built_utc=now,
        digest=digest,
        pages=pages,
        pictures=pictures,
        sweep=dict(sweep),
    )
    session.add(publication)
    session.flush()
    assert publication.id is not None
    session.add_all(
        tables.PublicationWork(publication_id=publication.id, work_id=key, opaque_id=opaque)
        for key, opaque in sorted(works.items())
    )
    told = f"{len(works)} works of a show, as a site"
    why = f"published for {audience.value}"
    line = tables.Disclosure(at_utc=now, audience=audience.value, what=told, why=why, publication_id=publication.id)
    session.add(line)
    return publication.id


def standing_works(session: Session, publication_id: int) -> tuple[int, ...]:
    """The works in a publication."""
    asked = select(tables.PublicationWork.work_id).where(tables.PublicationWork.publication_id == publication_id)
    return tuple(session.exec(asked).all())
