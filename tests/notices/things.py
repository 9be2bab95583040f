"""Safety notices over HTTP."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.notifications.tables import MessageRow
from tests.assembly.things import act
from tests.conftest import Register
from tests.devices.worn import made

WHY = "The pin can come out."


def opened(client: TestClient, **body: Any) -> dict[str, Any]:
    """Open a notice; returns it."""
    return made(client, "notices", {"why": WHY, **body})


def seen(client: TestClient, notice: int) -> dict[str, Any]:
    """A notice as somebody sees it."""
    answer = client.get(f"/api/v1/notices/{notice}")
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def devices(client: TestClient, notice: int) -> dict[int, dict[str, Any]]:
    """The devices that still hold what a notice is about, by their ids."""
    answer = client.get(f"/api/v1/notices/{notice}/affected")
    assert answer.status_code == 200, answer.text
    return {each["device"]: each for each in answer.json()["items"]}


def answered(client: TestClient, notice: int, number: str, answer: str, words: str = "") -> Any:
    """Write down what a family said; returns the response."""
    body = {"case_number": number, "answer": answer, "words": words}
    return client.post(f"/api/v1/notices/{notice}/answers", json=body)


def asked_for_all(client: TestClient, notice: int) -> dict[str, Any]:
    """Ask for a replacement of all."""
    return made(client, f"notices/{notice}/requests", {})


def closed(client: TestClient, notice: int) -> Any:
    """Close a notice; returns the response."""
    return client.post(f"/api/v1/notices/{notice}/close", json={"outcome": "All were replaced."})


def messages(register: Register, about: str) -> list[MessageRow]:
    """The messages whose keys hold some words."""
    with register.db.reading() as session:
        return list(session.scalars(sa.select(MessageRow).where(MessageRow.key.contains(about))))


def contact(client: TestClient, number: str, **more: Any) -> None:
    """A mother who may decide, reached by mail."""
    person = {"name": "Ada Okafor", "relation": "mother", "responsibility": "yes", "reach_by": "mail"}
    made(client, f"recipients/{number}/contacts", {**person, "email": "ada@example.org", **more})


def off(client: TestClient, number: str, place: int) -> None:
    """Take a part off."""
    answer = act(client, number, place, "end", came_off="broken")
    assert answer.status_code == 200, answer.text
