"""The JSON door under ``/api``: what the screens do, for machines. Documented at ``/api/openapi.json``."""

from __future__ import annotations

from dataclasses import replace
from typing import Annotated, Any

from fastapi import Body, File, Query, Request, UploadFile
from fastapi.responses import JSONResponse

from portfolio.flows import look_back, plan_show, settle, take_in
from portfolio.flows.batch_report import batch_report, report_as_json
from portfolio.flows.batches import check_batch, chosen_for
from portfolio.flows.desk import class_and_year, see_classes, see_picks
from portfolio.flows.file_batch import count_batch
from portfolio.flows.find import filters_of, find_now, found_as_json, work_as_json
from portfolio.flows.one_work import see_work
from portfolio.flows.see_batch import QuestionSeen, see_question, see_questions
from portfolio.flows.upload import keep_upload
from portfolio.model.filing import BatchMode
from portfolio.model.people import Audience
from portfolio.model.showing import ShowValue
from portfolio.web import api_shapes as shapes
from portfolio.web.api_door import QueryId, Word, door
from portfolio.web.asking import asking_of
from portfolio.web.desk import desk_of
from portfolio.web.fields import Id
from portfolio.web.guard import ONE_FILE_MAX

router = door()


@router.get("/openapi.json", include_in_schema=False)
def send_schema(request: Request) -> JSONResponse:
    """The description of this door."""
    return JSONResponse(request.app.openapi())


# --- batches ----------------------------------------------------------------------------------------------


@router.get("/batches")
def list_batches(request: Request) -> list[shapes.BatchLine]:
    """The newest batches, as Add photos lists them."""
    desk = desk_of(request)
    picks = see_picks(desk.library, desk.today())
    labels = {one.class_id: one.label for one in picks.classes}
    return [
        shapes.BatchLine.model_validate(
            {
                "batch": one.batch_id,
                "began_utc": one.created_utc,
                "source": one.source,
                "class": labels.get(one.class_id or 0),
                "state": one.state,
                "photos": one.photos,
                "states": dict(one.states),
            }
        )
        for one in picks.batches
    ]


@router.post("/batches", status_code=201)
def open_batch(request: Request, given: Annotated[shapes.BatchIn, Body()]) -> shapes.BatchMade:
    """Begin a batch."""
    desk = desk_of(request)
    chosen = chosen_for(
        desk.library,
        class_label=given.class_label,
        medium=given.medium,
        day=given.day,
        mode=BatchMode.ORDER if given.by_order else BatchMode.CARDS,
        absent=frozenset(given.absent),
        today=desk.today(),
    )
    return shapes.BatchMade(batch=take_in.open_batch(desk.library, chosen, source="api", expected=given.expected))


@router.get("/batches/{batch_id}")
def show_batch(request: Request, batch_id: Id) -> shapes.BatchOut:
    """Where every photo of a batch stands."""
    desk = desk_of(request)
    reading = desk.reader.is_busy(batch_id)
    report = batch_report(desk.library, batch_id)
    if not reading:
        report = replace(report, checks=count_batch(desk.library, batch_id))
    return shapes.BatchOut.model_validate({**report_as_json(report), "reading": reading})


@router.post("/batches/{batch_id}/photos", status_code=201, max_body_size=ONE_FILE_MAX)
def add_photo(request: Request, batch_id: Id, photo: Annotated[UploadFile, File()]) -> shapes.Uploaded:
    """Keep one file. Once this answers, its bytes are safe; trouble with the file is told in ``problems``."""
    desk = desk_of(request)
    check_batch(desk.library, batch_id)
    kept = keep_upload(desk.library, batch_id, name=photo.filename, stream=photo.file)
    sentences = [one.sentence for one in kept.problems]
    return shapes.Uploaded(photos=list(kept.photos), before=kept.duplicates, problems=sentences)


@router.post("/batches/{batch_id}/close", status_code=202)
def close_batch(request: Request, batch_id: Id) -> shapes.BatchMade:
    """All photos are there: read and file them in the background."""
    desk = desk_of(request)
    check_batch(desk.library, batch_id)
    desk.reader.start(batch_id)
    return shapes.BatchMade(batch=batch_id)


@router.post("/batches/{batch_id}/undo")
def undo_batch(request: Request, batch_id: Id) -> shapes.ActionOut:
    """Take a whole batch back. Nothing is deleted."""
    library = desk_of(request).library
    check_batch(library, batch_id)
    return shapes.ActionOut(action=take_in.undo_batch(library, batch_id))


