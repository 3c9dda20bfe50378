"""File a batch: decide it as a whole, in the order taken, and carry out what is new; one decision, one transaction.

A batch may be filed again at any time: when more photos arrive, or after a crash. Decisions that come out the same
are left alone; one of the program's own that comes out differently (a class card arrived late) is undone first.
What the teacher has said is never touched.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from portfolio.archive import history, photos, questions, works
from portfolio.archive.library import Library, Session
from portfolio.archive.photos import BatchKept, PhotoKept
from portfolio.errors import NotFound, Refused
from portfolio.filing import decide_batch
from portfolio.flows.batch_report import in_order
from portfolio.flows.card_scale import not_sure_of_size, scale_of
from portfolio.flows.read_photos import Told, look_again, quiet, solid_media
from portfolio.flows.school_at import filing_context
from portfolio.model.filing import (
    Asked,
    BatchDecisions,
    ClassCheck,
    Decision,
    Filing,
    Outcome,
    PhotoEvidence,
    PhotoState,
    What,
)
from portfolio.model.seen_json import cards_of
from portfolio.straighten.nocard import WHY as WITHOUT_CARD


@dataclass(frozen=True, slots=True)
class _Plan:
    """One batch as it stands, and what filing decides about it."""

    batch: BatchKept
    photos: Mapping[int, PhotoKept]
    decided: BatchDecisions
    works: dict[int, int]
    """Photo → work, as it grows while the plan is carried out."""
    solid_media: frozenset[int]


def file_batch(library: Library, batch_id: int, *, executor: Executor, told: Told = quiet) -> tuple[ClassCheck, ...]:
    """File what can be filed, ask about the rest; gives the count of numbers for each class."""
    plan = _plan(library, batch_id)
    other_kind = _seen_as_the_other_kind(plan)
    if other_kind:
        look_again(library, other_kind, executor=executor)
        plan = _plan(library, batch_id)
    if _take_back_changed(library, plan):
        plan = _plan(library, batch_id)
    fresh = [one for one in plan.decided.decisions if _is_open(one, plan)]
    for done, decision in enumerate(fresh, start=1):
        _carry_out(library, plan, decision)
        told("filed", done, len(fresh))
    return plan.decided.checks


def _is_open(decision: Decision, plan: _Plan) -> bool:
    state = plan.photos[decision.photo_id].state
    return state is PhotoState.STORED and decision.outcome is not Outcome.KEEP


def _plan(library: Library, batch_id: int, *, by_numbers: bool = False) -> _Plan:
    """The batch decided as a whole. ``by_numbers``: also photos whose pictures are still to come."""
    with library.reading() as session:
        batch = photos.batch(session, batch_id)
        readable = [
            one
            for one in photos.photos_of(session, batch_id)
            if one.problem is None and (one.was_read or (by_numbers and one.numbers_read))
        ]
        ordered = in_order(readable)
        there = dict(works.works_of_photos(session, photos.ids_of(ordered)))
        evidence = [_evidence(one, there) for one in ordered]
        context = filing_context(session, batch, evidence)
        own = set(there.values())
        context = replace(context, filed=tuple(work for work in context.filed if work.work_id not in own))
        solid = solid_media(session)
    if scale_of(ordered) is not None:
        ordered = [not_sure_of_size(one) for one in ordered]
    return _Plan(batch, {one.photo_id: one for one in ordered}, decide_batch(evidence, context), there, solid)


def foreseen(library: Library, batch_id: int) -> Mapping[int, Decision]:
    """Photo → how it will be filed, by its numbers alone, for photos that are not settled yet. Changes nothing; what
    hangs on the picture (a number that came twice, the edge) is decided when the picture is there.
    """
    plan = _plan(library, batch_id, by_numbers=True)
    return {one.photo_id: one for one in plan.decided.decisions if _is_open(one, plan)}


def count_batch(library: Library, batch_id: int) -> tuple[ClassCheck, ...]:
    """The count of numbers for each class as the batch stands now. Changes nothing."""
    return _plan(library, batch_id).decided.checks


def _evidence(one: PhotoKept, there: Mapping[int, int]) -> PhotoEvidence:
    """What the teacher settled stands; what the program decided is decided again, so that it sees the same batch."""
    by_teacher = one.state is not PhotoState.STORED and one.decided is None
    fixed = one.filing if by_teacher and one.photo_id in there else None
    return PhotoEvidence(
        photo_id=one.photo_id,
        cards=cards_of(one.reading),
        taken=one.taken,
        camera=one.camera,
        crop_hash=one.crop_hash,
        fixed=fixed,
        closed=by_teacher and fixed is None,
    )


def _seen_as_the_other_kind(plan: _Plan) -> list[tuple[PhotoKept, bool]]:
    """Photos that were straightened as flat although a card says a three-dimensional medium, or the other way."""
    wanted = []
    for decision in plan.decided.decisions:
        one = plan.photos[decision.photo_id]
        filing = decision.meant
        if one.state is not PhotoState.STORED or filing is None or filing.medium_id is None:
            continue
        solid = filing.medium_id in plan.solid_media
        if solid != bool((one.reading or {}).get("solid")) and (one.reading or {}).get("cards"):
            wanted.append((one, solid))
    return wanted


# --- deciding again ---------------------------------------------------------------------------------------------------


def _take_back_changed(library: Library, plan: _Plan) -> bool:
    """Undo the program's own decisions that come out differently now, with all that hang on them; newest first."""
    changed = {
        one.photo_id
        for one in plan.decided.decisions
        if (before := plan.photos[one.photo_id].decided) is not None and before.mark != _mark(one)
    }
    while more := {key for key, one in plan.photos.items() if key not in changed and _hangs_on(one, changed)}:
        changed |= more
    undone = False
    for one in sorted((plan.photos[key] for key in changed), key=_newest_first):
        undone |= _take_back(library, plan.batch, one)
    return undone


