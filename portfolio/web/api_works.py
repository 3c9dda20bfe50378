"""The JSON door, what is changed about works: their description, edge, hidden parts, and what was said and seen."""

from __future__ import annotations

from typing import Annotated

from fastapi import Body, Request

from portfolio.flows import describe as describing
from portfolio.flows import edge as edge_flow
from portfolio.flows.absent import file_with_absent
from portfolio.flows.batches import chosen_for
from portfolio.flows.card_scale import correct_sizes
from portfolio.flows.choose_again import choose_again
from portfolio.flows.desk import see_picks
from portfolio.flows.edge import EdgeSeen
from portfolio.flows.observe import observe, see_observing
from portfolio.flows.reflections import add_by_number
from portfolio.flows.take_in import settle_batch
from portfolio.model.cards import Polygon
from portfolio.web import api_shapes as shapes
from portfolio.web.api_door import door
from portfolio.web.desk import desk_of
from portfolio.web.fields import Id, OptionalId

router = door()


# --- what a work is -----------------------------------------------------------------------------------------


@router.patch("/works/{work_id}")
def change_work(request: Request, work_id: Id, given: Annotated[shapes.WorkChange, Body()]) -> shapes.ActionOut:
    """Describe a work: what is given changes, an empty medium or center takes it away."""
    done = describing.describe(
        desk_of(request).library,
        work_id,
        title=given.title,
        medium=given.medium,
        centre=given.center,
        tags=given.tags,
    )
    return shapes.ActionOut(action=done)


@router.delete("/works/{work_id}")
def take_work_out(request: Request, work_id: Id) -> shapes.ActionOut:
    """Take a work out of everything that is shown. It is kept; undo brings it back."""
    return shapes.ActionOut(action=describing.take_out(desk_of(request).library, work_id))


# --- its edge, and what is hidden of it ---------------------------------------------------------------------


@router.get("/works/{work_id}/edge")
def show_edge(request: Request, work_id: Id, view: OptionalId = 0) -> shapes.EdgeOut:
    """The edge of a view (0: the main one) and its hidden parts, in pixels of the upright photo."""
    return _edge_out(_edge(request, work_id, view))


def _edge_out(seen: EdgeSeen) -> shapes.EdgeOut:
    return shapes.EdgeOut(
        view=seen.view_id,
        size_px=seen.size_px,
        outline=_listed(seen.outline) if seen.outline else None,
        by_hand=seen.by_hand,
        quarter_turns=seen.quarter_turns,
        hidden=[_listed(part) for part in seen.hidden],
    )


def _listed(polygon: Polygon) -> list[shapes.PointPx]:
    return [(x, y) for x, y in polygon]


@router.put("/works/{work_id}/edge")
def set_edge(request: Request, work_id: Id, given: Annotated[shapes.EdgeIn, Body()]) -> shapes.ActionOut:
    """Keep four corners as the edge for ever, or (without corners) show the whole photo."""
    return _set_edge(request, _edge(request, work_id, given.view), given)


def _set_edge(request: Request, seen: EdgeSeen, given: shapes.EdgeIn) -> shapes.ActionOut:
    desk = desk_of(request)
    turns, executor = given.quarter_turns, desk.workers.get()
    if given.outline is None:
        return shapes.ActionOut(action=edge_flow.show_whole(desk.library, seen, quarter_turns=turns, executor=executor))
    done = edge_flow.set_edge(desk.library, seen, tuple(given.outline), quarter_turns=turns, executor=executor)
    return shapes.ActionOut(action=done)


@router.post("/works/{work_id}/hidden", status_code=201)
def hide_part(request: Request, work_id: Id, given: Annotated[shapes.HiddenIn, Body()]) -> shapes.ActionOut:
    """Hide a part of a view from everybody below the teacher."""
    seen = _edge(request, work_id, given.view)
    return shapes.ActionOut(action=edge_flow.hide_part(desk_of(request).library, seen, tuple(given.part)))


@router.delete("/works/{work_id}/hidden/{place}")
def show_part(request: Request, work_id: Id, place: Id, view: OptionalId = 0) -> shapes.ActionOut:
    """Show a hidden part again; ``place`` from 1, as they are listed."""
    seen = _edge(request, work_id, view)
    return shapes.ActionOut(action=edge_flow.show_part(desk_of(request).library, seen, place))


def _edge(request: Request, work_id: int, view_id: int) -> EdgeSeen:
    return edge_flow.see_edge(desk_of(request).library, work_id, view_id=view_id)


# --- the same of a photo of which it is asked whose it is -----------------------------------------------------


@router.get("/questions/{question_id}/edge")
def show_edge_asked(request: Request, question_id: Id) -> shapes.EdgeOut:
    """The edge and the hidden parts of the photo of an open question about whose it is; ``view`` is 0."""
    return _edge_out(_asked(request, question_id))


