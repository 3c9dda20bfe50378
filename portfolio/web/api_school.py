"""The JSON door, the school: its time, media, centers, releases, shows, and when it was last backed up."""

from __future__ import annotations

from typing import Annotated

from fastapi import Body, Path, Request

from portfolio.flows import art_room, limits, plan_show, school_time
from portfolio.flows import releases as releases_flow
from portfolio.flows.art_room import CENTRES, MEDIA
from portfolio.flows.backup import last_backup
from portfolio.flows.centers import open_for
from portfolio.flows.desk import see_term
from portfolio.flows.publish import publish
from portfolio.flows.school_time import SchoolTime
from portfolio.model.calendar import DayKind, LostDay, Term, TimetableSlot
from portfolio.model.finding import Filters
from portfolio.model.people import Audience, NameForm, Release
from portfolio.model.showing import ShowLimits
from portfolio.web import api_shapes as shapes
from portfolio.web.api_door import Word, door
from portfolio.web.desk import desk_of
from portfolio.web.fields import Id
from portfolio.web.settings_backup import age_days, folder_in, is_old

router = door()
YearLabel = Annotated[str, Path(max_length=20)]
"""Like "2026-27"."""


# --- the school's time --------------------------------------------------------------------------------------


@router.get("/school")
def show_school(request: Request, year: Word = None) -> shapes.SchoolOut:
    """The school and one of its years (the current one if none is said): terms, marked days, timetable."""
    desk = desk_of(request)
    seen = school_time.see_time(desk.library, year=year, today=desk.today())
    calendar = seen.calendar
    return shapes.SchoolOut(
        name=seen.school,
        years=[one.label for one in seen.years],
        year=calendar.year.label if calendar else None,
        starts_on=calendar.year.starts_on if calendar else None,
        ends_on=calendar.year.ends_on if calendar else None,
        cycle_days=calendar.cycle_days if calendar else None,
        first_cycle_day=calendar.first_cycle_day if calendar else None,
        lost_day=calendar.lost_day.value if calendar else None,
        terms=[_term(one) for one in calendar.terms] if calendar else [],
        days=[
            shapes.MarkedShape(day=one.day, kind=one.kind.value, note=one.note, cycle_day=one.cycle_day)
            for one in (calendar.marked if calendar else ())
        ],
        timetable=_timetable(seen),
    )


def _term(term: Term) -> shapes.TermShape:
    return shapes.TermShape(label=term.label, starts_on=term.starts_on, ends_on=term.ends_on)


def _timetable(seen: SchoolTime) -> list[shapes.ClassLessons]:
    return [
        shapes.ClassLessons.model_validate(
            {
                "class_id": group.class_id,
                "class": group.label,
                "lessons": [
                    shapes.LessonShape(cycle_day=one.cycle_day, starts_at=one.starts_at, ends_at=one.ends_at)
                    for one in seen.slots
                    if one.class_id == group.class_id
                ],
            }
        )
        for group in seen.classes
    ]


@router.put("/school")
def name_school(request: Request, given: Annotated[shapes.SchoolIn, Body()]) -> shapes.ActionOut:
    """Set the school's name."""
    return shapes.ActionOut(action=school_time.name_school(desk_of(request).library, given.name))


@router.post("/school/years", status_code=201)
def add_year(request: Request, given: Annotated[shapes.YearIn, Body()]) -> shapes.ActionOut:
    """A new school year."""
    library = desk_of(request).library
    _, done = school_time.add_year(library, given.year, starts_on=given.starts_on, ends_on=given.ends_on)
    return shapes.ActionOut(action=done)


@router.put("/school/years/{year}")
def change_year(request: Request, year: YearLabel, given: Annotated[shapes.YearChange, Body()]) -> shapes.ActionOut:
    """Change a year's days and how they are counted. Refuses days that cut off a term or a marked day."""
    done = school_time.change_year(
        desk_of(request).library,
        year,
        starts_on=given.starts_on,
        ends_on=given.ends_on,
        cycle_days=given.cycle_days,
        first_cycle_day=given.first_cycle_day,
        lost_day=LostDay(given.lost_day),
    )
    return shapes.ActionOut(action=done)


@router.put("/school/years/{year}/terms")
def change_terms(request: Request, year: YearLabel, given: Annotated[shapes.TermsIn, Body()]) -> shapes.ActionOut:
    """Replace the terms of a year."""
    terms = [Term(one.label, one.starts_on, one.ends_on) for one in given.terms]
    return shapes.ActionOut(action=school_time.change_terms(desk_of(request).library, terms, year=year))


@router.post("/school/years/{year}/days")
def mark_days(request: Request, year: YearLabel, given: Annotated[shapes.DaysIn, Body()]) -> shapes.ActionOut:
    """Mark a day or days in a row, or make them plain again."""
    library = desk_of(request).library
    if given.kind == "plain":
        last = given.last or given.first
        return shapes.ActionOut(action=school_time.unmark_days(library, year=year, first=given.first, last=last))
    done = school_time.mark_days(
        library,
        year=year,
        first=given.first,
        last=given.last,
        kind=DayKind(given.kind),
        note=given.note,
        cycle_day=given.cycle_day,
    )
    return shapes.ActionOut(action=done)


