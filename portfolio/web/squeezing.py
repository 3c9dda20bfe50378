"""What travels gzipped: styles, scripts and heavy pages, to a browser that takes it."""

from __future__ import annotations

import gzip
from collections.abc import Mapping
from typing import Final

TOLD: Final = {"Content-Encoding": "gzip", "Vary": "Accept-Encoding"}
"""Headers of a squeezed answer."""


def takes_gzip(headers: Mapping[str, str]) -> bool:
    """Whether the browser takes gzip."""
    return "gzip" in headers.get("accept-encoding", "")


def squeezed(body: bytes) -> bytes:
    """The same bytes gzipped, always alike."""
    return gzip.compress(body, compresslevel=5, mtime=0)