@router.put("/questions/{question_id}/edge")
def set_edge_asked(request: Request, question_id: Id, given: Annotated[shapes.EdgeIn, Body()]) -> shapes.ActionOut:
    """Keep the edge and the turn for the work that the photo becomes; the question stays."""
    return _set_edge(request, _asked(request, question_id), given)


@router.post("/questions/{question_id}/hidden", status_code=201)
def hide_part_asked(request: Request, question_id: Id, given: Annotated[shapes.HiddenIn, Body()]) -> shapes.ActionOut:
    """Hide a part of the photo at once, and of each work that it becomes."""
    seen = _asked(request, question_id)
    return shapes.ActionOut(action=edge_flow.hide_part(desk_of(request).library, seen, tuple(given.part)))


@router.delete("/questions/{question_id}/hidden/{place}")
def show_part_asked(request: Request, question_id: Id, place: Id) -> shapes.ActionOut:
    """Show a hidden part again; ``place`` from 1, as they are listed."""
    seen = _asked(request, question_id)
    return shapes.ActionOut(action=edge_flow.show_part(desk_of(request).library, seen, place))


def _asked(request: Request, question_id: int) -> EdgeSeen:
    return edge_flow.see_edge_of_question(desk_of(request).library, question_id)


# --- what was said and seen ---------------------------------------------------------------------------------


@router.post("/classes/{class_id}/reflections", status_code=201)
def keep_words(request: Request, class_id: Id, given: Annotated[shapes.WordsIn, Body()]) -> shapes.WordsKeptOut:
    """Keep a child's words, letter for letter. Without a work they are matched by day, or asked about."""
    desk = desk_of(request)
    kept = add_by_number(
        desk.library,
        class_id,
        given.number,
        text=given.text,
        said_on=given.said_on or desk.today(),
        written_by=given.written_by,
        language=given.language,
        work_id=given.work,
    )
    return shapes.WordsKeptOut(action=kept.action_id, question=kept.question_id)


@router.get("/classes/{class_id}/observations")
def list_observations(request: Request, class_id: Id) -> shapes.ObservingOut:
    """What was seen in a class today, newest first, and what is offered to be noted, most often noted first."""
    desk = desk_of(request)
    seen = see_observing(desk.library, class_id, today=desk.today())
    today = [
        shapes.SeenOut(number=one.number, what=one.what, level=one.level, note=one.note, action=one.action_id)
        for one in seen.today
    ]
    return shapes.ObservingOut(offered=list(seen.offered), levels=list(seen.levels), today=today)


@router.post("/classes/{class_id}/observations", status_code=201)
def keep_observation(request: Request, class_id: Id, given: Annotated[shapes.ObservedIn, Body()]) -> shapes.ActionOut:
    """Keep what the teacher saw of a child today: a habit or skill and how secure it is, never the worth of a work."""
    desk = desk_of(request)
    done = observe(
        desk.library,
        class_id,
        number=given.number,
        what=given.what,
        level=given.level,
        note=given.note,
        today=desk.today(),
    )
    return shapes.ActionOut(action=done)


# --- a batch as a whole -------------------------------------------------------------------------------------


@router.put("/batches/{batch_id}/chosen")
def choose_for_batch(request: Request, batch_id: Id, given: Annotated[shapes.ChosenIn, Body()]) -> shapes.BatchMade:
    """Choose class, medium and day again; what the teacher has not touched is decided anew, as the batch tells."""
    desk = desk_of(request)
    library, today = desk.library, desk.today()
    named = chosen_for(library, class_label=given.class_label, medium=given.medium, day=given.day, today=today)
    picks = see_picks(library, today)
    choose_again(library, batch_id, picks, class_id=named.class_id, medium_id=named.medium_id, day=given.day)
    settle_batch(library, batch_id, executor=desk.workers.get())
    return shapes.BatchMade(batch=batch_id)


@router.put("/batches/{batch_id}/absent")
def say_absent(request: Request, batch_id: Id, given: Annotated[shapes.AbsentIn, Body()]) -> shapes.BatchMade:
    """Say who was absent; what the teacher has not touched is decided anew. The batch tells what stands now."""
    desk = desk_of(request)
    file_with_absent(desk.library, batch_id, given.numbers, executor=desk.workers.get())
    return shapes.BatchMade(batch=batch_id)


@router.post("/batches/{batch_id}/sizes")
def take_corrected_sizes(request: Request, batch_id: Id) -> shapes.ActionOut:
    """The cards were printed at another scale: correct the sizes of the batch by the factor that was found."""
    return shapes.ActionOut(action=correct_sizes(desk_of(request).library, batch_id))
