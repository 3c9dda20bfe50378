"""To check: the questions that wait, the teacher's answers, and undo. One answer, one transaction."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

from portfolio.archive import history, people, photos, questions, school, works
from portfolio.archive.library import Library, Session
from portfolio.archive.photos import PhotoKept
from portfolio.archive.questions import QuestionKept
from portfolio.archive.works import ViewKept
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.flows import reflections
from portfolio.flows.batch_report import class_labels
from portfolio.flows.card_scale import not_sure_of_size, scale_of_batch
from portfolio.flows.file_batch import file_photo
from portfolio.flows.read_photos import crop_now, limits_of, number_of_part, solid_media, write_pictures
from portfolio.flows.worker import CropRequest
from portfolio.model.cards import Polygon
from portfolio.model.filing import Asked, Filing, PhotoState, QuestionKind, Role, What
from portfolio.model.photo import Crop, SizeMm, Straightened
from portfolio.model.seen_json import crop_as_json, crop_from_json


@dataclass(frozen=True, slots=True)
class Answer:
    """What the teacher says to one question. One of these is given; ``class_label``, ``day`` and ``first_number`` may
    go with another.
    """

    yes: bool = False
    option: int | None = None
    """Place in the question's options, from 0."""
    number: int | None = None
    class_label: str | None = None
    day: date | None = None
    first_number: int | None = None
    """For a number that came twice: the earlier photo is this number's, its card lay wrong."""
    numbers: tuple[int, ...] = ()
    """Several numbers: a group work."""
    each: bool = False
    """Of several numbers in one photo: each has its own work there."""
    view_of: int | None = None
    """It shows this work again."""
    view: bool = False
    """With a number: it shows the work of that number of that day again."""
    work: int | None = None
    """For words: the work they are about."""
    polygon: Polygon | None = None
    """For an edge: the outline in pixels of the upright photo."""
    quarter_turns: int = 0
    whole: bool = False
    """For an edge: show the whole photo."""
    aside: bool = False
    later: bool = False
    whole_group: bool = False
    """The same answer for every question of its group (the photos of one stack, the further views of one work)."""


@dataclass(frozen=True, slots=True)
class QuestionSeen:
    """A question with what a screen needs to ask it: the photo, the likely numbers, the classes' labels."""

    kept: QuestionKept
    file_name: str | None = None
    labels: dict[int, str] | None = None
    words: str | None = None
    """For words: the child's own, letter for letter."""


def waiting(library: Library, *, batch_id: int | None = None) -> list[QuestionSeen]:
    """All questions that wait, in the order in which they should be answered."""
    with library.reading() as session:
        labels = class_labels(session)
        return [_seen(session, one, labels) for one in questions.questions(session, batch_id=batch_id)]


def one_question(library: Library, question_id: int) -> QuestionSeen:
    """One question, open or not."""
    with library.reading() as session:
        return _seen(session, questions.question(session, question_id), class_labels(session))


def _seen(session: Session, kept: QuestionKept, labels: dict[int, str]) -> QuestionSeen:
    name = photos.photo(session, kept.photo_id).file_name if kept.photo_id is not None else None
    words = reflections.text_of(session, kept.reflection_id) if kept.reflection_id is not None else None
    return QuestionSeen(kept, name, labels, words)


def answer(
    library: Library, question_id: int, given: Answer, *, executor: Executor | None = None, who: str = "teacher"
) -> int:
    """Carry out an answer; gives the action's id, for undo.

    Raises ``Refused`` when it was answered before, ``PortfolioError`` when the answer does not fit. ``executor`` is
    needed when an edge is answered, since the picture is cropped by a worker. ``who``: a helper says numbers too.
    """
    with library.reading() as session:
        kept = questions.question(session, question_id)
    if kept.state not in questions.OPEN:
        raise Refused("already-answered", item=f"Question {question_id}")
    if given.later:
        return _put_off(library, kept)
    if kept.kind == "reflection":
        return _match_words(library, kept, given)
    if kept.kind == QuestionKind.CROP.value:
        return _answer_edge(library, kept, given, executor=executor)
    return _answer_filing(library, kept, given, who=who)