def _hangs_on(one: PhotoKept, changed: set[int]) -> bool:
    return one.decided is not None and one.filing is not None and one.filing.joins_photo in changed


def _newest_first(one: PhotoKept) -> int:
    return -one.decided.action_id if one.decided is not None else 0


def _take_back(library: Library, batch: BatchKept, one: PhotoKept) -> bool:
    """Undo one decision. It stays when the teacher has worked on what came of it, or when an archive rebuilt from
    its sidecars no longer knows how to undo it.
    """
    assert one.decided is not None
    try:
        with library.writing(who="program", what="decided anew", batch_id=batch.batch_id) as writing:
            history.undo(writing.session, one.decided.action_id, undoing_id=writing.action_id)
    except (NotFound, Refused):
        return False
    return True


def _mark(decision: Decision) -> str:
    """A digest of everything that a decision does; its words and evidence values may change without harm."""
    asked = decision.asked
    parts = [
        decision.outcome.value,
        decision.filing.as_json() if decision.filing else None,
        [asked.kind.value, asked.guess.as_json(), [one.as_json() for one in asked.options]] if asked else None,
    ]
    return hashlib.sha256(json.dumps(parts, sort_keys=True).encode()).hexdigest()[:16]


# --- carrying out -----------------------------------------------------------------------------------------------------


def _carry_out(library: Library, plan: _Plan, decision: Decision) -> None:
    """One decision, one transaction. A photo that was settled meanwhile is left as it is."""
    what = {Outcome.FILE: "filed a photo", Outcome.SLATE: "read a slate"}.get(decision.outcome, "asked about a photo")
    photo, batch_id = plan.photos[decision.photo_id], plan.batch.batch_id
    with library.writing(who="program", what=what, batch_id=batch_id) as writing:
        session = writing.session
        if photos.photo(session, photo.photo_id).state is not PhotoState.STORED:
            return
        state = PhotoState.SLATE
        if decision.filing is not None:
            file_photo(session, photo, decision.filing, made=plan.works, solid=plan.solid_media)
            state = PhotoState.FILED
        elif decision.asked is not None:
            questions.ask(session, _known(decision.asked, plan.works), batch_id=batch_id, photo_id=photo.photo_id)
            state = PhotoState.QUESTION
        told = {
            "by": "program",
            "action": writing.action_id,
            "mark": _mark(decision),
            "outcome": decision.outcome.value,
            "filing": decision.filing.as_json() if decision.filing else None,
            "evidence": dict(decision.evidence),
        }
        photos.set_state(session, photo.photo_id, state, reason=decision.reason, decision=told)


def _known(asked: Asked, made: Mapping[int, int]) -> Asked:
    """Where a guess joins a photo that has become a work by now, say the work."""

    def known(filing: Filing) -> Filing:
        work_id = made.get(filing.joins_photo or 0)
        return replace(filing, joins_work=work_id, joins_photo=None) if work_id else filing

    return replace(asked, guess=known(asked.guess), options=tuple(known(one) for one in asked.options))


def file_photo(
    session: Session,
    photo: PhotoKept,
    filing: Filing,
    *,
    made: dict[int, int] | None = None,
    solid: frozenset[int] = frozenset(),
) -> int:
    """Carry out a complete filing: a new work, or a view of one; gives the work's id. Asks about an unsure edge.

    ``made`` = photo → work of this run, added to; ``solid`` = the media whose works are three-dimensional.
    """
    made = {} if made is None else made
    if filing.what is What.VIEW:
        work_id = filing.joins_work or made.get(filing.joins_photo or 0)
        if work_id is None:
            work_id = works.work_of_photo(session, filing.joins_photo or 0)
        assert work_id is not None, "a view joins a work that is there"
        works.add_view(session, work_id, photo, role=filing.role)
    else:
        work_id = works.add_work(session, filing, photo, solid=filing.medium_id in solid)
        _ask_edge(session, photo, filing, work_id=work_id)
    made[photo.photo_id] = work_id
    return work_id


def _ask_edge(session: Session, photo: PhotoKept, filing: Filing, *, work_id: int) -> None:
    """The number is sure, so the work is filed; its unsure edge is a question of its own."""
    crop = (photo.reading or {}).get("crop")
    if not crop or crop["sure"]:
        return
    why = crop.get("why") or "the edge of the work is not clear"
    shown = "by the edge that was found" if photo.part else "as the photo was taken"
    evidence = f"{why[:1].upper()}{why[1:]}, so the work is shown {shown} until you say."
    guess = {**crop, "class_id": filing.class_id}
    group = "edge-without-card" if why == WITHOUT_CARD else None
    questions.ask_crop(
        session,
        guess,
        batch_id=photo.batch_id,
        photo_id=photo.photo_id,
        work_id=work_id,
        evidence=evidence,
        group=group,
    )
