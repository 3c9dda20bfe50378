"""From a library to a site: what is shown, to whom, under which name; and what stops it."""

import json
import re
from datetime import UTC, date, datetime

import pytest
from PIL import Image
from sqlmodel import select

from portfolio.archive import history, shows, tables
from portfolio.archive import works as archived_works
from portfolio.errors import NotFound, PortfolioError, Refused
from portfolio.flows import plan_show
from portfolio.flows.publish import _opaque, publish
from portfolio.flows.see_shows import publications_of
from portfolio.model.finding import Filters
from portfolio.model.people import Audience, NameForm
from portfolio.model.showing import Mark, ShowLimits
from tests.support.school import make_class, make_work
from tests.support.shows import DAY, allow, make_derivatives, make_show_school, rename


@pytest.fixture
def school(tmp_path):
    library, works, students = make_show_school(tmp_path)
    plan_show.new_show(library, "The Long Wall", today=DAY)
    plan_show.add_works(library, "The Long Wall", work_ids=works)
    yield library, works, students
    library.close()


def chosen(library, *, audience=Audience.PUBLIC, **limits):
    return plan_show.choose_works(library, "The Long Wall", audience=audience, limits=ShowLimits(**limits), today=DAY)


def published(library, folder, *, audience=Audience.PUBLIC, day=DAY):
    return publish(library, "The Long Wall", audience=audience, folder=folder, today=day)


def told(folder) -> str:
    return "\n".join(path.read_text() for path in sorted(folder.rglob("*.html")))


def change(library, table, key, **values):
    with library.writing(who="teacher", what="changed something") as writing:
        row = writing.session.get(table, key)
        for name, value in values.items():
            setattr(row, name, value)


def say(library, work_id, student_id, text, *, held=None):
    with library.writing(who="teacher", what="kept what a child said") as writing:
        writing.session.add(
            tables.Reflection(work_id=work_id, student_id=student_id, text=text, said_on=DAY, held=held)
        )


def test_a_site_for_the_web_names_nobody(school, tmp_path):
    """Twelve works, no name, no class, no number; counts and the contract's JSON."""
    library, _, _ = school
    chosen(library)
    made = published(library, tmp_path / "out")
    assert (made.pages, made.pictures, made.sweep.hits) == (14, 12, ())
    value = made.as_json()
    assert {"publication", "pages", "pictures", "sweep"} <= set(value)
    assert set(value["sweep"]) == {"files", "bytes", "hits"}
    text = told(tmp_path / "out")
    assert "Grade 3 artist" in text
    assert "Given3B" not in text
    assert "3B" not in text


@pytest.mark.parametrize(
    ("audience", "form", "label"),
    [
        (Audience.PUBLIC, NameForm.FIRST, "Zyxqel"),
        (Audience.COMMUNITY, NameForm.FIRST, "Zyxqel"),
        (Audience.SCHOOL, NameForm.FIRST_INITIAL, "Zyxqel Q."),
    ],
)
def test_a_released_name_stands_in_its_form(school, tmp_path, audience, form, label):
    """And in no wider one; the others of the class stay without a name."""
    library, _, students = school
    rename(library, students[0], "Zyxqel", "Quorrab")
    for student in students:
        allow(library, student, audience, form=form if student == students[0] else NameForm.NONE, from_day=DAY)
    chosen(library, audience=audience)
    published(library, tmp_path / "out", audience=audience)
    text = told(tmp_path / "out")
    assert f'<span class="by">{label}</span>' in text
    assert "Quorrab" not in text
    assert text.count("Grade 3 artist") > 20


def test_two_children_of_one_name_only_one_released(school, tmp_path):
    """The released label passes where it stands as a label; the same name in a title does not."""
    library, works, students = school
    rename(library, students[0], "Zyxqel", "Quorrab")
    rename(library, students[1], "Zyxqel", "Smythe")
    allow(library, students[0], form=NameForm.FIRST, from_day=DAY)
    chosen(library)
    published(library, tmp_path / "out")
    change(library, tables.Work, works[2], title="For Zyxqel")
    with pytest.raises(Refused):
        published(library, tmp_path / "out")


