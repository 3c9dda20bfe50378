"""The machine stops at the n-th step that reaches the disk: nothing that was acknowledged is lost.

A forked child takes photos in and ends without any farewell (no exception, no clean-up) inside its n-th call that
makes something durable. Steps are gone through in order, not by chance, so that a hole is found every time.
"""

import hashlib
import os
from datetime import datetime, time

import pytest

from portfolio.archive import doctor
from portfolio.archive.library import Library
from portfolio.flows.take_in import take_in
from portfolio.model.filing import PhotoState
from tests.support.notes import ReadsNotes, note
from tests.support.school import YEAR_START, make_class, make_library

AT = datetime.combine(YEAR_START, time(9, 48))
PHOTOS = 4

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="a child that ends in mid-step needs fork")


def _stop_at(step: int) -> None:
    """Every call that makes something durable counts; at the n-th the process is gone."""
    count = 0
    for name in ("fsync", "link", "rename", "replace"):
        plain = getattr(os, name)

        def counted(*given, plain=plain, **named):
            nonlocal count
            count += 1
            if count == step:
                os._exit(9)
            return plain(*given, **named)

        setattr(os, name, counted)


def _child(folder, photos, acknowledged, step: int) -> None:
    try:
        with Library.open(folder) as library:
            _stop_at(step)
            with acknowledged.open("w") as told:

                def tell(what: str, done: int, _of: int) -> None:
                    if what == "stored":
                        told.write(f"{done}\n")
                        told.flush()

                take_in(library, [photos], executor=ReadsNotes(), quiet_s=0, told=tell)
    except BaseException:  # noqa: BLE001  a forked child must never return into the test run
        os._exit(1)
    os._exit(0)


@pytest.mark.parametrize("step", [1, 2, 3, 4, 7, 12, 18, 25, 40])
def test_nothing_acknowledged_is_lost_at_any_step(tmp_path, step):
    """After the stop every acknowledged photo is there, whole and recorded; the next run files each photo once."""
    with make_library(tmp_path) as library:
        make_class(library, children=PHOTOS)
    photos = tmp_path / "in"
    paths = [
        note(photos, f"IMG_{place:04}.JPG", str(place), at=AT.replace(second=place * 3), crop_hash=place << 40)
        for place in range(1, PHOTOS + 1)
    ]
    acknowledged = tmp_path / "acknowledged"
    acknowledged.touch()
    child = os.fork()
    if child == 0:
        _child(library.folder, photos, acknowledged, step)
    ended = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    assert ended in (0, 9)
    with Library.open(library.folder) as again:
        for path in paths[: len(acknowledged.read_text().split())]:
            assert again.originals.verify(hashlib.sha256(path.read_bytes()).hexdigest()) is None
        report = take_in(again, [photos], executor=ReadsNotes(), quiet_s=0)
        assert len({line.work_id for line in report.photos}) == PHOTOS
        assert {line.state for line in report.photos} <= {PhotoState.FILED, PhotoState.DUPLICATE}
        assert doctor.check(again, whole=True).problems == ()
        assert not list((again.folder / "originals" / "tmp").iterdir())


def test_the_stop_is_real(tmp_path):
    """At the first step nothing is acknowledged yet and the child is gone: the measure above can fail."""
    with make_library(tmp_path) as library:
        make_class(library, children=PHOTOS)
    note(tmp_path / "in", "IMG_0001.JPG", "1", at=AT)
    child = os.fork()
    if child == 0:
        _child(library.folder, tmp_path / "in", tmp_path / "acknowledged", 1)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 9
    assert (tmp_path / "acknowledged").read_text() == ""
