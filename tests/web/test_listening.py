"""The sockets of the app and the addresses under which this computer can be reached."""

from __future__ import annotations

import ipaddress
import socket
import sys
from typing import Self

import pytest

from portfolio.web import listening


def test_loopback_is_told_from_every_other_address() -> None:
    """Only this computer's own addresses count, by number or as "localhost"; a name could lead anywhere."""
    assert all(listening.is_loopback(one) for one in ("127.0.0.1", "127.0.0.2", "::1", "[::1]", "localhost"))
    assert not any(listening.is_loopback(one) for one in ("192.168.1.20", "0.0.0.0", "", "localhost.evil.test"))


def test_a_taken_port_gives_way_to_a_free_one() -> None:
    """The usual port is taken by another program: a free one is listened on instead."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        usual = other.getsockname()[1]
        with listening.bound("127.0.0.1", None, usual=usual) as found:
            assert found.getsockname()[1] not in (0, usual)


@pytest.mark.skipif(sys.platform != "linux", reason="elsewhere the routes are asked")
def test_addresses_are_listed_without_reaching_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """Every interface's own IPv4 address once, none of them loopback; wireless before wired before the rest."""
    found = listening.lan_addresses()
    assert all(not ipaddress.ip_address(one).is_loopback for one in found)
    assert len(set(found)) == len(found)
    assert sorted(["docker0", "eth0", "enp3s0", "wlan0"], key=listening._rank) == ["wlan0", "enp3s0", "eth0", "docker0"]
    monkeypatch.setattr(listening, "_by_interfaces", lambda: ["127.0.0.1", "10.1.2.3", "0.0.0.0", "10.1.2.3"])
    assert listening.lan_addresses() == ("10.1.2.3",)


def test_addresses_by_routes_send_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each private range is asked about by a socket that never sends; a range without a route is passed over."""

    class Asking:
        def __init__(self, *_: object) -> None:
            self.far = ""

        def __enter__(self) -> Self:
            return self

        def __exit__(self, *_: object) -> None:
            pass

        def connect(self, to: tuple[str, int]) -> None:
            if to[0].startswith("172."):
                raise OSError("no route")
            self.far = to[0]

        def getsockname(self) -> tuple[str, int]:
            return "192.168.7.20" if self.far.startswith("192.") else "10.0.0.7", 5000

    monkeypatch.setattr(listening.socket, "socket", Asking)
    assert listening._by_routes() == ["10.0.0.7", "192.168.7.20"]
