"""Sockets that the app listens on, and the addresses of this computer that other devices may reach."""

from __future__ import annotations

import ipaddress
import os
import socket
import struct
import sys
from contextlib import suppress
from typing import Final

from portfolio.errors import PortfolioError

_SIOCGIFADDR: Final = 0x8915
"""Linux: "which address has this interface?", from ``linux/sockios.h``."""
_FAR: Final = ("10.255.255.254", "172.31.255.254", "192.168.255.254")
"""One address in each range that RFC 1918 keeps for private networks."""


def bound(host: str, port: int | None, *, usual: int = 0) -> socket.socket:
    """A listening socket, so that the port is ours before anything is said about it. ``port``: ``None`` takes the
    ``usual`` one, or a free one when that is taken.
    """
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    last: OSError | None = None
    for wanted in (usual, 0) if port is None else (port,):
        listening = socket.socket(family, socket.SOCK_STREAM)
        if os.name == "posix":  # closed a moment ago, the port is ours again; Windows would share it with a stranger
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((host, wanted))
        except OSError as error:
            listening.close()
            last = error
        else:
            return listening
    raise PortfolioError("port-in-use", item=f"Port {port}") from last


def is_loopback(host: str) -> bool:
    """Whether an address means this computer itself."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False


def lan_addresses() -> tuple[str, ...]:
    """The IPv4 addresses under which other devices may reach this computer, the likeliest first. Sends nothing."""
    found = _by_interfaces() if sys.platform == "linux" else _by_routes()
    reachable = (one for one in found if not is_loopback(one) and not ipaddress.ip_address(one).is_unspecified)
    return tuple(dict.fromkeys(reachable))


def _by_interfaces() -> list[str]:
    """Of every network interface; wireless ones first, then wired ones, then what programs have made."""
    from fcntl import ioctl  # noqa: PLC0415  only there on these systems

    names = sorted((name for _, name in socket.if_nameindex()), key=lambda name: (_rank(name), name))
    found = []
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        for name in names:
            with suppress(OSError):  # this one has no IPv4 address
                told = ioctl(asking.fileno(), _SIOCGIFADDR, struct.pack("256s", name.encode()[:15]))
                found.append(socket.inet_ntoa(told[20:24]))
    return found


def _rank(name: str) -> int:
    return next((place for place, begins in enumerate(("wl", "en", "eth")) if name.startswith(begins)), 3)


def _by_routes() -> list[str]:
    """From where this computer would send into private networks: connecting a UDP socket sends nothing."""
    found = []
    for far in _FAR:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking, suppress(OSError):
            asking.connect((far, 9))
            found.append(str(asking.getsockname()[0]))
    return found
