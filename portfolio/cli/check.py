"""``portfolio check``: the questions that wait, answers, and undo."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

import typer

from portfolio.cli.frame import JsonOption, LibraryOption, answer, open_library
from portfolio.cli.ingest import day_of, report_lines
from portfolio.flows import card_scale, settle
from portfolio.flows.absent import file_with_absent
from portfolio.flows.batch_report import report_as_json
from portfolio.flows.batches import numbers_in
from portfolio.flows.executors import make_executor
from portfolio.flows.settle import Answer, QuestionSeen
from portfolio.model.filing import Filing, QuestionKind, Role, What

GROUP_LINE = "    --whole-group answers its whole group"

group = typer.Typer(help="What the program is unsure of: list it, answer it, undo a step.", no_args_is_help=False)


@group.callback(invoke_without_command=True)
def check(context: typer.Context, *, library: LibraryOption = None, as_json: JsonOption = False) -> None:
    """What the program is unsure of, best guess first.

    Example: portfolio check
    """
    if context.invoked_subcommand is None:
        list_questions(library=library, as_json=as_json)


@group.command("list")
def list_questions(
    *,
    batch: Annotated[int | None, typer.Option(help="Only this batch.")] = None,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """List the questions that wait.

    Example: portfolio check list --batch 4
    """
    with open_library(library, write=False) as opened:
        waiting = settle.waiting(opened, batch_id=batch)
    answer([_value(one) for one in waiting], as_json=as_json, lines=_lines(waiting))


@group.command("answer")
def answer_question(
    question: Annotated[int, typer.Argument(help="The question's number, as listed.")],
    *,
    yes: Annotated[bool, typer.Option("--yes", help="The best guess is right.")] = False,
    choice: Annotated[int | None, typer.Option(help="Another of the choices listed, from 1.")] = None,
    number: Annotated[int | None, typer.Option(help="It is this number.")] = None,
    class_: Annotated[str | None, typer.Option("--class", help="It is this class.")] = None,
    group_of: Annotated[str, typer.Option("--group", help="A group work of these numbers, e.g. 4,9.")] = "",
    each: Annotated[
        bool, typer.Option("--each", help="Each number in the photo has its own work; set their edges next.")
    ] = False,
    view_of: Annotated[int | None, typer.Option(help="It shows this work again.")] = None,
    first_number: Annotated[
        int | None, typer.Option(help="The earlier photo of the same number was this number's.")
    ] = None,
    day: Annotated[str | None, typer.Option(help="The day it was made, e.g. 2026-10-06.")] = None,
    work: Annotated[int | None, typer.Option(help="For words: the work they are about.")] = None,
    whole: Annotated[bool, typer.Option("--whole", help="For an edge: show the whole photo.")] = False,
    aside: Annotated[bool, typer.Option("--aside", help="Set the photo aside.")] = False,
    later: Annotated[bool, typer.Option("--later", help="Ask again later.")] = False,
    whole_group: Annotated[bool, typer.Option("--whole-group", help="The same for its whole group.")] = False,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Answer one question.

    Example: portfolio check answer 12 --number 9
    """
    given = Answer(
        yes=yes,
        option=None if choice is None else choice - 1,
        number=number,
        class_label=class_,
        day=day_of(day),
        first_number=first_number,
        numbers=tuple(sorted(numbers_in(group_of, what="The numbers of the group"))),
        each=each,
        view_of=view_of,
        work=work,
        whole=whole,
        aside=aside,
        later=later,
        whole_group=whole_group,
    )
    with open_library(library) as opened, make_executor("inline") as executor:
        action = settle.answer(opened, question, given, executor=executor)
        left = len(settle.waiting(opened))
    value = {"question": question, "action": action, "left": left}
    answer(value, as_json=as_json, lines=[f"Answered. {left} left. Undo with 'portfolio check undo {action}'."])


