"""Open the app on a library, walk its screens in headless Chromium, and keep a picture of each."""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import sync_playwright

from portfolio.archive.library import Library
from portfolio.demo.fill import fill
from portfolio.demo.gallery import DAY, SCREENS
from portfolio.demo.plan import plan_school
from portfolio.flows import desk as flow
from portfolio.flows import sign_in, station, tickets
from portfolio.flows.executors import make_executor
from portfolio.flows.find import find
from portfolio.flows.helpers import add_helper, remove_helper, see_helpers
from portfolio.flows.plan_show import all_shows
from portfolio.flows.projecting import see_projected
from portfolio.flows.see_batch import see_questions
from portfolio.model.filing import Chosen
from portfolio.model.finding import Filters
from portfolio.web.desk import Desk
from portfolio.web.run import open_desk, warm_up
from portfolio.web.sign_in import COOKIE
from tests.support.browser import FLAGS, chromium_path
from tests.support.serving import serving

SIZES = ((390, 844), (1280, 900))
SCHEMES = ("light", "dark")
README = {"today": 1280, "check": 1280, "student": 1280, "class": 1280, "find-word": 1280}
README_PX = 880


@dataclass(frozen=True)
class Screen:
    """One screen: its name and its address. ``whole``: the page to its end, not only what is seen at first.
    ``role``: who looks at it.
    """

    name: str
    address: str
    whole: bool = True
    role: str = sign_in.TEACHER


def screens_of(desk: Desk) -> Iterator[Screen]:
    """Every screen that this library can show."""
    sending, code = tickets.begin(desk.library, desk.tickets, Chosen(), now=datetime.now(UTC))
    yield from (
        Screen("today", "/"),
        Screen("add", "/add"),
        Screen("camera", "/camera"),
        Screen("phone", "/phone"),
        Screen("phone-code", f"/phone/{sending}?code={code}"),
        Screen("send", f"/send/{code}"),
        Screen("projector", "/projector"),
        Screen("check", "/check"),
        Screen("find", "/find"),
        Screen("find-word", "/find?words=house"),
        Screen("students", "/students"),
        Screen("classes", "/classes"),
        Screen("shows", "/shows"),
        Screen("reports", "/reports"),
        Screen("settings", "/settings"),
        Screen("devices", "/settings/devices"),
        Screen("people", "/settings/people"),
        Screen("year", "/settings/year"),
        Screen("timetable", "/settings/timetable"),
        Screen("days", "/settings/days"),
        Screen("media", "/settings/media"),
        Screen("centers", "/settings/centers"),
        Screen("cards", "/settings/cards"),
        Screen("password", "/settings/password"),
        Screen("backup", "/settings/backup"),
        Screen("about", "/settings/about"),
        Screen("helper", "/helper", role=sign_in.HELPER),
        Screen("more", "/more"),
    )
    today = desk.today()
    yield from (Screen("show", f"/shows/{one.show_id}") for one in all_shows(desk.library)[:1])
    yield from (Screen("edge-asked", f"/check/{one}/edge") for one in _asked_whose(desk)[:1])
    picks = flow.see_picks(desk.library, today)
    if picks.batches:
        yield Screen("batch", f"/add/{picks.batches[0].batch_id}")
    if picks.classes:
        group = picks.classes[-1]
        yield Screen("class", f"/classes/{group.class_id}")
        yield Screen("releases", f"/settings/releases?class_id={group.class_id}")
        yield Screen("class-by-center", f"/classes/{group.class_id}?by=center")
        yield Screen("observing", f"/classes/{group.class_id}/saw")
        yield Screen("roll", f"/students?class={group.label}")
        yield from _at_station(desk, group.class_id)
    works = [one.work for one in find(desk.library, desk.words, "", limit=200).works]
    if works:
        said = next((one for one in works if one.has_words), works[0])
        yield Screen("work", f"/works/{said.work_id}")
        yield Screen("edge", f"/works/{said.work_id}/edge")
        yield Screen("hide", f"/works/{said.work_id}/hide")
        shown = see_projected(desk.library, today=today).works
        yield Screen("projector-one", f"/projector?work={shown[0].work_id if shown else 0}", whole=False)
        yield Screen("student", f"/students/{_oldest(desk, works)}")


def _asked_whose(desk: Desk) -> list[int]:
    """Open questions about whose a photo is."""
    seen = see_questions(desk.library, after=100)
    line = [*([seen.asked] if seen.asked else []), *seen.after]
    return [one.question.question_id for one in line if one.question.photo_id and not one.question.work_id]


def _at_station(desk: Desk, class_id: int) -> Iterator[Screen]:
    """The reflection station: the numbers, the works of the first number that has one, and writing about it."""
    yield Screen("station", "/station?kept=1", role=sign_in.STATION)
    for number in station.see_station(desk.library, class_id, today=desk.today()).numbers:
        if own := station.see_own_works(desk.library, class_id, number, today=desk.today()):
            yield Screen("station-works", f"/station/{number}", role=sign_in.STATION)
            yield Screen("station-write", f"/station/{number}/{own[0].work.work_id}", role=sign_in.STATION)
            return


