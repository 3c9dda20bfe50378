"""The invented school's show: chosen by the program's own rules, published like any other."""

from __future__ import annotations

from pathlib import Path

from portfolio.archive.library import Library
from portfolio.demo.plan import SchoolPlan
from portfolio.flows import plan_show, publish
from portfolio.model.finding import Filters
from portfolio.model.people import Audience
from portfolio.model.showing import ShowLimits

TITLE = "Low Tide, High Sky"
INTRO = (
    "Works of one school year, by children from kindergarten to grade 5. They chose what to make and what to make it "
    "with; the words beside the works are their own."
)


def make_show(library: Library, plan: SchoolPlan, folder: Path, *, light: bool = False) -> dict[str, object]:
    """A show of the newest year: one work at least of every child who may be shown, published for everybody.

    Gives the counts of choosing and publishing.
    """
    year = plan.years[-1].label
    show = plan_show.new_show(library, TITLE, intro=INTRO, year=year, place="the hall by the library", today=plan.today)
    offered = plan_show.add_works(library, show.show_id, filters=Filters(year=year))
    choice = plan_show.choose_works(
        library, show.show_id, audience=Audience.PUBLIC, limits=ShowLimits(per_child=1), today=plan.today
    )
    published = publish.publish(
        library, show.show_id, audience=Audience.PUBLIC, folder=folder, today=plan.today, light=light
    )
    return {
        "offered": offered.added,
        "chosen": len(choice.chosen),
        "children_without_a_place": len(choice.missing),
        "words_held": len(published.words_held),
        **published.as_json(),
    }