def test_a_hit_leaves_everything_as_it_was(school, tmp_path):
    """The site that stood there, the records and the folder beside it; the sentence says where, not who."""
    library, works, students = school
    rename(library, students[3], "Zyxqel", "Quorrab")
    chosen(library)
    first = published(library, tmp_path / "out")
    before = {path: path.read_bytes() for path in (tmp_path / "out").rglob("*") if path.is_file()}
    change(library, tables.Work, works[0], title="Me and zyxqel")
    with pytest.raises(Refused) as refused:
        published(library, tmp_path / "out")
    error = refused.value
    assert error.code == "name-would-show"
    assert error.details["works"] == [works[0]]
    assert re.search(r"a child's first name, in \S+\.html, line \d+", error.sentence)
    assert "zyxqel" not in (error.sentence + json.dumps(error.details)).lower()
    assert {path: path.read_bytes() for path in (tmp_path / "out").rglob("*") if path.is_file()} == before
    assert not list(tmp_path.glob(".out*"))
    with library.reading() as session:
        assert [one.publication_id for one in shows.publications(session)] == [first.publication]


def test_a_title_that_names_nobody_can_be_let_through(school, tmp_path):
    """ "Summer" is a title and a child: the teacher looks once, then exactly this title passes."""
    library, works, students = school
    rename(library, students[3], "Summer", "Quorrab")
    change(library, tables.Work, works[0], title="Summer")
    chosen(library)
    with pytest.raises(Refused):
        published(library, tmp_path / "out")
    plan_show.say_plain_title(library, "The Long Wall", work_ids=[works[0]])
    published(library, tmp_path / "out")
    change(library, tables.Work, works[1], title="For Summer")
    with pytest.raises(Refused):
        published(library, tmp_path / "out")


def test_the_show_s_own_words_can_be_let_through(school, tmp_path):
    """A school called like a child: the teacher looks at title, intro and place once."""
    library, _, students = school
    rename(library, students[3], "Harbor", "Quorrab")
    change(library, tables.Show, 1, intro="Works of Harbor Road School.", title="Harbor Wall", place="Harbor Hall")
    plan_show.choose_works(library, 1, audience=Audience.PUBLIC, limits=ShowLimits(), today=DAY)
    with library.writing(who="teacher", what="named the school") as writing:
        writing.session.add(tables.Setting(key="school_name", value="Harbor Road School"))
    with pytest.raises(Refused):
        publish(library, 1, audience=Audience.PUBLIC, folder=tmp_path / "out", today=DAY)
    plan_show.say_plain_title(library, 1, show_title=True)
    publish(library, 1, audience=Audience.PUBLIC, folder=tmp_path / "out", today=DAY)
    assert "Harbor Road School" in told(tmp_path / "out")


def test_words_that_may_name_a_child_wait_for_the_teacher(school, tmp_path):
    """Undecided or kept back: the work is shown without its words. Decided as "may be shown": with them."""
    library, works, students = school
    rename(library, students[3], "Zyxqel", "Quorrab")
    say(library, works[0], students[0], "I made it with zyxqel.")
    say(library, works[1], students[1], "It is seeds when they are still asleep.")
    shown = [{"start": 15, "end": 21, "kind": "first name", "decided": "shown"}]
    chosen(library)
    made = published(library, tmp_path / "out")
    text = told(tmp_path / "out")
    assert made.words_held == (works[0],)
    assert "zyxqel" not in text
    assert "still asleep" in text
    with library.writing(who="teacher", what="decided about words") as writing:
        row = writing.session.exec(select(tables.Reflection).where(tables.Reflection.work_id == works[0])).one()
        row.held = shown
    assert published(library, tmp_path / "out").words_held == ()
    assert "I made it with zyxqel." in told(tmp_path / "out")


