"""The screens over the small art room: what stands on each, in words; every form works without JavaScript."""

from __future__ import annotations

import io
import re
import time
from datetime import date, timedelta

import pytest

from portfolio.archive import people, tables
from portfolio.errors import DiskError
from portfolio.flows import held_words, look_back, reflections
from portfolio.flows.indexing import Words
from portfolio.flows.plan_show import new_show
from portfolio.model.assets import asset
from portfolio.model.calendar import SchoolYear
from portfolio.model.people import Audience, Release
from portfolio.model.words import Said
from portfolio.privacy.seal import seal
from portfolio.web import classes, words
from portfolio.web.roster_shelf import RosterShelf
from tests.web.conftest import App
from tests.web.room import GIVEN, TODAY


def test_today_shows_the_day_and_what_comes(app: App) -> None:
    """The day's lessons with the class, the term that ends, the works of the last lesson day."""
    page = app.client.get("/").text
    assert "Tuesday, October 6" in page
    assert ">3B</a>" in page
    assert "7 works filed." in page
    assert "Fall term ends January 22" in page
    assert "From today" in page
    assert "Worth knowing" not in page, "3B has been, and 3C has no children yet"


def test_today_says_which_show_opens_next(app: App) -> None:
    """The one that opens soonest from today on, with its day and the way to it; one that was is not told."""
    library = app.room.library
    new_show(library, "Long over", year="2026-27", opens_on=TODAY - timedelta(days=9))
    coming = new_show(library, "Winter walls", year="2026-27", opens_on=TODAY + timedelta(days=30))
    new_show(library, "Later still", year="2026-27", opens_on=TODAY + timedelta(days=90))
    page = app.client.get("/").text
    assert "Winter walls opens November 5." in page
    assert f'href="/shows/{coming.show_id}"' in page
    assert "Long over" not in page
    assert "Later still" not in page


def test_today_never_names_a_child(app: App) -> None:
    """Today is open while children walk by: numbers, no names. The same for the grid's visible text."""
    page = app.client.get("/").text
    assert not [name for name in GIVEN if name in page]


def test_find_is_open_while_its_index_is_stopped(app: App, monkeypatch: pytest.MonkeyPatch) -> None:
    """index-behind: what was known is found, and the page says that newer words are not; filters need no such words."""
    assert "My house in wind" in app.client.get("/find?words=wind").text

    def stop(_: object) -> int:
        raise DiskError("disk-full", item="The search index")

    with monkeypatch.context() as stopped:
        stopped.setattr(Words, "catch_up", stop)
        page = app.client.get("/find?words=wind")
        assert page.status_code == 200
        assert "My house in wind" in page.text
        assert "could not be brought up to date" in page.text[page.text.index('id="found"') :]
        assert "brought up to date" not in app.client.get("/find?grade=3").text
        assert app.client.get("/api/works?words=wind").json()["behind"] is True
    assert "brought up to date" not in app.client.get("/find?words=wind").text


def test_find_by_word_name_number_class_and_color(app: App) -> None:
    """One box understands words, a child's name, 3B-1, 3B and a color."""
    assert "Written “wind”" in app.client.get("/find?words=wind").text
    assert "By a child with this name" in app.client.get("/find?words=Marisol").text
    assert "/works/" in app.client.get("/find?words=3B-1").text
    assert "Works that fit" in app.client.get("/find?words=3b").text
    assert "Nothing is kept here yet." in app.client.get("/find?words=3c").text
    assert "Mostly blue" in app.client.get("/find?words=blue").text
    assert "No work has this word." in app.client.get("/find?words=qqqqzzzz").text


def test_a_chip_leads_to_an_address_of_its_own(app: App) -> None:
    """Pressed once it narrows, pressed again it lets go; both are plain addresses that can be kept."""
    pressed = app.client.get("/find?words=wind&toggle=grade:2", follow_redirects=False)
    assert pressed.headers["location"] == "/find?words=wind&grade=2"
    page = app.client.get(pressed.headers["location"]).text
    assert re.search(r'value="grade:2" aria-pressed="true"', page)
    again = app.client.get("/find?words=wind&grade=2&toggle=grade:2", follow_redirects=False)
    assert again.headers["location"] == "/find?words=wind"