def _put_off(library: Library, kept: QuestionKept) -> int:
    with library.writing(who="teacher", what="put a question off", batch_id=kept.batch_id) as writing:
        questions.put_off(writing.session, kept.question_id)
        return writing.action_id


def _match_words(library: Library, kept: QuestionKept, given: Answer) -> int:
    work_id = given.work or given.view_of
    if given.yes and kept.guess:
        work_id = kept.guess["work"]
    if given.option is not None:
        work_id = _pick(kept, given.option)["work"]
    if work_id is None:
        raise _does_not_fit(kept, "say which work the words are about")
    return reflections.answer(library, kept.question_id, work_id=work_id)


# --- whose is it ----------------------------------------------------------------------------------------------


def _answer_filing(library: Library, kept: QuestionKept, given: Answer, *, who: str) -> int:
    """One answer, also for a whole group, is one transaction. Of a group, what does not fit stays a question."""
    with library.writing(who=who, what="answered a question", batch_id=kept.batch_id) as writing:
        session = writing.session
        off_scale = kept.batch_id is not None and scale_of_batch(session, kept.batch_id) is not None
        _answer_one(session, kept, given, off_scale=off_scale, who=who)
        others = questions.same_group(session, kept) if given.whole_group else ()
        for other in others:
            if other.question_id == kept.question_id:
                continue
            try:
                _answer_one(session, other, given, off_scale=off_scale, who=who)
            except PortfolioError:
                continue
        return writing.action_id


def _answer_one(session: Session, kept: QuestionKept, given: Answer, *, off_scale: bool, who: str) -> None:
    """``off_scale``: the cards of this batch were printed at a wrong scale."""
    assert kept.photo_id is not None
    photo = photos.photo(session, kept.photo_id)
    if off_scale:
        photo = not_sure_of_size(photo)
    if given.aside:
        questions.answer(session, kept.question_id, {"aside": True})
        photos.set_state(session, photo.photo_id, PhotoState.ASIDE, reason="Set aside by you.")
        return
    if given.each:
        _file_each(session, kept, photo, who=who)
        return
    filing = _filing(session, kept, given)
    questions.answer(session, kept.question_id, filing.as_json())
    file_photo(session, photo, filing, solid=solid_media(session))
    told = {"by": who, "outcome": "file", "filing": filing.as_json(), "evidence": {"question": kept.question_id}}
    reason = "You said so when you were asked." if who == "teacher" else "A helper said so."
    photos.set_state(session, photo.photo_id, PhotoState.FILED, reason=reason, decision=told)


_NO_EDGE: Final = Crop((), sure=False, shape="sheet", why="several works lie in the photo")
_SHOW_ITS_EDGE: Final = "Several works lie in this photo, so this one has no picture until you show its edge."


def _file_each(session: Session, kept: QuestionKept, photo: PhotoKept, *, who: str) -> None:
    """A work for each number in the photo. None has a picture before its edge is set by hand, since the photo shows
    other children's works too; that is asked for.
    """
    said = [Filing.from_json(one) for one in (kept.guess, *kept.options) if one]
    numbers = sorted({number for one in said for number in one.numbers})
    if kept.kind != QuestionKind.TWO_NUMBERS.value or len(numbers) < 2:
        raise _does_not_fit(kept, "there are not several numbers in the photo")
    filings = [_with_holders(session, kept, replace(said[0].as_work(), numbers=(one,))) for one in numbers]
    if missing := next((one for one in filings if not one.is_complete), None):
        raise _does_not_fit(kept, _missing(missing))
    questions.answer(session, kept.question_id, {"each": [one.as_json() for one in filings]})
    for photo_id, filing in zip(photos.split(session, photo.photo_id, numbers), filings, strict=True):
        work_id = file_photo(session, photos.photo(session, photo_id), filing, solid=solid_media(session))
        told = {"by": who, "outcome": "file", "filing": filing.as_json(), "evidence": {"question": kept.question_id}}
        reason = "You said that each number in the photo has its own work."
        photos.set_state(session, photo_id, PhotoState.FILED, reason=reason, decision=told)
        edge = {**crop_as_json(_NO_EDGE), "class_id": filing.class_id}
        questions.ask_crop(
            session, edge, batch_id=photo.batch_id, photo_id=photo_id, work_id=work_id, evidence=_SHOW_ITS_EDGE
        )