def test_a_withdrawal_takes_the_work_out_at_the_next_build(school, tmp_path):
    """No trace in the folder; the publication is out of date from the moment of the withdrawal."""
    library, works, students = school
    chosen(library)
    first = published(library, tmp_path / "out")
    with library.reading() as session:
        key = shows.opaque_ids(session, 1, Audience.PUBLIC)[works[0]]
    assert publications_of(library, 1, today=DAY)[0].state == "current"
    with library.writing(who="teacher", what="recorded a release") as writing:
        writing.session.add(
            tables.ReleaseRecord(
                student_id=students[0], audience="public", allowed=False, from_day=DAY, recorded_utc=datetime.now(UTC)
            )
        )
        writing.session.flush()
    standing = publications_of(library, 1, today=DAY)
    assert [one.publication_id for one in standing if one.state == "out of date"] == [first.publication]
    assert standing[0].state == "out of date"
    again = published(library, tmp_path / "out")
    assert set(again.left_out) == {works[0]}
    everything = b"".join(path.read_bytes() for path in (tmp_path / "out").rglob("*") if path.is_file())
    assert key.encode() not in everything
    assert not list((tmp_path / "out").rglob(f"*{key}*"))
    with library.reading() as session:
        assert [one.state for one in shows.publications(session)] == ["current", "replaced"]


def test_a_site_that_calls_a_child_by_too_much_is_out_of_date(school, tmp_path):
    """A family that allowed the full name allows only the first from now on: told at once, mended by a build."""
    library, works, students = school
    allow(library, students[0], Audience.SCHOOL, form=NameForm.FULL)
    chosen(library, audience=Audience.SCHOOL)
    assert works[0] in chosen(library, audience=Audience.SCHOOL).chosen
    published(library, tmp_path / "out", audience=Audience.SCHOOL)
    assert publications_of(library, 1, today=DAY)[0].state == "current"
    allow(library, students[0], Audience.SCHOOL, form=NameForm.FIRST)
    assert publications_of(library, 1, today=DAY)[0].state == "out of date"
    published(library, tmp_path / "out", audience=Audience.SCHOOL)
    assert publications_of(library, 1, today=DAY)[0].state == "current"


def test_a_refusal_still_holds_years_after_the_child_left(school, tmp_path):
    """No line says yes again: the work stays out."""
    library, works, students = school
    allow(library, students[0], allowed=False, from_day=date(2026, 10, 1))
    change(library, tables.Student, students[0], left_on=date(2027, 6, 11))
    assert works[0] not in chosen(library).chosen
    plan_show.mark_works(library, "The Long Wall", [works[0]], mark=Mark.MUST)
    made = published(library, tmp_path / "out", day=date(2031, 1, 1))
    assert works[0] in made.left_out


def test_opaque_ids_stay_and_tell_nothing(school, tmp_path):
    """The same between builds of one audience, others for another audience, in no order of the roster."""
    library, works, _ = school
    chosen(library)
    published(library, tmp_path / "out")
    with library.reading() as session:
        first = shows.opaque_ids(session, 1, Audience.PUBLIC)
    published(library, tmp_path / "out")
    with library.reading() as session:
        assert shows.opaque_ids(session, 1, Audience.PUBLIC) == first
    assert len(set(first.values())) == 12
    assert all(re.fullmatch(r"([b-z]\d){6}", key) for key in first.values())
    hung = re.findall(r'id="w-(\w+)"', (tmp_path / "out" / "index.html").read_text())
    assert hung == sorted(first.values())
    assert [first[key] for key in works] != hung


def test_an_id_cannot_be_worked_out_from_the_record():
    """Two libraries that hold the same give different ids: nothing is derived from class, number or work."""
    one, other = _opaque({}, range(500)), _opaque({}, range(500))
    assert not set(one.values()) & set(other.values())
    assert _opaque({1: "kept"}, [1, 2])[1] == "kept"


def test_a_group_work_takes_the_strictest_release(tmp_path):
    """One maker without a yes: it is not shown. One maker without a name: it names nobody."""
    library, works, students = make_show_school(tmp_path)
    with library.writing(who="teacher", what="made a group work") as writing:
        writing.session.add(tables.Maker(work_id=works[0], student_id=students[1]))
    rename(library, students[0], "Zyxqel", "Quorrab")
    allow(library, students[0], form=NameForm.FIRST, from_day=DAY)
    plan_show.new_show(library, "The Long Wall", today=DAY)
    plan_show.add_works(library, "The Long Wall", work_ids=works)
    plan_show.mark_works(library, "The Long Wall", [works[0]], mark=Mark.MUST)
    published(library, tmp_path / "out")
    assert "Grade 3 artists" in told(tmp_path / "out")
    assert "Zyxqel" not in told(tmp_path / "out")
    allow(library, students[1], allowed=False, from_day=DAY)
    plan_show.mark_works(library, "The Long Wall", works[2:], mark=Mark.CHOSEN)
    assert works[0] in published(library, tmp_path / "out").left_out
    library.close()


