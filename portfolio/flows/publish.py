"""A show is published: labels in the form each family released, a staged site, the sweep, and only then in one step
into place. A hit leaves everything as it was.
"""

from __future__ import annotations

import hashlib
import json
import secrets
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import Final

from portfolio.archive import finding, room, shows
from portfolio.archive.library import Library, Session
from portfolio.archive.works import derived_path
from portfolio.errors import PortfolioError, Refused
from portfolio.flows.plan_show import makers_of, plain_titles, why_barred
from portfolio.model.finding import WorkShown
from portfolio.model.people import Audience
from portfolio.model.showing import (
    KnownChild,
    Label,
    Mark,
    MarkedPicture,
    Picture,
    ShowValue,
    SiteText,
    WordsKept,
)
from portfolio.privacy.forms import artist_words, grade_sign, label_for, label_for_group
from portfolio.privacy.matching import Forbidden, forbidden_for
from portfolio.privacy.sweep import Granted, SweepResult, sweep
from portfolio.privacy.words import NameFinder, may_leave_the_teacher
from portfolio.publish import parts
from portfolio.publish.build import Built, build, own_files
from portfolio.publish.place import move_into_place, refuse_foreign, staging
from portfolio.publish.regions import regions_in_picture

SITES_FOR: Final = (Audience.SCHOOL, Audience.COMMUNITY, Audience.PUBLIC)
SMALL_GROUP: Final = 10
"""Grades with fewer children are not named to readers outside the school; common practice among US states (IES
2017-147 leaves the number to them)."""
RUNGS: Final = (336, 672, 2016)
NO_PICTURE: Final = "It has no picture yet."
UNSURE_REGION: Final = (
    "A region is marked in its photo, but where that lies in the picture cannot be told. Set the edge by hand."
)
_LETTERS, _DIGITS = "bcdfghjkmnpqrstvwxz", "23456789"


@dataclass(frozen=True, slots=True)
class Published:
    """What was built: for the JSON contract, and what was left out and why."""

    publication: int
    pages: int
    pictures: int
    sweep: SweepResult
    folder: Path
    written: int
    """Files made anew; all others were taken over from the site before."""
    left_out: Mapping[int, str]
    """Work → why it is not in the site."""
    words_held: tuple[int, ...]
    """Works whose words wait for the teacher, because a child may be named in them."""

    def as_json(self) -> dict[str, object]:
        """``{publication, pages, pictures, sweep: {files, bytes, hits}}``."""
        told = self.sweep.as_json()
        hits = len(self.sweep.hits)
        return {
            "publication": self.publication,
            "pages": self.pages,
            "pictures": self.pictures,
            "sweep": {"files": told["files"], "bytes": told["bytes"], "hits": hits},
            "left_out": len(self.left_out),
            "words_held": len(self.words_held),
        }


@dataclass(frozen=True, slots=True)
class _Material:
    show: ShowValue
    text: SiteText
    labels: tuple[Label, ...]
    keys: Mapping[int, str]
    forbidden: Forbidden
    left_out: Mapping[int, str]
    words_held: tuple[int, ...]


def publish(
    library: Library,
    asked: str | int,
    *,
    audience: Audience,
    folder: Path | None = None,
    today: date | None = None,
    light: bool = False,
    who: str = "teacher",
    done: Callable[[int], None] | None = None,
) -> Published:
    """Build a show's site for ``audience`` in ``folder`` (default: in the library). Refuses, with nothing changed,
    when a name would show, when nothing may be shown, or when the folder holds other things. ``light``: small
    pictures only, for a slow line or a small stick.
    """
    if audience not in SITES_FOR:
        raise PortfolioError("site-audience", found=audience.value)
    day = today or date.today()  # noqa: DTZ011  the school's day
    with library.reading() as session:
        material = _material(library, session, shows.find_show(session, asked), audience, day=day, light=light)
    if not material.labels:
        raise Refused("site-empty", item="The show")
    name = f"show-{material.show.show_id}-{audience.value}"
    target = (folder or library.published / name).absolute()
    record = library.published / f"{name}.json"
    refuse_foreign(target)
    before = _built_before(record)
    with staging(target) as staged:
        built = build(material.text, material.labels, staged, standing=target, before=before, done=done)
        result = _swept(staged, material, built)
        with library.writing(who=who, what="published a show") as writing:
            publication = shows.record_publication(
                writing.session,
                material.show,
                audience,
                digest=built.digest,
                pages=built.pages,
                pictures=built.pictures,
                sweep=result.as_json(),
                works=material.keys,
            )
            move_into_place(staged, target)
    record.parent.mkdir(exist_ok=True)
    record.write_text(json.dumps(built.as_json()), encoding="utf-8")
    return Published(
        publication,
        built.pages,
        built.pictures,
        result,
        target,
        built.written,
        material.left_out,
        material.words_held,
    )


