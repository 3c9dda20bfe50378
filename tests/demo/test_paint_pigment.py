"""Pigment and paper: dyes only darken, covering paint covers, grain is uniform; nearer things hide farther ones."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portfolio.demo.paint.canvas import Canvas
from portfolio.demo.paint.chance import chance
from portfolio.demo.paint.child import child_of
from portfolio.demo.paint.hand import Hand
from portfolio.demo.paint.marks import Part, Scene, Thing
from portfolio.demo.paint.palette import NAMES, SHEETS, color, neighbor, plain, sheet_color
from portfolio.demo.paint.paper import tile, turned_tile
from portfolio.demo.paint.shape import box, curve, half_plane, length, points, resampled, star
from portfolio.demo.paint.stage import Stage
from portfolio.demo.paint.studio import work


def make_canvas(paper="white", px=240):
    return Canvas(paper, (120, 90), long_px=px, tooth="tooth", rng=chance("canvas", paper))


def make_scene(*things, sheet="white"):
    return Scene("test", things, 120, 90, sheet)


@pytest.mark.parametrize("kind", ["tooth", "fine", "rough", "streak", "bristle", "mottle", "cloud"])
def test_grain_is_uniform_and_repeats_without_a_seam(kind):
    """A threshold on a tile is a share of covered paper, and its opposite edges fit."""
    grain = tile(kind)
    for share in (0.2, 0.5, 0.8):
        assert float((grain < share * 255).mean()) == pytest.approx(share, abs=0.02)
    wide = grain.astype(float)
    inner = np.abs(np.diff(wide, axis=1)).mean()
    seam = np.abs(wide[:, 0] - wide[:, -1]).mean()
    assert seam < 1.35 * inner + 1


def test_a_turned_tile_runs_along_its_angle():
    """Streaks turned by 90 degrees change less downward than across."""
    upright = turned_tile("streak", 6).astype(float)
    assert np.abs(np.diff(upright, axis=0)).mean() < 0.4 * np.abs(np.diff(upright, axis=1)).mean()


@settings(max_examples=30, deadline=None)
@given(name=st.sampled_from(NAMES), density=st.floats(0, 2))
def test_dye_only_darkens(name, density):
    """A dye never makes any channel of the sheet lighter."""
    canvas = make_canvas()
    before = canvas.planes.copy()
    area = (slice(10, 60), slice(20, 80))
    canvas.dye(area, np.full((50, 60), density, np.float32), color(name, palette="marker"))
    assert (canvas.planes <= before + 1e-6).all()
    assert (canvas.planes[:, :10] == before[:, :10]).all()


def test_covering_paint_covers_and_a_glaze_lets_through():
    """At opacity one the color stands alone; at zero it filters what lies below."""
    canvas = make_canvas("black")
    area = (slice(0, 40), slice(0, 40))
    canvas.glaze(area, np.ones((40, 40), np.float32), color("yellow"), opacity=1)
    assert np.allclose(canvas.planes[:, 5, 5], color("yellow"), atol=0.01)
    red = make_canvas()
    below = red.planes[:, 5, 5].copy()
    red.glaze(area, np.ones((40, 40), np.float32), color("red"), opacity=0)
    assert np.allclose(red.planes[:, 5, 5], below * color("red"), atol=0.01)


@pytest.mark.parametrize("medium", ["crayon", "oil pastel", "colored pencil", "marker", "tempera", "watercolor"])
def test_a_colored_shape_has_its_color_and_the_rest_stays_paper(medium):
    """A blue square is bluest inside; away from it the sheet is untouched."""
    thing = Thing("square", (Part((box(30, 25, 90, 65),), fill="blue", line=None),))
    sheet = work(make_scene(thing), Hand(child_of(3), 9.5, chance("blue")), medium=medium, long_px=360)
    inside, corner = sheet[90:180, 110:250].reshape(-1, 3).mean(axis=0), sheet[:30, :30].reshape(-1, 3).mean(axis=0)
    assert inside[2] > inside[0] + 20
    assert corner.min() > 225


@pytest.mark.parametrize(("age", "hidden"), [(6.0, False), (10.0, True)])
def test_older_children_stop_where_something_stands_before(age, hidden):
    """At ten a thing is hidden behind a nearer one; at six both show through each other."""
    back, front = (
        Thing("back", (Part((box(10, 10, 70, 70),), fill="red"),)),
        Thing("front", (Part((box(40, 20, 110, 80),), fill="blue"),)),
    )
    canvas = make_canvas()
    stage = list(Stage(make_scene(back, front), canvas, Hand(child_of(2), age, chance(1)), halo_mm=0, opaque=False))
    both, alone = (slice(80, 120), slice(90, 130)), (slice(40, 100), slice(30, 60))
    shown = stage[0].shown(both)
    assert (shown is not None and float(shown.max()) == 0) == hidden
    free = stage[0].shown(alone)
    assert free is None or float(free.min()) == 1
    nearest = stage[1].shown(both)
    assert nearest is None or float(nearest.min()) == 1


def test_grounds_are_colored_around_things():
    """Sky does not go through a house, at any age."""
    sky = Thing("sky", (Part((box(0, 0, 120, 90),), fill="sky", line=None),), ground=True)
    house = Thing("house", (Part((box(40, 30, 80, 80),), fill="red"),))
    for age in (5.5, 10.0):
        stage = list(
            Stage(make_scene(sky, house), make_canvas(), Hand(child_of(2), age, chance(1)), halo_mm=1, opaque=False)
        )
        assert float(stage[0].shown((slice(70, 150), slice(90, 150))).max()) == 0
        assert float(stage[0].shown((slice(0, 40), slice(0, 60))).min()) == 1


def test_palettes_know_every_color_name():
    """Every name with every tone gives a color between 0 and 1; black is never 0 and white never 1."""
    for palette in ("wax", "marker", "tempera", "pan", "paper", "chalk", "graphite"):
        for name in (*NAMES, "black", "white", "gray", "tan", "teal", "skin0", "skin4"):
            for tone in ("", "dark ", "light "):
                rgb = color(tone + name, palette=palette)
                assert 0 < rgb.min() <= rgb.max() < 1
    assert all(sheet_color(name).shape == (3,) for name in (*SHEETS, *NAMES))
    assert (plain("dark green"), plain("skin3"), neighbor("light blue")) == ("green", "brown", "violet")
    with pytest.raises(KeyError, match="mauve"):
        color("mauve")


@settings(max_examples=60, deadline=None)
@given(turn=st.floats(0, 360), at=st.floats(-0.8, 0.8), lean=st.floats(0, 6.28))
def test_two_halves_of_a_shape_make_the_whole(turn, at, lean):
    """Cutting a polygon by a line loses and gains no area."""
    shape = star(0, 0, 50, turn=turn)
    normal = np.array([np.cos(lean), np.sin(lean)])
    halves = half_plane(shape, normal * 50 * at, normal), half_plane(shape, normal * 50 * at, -normal)

    def area(polygon):
        if not len(polygon):
            return 0.0
        x, y = polygon.T
        return abs(float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))) / 2

    assert area(halves[0]) + area(halves[1]) == pytest.approx(area(shape), rel=1e-6)


def test_curves_pass_through_their_points_and_resampling_keeps_the_length():
    """A curve meets each given point; resampled, it is as long as before and keeps its ends."""
    knots = ((0.0, 0.0), (10.0, 30.0), (40.0, 10.0), (80.0, 60.0))
    line = curve(*knots)
    for knot in knots:
        assert float(np.hypot(*(line - knot).T).min()) < 1e-9
    finer = resampled(line, 0.5)
    assert length(finer) == pytest.approx(length(line), rel=0.01)
    assert np.allclose(finer[[0, -1]], points(knots[0], knots[-1]))