def test_a_work_can_be_described_and_that_undone(app: App) -> None:
    """A new title stands on the page; undoing the step puts the old one back."""
    work = app.room.works[9]
    before = re.search(r"<h1>(.*?)</h1>", app.client.get(f"/works/{work}").text).group(1)
    page = app.client.post(f"/works/{work}", data={"title": "The <b>loud</b> night", "medium": "crayon"}).text
    assert "The &lt;b&gt;loud&lt;/b&gt; night" in page
    undo = re.search(r'name="action_id" value="(\d+)"', page).group(1)
    assert f"<h1>{before}</h1>" in app.client.post(f"/works/{work}/undo", data={"action_id": undo}).text
    refused = app.client.post(f"/works/{work}", data={"title": "x", "medium": "no such medium"})
    assert refused.status_code == 404
    assert "is not in the library" in refused.text


def test_child_page_shows_the_years_newest_first(app: App) -> None:
    """Name and number on top, one ledge a school year, words letter for letter."""
    page = app.client.get(f"/students/{app.room.students[4]}").text
    assert f"{GIVEN[4]} " in page
    assert page.index("2026–27") < page.index("2025–26")
    assert "Not on the web" in page
    assert "brav becus" in app.client.get(f"/students/{app.room.students[0]}").text


def test_class_grid_counts_in_words_too(app: App) -> None:
    """Each cell says its count to a screen reader; a number with nothing says so."""
    page = app.client.get(f"/classes/{app.room.classes['3B']}").text
    assert 'scope="row"' in page
    assert "not yet</span>" in page
    assert "nothing this term" in page
    assert "By center" in page
    assert app.client.get(f"/classes/{app.room.classes['2A']}").status_code == 200


def test_students_by_name_and_by_class(app: App) -> None:
    """One hit opens the child at once; several are listed; none is told."""
    assert str(app.client.get("/students?words=Marisol").url).endswith(f"/students/{app.room.students[1]}")
    assert (
        "children found" in app.client.get("/students?words=li").text
        or "child" in app.client.get("/students?words=li").text
    )
    assert "Nobody found" in app.client.get("/students?words=zzzz").text
    assert "Class 3C" in app.client.get(f"/students?class_id={app.room.classes['3C']}").text


def test_reports_say_what_is_kept(app: App) -> None:
    """One plain sentence, and a line for each class with children."""
    page = app.client.get("/reports").text
    assert "12 works are kept this term, with words from" in page
    assert "5 children have nothing kept yet." in page


def test_roster_is_shown_before_it_is_taken_in(app: App) -> None:
    """Preview changes nothing; taking it in adds the children; the same token does not work twice."""
    roster = b"Class,Number,First name,Last name\n3C,1,Aino,Korhonen\n3C,2,Tomasz,Wisniewski\n"
    shown = app.client.post(
        "/settings/roster", files={"file": ("roster.csv", roster, "text/csv")}, data={"year": "2026-27"}
    )
    assert "What this roster would change" in shown.text, shown.text
    assert "Nobody has a number" in app.client.get(f"/students?class_id={app.room.classes['3C']}").text
    fields = dict(re.findall(r'type="hidden" name="(token)" value="([^"]+)"', shown.text))
    chosen = r'<select id="[^"]+" name="(decide:[^"]+)"[^>]*>\s*<option value="([^"]*)" selected'
    fields |= dict(re.findall(chosen, shown.text))
    done = app.client.post("/settings/roster/apply", data=fields)
    assert "The roster is taken in" in done.text
    assert "Korhonen" in app.client.get(f"/students?class_id={app.room.classes['3C']}").text
    assert app.client.post("/settings/roster/apply", data=fields).status_code == 422


def test_roster_that_cannot_be_read_is_told(app: App) -> None:
    """A picture, an empty file or no file at all: a sentence on the same page."""
    for files in (
        {"file": ("a.csv", b"", "text/csv")},
        {"file": ("a.csv", b"\x00\x01\x02\xff" * 50, "text/csv")},
        None,
    ):
        said = app.client.post("/settings/roster", files=files, data={"year": "2026-27"})
        assert 400 <= said.status_code < 500
        assert "<h2>" in said.text


