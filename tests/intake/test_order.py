"""The order in which photos were taken."""

from datetime import datetime, timedelta
from itertools import permutations

from hypothesis import given
from hypothesis import strategies as st

from portfolio.intake import Shot, taking_order
from portfolio.intake.order import camera_counter
from portfolio.model.photo import Taken, TakenSource

NINE = datetime(2026, 10, 6, 9, 0)  # noqa: DTZ001  the school's wall time


def _shot(key: str, *, at: float | None = None, source: TakenSource = TakenSource.ORIGINAL) -> Shot[str]:
    taken = None if at is None else Taken(NINE + timedelta(seconds=at), source)
    return Shot(key, key, taken)


def test_parts_of_a_second_decide_within_a_burst():
    """Two photos of one second stand by their fractions, not by their names."""
    shots = [_shot("IMG_0001.JPG", at=0.9), _shot("IMG_0002.JPG", at=0.1)]
    assert taking_order(shots) == ("IMG_0002.JPG", "IMG_0001.JPG")


def test_the_counter_decides_within_one_moment():
    """Without fractions the camera's counter is the order, read as a number."""
    shots = [_shot("IMG_10.JPG", at=0), _shot("IMG_9.JPG", at=0), _shot("IMG_2.JPG", at=0)]
    assert taking_order(shots) == ("IMG_2.JPG", "IMG_9.JPG", "IMG_10.JPG")


def test_the_time_of_the_file_decides_nothing():
    """Modification times lie after copying: a photo that has no other time stands by its counter."""
    shots = [
        _shot("IMG_0003.JPG", at=-500, source=TakenSource.FILE),
        _shot("IMG_0001.JPG", at=999, source=TakenSource.FILE),
        _shot("IMG_0002.JPG", at=0, source=TakenSource.FILE),
    ]
    assert taking_order(shots) == ("IMG_0001.JPG", "IMG_0002.JPG", "IMG_0003.JPG")


def test_a_photo_without_time_stands_behind_its_neighbor_by_counter():
    """One file that lost its EXIF still finds its place in the row."""
    shots = [_shot("IMG_0411.JPG", at=0), _shot("IMG_0412.JPG"), _shot("IMG_0413.JPG", at=9)]
    for turned in permutations(shots):
        assert taking_order(turned) == ("IMG_0411.JPG", "IMG_0412.JPG", "IMG_0413.JPG")


def test_a_counter_that_runs_over_goes_on():
    """After 9999 comes 0001."""
    shots = [_shot("IMG_0001.JPG"), _shot("IMG_9999.JPG"), _shot("IMG_9998.JPG")]
    assert taking_order(shots) == ("IMG_9998.JPG", "IMG_9999.JPG", "IMG_0001.JPG")


def test_counters_are_read_from_names():
    """The last run of digits counts; a copy counts as the photo it copies."""
    assert camera_counter("IMG_0412 (1).JPG") == camera_counter("IMG_0412.JPG")
    assert camera_counter("DSC00017.jpeg")[1] == 17
    assert camera_counter("photo.jpg")[1] == -1


@given(
    st.dictionaries(st.integers(0, 99), st.one_of(st.none(), st.integers(0, 50)), max_size=12),
    st.randoms(use_true_random=False),
)
def test_every_photo_comes_once_however_they_were_handed_over(pairs, chance):
    """The order loses and doubles nothing, and the order of handing over does not matter."""
    shots = [_shot(f"IMG_{number:04}.JPG", at=at) for number, at in pairs.items()]
    mixed = shots[:]
    chance.shuffle(mixed)
    assert sorted(taking_order(mixed)) == sorted(shot.key for shot in shots)
    assert taking_order(mixed) == taking_order(shots)
