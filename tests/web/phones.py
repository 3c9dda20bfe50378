"""A phone in the Wi-Fi for the app's tests: what it sends comes in by the socket that other devices reach."""

from __future__ import annotations

import base64
from datetime import UTC, datetime
from typing import Any

from fastapi.testclient import TestClient

from portfolio.flows import tickets
from portfolio.model.filing import Chosen
from portfolio.web.desk import Desk
from portfolio.web.outside import Outside

LAN = "192.168.7.20"
TUS = {"Tus-Resumable": "1.0.0"}


def phone(asgi: Any, *, address: str = "192.168.7.33", **given: Any) -> TestClient:
    """A browser of the phone; ``given``: headers or cookies that it has as well."""
    headers = {"Origin": f"http://{LAN}", **given.pop("headers", {})}
    return TestClient(
        Outside(asgi, LAN),
        base_url=f"http://{LAN}",
        headers=headers,
        client=(address, 5),
        follow_redirects=False,
        **given,
    )


def new_ticket(desk: Desk, now: datetime | None = None) -> tuple[int, str]:
    """A batch and the code for it."""
    return tickets.begin(desk.library, desk.tickets, Chosen(), now=now or datetime.now(UTC))


def announce(
    client: TestClient, code: str, size_bytes: int, *, name: str = "IMG_1.JPG", batch: int = 0, wanted: int = 201
) -> Any:
    """Announce a photo; gives the answer."""
    told = {"name": name, "batch": str(batch), "modified": "1"}
    said = ",".join(f"{word} {base64.b64encode(text.encode()).decode()}" for word, text in told.items())
    headers = {**TUS, "Upload-Length": str(size_bytes), "Upload-Metadata": said}
    answer = client.post(f"/send/{code}/uploads", headers=headers)
    assert answer.status_code == wanted, answer.text
    return answer


def send(client: TestClient, to: str, data: bytes, *, at: int = 0) -> Any:
    """Send bytes from a place on; gives the answer."""
    piece = {**TUS, "Upload-Offset": str(at), "Content-Type": "application/offset+octet-stream"}
    return client.patch(to, content=data, headers=piece)