# --- questions --------------------------------------------------------------------------------------------


@router.get("/questions")
def list_questions(request: Request, batch: QueryId = None) -> list[shapes.QuestionOut]:
    """All questions that wait, in the order in which they should be answered."""
    desk = desk_of(request)
    seen = see_questions(desk.library, batch_id=batch, later=True, after=10_000)
    line = [*([seen.asked] if seen.asked else []), *seen.after]
    return [_question(one, seen.labels, desk_of(request).today()) for one in line]


def _question(seen: QuestionSeen, labels: Any, today: Any) -> shapes.QuestionOut:
    kept = seen.question
    asking = asking_of(seen, labels, today=today)
    say = {one.value: one.say for one in asking.answers}
    return shapes.QuestionOut(
        question=kept.question_id,
        kind=kept.kind,
        state=kept.state,
        sentence=kept.evidence,
        batch=kept.batch_id,
        photo=kept.photo_id,
        work=kept.work_id,
        guess=_choice(kept.guess, say.get("yes", "no guess"), labels) if kept.guess else None,
        options=[_choice(one, say.get(f"option-{at}", ""), labels) for at, one in enumerate(kept.options)],
    )


def _choice(filing: dict[str, Any], say: str, labels: Any) -> shapes.ChoiceOut:
    return shapes.ChoiceOut.model_validate(
        {
            "say": say,
            "class": labels.get(filing.get("class_id")),
            "numbers": filing.get("numbers") or [],
            "day": filing.get("day"),
            "view_of": filing.get("joins_work"),
            "work": filing.get("work"),
        }
    )


@router.get("/questions/{question_id}")
def show_question(request: Request, question_id: Id) -> shapes.QuestionOut:
    """One question, open or not."""
    desk = desk_of(request)
    seen, labels = see_question(desk.library, question_id)
    return _question(seen, labels, desk.today())


@router.post("/questions/{question_id}/answer")
def answer_question(request: Request, question_id: Id, given: Annotated[shapes.AnswerIn, Body()]) -> shapes.ActionOut:
    """Answer one question."""
    desk = desk_of(request)
    outline = tuple((one[0], one[1]) for one in given.polygon) if given.polygon else None
    answer = settle.Answer(
        yes=given.yes,
        option=given.option,
        number=given.number,
        class_label=given.class_label,
        day=given.day,
        numbers=tuple(given.numbers),
        each=given.each,
        view_of=given.view_of,
        view=given.view,
        work=given.work,
        polygon=outline,
        quarter_turns=given.quarter_turns,
        whole=given.whole,
        aside=given.aside,
        later=given.later,
        first_number=given.first_number,
        whole_group=given.whole_group,
    )
    done = settle.answer(desk.library, question_id, answer, executor=desk.workers.get())
    return shapes.ActionOut(action=done)


@router.post("/actions/{action_id}/undo")
def undo_action(request: Request, action_id: Id) -> shapes.ActionOut:
    """Undo one step as a whole."""
    return shapes.ActionOut(action=settle.undo(desk_of(request).library, action_id))


# --- works ------------------------------------------------------------------------------------------------


@router.get("/works")
def find_works(
    request: Request,
    *,
    words: Annotated[str, Query(max_length=200)] = "",
    student: QueryId = None,
    class_label: Annotated[str | None, Query(alias="class", max_length=100)] = None,
    grade: Word = None,
    year: Word = None,
    medium: Word = None,
    center: Word = None,
    color: Annotated[
        str | None, Query(pattern="^(red|orange|yellow|green|blue|purple|pink|brown|black|white|gray)$")
    ] = None,
    size: Annotated[str | None, Query(pattern="^(small|medium|large|about|unmeasured)$")] = None,
    with_words: bool | None = None,
    limit: Annotated[int, Query(ge=1, le=1000)] = 60,
    offset: Annotated[int, Query(ge=0, le=10_000_000)] = 0,
) -> shapes.FoundOut:
    """Find works by words and filters. ``size``: of the longer side as measured; ``with_words``: a child said or wrote
    something about it, or nobody did. ``behind``: the index of words could not be brought up to date.
    """
    desk = desk_of(request)
    asked = {"student": student, "class": class_label, "grade": grade, "year": year, "medium": medium, "center": center}
    filters = filters_of({**asked, "color": color, "size": size, "with_words": with_words})
    found = find_now(desk.library, desk.words, words, filters=filters, limit=limit, offset=offset)
    works = [shapes.WorkFound.model_validate(found_as_json(one)) for one in found.works]
    return shapes.FoundOut(total=found.total, works=works, showing_for=found.showing_for, behind=found.behind)