def _built_before(record: Path) -> Built | None:
    try:
        return Built.from_json(json.loads(record.read_text(encoding="utf-8")))
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


# --- what goes in -----------------------------------------------------------------------------------------


def _material(
    library: Library, session: Session, show: ShowValue, audience: Audience, *, day: date, light: bool
) -> _Material:
    children = {child.student_id: child for child in shows.known_children(session)}
    chosen = [one.work_id for one in shows.marks(session, show.show_id) if one.mark in (Mark.CHOSEN, Mark.MUST)]
    works = finding.shown(session, chosen)
    ids = [work.work_id for work in works]
    words, marked = shows.words_kept(session, ids), shows.marked_pictures(session, ids)
    keys = _opaque(shows.opaque_ids(session, show.show_id, audience), ids)
    few = _few(session, show, audience)
    finder = NameFinder(children.values())
    left_out: dict[int, str] = {}
    held: list[int] = []
    labels: list[Label] = []
    for work in works:
        picture = _picture(library, work, marked.get(work.work_id), light=light)
        why = why_barred(work, children, audience, day=day) or (picture if isinstance(picture, str) else "")
        if why or isinstance(picture, str):
            left_out[work.work_id] = why
            continue
        makers = makers_of(work, children)
        label = _label(work, makers, audience, day=day, key=keys[work.work_id], few=work.grade in few)
        label = replace(label, picture=picture, plain_title=work.work_id in plain_titles(show))
        said = words.get(work.work_id)
        if said is not None and may_leave_the_teacher(finder, said.text, held=said.held):
            label = _with_words(label, said)
        elif said is not None:
            held.append(work.work_id)
        labels.append(label)
    return _Material(
        show,
        _site_text(session, show, audience),
        tuple(labels),
        {work.work_id: keys[work.work_id] for work in works if work.work_id not in left_out},
        forbidden_for(children.values(), audience, day=day),
        left_out,
        tuple(held),
    )


def _label(work: WorkShown, makers: list[KnownChild], audience: Audience, *, day: date, key: str, few: bool) -> Label:
    group = [(child.name, child.releases) for child in makers]
    if len(makers) == 1:
        name, releases = group[0]
        maker = label_for(name, audience, releases=releases, grade=work.grade, day=day, few=few)
    else:
        maker = label_for_group(group, audience, grade=work.grade, day=day, few=few)
    return Label(
        key=key,
        maker=maker,
        artist=artist_words(work.grade, few=few, several=len(makers) > 1),
        sign=grade_sign(work.grade),
        title=work.title.strip(),
        medium=parts.medium_words(work.medium or ""),
        width_mm=round(work.width_mm) if work.width_mm else None,
        height_mm=round(work.height_mm) if work.height_mm else None,
    )


def _with_words(label: Label, said: WordsKept) -> Label:
    return replace(label, words=said.text, words_language=said.language, plain_words=bool(said.held))


def _picture(library: Library, work: WorkShown, marked: MarkedPicture | None, *, light: bool) -> Picture | str:
    """The picture with its covered regions, or why it cannot be shown."""
    if work.derived_key is None:
        return NO_PICTURE
    paths = [derived_path(library.derived, work.derived_key, rung) for rung in RUNGS]
    files = tuple(path for path in paths if path.is_file())
    if not files:
        return NO_PICTURE
    regions = regions_in_picture(marked) if marked is not None else ()
    return UNSURE_REGION if regions is None else Picture(files, regions, light)


