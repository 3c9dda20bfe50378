"""A bad network: a TCP proxy on this computer that cuts every connection after so many bytes, and a sender that
goes on after each cut as tus says: ask how far it came, go on there.
"""

from __future__ import annotations

import base64
import contextlib
import http.client
import random
import socket
import struct
import threading
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

TUS = {"Tus-Resumable": "1.0.0"}
_BLOCK = 1 << 16


@dataclass
class Cutter:
    """Listens on ``port``; every connection is cut after ``least`` to ``most`` bytes from the client, half of them
    rudely.
    """

    to_port: int
    least: int
    most: int
    chance: random.Random
    listening: socket.socket = field(default_factory=lambda: socket.create_server(("127.0.0.1", 0)))
    cuts: int = 0

    @property
    def port(self) -> int:
        """Where to connect."""
        return int(self.listening.getsockname()[1])

    def run(self) -> None:
        """Accept until the listening socket is closed."""
        with contextlib.suppress(OSError):
            while True:
                near, _ = self.listening.accept()
                allowed, rude = self.chance.randrange(self.least, self.most), self.chance.random() < 0.5
                threading.Thread(target=self._carry, args=(near, allowed, rude), daemon=True).start()

    def _carry(self, near: socket.socket, allowed: int, rude: bool) -> None:
        try:
            far = socket.create_connection(("127.0.0.1", self.to_port), timeout=30)
        except OSError:  # the server is down right now
            near.close()
            return
        back = threading.Thread(target=_pour, args=(far, near), daemon=True)
        back.start()
        if _pour(near, far, allowed):
            self.cuts += 1
            for side in (near, far):
                if rude:  # a reset instead of an orderly end
                    side.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
                with contextlib.suppress(OSError):
                    side.shutdown(socket.SHUT_RDWR) if not rude else side.close()
        back.join(30)
        for side in (near, far):
            side.close()


def _pour(source: socket.socket, sink: socket.socket, allowed: int | None = None) -> bool:
    """Carry bytes one way; whether the limit ended it."""
    left = allowed
    with contextlib.suppress(OSError):
        while True:
            data = source.recv(_BLOCK)
            if left is not None and len(data) > left:
                sink.sendall(data[:left])
                return True
            if not data:
                sink.shutdown(socket.SHUT_WR)
                return False
            sink.sendall(data)
            left = left - len(data) if left is not None else None
    return False


@contextmanager
def cutting(to_port: int, *, most: int, seed: int, least: int = 0) -> Iterator[Cutter]:
    """A proxy in front of ``to_port``."""
    cutter = Cutter(to_port, least, most, random.Random(seed))
    threading.Thread(target=cutter.run, daemon=True).start()
    try:
        yield cutter
    finally:
        cutter.listening.close()


@dataclass
class Sender:
    """Sends files over a port on which nothing can be relied on. ``headers``: who sends, for every request."""

    port: int
    headers: Mapping[str, str]
    patience_s: float = 60

    def send(self, path: Path, batch_id: int) -> None:
        """Send one file until it is whole."""
        data = path.read_bytes()
        told = {"name": path.name, "batch": str(batch_id), "modified": str(path.stat().st_mtime_ns // 1_000_000)}
        said = ",".join(f"{word} {base64.b64encode(text.encode()).decode()}" for word, text in told.items())
        until = time.monotonic() + self.patience_s
        to = ""
        while time.monotonic() < until:
            try:
                if not to:
                    announced = {"Upload-Length": str(len(data)), "Upload-Metadata": said}
                    to = self._ask("POST", "/add/uploads", announced, wanted=201)["location"]
                came = int(self._ask("HEAD", to, {}, wanted=200)["upload-offset"])
                piece = {"Upload-Offset": str(came), "Content-Type": "application/offset+octet-stream"}
                self._ask("PATCH", to, piece, data[came:], wanted=204)
            except (OSError, http.client.HTTPException):
                time.sleep(0.05)
            else:
                return
        raise TimeoutError(path.name)

    def _ask(
        self, method: str, to: str, headers: Mapping[str, str], body: bytes = b"", *, wanted: int
    ) -> dict[str, str]:
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        try:
            line.request(method, to, body, {**TUS, **self.headers, **headers})
            answer = line.getresponse()
            answer.read()
        finally:
            line.close()
        if answer.status != wanted and answer.status != 409:
            raise AssertionError((method, answer.status))
        if answer.status == 409:
            raise ConnectionError("it came further than was told")
        return {name.lower(): value for name, value in answer.getheaders()}
