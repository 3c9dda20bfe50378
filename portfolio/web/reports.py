"""Report galleries: what the archive already holds for each class of the term."""

from __future__ import annotations

from datetime import date

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from portfolio.flows.desk import TermLine, see_term
from portfolio.model.calendar import SchoolYear, Term
from portfolio.web import words
from portfolio.web.answers_shows import ReportLine, ReportsPage
from portfolio.web.desk import desk_of
from portfolio.web.render import page

router = APIRouter(include_in_schema=False)


@router.get("/reports")
def show_reports(request: Request) -> HTMLResponse:
    """What a page for each child could show by now."""
    desk = desk_of(request)
    term, year, lines = see_term(desk.library, desk.today())
    return page(request, "reports.html", drawer="/reports", page=reports_page(term, year, lines, today=desk.today()))


def reports_page(
    term: Term | None, year: SchoolYear | None, lines: tuple[TermLine, ...], *, today: date
) -> ReportsPage:
    """The answer for the term; a class without works is said as that, not left out."""
    if year is None:
        return ReportsPage("", (), "No school year yet. Import a roster to begin.")
    name = term.label if term else f"School year {words.year(year.label)}"
    first, last = (term.starts_on, term.ends_on) if term else (year.starts_on, year.ends_on)
    about = f"{name}, {words.days(first, last, today=today)}"
    span = words.span(first, last, year=year, today=today)
    return ReportsPage(about, tuple(_line(one) for one in _by_grade(lines) if one.children), _sentence(lines, span))


def _by_grade(lines: tuple[TermLine, ...]) -> list[TermLine]:
    return sorted(lines, key=lambda one: words.grade_order(one.group.grade))


def _sentence(lines: tuple[TermLine, ...], span: str) -> str:
    children = sum(one.children for one in lines)
    works = sum(one.works for one in lines)
    said = sum(one.with_words for one in lines)
    nothing = sum(one.nothing for one in lines)
    if not children:
        return "No child has a number yet. Import a roster to begin."
    if not works:
        return f"Nothing is kept {span} yet. After the next lesson, add the photos."
    without = (
        f"{words.count(nothing, 'child has', 'children have')} nothing kept yet."
        if nothing
        else "Every child has a work."
    )
    kept = f"{words.count(works, 'work')} {'is' if works == 1 else 'are'} kept {span}"
    return f"{kept}, with words from {said} of {words.count(children, 'child', 'children')}. {without}"


def _line(one: TermLine) -> ReportLine:
    nothing = words.count(one.nothing, "child", "children") if one.nothing else "everyone has a work"
    said = f"{one.with_words} of {words.count(one.children, 'child', 'children')}"
    return ReportLine(
        label=one.group.label,
        href=f"/classes/{one.group.class_id}",
        children=one.children,
        works=f"{one.works:,}" if one.works else "none yet",
        words=said if one.with_words else "none yet",
        nothing=nothing,
    )
