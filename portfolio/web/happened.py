"""What happened to a work, in plain sentences: who did what, and which steps can be taken back here."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from itertools import groupby
from typing import Final

from portfolio.archive.one_work import ActionSeen, Changed
from portfolio.flows.one_work import WorkSeen
from portfolio.web import words
from portfolio.web.answers import Step

_UNDONE_HERE: Final = frozenset(
    {
        "filed a photo",
        "answered a question",
        "described a work",
        "set the edge of a work",
        "hid a part of a work",
        "showed a hidden part of a work",
        "took a work out",
        "kept what a child wrote",
        "kept what a child said",
        "decided about a name in a child's words",
    }
)
"""Steps about this one work. An import or a batch touches many works, so it is taken back where it was made."""

_SENTENCES: Final = {
    "stored a photo": "{who} took the photo in.",
    "received an original": "{who} received the photo from the phone.",
    "read a photo": "{who} read the photo: its card, its edge, its colors.",
    "took a first look": "{who} read the card in the photo.",
    "filed a photo": "{who} filed it.",
    "decided anew": "{who} filed it anew, after more photos of its batch had come.",
    "answered a question": "{who} answered a question about it.",
    "described a work": "{who} described it.",
    "set the edge of a work": "{who} set its edge.",
    "hid a part of a work": "{who} hid a part of it: only you see that part.",
    "showed a hidden part of a work": "{who} showed a hidden part of it again.",
    "took a work out": "{who} took it out of everything that is shown.",
    "took a batch back": "{who} took its whole batch back.",
    "corrected the sizes of a batch": "{who} corrected the sizes of its batch.",
    "made pictures from originals": "{who} made its pictures anew from the original photo.",
    "brought a picture back": "{who} brought its original photo back.",
    "kept what a child wrote": "{who} wrote about it at the reflection station.",
    "kept what a child said": "{who} wrote down what the child said about it.",
    "took in what children said": "{who} took in what children said, some of it about this work.",
    "matched what a child said": "{who} said that words are about this work.",
    "decided about a name in a child's words": "{who} decided who reads the child’s words.",
    "looked through children's words for names": "{who} looked through the child’s words for names.",
    "noted what she saw": "{who} noted what you saw.",
    "noted an observation": "{who} noted what you saw.",
    "undid a step": "{who} took a step back.",
}
_WHO: Final = {"teacher": "You", "program": "Portfolio", "station": "A child", "helper": "A helper"}


def steps_of(seen: WorkSeen, *, today: date) -> tuple[Step, ...]:
    """The history, newest first; at its foot why each photo was filed here."""
    several = len(seen.views) > 1
    why = [(f"Why it is here: {one.reason}", f"({one.role})" if several else "") for one in seen.views if one.reason]
    happened = _without_repeats([_step(one, today) for one in seen.actions])
    return (*happened, *(Step(text, role) for text, role in why))


def _without_repeats(steps: list[Step]) -> list[Step]:
    """The same step for several photos in a row is told once; one that can be taken back stands by itself."""
    told: list[Step] = []
    for _, run in groupby(steps, key=lambda one: (one.text, one.undo)):
        first, *more = run
        told.append(replace(first, text=f"{first.text} {len(more) + 1} times.") if more else first)
    return told


def _step(one: ActionSeen, today: date) -> Step:
    who = _WHO.get(one.who, f"A {one.who}")
    told = [_change(who, change) for change in one.changed] if one.what in _TOLD_BY_CHANGES else []
    text = " ".join(told) or _SENTENCES.get(one.what, f"{{who}} {one.what}.").format(who=who)
    undone = " This was undone." if one.undone else ""
    may_undo = not one.undone and not one.is_undo and one.what in _UNDONE_HERE
    return Step(f"{text}{undone}", words.moment(one.at_utc, today=today), one.action_id if may_undo else None)


_TOLD_BY_CHANGES: Final = frozenset({"described a work", "undid a step"})


def _change(who: str, change: Changed) -> str:
    """One changed fact as a sentence. A change that was undone reads the same way: it is what holds since then."""
    if change.fact == "tag":
        taken = f"{who} took the tag “{change.before}” away."
        return taken if change.before else f"{who} gave it the tag “{change.after}”."
    was, now = (f"“{one}”" if one else "" for one in (change.before, change.after))
    if change.fact == "title":
        if not now:
            return f"{who} took the title {was} away."
        return f"{who} changed the title from {was} to {now}." if was else f"{who} gave it the title {now}."
    if not change.after:
        return f"{who} took the {change.fact} {change.before} away."
    if not change.before:
        return f"{who} set the {change.fact} to {change.after}."
    return f"{who} changed the {change.fact} from {change.before} to {change.after}."