@contextmanager
def signed_in(desk: Desk) -> Iterator[dict[str, str]]:
    """A signed-in browser's secret for each role; the station is that of the class whose screens are taken. The helper
    is removed afterwards.
    """
    library, now = desk.library, datetime.now(UTC)
    picks = flow.see_picks(library, desk.today())
    login = f"Helper {now:%H%M%S}"
    found = {
        sign_in.TEACHER: sign_in.open_demo(library).secret,
        sign_in.HELPER: sign_in.sign_in_helper(library, login, add_helper(library, login)).secret,
    }
    if picks.classes:
        ends = now + timedelta(hours=2)
        found[sign_in.STATION] = sign_in.start_station(library, picks.classes[-1].class_id, ends_utc=ends).secret
    yield found
    for one in see_helpers(library):
        if one.login == login:
            remove_helper(library, one.account_id)


def context_of(browser: Any, url: str, secret: str, *, size: tuple[int, int], scheme: str) -> Any:
    """A browser window of this size, signed in."""
    context = browser.new_context(viewport={"width": size[0], "height": size[1]}, color_scheme=scheme)
    context.add_cookies([{"name": COOKIE, "value": secret, "url": url}])
    return context


def _oldest(desk: Desk, works: Sequence[Any]) -> int:
    """Of the children who made these works, the one with the most years."""
    children = {key for one in works for key in one.student_ids}
    years = {key: len({one.work.year for one in _works_of(desk, key)}) for key in sorted(children)[:60]}
    return max(years, key=lambda key: (years[key], -key))


def _works_of(desk: Desk, student_id: int) -> Sequence[Any]:
    return find(desk.library, desk.words, "", filters=Filters(student_id=student_id)).works


@contextmanager
def opened(folder: Path | None) -> Iterator[tuple[str, Desk]]:
    """The app on a port of this computer: its address and its desk."""
    with tempfile.TemporaryDirectory(prefix="portfolio-screens-") as place:
        if folder is None:
            folder = Path(place) / "library"
            with Library.create(folder) as made, make_executor("process") as executor:
                fill(made, plan_school(today=DAY), executor=executor, told=_tell)
        with Library.open(folder) as library:
            desk = open_desk(library, today=DAY)
            warm_up(desk)
            with serving(desk) as url:
                yield url, desk


def _tell(words: str, done: int, of: int) -> None:
    sys.stderr.write(f"\r{words}: {done} of {of} ")


def run(argv: Sequence[str]) -> int:
    """Take the pictures; 1 when a screen scrolls sideways or an error was said."""
    words = argparse.ArgumentParser(prog="screens.py", description=__doc__)
    words.add_argument("out", type=Path, nargs="?")
    words.add_argument("--library", type=Path)
    words.add_argument("--only", default="")
    words.add_argument("--readme", action="store_true")
    asked = words.parse_args(argv)
    if asked.out is None and not asked.readme:
        words.error("say where the pictures go, or --readme")
    troubles: list[str] = []
    said: list[str] = []
    with opened(asked.library) as (url, desk), signed_in(desk) as secrets, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=list(FLAGS))
        screens = [one for one in screens_of(desk) if asked.only in one.name]
        for width, height in SIZES:
            for scheme in SCHEMES[: 1 if asked.readme else None]:
                for role, secret in secrets.items():
                    context = context_of(browser, url, secret, size=(width, height), scheme=scheme)
                    page = context.new_page()
                    page.on("console", lambda line: said.append(line.text) if line.type == "error" else None)
                    for screen in screens:
                        if screen.role != role or (asked.readme and README.get(screen.name) != width):
                            continue
                        troubles += _shot(page, url, screen, f"{screen.name}-{width}-{scheme}", asked)
                    context.close()
        browser.close()
    for one in (*troubles, *said):
        print(one)
    return int(bool(troubles or said))


def _shot(page: Any, url: str, screen: Screen, name: str, asked: Any) -> list[str]:
    page.goto(url + screen.address)
    page.wait_for_timeout(300)
    taken = page.screenshot(full_page=screen.whole and not asked.readme)
    if asked.readme:
        SCREENS.mkdir(parents=True, exist_ok=True)
        picture = Image.open(BytesIO(taken)).convert("RGB")
        picture.thumbnail((README_PX, README_PX))
        picture.save(SCREENS / f"{screen.name}.webp", quality=80, method=6)
    else:
        asked.out.mkdir(parents=True, exist_ok=True)
        (asked.out / f"{name}.png").write_bytes(taken)
    wide = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    return [f"{name} scrolls sideways by {wide} px"] if wide > 0 else []


if __name__ == "__main__":
    sys.exit(run(sys.argv[1:]))