def _filing(session: Session, kept: QuestionKept, given: Answer) -> Filing:
    """The filing that an answer means. Refuses one that says too little to be carried out."""
    guess = Filing.from_json(kept.guess or Filing().as_json())
    if given.view_of is not None:
        works.work_facts(session, given.view_of)
        return replace(guess, what=What.VIEW, role=Role.ANGLE, joins_work=given.view_of, joins_photo=None)
    if given.view:
        return _view_of_number(session, kept, _changed(session, kept, guess, given))
    if given.first_number is not None:
        guess = _first_was_another(session, kept, given.first_number)
    elif given.option is not None:
        guess = Filing.from_json(_pick(kept, given.option))
    elif not (given.yes or given.number or given.numbers or given.class_label or given.day):
        raise _does_not_fit(kept, "say yes, a number, a class, a work, or set it aside")
    if kept.kind == QuestionKind.NO_DAY.value and given.day is None and given.option is None:
        raise _does_not_fit(kept, "the number changed hands; choose which child, or say the day")
    filing = _changed(session, kept, guess, given)
    filing = _with_holders(session, kept, filing) if filing.what is What.WORK else _with_work(session, kept, filing)
    if not filing.is_complete:
        raise _does_not_fit(kept, _missing(filing))
    return filing


def _view_of_number(session: Session, kept: QuestionKept, said: Filing) -> Filing:
    """A further view of the newest work of the number, class and day that were said."""
    day = said.day or _day_of(session, kept)
    if said.class_id is None or len(said.numbers) != 1:
        raise _does_not_fit(kept, "say the class and one number")
    there = [one for one in works.filed_on_days(session, [said.class_id], [day]) if said.numbers[0] in one.numbers]
    if not there:
        raise _does_not_fit(kept, f"there is no work of number {said.numbers[0]} in this class on that day")
    joined = max(one.work_id for one in there)
    return replace(said, what=What.VIEW, role=Role.ANGLE, day=day, joins_work=joined, joins_photo=None)


def _changed(session: Session, kept: QuestionKept, guess: Filing, given: Answer) -> Filing:
    """The guess with the day, class and number that the teacher gave. A new work then, no longer a view."""
    if given.day is not None:
        guess = replace(guess, day=given.day, student_ids=())
    if given.class_label is not None:
        class_id = _class_id(session, kept, given.class_label, day=given.day)
        guess = replace(guess.as_work(), class_id=class_id)
    numbers = given.numbers or ((given.number,) if given.number is not None else ())
    if numbers:
        guess = replace(guess.as_work(), numbers=numbers)
    return guess


def _first_was_another(session: Session, kept: QuestionKept, number: int) -> Filing:
    """The earlier photo of this number was another child's: its work moves there, this photo is a new work."""
    choices = [Filing.from_json(one) for one in (kept.guess or {}, *kept.options) if one]
    view = next((one for one in choices if one.what is What.VIEW), None)
    own = next((one for one in choices if one.what is What.WORK), None)
    if kept.kind != QuestionKind.SAME_NUMBER.value or view is None or own is None:
        raise _does_not_fit(kept, "there is no earlier photo of the same number")
    joined = _with_work(session, kept, view)
    moved = _with_holders(session, kept, replace(own.as_work(), numbers=(number,)))
    assert joined.joins_work is not None
    works.move_work(session, joined.joins_work, number=number, student_id=moved.student_ids[0])
    return own


