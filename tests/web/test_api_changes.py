"""The JSON door changes what the screens change: each change is one step, told by its id, and can be undone by it."""

from __future__ import annotations

import io
import time
from pathlib import Path

from portfolio.archive import tables
from tests.web.asked import ask_about_two_numbers
from tests.web.conftest import App
from tests.web.room import FAMILY, GIVEN, painted


def undo(app: App, done: dict[str, int]) -> None:
    assert app.client.post(f"/api/actions/{done['action']}/undo").status_code == 200


def some_work(app: App) -> dict[str, object]:
    return app.client.get("/api/works", params={"class": "3B"}).json()["works"][0]


def test_a_work_is_described_and_taken_out_and_comes_back(app: App) -> None:
    """Title and tags change in one step; a work taken out is in no list until that is undone."""
    key = some_work(app)["work"]
    before = app.client.get(f"/api/works/{key}").json()
    done = app.client.patch(f"/api/works/{key}", json={"title": "Kite of wind", "tags": ["wind", "line"]}).json()
    after = app.client.get(f"/api/works/{key}").json()
    assert (after["title"], sorted(after["tags"]), after["medium"]) == (
        "Kite of wind",
        ["line", "wind"],
        before["medium"],
    )
    undo(app, done)
    assert app.client.get(f"/api/works/{key}").json()["title"] == before["title"]
    out = app.client.delete(f"/api/works/{key}").json()
    assert app.client.get(f"/api/works/{key}").status_code == 404
    undo(app, out)
    assert app.client.get(f"/api/works/{key}").status_code == 200


def test_words_and_observations_are_kept_by_number(app: App) -> None:
    """Words arrive letter for letter at the work of the number; another child's work is refused with a sentence."""
    work, path = some_work(app), f"/api/classes/{app.room.classes['3B']}"
    text = "I maked the wind go sidways agen."
    kept = app.client.post(
        f"{path}/reflections", json={"number": work["number"], "text": text, "work": work["work"]}
    ).json()
    assert kept["question"] is None
    assert text in [one["text"] for one in app.client.get(f"/api/works/{work['work']}").json()["reflections"]]
    other = int(str(work["number"])) % 12 + 1
    refused = app.client.post(f"{path}/reflections", json={"number": other, "text": text, "work": work["work"]})
    assert refused.status_code == 404
    assert "of this number" in refused.json()["detail"]
    seen = {"number": 3, "what": "envision", "level": "getting there", "note": "plans before drawing"}
    noted = app.client.post(f"{path}/observations", json=seen)
    assert noted.status_code == 201
    undo(app, noted.json())
    assert app.client.post(f"{path}/observations", json={**seen, "level": "B+"}).status_code == 422


def test_media_and_centers_are_added_renamed_and_retired(app: App) -> None:
    """A retired medium is no longer offered; its works keep it. Two with one name are refused."""
    assert app.client.post("/api/media", json={"label": "yarn", "aat_id": ""}).status_code == 201
    media = app.client.get("/api/media").json()
    yarn = media[-1]
    assert (yarn["label"], yarn["offered"], yarn["works"]) == ("yarn", True, 0)
    assert app.client.post("/api/media", json={"label": "Yarn"}).status_code >= 400
    done = app.client.put(f"/api/media/{yarn['medium']}/offered", json={"offered": False}).json()
    assert not [one for one in app.client.get("/api/media").json() if one["label"] == "yarn" and one["offered"]]
    undo(app, done)
    app.client.put(f"/api/media/{yarn['medium']}", json={"label": "wool", "solid": True})
    assert {"wool"} == {
        one["label"] for one in app.client.get("/api/media").json() if one["medium"] == yarn["medium"] and one["solid"]
    }
    app.client.post("/api/centers", json={"label": "weaving", "media": [yarn["medium"]]})
    center = app.client.get("/api/centers").json()[-1]
    assert (center["label"], center["media"]) == ("weaving", [yarn["medium"]])
    opened = app.client.put(
        f"/api/classes/{app.room.classes['3B']}/centers/{center['center']}", json={"opens_on": "2026-10-01"}
    )
    assert opened.status_code == 200