def test_a_marked_region_is_covered_or_the_picture_stays_away(school, tmp_path):
    """A name on the front is covered in every size; where its place cannot be told, the work is left out."""
    library, works, _ = school
    with library.writing(who="teacher", what="marked a region") as writing:
        for work_id, crop in (
            (works[0], None),
            (works[1], {"outline_px": [[0, 0], [9, 0], [5, 9]], "shape": "free", "sure": True}),
        ):
            view = writing.session.exec(select(tables.View).where(tables.View.work_id == work_id)).one()
            view.masks, view.crop = [[[0, 0], [800, 0], [800, 600], [0, 600]]], crop
            photo = writing.session.get(tables.Photo, view.photo_id)
            photo.width_px, photo.height_px = 800, 600
    chosen(library)
    made = published(library, tmp_path / "out")
    assert set(made.left_out) == {works[1]}
    with library.reading() as session:
        key = shows.opaque_ids(session, 1, Audience.PUBLIC)[works[0]]
    for path in (tmp_path / "out" / "pictures").glob(f"{key}-*"):
        with Image.open(path) as opened:
            assert all(abs(value - 128) < 8 for value in opened.convert("RGB").getpixel((30, 30)))


def test_a_region_is_covered_in_every_work_that_may_show_it(school):
    """Marked in a further view, or in another work of the same photo, it counts too; far from a work it does not."""
    library, works, _ = school
    part = ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0))
    far = {"outline_px": [[400, 300], [800, 300], [800, 600], [400, 600]], "shape": "sheet", "sure": True}
    near = {"outline_px": [[50, 50], [300, 50], [300, 200], [50, 200]], "shape": "sheet", "sure": True}
    with library.writing(who="teacher", what="marked a region") as writing:
        views = [writing.session.exec(select(tables.View).where(tables.View.work_id == key)).one() for key in works[:3]]
        marked = writing.session.get(tables.Photo, views[0].photo_id)
        for place, (view, crop) in enumerate(zip(views, (None, near, far), strict=True)):
            photo = writing.session.get(tables.Photo, view.photo_id)
            photo.sha256, photo.part, view.crop = marked.sha256, place + 1, crop
        extra = tables.View(work_id=works[0], photo_id=marked.id, role="detail", position=1)
        extra.masks = [[list(corner) for corner in part]]
        writing.session.add(extra)
    with library.reading() as session:
        found = shows.marked_pictures(session, works[:3])
        assert {key: one.regions_px for key, one in found.items()} == {works[0]: (part,), works[1]: (part,)}
        assert archived_works.has_hidden_part(session, views[2].photo_id), "the photo as taken shows it"


def test_small_grades_are_not_named_outside_the_school(tmp_path):
    """Four children in the grade: "K–2 artist" on the web; the number of works is not told."""
    library, works, students = make_show_school(tmp_path, children=4)
    plan_show.new_show(library, "The Long Wall", today=DAY)
    plan_show.add_works(library, "The Long Wall", work_ids=works)
    for student in students:
        allow(library, student, Audience.SCHOOL, from_day=DAY)
    chosen(library)
    published(library, tmp_path / "out")
    assert "Grade 3" not in told(tmp_path / "out")
    assert "3–5 artist" in told(tmp_path / "out")
    assert "4 works" not in told(tmp_path / "out")
    published(library, tmp_path / "hall", audience=Audience.SCHOOL)
    assert "Grade 3 artist" in told(tmp_path / "hall")
    library.close()


def test_dates_for_the_hall_not_for_the_web(tmp_path):
    """The public reads the school year only."""
    library, works, students = make_show_school(tmp_path)
    plan_show.new_show(library, "The Long Wall", opens_on=date(2027, 4, 24), closes_on=date(2027, 5, 9), today=DAY)
    plan_show.add_works(library, "The Long Wall", work_ids=works)
    for student in students:
        allow(library, student, Audience.SCHOOL, from_day=DAY)
    chosen(library)
    published(library, tmp_path / "web")
    published(library, tmp_path / "hall", audience=Audience.SCHOOL)
    assert "April 24 to May 9" in told(tmp_path / "hall")
    assert "April" not in told(tmp_path / "web")
    assert "2026–27" in told(tmp_path / "web")
    library.close()