@group.command("absent")
def say_absent(
    batch: Annotated[int, typer.Argument(help="The batch, as ingest named it.")],
    numbers: Annotated[str, typer.Argument(help="All numbers that were absent, e.g. 3,11; empty for nobody.")] = "",
    *,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Say who was absent. The batch is filed and counted anew; what you have answered stays.

    Example: portfolio check absent 4 3,11
    """
    with open_library(library) as opened, make_executor("inline") as executor:
        report = file_with_absent(opened, batch, numbers_in(numbers), executor=executor)
    answer(report_as_json(report), as_json=as_json, lines=report_lines(report))


@group.command("sizes")
def correct_sizes(
    batch: Annotated[int, typer.Argument(help="The batch whose cards were printed at the wrong scale.")],
    *,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Correct the sizes of a batch by the scale that its sheets show.

    Example: portfolio check sizes 4
    """
    with open_library(library) as opened:
        action = card_scale.correct_sizes(opened, batch)
    lines = [f"Corrected. Undo with 'portfolio check undo {action}'."]
    answer({"batch": batch, "action": action}, as_json=as_json, lines=lines)


@group.command("undo")
def undo(
    action: Annotated[int | None, typer.Argument(help="The step to undo; the newest if none is named.")] = None,
    *,
    library: LibraryOption = None,
    as_json: JsonOption = False,
) -> None:
    """Undo a filing or an answer as a whole.

    Example: portfolio check undo
    """
    with open_library(library) as opened:
        undoing = settle.undo(opened, action)
    answer({"undone_by": undoing}, as_json=as_json, lines=["Undone. A photo that had been filed waits to be checked."])


def _value(one: QuestionSeen) -> dict[str, Any]:
    kept = one.kept
    return {
        "question": kept.question_id,
        "kind": kept.kind,
        "state": kept.state,
        "batch": kept.batch_id,
        "photo": kept.photo_id,
        "file": one.file_name,
        "work": kept.work_id,
        "evidence": kept.evidence,
        "guess": kept.guess,
        "options": list(kept.options),
        "group": kept.group,
        "words": one.words,
    }


def _lines(waiting: list[QuestionSeen]) -> Iterator[str]:
    if not waiting:
        yield "Nothing to check. Every photo has its number."
    for one in waiting:
        what = one.file_name or (f"“{one.words}”" if one.words else "")
        yield f"{one.kept.question_id}  {what}: {one.kept.evidence}"
        yield from _choices(one)


def _choices(one: QuestionSeen) -> Iterator[str]:
    """The best guess and the other choices, each with the word that takes it."""
    kept = one.kept
    if kept.kind in ("crop", "reflection"):
        how = "the edge that was found (--yes), or the whole photo (--whole)" if kept.kind == "crop" else "--work W"
        yield f"    {how}"
        if kept.group:
            yield GROUP_LINE
        return
    guess = Filing.from_json(kept.guess) if kept.guess else Filing()
    if guess.is_complete:
        yield f"    best guess: {_words(guess, one)}   (--yes)"
    else:
        how = "--day, or a choice" if kept.kind == "no-day" else "--number N"
        yield f"    say whose it is   ({how}, or --aside)"
    for place, option in enumerate(Filing.from_json(found) for found in kept.options):
        if option.is_complete:
            when = f", in its time up to {option.day}" if kept.kind == "no-day" else ""
            yield f"    or {_words(option, one)}{when}   (--choice {place + 1})"
    if kept.kind == QuestionKind.TWO_NUMBERS.value:
        yield "    or each number has its own work   (--each)"
    if kept.group:
        yield GROUP_LINE


def _words(filing: Filing, one: QuestionSeen) -> str:
    """A filing in the teacher's words: numbers and class, never a name."""
    label = (one.labels or {}).get(filing.class_id or 0, "")
    whose = f"number{'s' if len(filing.numbers) > 1 else ''} {' and '.join(map(str, filing.numbers))}"
    whose += f" of {label}" if label else ""
    if filing.what is What.WORK:
        return f"a group work of {whose}" if len(filing.numbers) > 1 else f"a work of {whose}"
    return f"another view of {whose}" if filing.role is Role.ANGLE else f"the {filing.role.value} of {whose}"