def test_templates_escape_what_children_write(app: App) -> None:
    """Words and titles are text, never markup: no inline script or style in any page."""
    for path in ("/", "/find", "/add", "/check", "/students", "/classes", "/reports", "/settings", "/more"):
        page = app.client.get(path).text
        assert "<script>" not in page
        assert " style=" not in page
        assert "onclick" not in page


def test_no_form_has_another_role() -> None:
    """Words that a step is kept are told beside its undo by their own element: a form may only be a search."""
    for path in sorted(asset("desk", "templates").iterdir()):
        roles = re.findall(r'<form[^>]*\srole="(\w+)"', path.read_text("utf-8"))
        assert set(roles) <= {"search"}, path.name


def test_first_view_is_light(app: App) -> None:
    """The first page with everything it loads, fonts for English included, as it travels: at most 150 kB."""
    page = app.client.get("/").text
    parts = set(re.findall(r'(?:href|src)="(/static/[^"]+\.(?:css|js)[^"]*|/desk/scale\.css)"', page))
    fonts = ("andika-latin-400-normal", "andika-latin-700-normal", "besley-latin-600-normal")
    every = [*parts, *(f"/static/fonts/{one}.woff2" for one in fonts)]
    size = len(page) + sum(int(app.client.get(part).headers["content-length"]) for part in every)
    assert size <= 150_000, size


def test_styles_travel_gzipped_only_to_browsers_that_take_it(app: App) -> None:
    """The same bytes either way."""
    plain = app.client.get("/static/desk/tokens.css", headers={"Accept-Encoding": "identity"})
    squeezed = app.client.get("/static/desk/tokens.css", headers={"Accept-Encoding": "gzip"})
    assert "content-encoding" not in plain.headers
    assert squeezed.headers["content-encoding"] == "gzip"
    assert plain.headers["vary"] == squeezed.headers["vary"] == "Accept-Encoding"
    assert squeezed.content == plain.content
    assert int(squeezed.headers["content-length"]) < len(plain.content) / 2


def test_a_heavy_page_travels_gzipped(app: App) -> None:
    """The media of the room as one long list: a tenth of its weight, and the same page."""
    plain = app.client.get("/settings/media", headers={"Accept-Encoding": "identity"})
    squeezed = app.client.get("/settings/media", headers={"Accept-Encoding": "gzip"})
    assert squeezed.headers["content-encoding"] == "gzip"
    assert squeezed.text == plain.text
    assert int(squeezed.headers["content-length"]) < len(plain.content) / 4


@pytest.mark.parametrize(
    ("first", "last", "said"),
    [
        (date(2022, 9, 12), date(2025, 2, 11), "2 years 4 months"),
        (date(2024, 2, 29), date(2025, 2, 28), "11 months"),
        (date(2025, 1, 1), date(2026, 1, 1), "1 year"),
        (date(2025, 1, 1), date(2025, 1, 20), "2 weeks"),
        (date(2025, 1, 1), date(2025, 1, 4), "3 days"),
    ],
)
def test_time_between_is_said_in_whole_parts(first: date, last: date, said: str) -> None:
    """Whole years and months, worked out by hand."""
    assert words.between(first, last) == said


@pytest.mark.parametrize(
    ("mm", "said"),
    [((304.8, 228.6), "12 × 9 in"), ((457.0, 305.0), "18 × 12 in"), ((140.0, 13.0), "5½ × ½ in"), ((None, 3.0), "")],
)
def test_sizes_are_said_as_paper_is_bought(mm: tuple[float | None, float], said: str) -> None:
    """Inches to the half; nothing when it was not measured."""
    assert words.size(*mm).replace("\u00a0", " ") == said


