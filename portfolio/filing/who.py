"""Who holds the numbers on the cards: from cards, place and roll to a filing, or the doubt that the roll raises."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from portfolio.filing.laid import Doubt, Laid
from portfolio.filing.place import Place
from portfolio.filing.roll import Roll
from portfolio.filing.stream import Stream
from portfolio.model.cards import only_sure
from portfolio.model.filing import Filing, FilingContext, QuestionKind, What
from portfolio.model.phrases import day_words, numbers


class Who:
    """The roll and the choices of one batch, asked for one photo at a time."""

    def __init__(self, context: FilingContext, roll: Roll) -> None:
        self.context = context
        self.roll = roll

    def base(self, found: Laid, stream: Stream, place: Place) -> Filing:
        """The new work that the cards speak of, as far as it is known."""
        medium_id = self._medium(found, stream)
        centre_id = self._centre(medium_id)
        base = Filing(What.WORK, place.class_id, found.values, place.day, medium_id=medium_id, centre_id=centre_id)
        return replace(base, student_ids=self._holders(base, place))

    def _medium(self, found: Laid, stream: Stream) -> int | None:
        """The medium card beside the work, else the one before it, else the one chosen. An unclear card leaves it
        open: a wrong medium is worse than none.
        """
        if found.media:
            trusted = only_sure(found.media)
            one = len(trusted) == 1 and len(found.media) == 1
            return self.context.medium_cards.get(trusted[0].value) if one else None
        return stream.medium_id if stream.medium_set else self.context.chosen.medium_id

    def _centre(self, medium_id: int | None) -> int | None:
        """The center chosen, unless a medium card says a medium that only another center has."""
        chosen, own = self.context.chosen, self.context.centre_of.get(medium_id or 0)
        by_card = own is not None and medium_id != chosen.medium_id
        return own if by_card or chosen.centre_id is None else chosen.centre_id

    def with_numbers(self, guess: Filing, values: tuple[int, ...], place: Place) -> Filing:
        """The same for other numbers, with their holders."""
        changed = replace(guess, numbers=values, student_ids=())
        return replace(changed, student_ids=self._holders(changed, place))

    def in_class(self, guess: Filing, class_id: int, place: Place) -> Filing:
        """The same in another class, with the holders there."""
        return self.with_numbers(replace(guess, class_id=class_id), guess.numbers, place)

    def _holders(self, base: Filing, place: Place) -> tuple[int, ...]:
        """The children who hold all these numbers, or nobody."""
        if base.class_id is None or base.day is None:
            return ()
        found = [self._holder(base.class_id, number, place) for number in base.numbers]
        return tuple(child for child in found if child is not None) if None not in found else ()

    def _holder(self, class_id: int, number: int, place: Place) -> int | None:
        if place.day is None:
            return None
        if not place.day_known:
            return self.roll.only_holder(class_id, number)
        return self.roll.holder(class_id, number, day=place.day)

    def doubt(self, base: Filing, place: Place) -> Doubt | None:
        """Why the roll does not say who it is; ``None`` when it does (or class or day are in doubt already)."""
        if base.class_id is None or base.day is None:
            return None
        label = self.context.labels.get(base.class_id, "this class")
        away = [number for number in base.numbers if number in self.context.chosen.absent_in(base.class_id)]
        if away:
            return Doubt(QuestionKind.ABSENT, f"you said that {numbers(away)} of {label} was absent")
        if base.student_ids:
            return None
        empty = [number for number in base.numbers if self._holder(base.class_id, number, place) is None]
        if not place.day_known and all(len(self.roll.holders(base.class_id, number)) > 1 for number in empty):
            clause = f"{numbers(empty)} of {label} changed hands this year, and the photo says no day"
            return Doubt(QuestionKind.NO_DAY, clause)
        return Doubt(QuestionKind.NOBODY, f"nobody in {label} has {numbers(empty)} on {day_words(base.day)}")

    def each_holder(self, base: Filing) -> tuple[Filing, ...]:
        """For a number that changed hands: one choice for each child who held it, on the nearest day of its time."""
        if len(base.numbers) != 1 or base.class_id is None or base.day is None:
            return ()
        return tuple(
            replace(base, day=min(max(base.day, one.from_day), one.to_day or date.max), student_ids=(one.student_id,))
            for one in self.roll.holders(base.class_id, base.numbers[0])
        )

    def elsewhere(self, guess: Filing, place: Place) -> tuple[Filing, ...]:
        """Where the number is held, when only few classes come in question."""
        if len(guess.numbers) != 1 or place.day is None:
            return ()
        classes = [key for key in self.roll.classes_with(guess.numbers[0], day=place.day) if key != guess.class_id]
        return tuple(self.in_class(guess, key, place) for key in classes) if len(classes) <= 3 else ()
