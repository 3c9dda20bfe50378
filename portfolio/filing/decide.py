"""The rules, photo by photo, in the order taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

from portfolio.filing.checks import class_checks
from portfolio.filing.clock import ClassCardShot, learn_clocks
from portfolio.filing.halves import BEGUN_FOR, IN_DOUBT, join_halves, only_lone_halves
from portfolio.filing.laid import ROLES, Doubt, Laid, laid, number_doubt
from portfolio.filing.ordering import by_order_of_numbers
from portfolio.filing.place import Clocks, Place, place_of, taken_at
from portfolio.filing.register import GRAY_BITS, NEAR_BITS, Entry, Register
from portfolio.filing.roll import Roll
from portfolio.filing.stacks import doubt_stacks
from portfolio.filing.stream import Before, Stream, after_class_cards, after_slate, slate_sentence
from portfolio.filing.who import Who
from portfolio.model.cards import Control, only_sure
from portfolio.model.filing import (
    Asked,
    BatchDecisions,
    BatchMode,
    Decision,
    Filing,
    FilingContext,
    Outcome,
    PhotoEvidence,
    QuestionKind,
    Role,
    What,
)
from portfolio.model.photo import TakenSource
from portfolio.model.phrases import apart, listed, numbers, sentence

NEAR_TIME = timedelta(minutes=5)
"""A photo without a card is offered with the photo before when it was taken within this time."""
TURNED = timedelta(minutes=1)
"""So soon after its first photo, a number that comes again with a picture that cannot be compared is likely the same
work from another side; those of one class are asked together."""


def decide_batch(photos: Sequence[PhotoEvidence], context: FilingContext) -> BatchDecisions:
    """Decide every photo of a batch. ``photos`` stand in the order taken; each comes back once, in that order.

    The same evidence always gives the same decisions, so a batch may be decided again when more photos arrive.
    """
    learned = learn_clocks(_class_card_shots(photos, context), context.slots_on, before=context.clocks)
    run = _Run(context, Clocks(learned, context.clocks))
    decided = [run.decide(photo) for photo in photos]
    if context.chosen.mode is BatchMode.ORDER:
        decided = by_order_of_numbers(decided, photos, places=run.places, context=context, roll=run.roll)
    decided = join_halves(only_lone_halves(decided), {photo.photo_id: photo.crop_hash for photo in photos})
    decided = doubt_stacks(decided, places=run.places)
    return BatchDecisions(tuple(decided), class_checks(decided, photos, context=context, roll=run.roll), learned)


def _class_card_shots(photos: Sequence[PhotoEvidence], context: FilingContext) -> list[ClassCardShot]:
    shots = []
    for photo in photos:
        trusted = only_sure(laid(photo.cards).classes)
        timed = photo.taken is not None and photo.taken.source is not TakenSource.FILE
        if len(trusted) != 1 or photo.taken is None or not timed:
            continue
        class_id = context.class_cards(trusted[0].value, photo.taken.local.date())
        if class_id is not None:
            shots.append(ClassCardShot(photo.camera or "", photo.taken.local, class_id))
    return shots


class _Run:
    """One pass over a batch: the state per camera, and the works so far."""

    def __init__(self, context: FilingContext, clocks: Clocks) -> None:
        self.context = context
        self.clocks = clocks
        self.roll = Roll(context.roll)
        self.who = Who(context, self.roll)
        self.register = Register(context.filed)
        self.streams: dict[str, Stream] = {}
        self.places: dict[int, Place] = {}
        self.waiting: dict[tuple[int | None, tuple[int, ...]], int] = {}
        """Class and numbers → the last photo of them that is asked about."""
        self.halves: set[int] = set()
        """Photos that are asked about because half of their card is hidden, or the card before lies there too."""

    def decide(self, photo: PhotoEvidence) -> Decision:
        """One photo; remembers what it sets for the photos that follow."""
        camera = photo.camera or ""
        stream = self.streams.get(camera, Stream())
        found = laid(photo.cards)
        if photo.closed or photo.fixed is not None:
            self.streams[camera] = self._keep(photo, found, stream)
            return Decision(photo.photo_id, Outcome.KEEP, "")
        if found.is_slate:
            stream = self._turn_slate(photo, found, stream)
            self.streams[camera] = stream
            reason = slate_sentence(found, stream, labels=self.context.labels)
            return Decision(photo.photo_id, Outcome.SLATE, reason)
        decision, stream = self._judge(photo, found, stream)
        self.streams[camera] = stream
        return decision

    def _turn_slate(self, photo: PhotoEvidence, found: Laid, stream: Stream) -> Stream:
        at = taken_at(photo, self.clocks)
        day = self.context.chosen.day or (at.date() if at else self.context.added_on)
        return after_slate(
            stream,
            found,
            class_of=lambda card: self.context.class_cards(card, day),
            medium_cards=self.context.medium_cards,
            on=at.date() if at else None,
            at=at,
        )

    def _keep(self, photo: PhotoEvidence, found: Laid, stream: Stream) -> Stream:
        """What the teacher has settled still counts for the photos around it, and so do the cards in it: they set and
        end the same as if it had been filed by the program.
        """
        if found.is_slate:
            return self._turn_slate(photo, found, stream)
        place = place_of(photo, found, stream, context=self.context, clocks=self.clocks)
        if not found.is_empty:
            stream = self._turn_class(found, stream, place)
        filing = photo.fixed
        if filing is None:
            return _behind(found, stream)
        if filing.what is What.WORK and filing.class_id is not None and filing.day is not None:
            self._note(photo, filing)
        self.waiting.pop((filing.class_id, filing.numbers), None)
        before = Before(photo.photo_id, filing, place.at, True, photo.crop_hash)
        return _behind(found, stream, before)

    def _note(self, photo: PhotoEvidence, filing: Filing) -> None:
        assert filing.class_id is not None
        assert filing.day is not None
        crop_hash = photo.crop_hash
        self.register.add(filing.class_id, filing.numbers, filing.day, photo_id=photo.photo_id, crop_hash=crop_hash)

    def _judge(self, photo: PhotoEvidence, found: Laid, stream: Stream) -> tuple[Decision, Stream]:
        place = place_of(photo, found, stream, context=self.context, clocks=self.clocks)
        self.places[photo.photo_id] = place
        if found.is_empty:
            return self._without_card(photo, stream, place), replace(stream, loose=True)
        stream = self._turn_class(found, stream, place)
        decision = self._with_number(photo, found, stream, place)
        filing = decision.meant or Filing()
        filed = decision.outcome is Outcome.FILE
        if filed and filing.what is What.WORK:
            self._note(photo, filing)
        if decision.asked is not None and decision.asked.kind in IN_DOUBT:
            self.halves.add(photo.photo_id)
        if filed:
            self.waiting.pop((filing.class_id, filing.numbers), None)
        elif filing.what is What.WORK or decision.asked is None or decision.asked.kind is QuestionKind.SAME_NUMBER:
            self.waiting[(filing.class_id, filing.numbers)] = photo.photo_id
        before = Before(photo.photo_id, filing, place.at, filed, photo.crop_hash)
        return decision, _behind(found, stream, before)

    def _turn_class(self, found: Laid, stream: Stream, place: Place) -> Stream:
        day = place.day or self.context.added_on
        stream = after_class_cards(
            stream,
            found.classes,
            class_of=lambda card: self.context.class_cards(card, day),
            on=place.at.date() if place.at else None,
            at=place.at,
        )
        return replace(stream, last_at=place.at or stream.last_at) if place.doubt is None else stream

    # --- a photo with number cards ------------------------------------------------------------------------------------

    def _with_number(self, photo: PhotoEvidence, found: Laid, stream: Stream, place: Place) -> Decision:
        base = self.who.base(found, stream, place)
        evidence = {**place.evidence, "number_cards": [[card.value, card.status.value] for card in found.numbers]}
        doubt = self._doubt(found, stream, base, place)
        if doubt is not None and doubt.kind is QuestionKind.TWO_NUMBERS:
            return self._two_numbers(photo, doubt, base, stream, place=place, evidence=evidence)
        if doubt is not None:
            options = self.who.each_holder(base) if doubt.kind is QuestionKind.NO_DAY else ()
            group = f"half-{base.class_id}" if self._is_lone_half(doubt, base, place) else None
            return self._ask(photo, doubt, base, place=place, evidence=evidence, options=options, group=group)
        role = found.role or _standing_role(stream, base)
        if role is not None:
            return self._added(photo, base, role, loose=stream.loose, place=place, evidence=evidence)
        return self._new_or_again(photo, base, stream, place=place, evidence=evidence)

    def _doubt(self, found: Laid, stream: Stream, base: Filing, place: Place) -> Doubt | None:
        """The first thing that keeps this photo from being filed; a doubt about the class is told with it."""
        first = number_doubt(found)
        if first is None and stream.group and len(found.values) == 1:
            clause = f"the group card lies before it, but number card {found.values[0]} is alone"
            first = Doubt(QuestionKind.GROUP_OF_ONE, clause)
        if first is not None and place.doubt is not None:
            return Doubt(first.kind, f"{first.clause}; {place.doubt.clause}")
        return first or place.doubt or self.who.doubt(base, place)

    def _is_lone_half(self, doubt: Doubt, base: Filing, place: Place) -> bool:
        """Half a card whose number somebody holds and nobody has used yet: those of one class are asked together."""
        return (
            doubt.kind is QuestionKind.HALF_CARD
            and place.doubt is None
            and base.is_complete
            and not self._entries(base)
            and (base.class_id, base.numbers) not in self.waiting
        )

    def _two_numbers(
        self,
        photo: PhotoEvidence,
        doubt: Doubt,
        base: Filing,
        stream: Stream,
        *,
        place: Place,
        evidence: dict[str, Any],
    ) -> Decision:
        """Often the card of the work before is still in view; then the other one is the best guess."""
        singles = [self.who.with_numbers(base, (number,), place) for number in base.numbers]
        left_over = stream.before.filing.numbers if stream.before else ()
        fresh = [one for one in singles if one.numbers != left_over]
        if len(fresh) == 1:
            guess, options = fresh[0], (*(one for one in singles if one is not fresh[0]), base)
        else:
            guess, options = base, tuple(singles)
        return self._ask(photo, doubt, guess, place=place, evidence=evidence, options=options)

    def _added(
        self, photo: PhotoEvidence, base: Filing, role: Role, *, loose: bool, place: Place, evidence: dict[str, Any]
    ) -> Decision:
        """A control card says that this shows a work that is there already: the work before with the same number."""
        word = next(control.value for control, says in ROLES.items() if says is role)
        entries = self._entries(base)
        open_photo = self.waiting.get((base.class_id, base.numbers))
        if open_photo in self.halves and role is Role.ANGLE and not entries and not loose:
            return self._begun_for_half(photo, base, open_photo, place=place, evidence=evidence)
        why = ""
        if open_photo is not None:
            why = "a photo of this number is still to check"
        elif not entries:
            why = "no work of this number was taken that day"
        elif loose and role is not Role.SLIP:
            why = "a photo without a card lies before it"
        elif role is Role.SLIP and len(entries) > 1:
            why = "this number has several works that day"
        if why:
            doubt = Doubt(QuestionKind.NOTHING_BEFORE, f"the card \u201c{word}\u201d lies beside it, but {why}")
            guess = replace(_join(base, entries[-1]), role=role) if entries else base
            if open_photo is not None:
                guess = replace(base, what=What.VIEW, role=role, joins_photo=open_photo)
            return self._ask(photo, doubt, guess, place=place, evidence=evidence)
        filing = replace(_join(base, entries[-1]), role=role)
        if photo.crop_hash is not None and role is not Role.SLIP:
            entries[-1].crop_hashes.append(photo.crop_hash)
        reason = sentence(f"the card \u201c{word}\u201d and {_card_words(base)}", place.clause)
        return Decision(photo.photo_id, Outcome.FILE, reason, filing=filing, evidence=evidence)

    def _begun_for_half(
        self, photo: PhotoEvidence, base: Filing, half: int, *, place: Place, evidence: dict[str, Any]
    ) -> Decision:
        """Another view of a work whose first photo is in doubt about its card: the one whole card here says whose it
        is, so this photo begins the work, and the first is asked about as a view of it.
        """
        clause = "the first photo of this work is still to check"
        reason = sentence(f"the card \u201canother view\u201d and {_card_words(base)}", place.clause, clause)
        return Decision(photo.photo_id, Outcome.FILE, reason, filing=base, evidence={**evidence, BEGUN_FOR: half})

    def _entries(self, base: Filing) -> list[Entry]:
        assert base.class_id is not None
        assert base.day is not None
        return self.register.of(base.class_id, base.numbers, base.day)

    def _new_or_again(
        self, photo: PhotoEvidence, base: Filing, stream: Stream, *, place: Place, evidence: dict[str, Any]
    ) -> Decision:
        """A new work; or another photo of one that looks the same; or, when the pictures differ, a question."""
        entries = self._entries(base)
        if not entries:
            reason = sentence(f"{_card_words(base)} lies in the photo", place.clause)
            return Decision(photo.photo_id, Outcome.FILE, reason, filing=base, evidence=evidence)
        assert base.class_id is not None
        assert base.day is not None
        near = self.register.nearest(base.class_id, base.numbers, base.day, crop_hash=photo.crop_hash)
        told = {**evidence, "bits_apart": near[1] if near else None}
        if near is not None and near[1] <= NEAR_BITS:
            entry = near[0]
            if photo.crop_hash is not None:
                entry.crop_hashes.append(photo.crop_hash)
            reason = sentence(f"{_card_words(base)} lies in the photo", place.clause, "it shows the same picture again")
            filing = replace(_join(base, entry), role=Role.ANGLE)
            return Decision(photo.photo_id, Outcome.FILE, reason, filing=filing, evidence=told)
        return self._same_number(photo, base, near, stream, place=place, evidence=told)

    def _same_number(
        self,
        photo: PhotoEvidence,
        base: Filing,
        near: tuple[Entry, int] | None,
        stream: Stream,
        *,
        place: Place,
        evidence: dict[str, Any],
    ) -> Decision:
        entries = self._entries(base)
        alike = near is not None and near[1] <= GRAY_BITS
        right_after = near is None and _is_right_after(stream.before, base, place)
        view = replace(_join(base, near[0] if near and alike else entries[-1]), role=Role.ANGLE)
        look = "looks much the same" if alike else ("looks different" if near else "cannot be compared")
        label = self.context.labels.get(base.class_id or 0, "this class")
        when = "just before" if right_after else "before on that day"
        clause = f"{numbers(base.numbers)} of {label} was photographed {when}, and this picture {look}"
        guess, other = (view, base) if alike or right_after else (base, view)
        group = f"again-{base.class_id}" if right_after else None
        beside = tuple(entry.photo_id for entry in entries if entry.photo_id is not None)
        doubt = Doubt(QuestionKind.SAME_NUMBER, clause)
        return self._ask(
            photo, doubt, guess, place=place, evidence=evidence, options=(other,), group=group, beside=beside
        )

    # --- a photo without any card -------------------------------------------------------------------------------------

    def _without_card(self, photo: PhotoEvidence, stream: Stream, place: Place) -> Decision:
        """Never filed by itself. It is grouped with the photo before as a suggestion that one key can accept."""
        blank = self.who.base(Laid(), stream, place)
        before = stream.before
        doubt = Doubt(QuestionKind.NO_CARD, "no card can be seen in the photo")
        if before is None or not _is_near(before, place):
            return self._ask(photo, doubt, blank, place=place, evidence=dict(place.evidence), group="without-card")
        filing = before.filing
        gap = apart(abs((place.at - before.at).total_seconds())) if place.at and before.at else ""
        shown = f"{numbers(filing.numbers)} of {self.context.labels.get(filing.class_id or 0, 'a class')}"
        clause = f"{doubt.clause}; it was taken {gap + ' ' if gap else 'right '}after a photo of {shown}"
        guess = replace(filing, what=What.VIEW, role=Role.ANGLE, joins_photo=filing.joins_photo or before.photo_id)
        if filing.joins_work is not None:
            guess = replace(guess, joins_photo=None)
        asked = Doubt(doubt.kind, clause)
        return self._ask(
            photo,
            asked,
            guess,
            place=place,
            evidence=dict(place.evidence),
            options=(blank,),
            group=f"after-{before.photo_id}",
            beside=(before.photo_id,),
        )

    # --- a question ---------------------------------------------------------------------------------------------------

    def _ask(
        self,
        photo: PhotoEvidence,
        doubt: Doubt,
        guess: Filing,
        *,
        place: Place,
        evidence: dict[str, Any],
        options: tuple[Filing, ...] = (),
        group: str | None = None,
        beside: tuple[int, ...] = (),
    ) -> Decision:
        in_doubt = place.doubt is not None and guess.what is What.WORK
        others = tuple(self.who.in_class(guess, class_id, place) for class_id in place.others if in_doubt)
        if doubt.kind is QuestionKind.NOBODY and not place.confirmed:
            others += self.who.elsewhere(guess, place)
        if group is None and place.doubt is not None and doubt is place.doubt:
            group = f"{doubt.kind.value}-{guess.class_id or 0}"
        asked = Asked(doubt.kind, sentence(doubt.clause), guess, options + others, group, beside)
        reason = asked.evidence
        return Decision(photo.photo_id, Outcome.ASK, reason, asked=asked, evidence=evidence)


def _behind(found: Laid, stream: Stream, before: Before | None = None) -> Stream:
    """The state behind a photo of a work; ``before`` is what is known of it, if anything."""
    if Control.END_OF_CLASS in found.sure_controls:
        return Stream(before=None)
    if before is None:
        return stream
    filing = before.filing
    role = stream.role if stream.role is Role.SLIP or filing.what is What.VIEW else None
    return replace(stream, before=before, loose=False, role=role, group=stream.group and len(filing.numbers) > 1)


def _standing_role(stream: Stream, base: Filing) -> Role | None:
    """What a control card that lay alone says of this photo. Slips come in stacks; a further view only follows a
    photo of the same number.
    """
    if stream.role is Role.SLIP:
        return Role.SLIP
    same = stream.before is not None and stream.before.filing.numbers == base.numbers
    return stream.role if same else None


def _is_near(before: Before, place: Place) -> bool:
    """Whether a photo without a card may well show the work of the photo before."""
    if not before.filing.numbers or before.filing.class_id is None:
        return False
    if place.at is None or before.at is None:
        return True
    return abs(place.at - before.at) <= NEAR_TIME


def _is_right_after(before: Before | None, base: Filing, place: Place) -> bool:
    """Whether the photo before was filed under the same number within a minute: turning a three-dimensional work."""
    if before is None or not before.filed or before.filing.numbers != base.numbers:
        return False
    return place.at is not None and before.at is not None and abs(place.at - before.at) <= TURNED


def _join(base: Filing, entry: Entry) -> Filing:
    return replace(base, what=What.VIEW, joins_photo=entry.photo_id, joins_work=entry.work_id)


def _card_words(base: Filing) -> str:
    cards = "number cards" if len(base.numbers) > 1 else "number card"
    return f"{cards} {listed(base.numbers)}"