def test_show_is_begun_chosen_and_made_only_for_those_who_may_see_it(app: App) -> None:
    """Without releases nothing can be chosen or made; with them the pages are made, searched and hold no name."""
    page = app.client.post("/shows", data={"title": "The Long Wall", "opens_on": "2027-04-24"})
    assert "No works chosen yet. 0 may be shown" in page.text
    show = str(page.url).rsplit("/", 1)[1]
    assert "No work could be chosen" in app.client.post(f"/shows/{show}/choose", data={"audience": "public"}).text
    assert app.client.post(f"/shows/{show}/publish", data={"audience": "public"}).status_code in (403, 409, 422)
    with app.room.library.writing(who="teacher", what="recorded releases") as writing:
        for student in app.room.students:
            people.add_release(
                writing.session, Release(student, Audience.PUBLIC, allowed=True, from_day=date(2026, 9, 1))
            )
    chosen = app.client.post(f"/shows/{show}/choose", data={"audience": "public", "limit": "5"}).text
    assert "5 works chosen" in chosen
    made = app.client.post(f"/shows/{show}/publish", data={"audience": "public"})
    assert "are made" in made.text, made.text
    assert "no name was found" in made.text
    assert "Made before" in made.text
    built = list((app.room.library.published / f"show-{show}-public").rglob("*.html"))
    assert built
    text = "".join(path.read_text("utf-8") for path in built)
    assert not [name for name in GIVEN if name in text]


def test_show_without_a_title_is_refused(app: App) -> None:
    """An empty title, a day that is none, a count that is none: a sentence on the same page."""
    assert "it is empty" in app.client.post("/shows", data={"title": " "}).text
    assert "it is no date" in app.client.post("/shows", data={"title": "X", "opens_on": "soon"}).text
    show = str(app.client.post("/shows", data={"title": "Y"}).url).rsplit("/", 1)[1]
    assert "no number from 1" in app.client.post(f"/shows/{show}/choose", data={"limit": "many"}).text


def test_a_bare_number_means_the_number_in_a_class(app: App) -> None:
    """Typing 31 finds who has number 31, never the record that happens to be the 31st; a chosen class narrows it."""
    with app.room.library.writing(who="teacher", what="made children") as writing:
        for given, label in (("Ottoline", "3B"), ("Rasmus", "3C")):
            student = tables.Student(given=seal(given), family=seal("Halloran"))
            writing.session.add(student)
            writing.session.flush()
            writing.session.add(
                tables.Enrolment(
                    student_id=student.id, class_id=app.room.classes[label], number=31, from_day=date(2026, 8, 24)
                )
            )
    both = app.client.get("/students?words=31").text
    assert "2 children found" in both
    assert "Ottoline" in both
    assert "Rasmus" in both
    one = app.client.get(f"/students?words=31&class_id={app.room.classes['3C']}")
    assert "<h1" in one.text
    assert "Rasmus" in one.text
    assert "Ottoline" not in one.text
    assert "Nobody has this number." in app.client.get("/students?words=40").text


def test_a_class_typed_in_other_capitals_has_its_works(app: App) -> None:
    """Typing 3b means 3B: the grid holds the same works."""
    pages = [look_back.class_page(app.room.library, label, today=TODAY) for label in ("3b", "3B")]
    assert pages[0].works == pages[1].works
    assert any(pages[0].works.values())


def test_a_class_of_another_year_is_shown_for_all_of_it(app: App) -> None:
    """Looked at a year later, the grid speaks of the whole year, not only of its last term."""
    later = date(2027, 9, 1)
    page = look_back.class_page(app.room.library, "3B", year="2026-27", today=later)
    assert (page.grid.from_day, page.grid.to_day) == (page.year.starts_on, page.year.ends_on)
    now = look_back.class_page(app.room.library, "3B", today=TODAY)
    assert now.grid.to_day == date(2027, 1, 22)
    chips = [
        classes.class_page(one, {}, by_center=False, whole_year=False, today=day).chips
        for one, day in ((page, later), (now, TODAY))
    ]
    assert [[chip.label for chip in row] for row in chips] == [
        ["By medium", "By center"],
        ["By medium", "By center", "All year"],
    ]


@pytest.mark.parametrize(
    ("first", "last", "today", "said"),
    [
        (date(2026, 8, 24), date(2027, 1, 22), TODAY, "this term"),
        (date(2026, 8, 24), date(2026, 10, 1), TODAY, "last term"),
        (date(2026, 8, 24), date(2027, 6, 11), TODAY, "this year"),
        (date(2026, 8, 24), date(2027, 6, 11), date(2027, 9, 1), "in 2026–27"),
    ],
)
def test_a_span_of_days_has_one_name(first: date, last: date, today: date, said: str) -> None:
    """Grid, Today and report galleries call the same days the same."""
    year = SchoolYear(1, "2026-27", date(2026, 8, 24), date(2027, 6, 11))
    assert words.span(first, last, year=year, today=today) == said


