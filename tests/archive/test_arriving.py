"""Files on their way: what one request begins, the sweep of another beside it leaves alone."""

from datetime import UTC, datetime, timedelta

import pytest

from portfolio.archive.arriving import KEPT_DAYS, Announced, Arriving
from portfolio.errors import NotFound


@pytest.fixture
def store(tmp_path) -> Arriving:
    return Arriving(tmp_path / "arriving")


def test_a_sweep_beside_an_announcement_takes_nothing_away(store, monkeypatch):
    """Two photos are announced at once at the start of a batch, and the first one sweeps: the other is still waited
    for, wherever the sweep falls.
    """
    write = store._write_note

    def swept_beside(arrival):
        store.sweep(now=datetime.now(UTC))
        write(arrival)
        store.sweep(now=datetime.now(UTC))

    monkeypatch.setattr(store, "_write_note", swept_beside)
    key = store.begin(Announced(1, "a.jpg", 5))
    assert store.came(key) == 0
    store.append(key, b"abc", name="a.jpg")
    assert store.came(key) == 3


def test_a_note_that_is_being_written_stops_no_sweep(store):
    """A note is written beside its place first; at that moment neither it nor a partial file is there."""
    store.folder.mkdir()
    (store.folder / f"1-{'x' * 24}.tmp").write_text("{")
    assert store.sweep(now=datetime.now(UTC)) == 0


def test_what_nobody_went_on_with_is_given_up_after_some_days(store):
    """Not before."""
    key = store.begin(Announced(1, "a.jpg", 5))
    now = datetime.now(UTC)
    assert store.sweep(now=now + timedelta(days=KEPT_DAYS, minutes=-5)) == 0
    assert store.came(key) == 0
    assert store.sweep(now=now + timedelta(days=KEPT_DAYS, minutes=5)) == 1
    with pytest.raises(NotFound):
        store.arrival(key)