def _with_holders(session: Session, kept: QuestionKept, guess: Filing) -> Filing:
    """The children who hold the numbers in the class on the day, looked up anew."""
    if guess.day is None:
        guess = replace(guess, day=_day_of(session, kept))
    if guess.class_id is None or guess.day is None or not guess.numbers:
        return replace(guess, student_ids=())
    holding = {one.number: one for one in people.roll(session, day=guess.day, class_id=guess.class_id)}
    missing = [number for number in guess.numbers if number not in holding]
    if missing:
        raise _does_not_fit(kept, f"nobody has number {missing[0]} in this class on that day")
    return replace(guess, student_ids=tuple(holding[number].student_id for number in guess.numbers))


def _day_of(session: Session, kept: QuestionKept) -> date:
    if kept.guess and kept.guess.get("day"):
        return date.fromisoformat(kept.guess["day"])
    photo = photos.photo(session, kept.photo_id or 0)
    return photo.taken.local.date() if photo.taken else photos.batch(session, photo.batch_id).added_on


def _with_work(session: Session, kept: QuestionKept, guess: Filing) -> Filing:
    if guess.joins_work is not None:
        return guess
    work_id = works.work_of_photo(session, guess.joins_photo or 0)
    if work_id is None:
        raise _does_not_fit(kept, "the photo it belongs to is not filed yet; answer that one first")
    return replace(guess, joins_work=work_id, joins_photo=None)


def _class_id(session: Session, kept: QuestionKept, label: str, *, day: date | None = None) -> int:
    day = day or _day_of(session, kept)
    year = school.year_of_day(session, day)
    if year is None:
        raise NotFound("not-found", item="A school year for this day")
    return school.class_by_label(session, label, year_id=year.year_id).class_id


def _pick(kept: QuestionKept, option: int) -> dict[str, Any]:
    if not 0 <= option < len(kept.options):
        raise _does_not_fit(kept, f"there is no choice {option + 1}")
    return kept.options[option]


def _missing(filing: Filing) -> str:
    if not filing.numbers:
        return "the number is missing"
    return "the class is missing" if filing.class_id is None else "the day is missing"


def _does_not_fit(kept: QuestionKept, why: str) -> PortfolioError:
    return PortfolioError("bad-request", item=f"The answer to question {kept.question_id}", found=why)


# --- is the edge right ----------------------------------------------------------------------------------------


def _answer_edge(library: Library, kept: QuestionKept, given: Answer, *, executor: Executor | None) -> int:
    """One answer, also for a whole group, is one step; of a group, each photo gets the edge that was found in it."""
    if given.polygon is None and not (kept.guess or {}).get("outline_px"):
        raise _does_not_fit(kept, "no edge was found, so show it")
    with library.reading() as session:
        asked = questions.same_group(session, kept) if given.whole_group else [kept]
    if given.whole or given.aside:
        with library.writing(who="teacher", what="answered a question", batch_id=kept.batch_id) as writing:
            for one in asked:
                questions.answer(writing.session, one.question_id, {"whole": True})
            return writing.action_id
    if not given.yes and given.polygon is None:
        raise _does_not_fit(kept, "say yes, show the edge, or keep the whole photo")
    if given.polygon is not None:
        asked = [kept]
    cuts = [_cut(library, one.photo_id or 0, _edge(one, given), given.quarter_turns, executor) for one in asked]
    answered = tuple(one.question_id for one in asked)
    return _keep_cuts(library, cuts, batch_id=kept.batch_id, answered=answered)


def _edge(kept: QuestionKept, given: Answer) -> Crop:
    proposed = crop_from_json(kept.guess or {})
    outline = given.polygon or proposed.outline_px
    return replace(proposed, outline_px=outline, sure=True, by_hand=given.polygon is not None, why="")