def test_the_schools_time_is_told_and_changed(app: App) -> None:
    """Terms, a day off and the lessons of a class; what lies outside the year is refused."""
    school = app.client.get("/api/school").json()
    year = school["year"]
    terms = [{"label": "Fall", "starts_on": school["starts_on"], "ends_on": "2026-12-18"}]
    done = app.client.put(f"/api/school/years/{year}/terms", json={"terms": terms})
    assert app.client.get("/api/school").json()["terms"] == terms
    undo(app, done.json())
    assert app.client.get("/api/school").json()["terms"] == school["terms"]
    outside = [{**terms[0], "ends_on": "2031-12-18"}]
    assert app.client.put(f"/api/school/years/{year}/terms", json={"terms": outside}).status_code == 422
    day = {"first": "2026-11-03", "kind": "snow", "note": "ice"}
    assert app.client.post(f"/api/school/years/{year}/days", json=day).status_code == 200
    assert {"day": "2026-11-03", "kind": "snow", "note": "ice", "cycle_day": None} in app.client.get(
        "/api/school"
    ).json()["days"]
    lesson = {"cycle_day": 1, "starts_at": "09:00:00", "ends_at": "09:40:00"}
    key = app.room.classes["3B"]
    assert app.client.put(f"/api/classes/{key}/lessons", json={"lessons": [lesson]}).status_code == 200
    told = app.client.get("/api/school").json()["timetable"]
    assert next(one["lessons"] for one in told if one["class_id"] == key) == [lesson]


def test_the_school_is_named_and_years_are_made_and_changed(app: App) -> None:
    """A new year counts its days as the newest does; they change and come back; what overlaps is refused in words."""
    before = app.client.get("/api/school").json()
    undo(app, app.client.put("/api/school", json={"name": "Heron Street School"}).json())
    assert app.client.get("/api/school").json()["name"] == before["name"]
    year = {"year": "2027-28", "starts_on": "2027-08-23", "ends_on": "2028-06-09"}
    made = app.client.post("/api/school/years", json=year)
    assert made.status_code == 201
    told = app.client.get("/api/school", params={"year": "2027-28"}).json()
    assert (told["starts_on"], told["cycle_days"], told["lost_day"]) == ("2027-08-23", before["cycle_days"], "shift")
    change = {"starts_on": "2027-08-30", "ends_on": "2028-06-09", "cycle_days": 4, "first_cycle_day": 2}
    done = app.client.put("/api/school/years/2027-28", json={**change, "lost_day": "skip"})
    told = app.client.get("/api/school", params={"year": "2027-28"}).json()
    assert (told["starts_on"], told["cycle_days"], told["first_cycle_day"]) == ("2027-08-30", 4, 2)
    refused = app.client.put("/api/school/years/2027-28", json={**change, "starts_on": "2027-06-01"})
    assert refused.status_code == 422
    assert "2026-27 has this day already" in refused.json()["detail"]
    undo(app, done.json())
    undo(app, made.json())
    assert app.client.get("/api/school").json() == before


def test_what_a_photo_may_cost_is_told_and_set(app: App) -> None:
    """Within bounds it is kept; out of them it is refused in words and nothing changes."""
    before = app.client.get("/api/limits").json()
    assert app.client.put("/api/limits", json={**before, "photo_seconds": 90}).json()["photo_seconds"] == 90
    refused = app.client.put("/api/limits", json={**before, "photo_seconds": 1})
    assert refused.status_code == 422
    assert "from 5 to 600" in refused.json()["detail"]
    assert app.client.get("/api/limits").json()["photo_seconds"] == 90
    assert app.client.put("/api/limits", json=before).json() == before


def test_releases_are_recorded_by_number_and_show_no_name(app: App) -> None:
    """What one family refused counts at once; a number that nobody holds is refused."""
    path = f"/api/classes/{app.room.classes['3B']}/releases"
    given = {"numbers": [2], "readers": ["public"], "allowed": False, "source": "call of October 5"}
    done = app.client.post(path, json=given)
    assert done.status_code == 201
    told = app.client.get(path)
    counts = next(one for one in told.json()["children"] if one["number"] == 2)["counts"]
    assert {one["readers"]: one["allowed"] for one in counts}["public"] is False
    assert not [name for name in (*GIVEN, *FAMILY) if name in told.text]
    assert app.client.post(path, json={**given, "numbers": [39]}).status_code == 422
    undo(app, done.json())


