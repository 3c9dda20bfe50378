"""``portfolio look``: the contract of its JSON, and that a broken pool loses no photo."""

import json
from concurrent.futures import BrokenExecutor, Future
from dataclasses import replace
from io import BytesIO

import pytest
from PIL import Image
from typer.testing import CliRunner

from portfolio.cli.app import app
from portfolio.demo.camera.conditions import Difficulty
from portfolio.flows.executors import InlineExecutor
from portfolio.flows.look import as_json, look_at, settled
from portfolio.flows.look_picture import draw_seen, words_of
from portfolio.flows.worker import SeeRequest, see_here
from portfolio.model.cards import CardStatus
from tests.support.shots import make_shot

KEYS = ["file", "cards", "number", "status", "outline_px", "crop_sure", "size_mm", "color", "problem"]


@pytest.fixture(scope="module")
def photos(tmp_path_factory):
    """A careful photo, a picture without a card, and a file that is no photo."""
    folder = tmp_path_factory.mktemp("photos")
    shot = make_shot(71, difficulty=Difficulty.GENTLE)
    (folder / "IMG_1.JPG").write_bytes(shot.jpeg)
    Image.new("RGB", (300, 200), (90, 140, 80)).save(folder / "lawn.png")
    (folder / "notes.jpg").write_text("Dear parents")
    return shot, [folder / name for name in ("IMG_1.JPG", "lawn.png", "notes.jpg")]


def test_the_contract_of_the_json(photos):
    """Exactly these keys, for every photo, in the order given; nothing holds a path."""
    shot, paths = photos
    told = []
    seen = [as_json(one) for one in look_at(paths, InlineExecutor(), told=told.append)]
    assert told == [1, 2, 3]
    assert [list(one) for one in seen] == [KEYS] * 3
    first, lawn, notes = seen
    assert first["file"] == "IMG_1.JPG"
    assert first["cards"] == [{"kind": "number", "value": shot.cards[0].value, "status": "sure"}]
    assert (first["number"], first["status"], first["crop_sure"]) == (shot.cards[0].value, "sure", True)
    assert len(first["outline_px"]) == 4
    assert all(0 <= x <= shot.width_px and 0 <= y <= shot.height_px for x, y in first["outline_px"])
    assert sorted(first["size_mm"]) == pytest.approx(
        sorted((shot.works[0].width_mm, shot.works[0].height_mm)), rel=0.01
    )
    assert set(first["color"]) == {"gains", "clipped"}
    assert (first["color"]["clipped"], len(first["color"]["gains"]), first["problem"]) == (False, 3, None)
    assert lawn == dict.fromkeys(KEYS) | {"file": "lawn.png", "cards": [], "status": "none", "crop_sure": False}
    assert notes["problem"]["code"] == "photo-not-a-picture"
    assert str(paths[0].parent) not in json.dumps(seen)


def test_the_command_prints_the_same(photos):
    """``look --json`` gives the list on standard output; a problem ends with exit status 3, none with 0."""
    _, paths = photos
    runner = CliRunner()
    good = runner.invoke(app, ["look", str(paths[0]), "--json"])
    assert good.exit_code == 0
    assert json.loads(good.stdout)[0]["status"] == "sure"
    bad = runner.invoke(app, ["look", str(paths[2]), "--json"])
    assert bad.exit_code == 3
    assert json.loads(bad.stdout)[0]["problem"]["code"] == "photo-not-a-picture"


def test_the_command_speaks_to_a_person(photos):
    """Without ``--json`` one line a photo: number, size, outline; or the sentence of its problem."""
    shot, paths = photos
    runner = CliRunner()
    said = runner.invoke(app, ["look", str(paths[0])]).stdout
    assert f"number {shot.cards[0].value}" in said
    assert "mm" in said
    assert "outline sure" in said
    assert "no number card" in runner.invoke(app, ["look", str(paths[1])]).stdout
    assert "is not a picture" in runner.invoke(app, ["look", str(paths[2])]).stdout


def test_the_picture_shows_what_was_seen(photos, tmp_path):
    """``--picture`` draws over the photo: it differs from the photo where card and outline are."""
    shot, paths = photos
    out = tmp_path / "seen.png"
    assert CliRunner().invoke(app, ["look", str(paths[0]), "--picture", str(out)]).exit_code == 0
    drawn, plain = Image.open(out).convert("RGB"), Image.open(BytesIO(shot.jpeg)).convert("RGB")
    share = drawn.width / shot.width_px
    for corner, color in ((shot.cards[0].corners_px[2], (0, 96, 176)), (shot.works[0].corners_px[2], (196, 30, 58))):
        x, y = (round(part * share) for part in corner)
        around = [drawn.getpixel((x + dx, y + dy)) for dx in range(-4, 5) for dy in range(-4, 5)]
        assert color in around
    assert plain.size[0] >= drawn.size[0]
    assert drawn.height > shot.height_px * share + 100  # the words stand below the photo


def test_the_picture_says_in_words_what_was_seen(photos):
    """One line for each card, the edge, the size and the color; without a card it says so."""
    shot, paths = photos
    seen, lawn, _ = look_at(paths, InlineExecutor())
    lines = words_of(seen)
    assert lines[0] == f"Number card {shot.cards[0].value}: read surely"
    assert lines[1] == "Edge of the work: clear, cropped without asking"
    assert lines[2].startswith("Size: ")
    assert lines[3] == "Color: corrected by the card's grays"
    assert words_of(lawn)[0] == "No card can be seen"
    doubted = replace(seen.reading.cards[0], status=CardStatus.CHECK, why="only the left half of the card can be seen")
    half = replace(seen, reading=replace(seen.reading, cards=(doubted,)))
    assert words_of(half)[0].endswith("to check (only the left half of the card can be seen)")
    with Image.open(BytesIO(draw_seen(half, paths[0]))) as picture:
        assert picture.format == "PNG"


def test_a_broken_pool_loses_no_photo(photos):
    """When a worker died, the photo is tried once more on its own."""
    shot, paths = photos
    broken: Future = Future()
    broken.set_exception(BrokenExecutor("a worker died"))
    seen = settled(SeeRequest(paths[0], "IMG_1.JPG"), broken)
    assert seen.reading.number == shot.cards[0].value


def test_an_unsure_outline_says_so_in_the_json(photos):
    """``crop_sure`` is false with an outline that is to be asked about."""
    _, paths = photos
    seen = see_here(SeeRequest(paths[0], "IMG_1.JPG"))
    unsure = replace(seen, straightened=replace(seen.straightened, crop=replace(seen.straightened.crop, sure=False)))
    assert as_json(unsure)["crop_sure"] is False
    assert as_json(unsure)["outline_px"] == as_json(seen)["outline_px"]