def test_some_audiences_have_no_site(school, tmp_path):
    """A family's page is its report gallery; the teacher has the app."""
    library, _, _ = school
    for audience in (Audience.FAMILY, Audience.TEACHER):
        with pytest.raises(PortfolioError) as refused:
            published(library, tmp_path / "out", audience=audience)
        assert refused.value.code == "site-audience"


def test_nothing_to_show_is_refused(school, tmp_path):
    """An empty site would look like a mistake."""
    library, _, _ = school
    with pytest.raises(Refused) as refused:
        published(library, tmp_path / "out")
    assert refused.value.code == "site-empty"
    assert not (tmp_path / "out").exists()


def test_the_log_tells_what_was_given_to_whom(school, tmp_path):
    """One line a publication: audience, how many works, why."""
    library, _, _ = school
    chosen(library)
    made = published(library, tmp_path / "out")
    with library.reading() as session:
        (line,) = session.exec(select(tables.Disclosure)).all()
    assert (line.audience, line.publication_id, line.what) == (
        "public",
        made.publication,
        "12 works of a show, as a site",
    )


def test_adding_by_filter_and_by_hand(school):
    """Works are offered once; works that are not there are said."""
    library, works, _ = school
    other, _ = make_class(library, label="1A", grade="1", children=1)
    make_work(library, class_id=other, number=1, student_id=13)
    added = plan_show.add_works(library, "The Long Wall", filters=Filters(grade="1"))
    assert (added.added, added.there) == (1, 0)
    again = plan_show.add_works(library, 1, work_ids=works)
    assert (again.added, again.there) == (0, 12)
    with pytest.raises(NotFound):
        plan_show.add_works(library, 1, work_ids=[4711])
    with pytest.raises(NotFound):
        plan_show.add_works(library, "No such show", work_ids=works)


def test_reasons_cover_what_may_not_be_shown(school):
    """Every work of the show has its sentence, also those no family has allowed."""
    library, _, _ = school
    class_id, (child,) = make_class(library, label="1A", grade="1", children=1)
    quiet = make_work(library, class_id=class_id, number=1, student_id=child)
    make_derivatives(library, quiet)
    plan_show.add_works(library, 1, work_ids=[quiet])
    choice = chosen(library)
    assert choice.reasons[quiet].why == plan_show.NOT_ALLOWED
    lines = {line.work.work_id: line for line in plan_show.seen(library, 1, audience=Audience.PUBLIC, today=DAY).lines}
    assert not lines[quiet].may_show
    assert all(line.reason for line in lines.values())


def test_a_rebuild_takes_over_what_stands(school, tmp_path):
    """The second build writes nothing; one new title writes its page, the wall and the find page."""
    library, works, _ = school
    chosen(library)
    published(library, tmp_path / "out")
    assert published(library, tmp_path / "out").written == 0
    change(library, tables.Work, works[0], title="Ship")
    assert published(library, tmp_path / "out").written == 3


def test_a_new_name_in_the_school_is_searched_for_in_old_pages(school, tmp_path):
    """Taken-over pages are searched again when there is a new name to find."""
    library, works, students = school
    change(library, tables.Work, works[0], title="Qrrb the boat")
    chosen(library)
    published(library, tmp_path / "out")
    rename(library, students[5], "Qrrb", "Smythe")
    with pytest.raises(Refused):
        published(library, tmp_path / "out")


def test_choosing_and_marking_can_be_undone(school):
    """Each is one action of the teacher."""
    library, _, _ = school
    chosen(library)
    with library.reading() as session:
        action = session.exec(select(tables.Action).order_by(tables.Action.id.desc())).first()
    with library.writing(who="teacher", what="took a step back") as writing:
        history.undo(writing.session, action.id, undoing_id=writing.action_id)
    with library.reading() as session:
        assert {one.mark for one in shows.marks(session, 1)} == {Mark.OFFERED}