def test_a_past_year_is_told_as_that(app: App) -> None:
    """The grid of last year's class speaks of that year, never of "these weeks"."""
    page = app.client.get(f"/classes/{app.room.classes['2A']}").text
    assert "in 2025–26" in page
    assert "these weeks" not in page


def test_a_link_holds_any_medium(app: App) -> None:
    """A medium with & in its name leads to its own works."""
    work = app.room.works[9]
    with app.room.library.writing(who="teacher", what="made a medium") as writing:
        medium = tables.Medium(label="pen & ink")
        writing.session.add(medium)
        writing.session.flush()
        writing.session.get(tables.Work, work).medium_id = medium.id
    link = re.search(r'href="(/find\?medium=[^"]+)"', app.client.get(f"/works/{work}").text).group(1)
    assert link == "/find?medium=pen+%26+ink"
    assert "1 work in all." in app.client.get(link).text


def test_a_roster_without_headings_shows_how_it_is_read(app: App) -> None:
    """Columns that are not sure stand on the preview with their reading; nobody is sent to the command line."""
    roster = b"3C,4,Ylva,Soderberg\n3C,5,Ignacio,Ferreira\n3C,6,Tuuli,Aaltonen\n"
    shown = app.client.post(
        "/settings/roster", files={"file": ("list.csv", roster, "text/csv")}, data={"year": "2026-27"}
    )
    assert shown.status_code == 200, shown.text
    assert "How the columns are read" in shown.text
    assert "--" not in re.sub(r"<[^>]*>", "", shown.text)
    assert "Look whether it is right" in shown.text


def test_a_roster_is_deleted_when_its_time_is_over() -> None:
    """A roster holds names: nobody needs to come back for it to be gone."""
    shelf = RosterShelf(seconds=0.05)
    token, held = shelf.put("roster.csv", io.BytesIO(b"names"), year="2026-27")
    assert held.path.exists()
    until = time.monotonic() + 5
    while held.path.exists():
        assert time.monotonic() < until
        time.sleep(0.01)
    assert shelf.take(token) is None
    shelf.close()


def test_words_that_may_name_a_child_are_decided_on_the_works_page(app: App) -> None:
    """Held words say which word is in doubt; one press lets them be shown, undo makes them wait again."""
    text = f"{GIVEN[1]} helped me with the roof."
    reflections.add(app.room.library, Said(app.room.students[3], text, TODAY), work_id=app.room.works[10])
    path = f"/works/{app.room.works[10]}"
    (waiting,) = held_words.waiting(app.room.library, work_ids=[app.room.works[10]])
    page = app.client.get(path).text
    assert f"“{GIVEN[1]}” may name a child, so only you see these words." in page
    form = {"reflection_id": str(waiting.reflection_id)}
    assert app.client.post(f"{path}/words", data={**form, "decision": "perhaps"}).status_code == 422
    wrong = f"/works/{app.room.works[11]}/words"
    assert app.client.post(wrong, data={**form, "decision": "shown"}).status_code == 404
    kept = app.client.post(f"{path}/words", data={**form, "decision": "kept"}).text
    assert "Only you see these words, because they name a child." in kept
    undo = re.search(r'name="action_id" value="(\d+)"', kept).group(1)
    assert "may name a child" in app.client.post(f"{path}/undo", data={"action_id": undo}).text
    shown = app.client.post(f"{path}/words", data={**form, "decision": "shown"}).text
    assert "only you see" not in shown.lower()
    assert held_words.waiting(app.room.library, work_ids=[app.room.works[10]]) == ()
    assert text in shown, "the words themselves never change"


def test_kindergarten_stands_before_grade_one() -> None:
    """Lists of classes go by grade: K before 1, 10 after 9, what is no grade last."""
    assert sorted(["10", "K", "art", "1", "TK", "9"], key=words.grade_order) == ["TK", "K", "1", "9", "10", "art"]