def test_an_edge_is_set_by_corners_and_a_part_hidden(app: App) -> None:
    """Corners in pixels of the upright photo come back as they were set; crossing sides are refused."""
    key = app.room.works[9]
    assert app.client.get(f"/api/works/{key}/edge").status_code == 422, "its photo was never measured"
    with app.room.library.writing(who="program", what="read a photo") as writing:
        photo = writing.session.get(tables.Photo, app.room.photos[9])
        photo.width_px, photo.height_px, photo.derived_key = 1200, 900, "read"
    seen = app.client.get(f"/api/works/{key}/edge")
    width, height = seen.json()["size_px"]
    part = [[width * x, height * y] for x, y in ((0.1, 0.1), (0.3, 0.1), (0.3, 0.2), (0.1, 0.2))]
    hidden = app.client.post(f"/api/works/{key}/hidden", json={"part": part})
    assert hidden.status_code == 201
    assert len(app.client.get(f"/api/works/{key}/edge").json()["hidden"]) == 1
    assert app.client.delete(f"/api/works/{key}/hidden/1").status_code == 200
    assert app.client.get(f"/api/works/{key}/edge").json()["hidden"] == []
    crossed = [part[0], part[2], part[1], part[3]]
    assert app.client.put(f"/api/works/{key}/edge", json={"outline": crossed}).status_code == 422


def test_the_photo_of_a_question_is_turned_and_a_part_hidden(app: App) -> None:
    """Before it is anybody's work: the edge, the turn and the hidden part are told, go along into the work, and are
    no longer to be had at the question.
    """
    stored = app.room.library.originals.put(io.BytesIO(painted(300, 1200, 900)), name="two.jpg")
    key = ask_about_two_numbers(app.room, sha256=stored.sha256)
    path = f"/api/questions/{key}"
    square = [[120, 180], [720, 180], [720, 720], [120, 720]]
    assert app.client.get(f"{path}/edge").json()["outline"] is None
    assert app.client.put(f"{path}/edge", json={"outline": square, "quarter_turns": 3}).status_code == 200
    assert app.client.post(f"{path}/hidden", json={"part": square}).status_code == 201
    assert app.client.post(f"{path}/hidden", json={"part": square}).status_code == 201
    assert app.client.delete(f"{path}/hidden/2").status_code == 200
    told = app.client.get(f"{path}/edge").json()
    assert (told["view"], told["by_hand"], told["quarter_turns"], told["hidden"]) == (0, True, 3, [square])
    app.client.post(f"{path}/answer", json={"number": 8, "class": "3B"})
    gone = app.client.get(f"{path}/edge")
    assert (gone.status_code, gone.json()["code"]) == (404, "not-found")
    found = app.client.get("/api/works", params={"class": "3B", "limit": 1000}).json()["works"]
    edge = app.client.get(f"/api/works/{max(one['work'] for one in found)}/edge").json()
    assert (edge["outline"], edge["quarter_turns"], edge["hidden"]) == (square, 3, [square])


def test_a_show_is_begun_chosen_and_only_what_is_allowed_is_chosen(app: App) -> None:
    """Nothing recorded for the public means nothing chosen for it, with a sentence that says so."""
    show = app.client.post("/api/shows", json={"title": "Lines in the wind", "opens_on": "2026-11-20"}).json()
    chosen = app.client.post(f"/api/shows/{show['show']}/choose", json={"audience": "school", "works": 5}).json()
    assert len(chosen["chosen"]) <= 5
    whole = app.client.get(f"/api/shows/{show['show']}", params={"audience": "school"}).json()
    allowed = {one["work"] for one in whole["works"] if one["may_show"]}
    assert set(chosen["chosen"]) <= allowed


def test_a_backup_is_begun_and_its_age_told(app: App, tmp_path: Path) -> None:
    """None at first; then one into a folder named whole; a folder of other files and half a way are refused."""
    before = app.client.get("/api/backup").json()
    assert (before["last_utc"], before["age_days"], before["due"], before["running"]) == (None, None, True, False)
    for wrong, status in (("stick", 422), ("~nobody-at-all/x", 422), (str(tmp_path / "no" / "such"), 409)):
        refused = app.client.post("/api/backup", json={"folder": wrong})
        assert refused.status_code == status
        assert refused.headers["content-type"] == "application/problem+json"
    assert app.client.post("/api/backup", json={"folder": str(tmp_path / "bag")}).status_code == 202
    until = time.monotonic() + 30
    while (told := app.client.get("/api/backup").json())["running"] and time.monotonic() < until:
        time.sleep(0.05)
    assert (told["age_days"], told["due"], told["running"], told["trouble"]) == (0, False, False, None)
    assert (tmp_path / "bag" / "bagit.txt").exists()
