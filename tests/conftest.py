"""For every test: no network but this machine, and one thread in OpenCV."""

import ipaddress
import sys

import cv2
import pytest

cv2.setNumThreads(1)


class NetworkRefused(RuntimeError):
    """Something tried to reach another machine."""


def _is_here(address: object) -> bool:
    if not isinstance(address, tuple):
        return True  # a socket file of this machine
    try:
        return ipaddress.ip_address(str(address[0])).is_loopback
    except ValueError:
        return address[0] == "localhost"


def _watch(event: str, args: tuple[object, ...]) -> None:
    if event == "socket.connect" and not _is_here(args[1]):
        raise NetworkRefused(f"a test reached for {args[1]}")


sys.addaudithook(_watch)


@pytest.fixture(scope="session", autouse=True)
def _one_name_for_the_watch() -> None:
    """The hook above stands for the whole run; it cannot be taken out again."""
