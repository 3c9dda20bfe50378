"""A class's photos over a network that cuts every connection, to a server that is killed in the middle."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from sqlmodel import select

from portfolio.archive import settings
from portfolio.archive.library import Library
from portfolio.archive.settings import Settings
from portfolio.archive.tables import Photo
from portfolio.flows import sign_in, take_in
from portfolio.model.filing import Chosen
from portfolio.web.sign_in import COOKIE
from tests.support.cutting import Sender, cutting
from tests.web.room import TODAY, furnish, painted

PHOTOS = 30
MOST = 4_000_000
AT_ONCE = 2
KILLED_AFTER = 12
ROOT = Path(__file__).parents[2]


def _serve(folder: Path, port: int) -> subprocess.Popen[bytes]:
    command = [sys.executable, "-m", "tests.support.serve_folder", str(folder), str(port), TODAY.isoformat()]
    server = subprocess.Popen(command, cwd=ROOT)
    until = time.monotonic() + 40
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            assert server.poll() is None, "the server did not start"
            assert time.monotonic() < until
            time.sleep(0.05)
        else:
            return server


def _free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as listening:
        return int(listening.getsockname()[1])


def _photos(folder: Path) -> list[Path]:
    """Small pictures with random bytes behind their end: 1 to 3 MB each, quickly read."""
    paths = []
    for place in range(PHOTOS):
        path = folder / f"IMG_{place:04}.JPG"
        path.write_bytes(painted(9000 + place, 64, 48) + os.urandom(1_000_000 + place * 2_000_000 // PHOTOS))
        paths.append(path)
    return paths


@pytest.mark.skipif(os.name == "nt", reason="a process cannot be killed in this way there")
def test_thirty_of_thirty_photos_are_the_same_bytes(tmp_path: Path) -> None:
    """Every connection is cut after 0 to 4 MB and the server is killed once: each photo is kept once, byte for byte,
    and nobody did anything but send.
    """
    folder, port = tmp_path / "library", _free_port()
    paths = _photos(tmp_path)
    with Library.create(folder):
        settings.save(folder, Settings(executor="thread", workers=1, free_space_mb=1))
    with Library.open(folder) as library:
        furnish(library)
        before = set(library.originals.all())
        batch_id = take_in.open_batch(library, Chosen(), expected=PHOTOS)
        secret = sign_in.open_demo(library).secret
    server = _serve(folder, port)
    try:
        with cutting(port, most=MOST, seed=7) as cutter, ThreadPoolExecutor(AT_ONCE) as lanes:
            headers = {"Cookie": f"{COOKIE}={secret}", "Origin": f"http://127.0.0.1:{cutter.port}"}
            sender = Sender(cutter.port, headers)
            sent = [lanes.submit(sender.send, path, batch_id) for path in paths]
            sent[KILLED_AFTER].result()
            server.send_signal(signal.SIGKILL)
            server.wait()
            server = _serve(folder, port)
            for one in sent:
                one.result()
            assert cutter.cuts >= 5, "the network was bad"
    finally:
        server.kill()
        server.wait()
    with Library.open(folder) as library:
        with library.reading() as session:
            kept = session.exec(select(Photo).where(Photo.batch_id == batch_id)).all()
        assert len(kept) == PHOTOS
        by_name = {one.file_name: one.sha256 for one in kept}
        assert all(library.originals.path(by_name[path.name]).read_bytes() == path.read_bytes() for path in paths)
        assert len(set(library.originals.all()) - before) == PHOTOS
        assert not list(library.arriving.folder.glob("*.part"))