def crop_by_hand(
    library: Library,
    photo_id: int,
    polygon: Polygon,
    *,
    quarter_turns: int = 0,
    keep_size: bool = False,
    executor: Executor | None = None,
) -> int:
    """The teacher sets a view's edge herself; it stays for ever. Gives the action's id. Answers what asks for it.

    ``keep_size``: the edge says nothing of the work's size, so the size stays as it was.
    """
    crop = Crop(polygon, sure=True, shape="sheet" if len(polygon) == 4 else "free", by_hand=True)
    cut = _cut(library, photo_id, crop, quarter_turns, executor)
    if keep_size:
        cut = replace(cut, made=replace(cut.made, size=None))
    with library.reading() as session:
        asked = questions.about_edge(session, photo_id)
    return _keep_cuts(library, [cut], batch_id=cut.photo.batch_id, answered=asked)


@dataclass(frozen=True, slots=True)
class _Cut:
    """A view that was cropped anew; its pictures are written, its record is not."""

    photo: PhotoKept
    view: ViewKept
    crop: Crop
    quarter_turns: int
    made: Straightened
    key: str


def _cut(library: Library, photo_id: int, crop: Crop, quarter_turns: int, executor: Executor | None) -> _Cut:
    with library.reading() as session:
        photo = photos.photo(session, photo_id)
        view = works.view_of_photo(session, photo_id)
    path = library.photo_path(photo.sha256)
    number = number_of_part(photo)
    request = CropRequest(path, photo.file_name, crop, quarter_turns, limits_of(library), number=number)
    made = crop_now(photo, request, executor)
    return _Cut(photo, view, crop, quarter_turns, made, write_pictures(library, made.derivatives))


def _keep_cuts(library: Library, cuts: Sequence[_Cut], *, batch_id: int | None, answered: Sequence[int] = ()) -> int:
    """Keep the new crops and close the questions about them, all in one step; gives the action's id."""
    with library.writing(who="teacher", what="set the edge of a work", batch_id=batch_id) as writing:
        session = writing.session
        off_scale = scale_of_batch(session, cuts[0].photo.batch_id) is not None
        for question_id, cut in zip(answered, cuts, strict=False):
            questions.answer(session, question_id, {"crop": crop_as_json(cut.crop)})
        for cut in cuts:
            works.recrop(
                session,
                cut.view,
                crop=crop_as_json(cut.crop),
                quarter_turns=cut.quarter_turns,
                derived_key=cut.key,
                size=_as_about(cut.made.size) if off_scale else cut.made.size,
                colors=cut.made.color_shares,
            )
        return writing.action_id


def _as_about(size: SizeMm | None) -> SizeMm | None:
    """A size by a card of the wrong scale stays "about", however well the edge is known."""
    return replace(size, about=True, sheet=None) if size is not None else None


# --- undo -----------------------------------------------------------------------------------------------------


def undo(library: Library, action_id: int | None = None, *, who: str = "teacher") -> int:
    """Undo one step as a whole (the newest filing or answer when none is named); gives the undoing action's id.

    A photo that the program had filed by itself becomes a question, so that it is not filed the same way again.
    """
    with library.writing(who=who, what="undid a step") as writing:
        session = writing.session
        key = action_id if action_id is not None else history.newest_to_undo(session)
        if key is None:
            raise NotFound("not-found", item="A step to undo")
        changed = [photos.photo(session, one) for one in history.photos_changed(session, key)]
        before = {one.photo_id: one for one in changed if one.filing is not None}
        history.undo(session, key, undoing_id=writing.action_id)
        for photo_id, one in before.items():
            if photos.exists(session, photo_id):
                _ask_again(session, photos.photo(session, photo_id), one)
        return writing.action_id


def _ask_again(session: Session, now: PhotoKept, before: PhotoKept) -> None:
    if now.state is not PhotoState.STORED or before.filing is None:
        return
    guess = before.filing
    words = "You took this filing back."
    asked = Asked(QuestionKind.TAKEN_BACK, words, guess)
    questions.ask(session, asked, batch_id=now.batch_id, photo_id=now.photo_id)
    photos.set_state(session, now.photo_id, PhotoState.QUESTION, reason=words)