@router.put("/classes/{class_id}/lessons")
def change_lessons(request: Request, class_id: Id, given: Annotated[shapes.LessonsIn, Body()]) -> shapes.ActionOut:
    """Replace the lessons of a class."""
    slots = [TimetableSlot(class_id, one.cycle_day, one.starts_at, one.ends_at) for one in given.lessons]
    return shapes.ActionOut(action=school_time.change_lessons(desk_of(request).library, class_id, slots))


# --- media and centers --------------------------------------------------------------------------------------


@router.get("/media")
def list_media(request: Request) -> list[shapes.MediumOut]:
    """Every medium in the teacher's order."""
    return [
        shapes.MediumOut(
            medium=seen.key,
            label=seen.one.label,
            aat_id=seen.one.aat_id,
            card=seen.one.card,
            solid=seen.one.solid,
            offered=seen.one.active,
            works=seen.works,
        )
        for seen in art_room.see_media(desk_of(request).library)
    ]


@router.post("/media", status_code=201)
def add_medium(request: Request, given: Annotated[shapes.MediumIn, Body()]) -> shapes.ActionOut:
    """A new medium, last in order."""
    library = desk_of(request).library
    return shapes.ActionOut(action=art_room.add_medium(library, given.label, aat_id=given.aat_id, solid=given.solid))


@router.put("/media/{medium_id}")
def change_medium(request: Request, medium_id: Id, given: Annotated[shapes.MediumIn, Body()]) -> shapes.ActionOut:
    """Rename a medium; its works follow."""
    library = desk_of(request).library
    done = art_room.change_medium(library, medium_id, label=given.label, aat_id=given.aat_id, solid=given.solid)
    return shapes.ActionOut(action=done)


@router.put("/media/{medium_id}/offered")
def offer_medium(request: Request, medium_id: Id, given: Annotated[shapes.OfferedIn, Body()]) -> shapes.ActionOut:
    """Retire a medium, or offer it again."""
    return shapes.ActionOut(action=art_room.offer(desk_of(request).library, MEDIA, medium_id, active=given.offered))


@router.get("/centers")
def list_centers(request: Request) -> list[shapes.CenterOut]:
    """Every center in the teacher's order."""
    return [
        shapes.CenterOut(
            center=seen.key,
            label=seen.one.label,
            media=list(seen.one.medium_ids),
            offered=seen.one.active,
            works=seen.works,
        )
        for seen in art_room.see_centres(desk_of(request).library)
    ]


@router.post("/centers", status_code=201)
def add_center(request: Request, given: Annotated[shapes.CenterIn, Body()]) -> shapes.ActionOut:
    """A new center, last in order."""
    return shapes.ActionOut(action=art_room.add_centre(desk_of(request).library, given.label, medium_ids=given.media))


@router.put("/centers/{center_id}")
def change_center(request: Request, center_id: Id, given: Annotated[shapes.CenterIn, Body()]) -> shapes.ActionOut:
    """Rename a center, or change which media are at hand there."""
    library = desk_of(request).library
    return shapes.ActionOut(
        action=art_room.change_centre(library, center_id, label=given.label, medium_ids=given.media)
    )


@router.put("/centers/{center_id}/offered")
def offer_center(request: Request, center_id: Id, given: Annotated[shapes.OfferedIn, Body()]) -> shapes.ActionOut:
    """Retire a center, or offer it again."""
    return shapes.ActionOut(action=art_room.offer(desk_of(request).library, CENTRES, center_id, active=given.offered))


@router.put("/classes/{class_id}/centers/{center_id}")
def open_center(
    request: Request, class_id: Id, center_id: Id, given: Annotated[shapes.OpeningIn, Body()]
) -> shapes.ActionOut:
    """Say from when a center is open for a class."""
    done = open_for(
        desk_of(request).library,
        class_id,
        center_id,
        opens_on=given.opens_on,
        closes_on=given.closes_on,
        every=given.every,
    )
    return shapes.ActionOut(action=done)


# --- releases -----------------------------------------------------------------------------------------------


@router.get("/classes/{class_id}/releases")
def list_releases(request: Request, class_id: Id) -> shapes.ReleasesOut:
    """What the families of a class have said, by number. No name."""
    desk = desk_of(request)
    group, children = releases_flow.see_releases(desk.library, class_id, today=desk.today())
    return shapes.ReleasesOut.model_validate(
        {
            "class": group.label,
            "children": [
                shapes.ChildReleasesOut(
                    number=seen.child.number,
                    student=seen.child.student_id,
                    counts=[_release(one) for one in seen.standing.values() if one is not None],
                    said=[_release(one) for one in seen.said],
                )
                for seen in children
            ],
        }
    )