@router.get("/works/{work_id}")
def show_work(request: Request, work_id: Id) -> shapes.WorkOut:
    """One work: its views, words, tags and what happened to it."""
    seen = see_work(desk_of(request).library, work_id)
    work = seen.work
    return shapes.WorkOut.model_validate(
        {
            **work_as_json(work),
            "center": work.centre,
            "size_mm": [work.width_mm, work.height_mm] if work.width_mm and work.height_mm else None,
            "students": list(work.student_ids),
            "group_work": work.group_work,
            "tags": list(seen.tags),
            "colors": list(seen.mostly),
            "views": [
                {
                    "view": one.view_id,
                    "photo": one.photo_id,
                    "role": one.role,
                    "picture": f"/pictures/{one.derived_key}" if one.derived_key else None,
                }
                for one in seen.views
            ],
            "reflections": [
                {"text": one.text, "said_on": one.said_on, "written_by": one.written_by, "language": one.language}
                for one in (line.said for line in seen.said)
            ],
            "history": [
                {"action": one.action_id, "who": one.who, "what": one.what, "undone": one.undone}
                for one in seen.actions
            ],
        }
    )


# --- shows ------------------------------------------------------------------------------------------------


@router.get("/shows")
def list_shows(request: Request) -> list[shapes.ShowOut]:
    """Every show, newest first."""
    return [_show(one) for one in plan_show.all_shows(desk_of(request).library)]


def _show(one: ShowValue) -> shapes.ShowOut:
    return shapes.ShowOut(
        show=one.show_id,
        title=one.title,
        year=one.year,
        opens_on=one.opens_on,
        closes_on=one.closes_on,
        chosen=one.works,
    )


@router.get("/shows/{show_id}")
def show_show(
    request: Request,
    show_id: Id,
    audience: Annotated[str, Query(pattern="^(school|community|public)$")] = "school",
) -> shapes.ShowWhole:
    """One show with the mark of each work and its reason, as one circle of readers may see it."""
    desk = desk_of(request)
    seen = plan_show.seen(desk.library, show_id, audience=Audience(audience), today=desk.today())
    return shapes.ShowWhole(
        show=_show(seen.show),
        audience=audience,
        may_show=seen.may_show,
        works=[
            shapes.ShowMark(work=one.work.work_id, mark=one.mark.value, reason=one.reason, may_show=one.may_show)
            for one in seen.lines
        ],
    )


# --- children and classes ---------------------------------------------------------------------------------


@router.get("/students/{student_id}/timeline")
def show_timeline(request: Request, student_id: Id) -> shapes.TimelineOut:
    """One child over all years. No name: ids and numbers only."""
    page = look_back.student_page(desk_of(request).library, student_id)
    return shapes.TimelineOut.model_validate(look_back.timeline_as_json(page))


@router.get("/classes")
def list_classes(request: Request, year: Word = None) -> shapes.ClassesOut:
    """The classes of a year; the current one if none is said."""
    desk = desk_of(request)
    shown, years, classes = see_classes(desk.library, desk.today(), year=year)
    found = [
        shapes.ClassOut.model_validate(
            {
                "class_id": one.group.class_id,
                "class": one.group.label,
                "grade": one.group.grade,
                "children": one.children,
                "works": one.works,
            }
        )
        for one in classes
    ]
    return shapes.ClassesOut(year=shown.label if shown else None, years=list(years), classes=found)


@router.get("/classes/{class_id}/grid")
def show_grid(
    request: Request,
    class_id: Id,
    *,
    by: Annotated[str, Query(pattern="^(medium|center)$")] = "medium",
    whole_year: bool = False,
) -> shapes.GridOut:
    """The class grid for the term (or the whole year), by medium or by center."""
    desk = desk_of(request)
    group, year = class_and_year(desk.library, class_id)
    page = look_back.class_page(
        desk.library,
        group.label,
        year=year.label,
        today=desk.today(),
        whole_year=whole_year,
        by_centre=by == "center",
    )
    return shapes.GridOut.model_validate(look_back.class_as_json(page))