def _opaque(known: Mapping[int, str], ids: Iterable[int]) -> dict[int, str]:
    """Ids that say nothing: random, kept between builds, and never two letters in a row, so that no name can arise."""
    keys = dict(known)
    taken = set(keys.values())
    for work_id in ids:
        while work_id not in keys:
            fresh = "".join(secrets.choice(_LETTERS) + secrets.choice(_DIGITS) for _ in range(6))
            if fresh not in taken:
                keys[work_id] = fresh
                taken.add(fresh)
    return keys


def _few(session: Session, show: ShowValue, audience: Audience) -> frozenset[str]:
    """Grades that are not named to these readers, because they have so few children."""
    if audience is Audience.SCHOOL or show.year_id is None:
        return frozenset()
    grades = shows.children_per_grade(session, show.year_id)
    return frozenset(grade for grade, count in grades.items() if count < SMALL_GROUP)


def _site_text(session: Session, show: ShowValue, audience: Audience) -> SiteText:
    return SiteText(
        title=show.title,
        audience=audience,
        intro=show.intro,
        school=str(room.setting(session, "school_name") or ""),
        year=show.year.replace("-", "–"),
        place=show.place,
        dates="" if audience is Audience.PUBLIC else _dates(show),
        language=str(room.setting(session, "language") or "en"),
        units=str(room.setting(session, "units") or "in"),
        plain_title=bool(show.rules.get("plain_title")),
        small_group=SMALL_GROUP,
    )


def _dates(show: ShowValue) -> str:
    days = [f"{day:%B} {day.day}" for day in (show.opens_on, show.closes_on) if day is not None]
    return " to ".join(dict.fromkeys(days))


# --- the sweep --------------------------------------------------------------------------------------------


def _swept(staged: Path, material: _Material, built: Built) -> SweepResult:
    granted = _granted(material)
    under = {name: _clean_under(material.forbidden, granted, name) for name in built.files}
    known = [file.sha256 for name, file in built.files.items() if file.clean == under[name]]
    result = sweep(staged, material.forbidden, granted=granted, clean=known)
    if not result.clean:
        raise Refused(
            "name-would-show",
            item="The show",
            found=_told(result),
            details={"sweep": result.as_json(), "works": _works_hit(result, material)},
        )
    for name, file in built.files.items():
        built.files[name] = replace(file, clean=under[name])
    return result


def _granted(material: _Material) -> Granted:
    text, labels = material.text, material.labels
    everywhere = parts.fixed_pieces() | parts.show_pieces(text, labels)
    in_file: dict[str, frozenset[str]] = {}
    shared: set[str] = set()
    for label in labels:
        pieces = parts.label_pieces(label) | parts.plain_pieces(label, text)
        in_file[f"works/{label.key}.html"] = pieces
        shared |= pieces
    walls = {f"{sign}.html" for sign in parts.wall_files(labels)}
    in_file |= dict.fromkeys({"index.html", "find.html", *walls}, frozenset(shared))
    own = frozenset(hashlib.sha256(path.read_bytes()).hexdigest() for _, path in own_files())
    return Granted(everywhere, in_file, own)


def _clean_under(forbidden: Forbidden, granted: Granted, name: str) -> str:
    told = [forbidden.digest, *sorted(granted.everywhere), "", *sorted(granted.in_file.get(name, ()))]
    return hashlib.sha256("\n".join(told).encode()).hexdigest()


def _told(result: SweepResult) -> str:
    first = result.hits[0].sentence
    more = len(result.hits) - 1
    return first if not more else f"{first}, and {more} more"


def _works_hit(result: SweepResult, material: _Material) -> list[int]:
    """Works whose own page holds a hit: where the teacher should look first."""
    files = {hit.file for hit in result.hits}
    return sorted(work_id for work_id, key in material.keys.items() if f"works/{key}.html" in files)