def _release(one: Release) -> shapes.ReleaseShape:
    return shapes.ReleaseShape.model_validate(
        {
            "readers": one.audience.value,
            "allowed": one.allowed,
            "name_form": one.name_form.value,
            "from_day": one.from_day,
            "to_day": one.to_day,
            "source": one.source,
        }
    )


@router.post("/classes/{class_id}/releases", status_code=201)
def record_releases(request: Request, class_id: Id, given: Annotated[shapes.ReleasesIn, Body()]) -> shapes.ActionOut:
    """Record what families have said, for one or many numbers in one step."""
    desk = desk_of(request)
    said = releases_flow.Said(
        numbers=frozenset(given.numbers),
        audiences=tuple(Audience(one) for one in dict.fromkeys(given.readers)),
        allowed=given.allowed,
        name_form=NameForm(given.name_form),
        from_day=given.from_day or desk.today(),
        to_day=given.to_day,
        source=given.source,
    )
    return shapes.ActionOut(action=releases_flow.record(desk.library, class_id, said, today=desk.today()))


# --- reports ------------------------------------------------------------------------------------------------


@router.get("/reports")
def show_reports(request: Request) -> shapes.TermOut:
    """What a page for each child could show by now, class by class."""
    desk = desk_of(request)
    term, year, lines = see_term(desk.library, desk.today())
    classes = [
        shapes.TermClassOut.model_validate(
            {
                "class_id": one.group.class_id,
                "class": one.group.label,
                "children": one.children,
                "works": one.works,
                "with_words": one.with_words,
                "nothing": one.nothing,
            }
        )
        for one in lines
    ]
    return shapes.TermOut(term=term.label if term else None, year=year.label if year else None, classes=classes)


# --- shows --------------------------------------------------------------------------------------------------


@router.post("/shows", status_code=201)
def begin_show(request: Request, given: Annotated[shapes.ShowIn, Body()]) -> shapes.ShowOut:
    """Begin a show; every work of the year is offered to it."""
    desk = desk_of(request)
    made = plan_show.new_show(desk.library, given.title, opens_on=given.opens_on, today=desk.today())
    plan_show.add_works(desk.library, made.show_id, filters=Filters(year=made.year))
    return shapes.ShowOut(
        show=made.show_id, title=made.title, year=made.year, opens_on=made.opens_on, closes_on=made.closes_on, chosen=0
    )


@router.post("/shows/{show_id}/choose")
def choose_works(request: Request, show_id: Id, given: Annotated[shapes.ChooseIn, Body()]) -> shapes.ChosenOut:
    """Choose fairly among the works that these readers may see: every child at least once if possible."""
    desk = desk_of(request)
    choice = plan_show.choose_works(
        desk.library,
        show_id,
        audience=Audience(given.audience),
        limits=ShowLimits(works=given.works),
        today=desk.today(),
    )
    return shapes.ChosenOut(chosen=sorted(choice.chosen), without=len(choice.missing), short=choice.short)


@router.post("/shows/{show_id}/publish")
def make_pages(request: Request, show_id: Id, given: Annotated[shapes.PublishIn, Body()]) -> shapes.PublishedOut:
    """Make the pages for one circle of readers. They are put in place only when the search finds no name."""
    desk = desk_of(request)
    made = publish(desk.library, show_id, audience=Audience(given.audience), today=desk.today())
    return shapes.PublishedOut(
        pages=made.pages, pictures=made.pictures, left_out=sorted(made.left_out), words_held=sorted(made.words_held)
    )


# --- what a photo may cost ------------------------------------------------------------------------------------


@router.get("/limits")
def show_limits(request: Request) -> shapes.LimitsShape:
    """What one photo may cost."""
    return shapes.LimitsShape.model_validate(limits.limits_now(desk_of(request).library))


@router.put("/limits")
def change_limits(request: Request, given: Annotated[shapes.LimitsShape, Body()]) -> shapes.LimitsShape:
    """Set them; the next photo keeps to them. Refuses one that is out of bounds."""
    limits.keep_limits(desk_of(request).library, given.model_dump())
    return show_limits(request)


# --- backup -------------------------------------------------------------------------------------------------


@router.get("/backup")
def show_backup(request: Request) -> shapes.BackupOut:
    """When the last backup was made and whether one is due, how far a running one is, and why the last one stopped."""
    desk = desk_of(request)
    last, state = last_backup(desk.library), desk.backup.state
    return shapes.BackupOut(
        last_utc=last.at_utc.isoformat() if last else None,
        age_days=age_days(last) if last else None,
        due=is_old(last),
        running=state.running,
        done=state.done,
        of=state.of,
        trouble=state.error.sentence if state.error else None,
    )


@router.post("/backup", status_code=202)
def begin_backup(request: Request, given: Annotated[shapes.BackupIn, Body()]) -> shapes.BackupOut:
    """Begin a backup into a new or empty folder of this computer, or the one with the last backup."""
    desk = desk_of(request)
    desk.backup.start(desk.library, folder_in(given.folder))
    return show_backup(request)
