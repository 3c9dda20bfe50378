"""The invented school walks the whole road once, from pixels; everything after that is looked at here."""

from pathlib import Path

import pytest

from portfolio.archive import doctor
from portfolio.archive.library import Library
from portfolio.archive.works import view_of_photo
from portfolio.demo import gallery
from portfolio.demo.fill import fill, is_filled
from portfolio.demo.plan import plan_school
from portfolio.demo.show import make_show
from portfolio.flows import look_back
from portfolio.flows.executors import make_executor
from portfolio.flows.find import find
from portfolio.flows.indexing import Words
from portfolio.model.finding import Filters

pytestmark = pytest.mark.timeout(1200)

ROOT = Path(__file__).parents[2]
PLAN = plan_school(today=gallery.DAY)


@pytest.fixture(scope="module")
def road(tmp_path_factory: pytest.TempPathFactory):
    folder = tmp_path_factory.mktemp("road")
    with Library.create(folder / "library") as library, make_executor("process") as executor:
        counts = fill(library, PLAN, executor=executor)
        counts.show = make_show(library, PLAN, folder / "gallery", light=True)
        yield library, counts, folder


def test_every_photo_is_accounted_for_and_nothing_is_misfiled(road) -> None:
    """Every painted work is filed under the very number that lay beside it, or waits as a question."""
    library, counts, _ = road
    planned = sum(len(lesson.works) for lesson in PLAN.lessons)
    assert counts.misfiled == 0
    assert counts.problems == 0
    assert planned - 12 <= counts.works <= planned
    assert counts.photos == planned + counts.slates
    assert is_filled(library.folder)
    assert doctor.check(library, whole=True).problems == ()


def test_few_questions_are_asked(road) -> None:
    """A careful teacher on dark cloth is asked about few photos; the ones of the last lesson wait for the visitor."""
    _, counts, _ = road
    assert counts.questions <= 0.15 * counts.photos
    assert counts.answered < counts.questions


def test_a_child_is_found_and_looked_back_on_across_years(road) -> None:
    """Somebody has works in all three years under three classes, and a word finds what was said."""
    library, counts, _ = road
    words = Words(library)
    words.catch_up()
    assert counts.indexed == find(library, words, "").total
    pages = [look_back.student_page(library, one.student_ids[0]) for one in _shown(library, words)]
    assert max(len(page.years) for page in pages) == 3
    assert any(page.pair is not None for page in pages)
    assert find(library, words, "purple").total > 0
    words.close()


def _shown(library: Library, words: Words):
    newest = PLAN.years[-1].label
    return [one.work for one in find(library, words, "", filters=Filters(year=newest), limit=60).works]


def test_no_work_still_shows_the_table_and_its_card(road) -> None:
    """Every work of the newest year has its edge, found by the program or set by the teacher."""
    library, _, _ = road
    words = Words(library)
    newest = find(library, words, "", filters=Filters(year=PLAN.years[-1].label), limit=500).works
    with library.reading() as session:
        bare = [one.work.work_id for one in newest if view_of_photo(session, one.work.photo_id).crop is None]
    words.close()
    assert len(newest) > 100
    assert bare == []


def test_the_show_is_clean_and_every_child_who_may_be_shown_is_in_it(road) -> None:
    """No hit in any byte; no child with a release is left without a place."""
    _, counts, _ = road
    assert counts.show["sweep"]["hits"] == 0
    assert counts.show["children_without_a_place"] == 0
    assert counts.show["pictures"] == counts.show["chosen"]


def test_the_committed_gallery_is_what_the_program_makes(road) -> None:
    """The showcase cannot lie: same pages, same pictures, at most 4 MB."""
    _, _, folder = road
    assert list(gallery.differences(ROOT / gallery.FOLDER, folder / "gallery")) == []
    weight = sum(path.stat().st_size for path in (ROOT / gallery.FOLDER).rglob("*") if path.is_file())
    assert weight <= gallery.MAX_BYTES
