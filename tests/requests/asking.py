"""Asking for things over HTTP, in a register with a case and a device."""

from __future__ import annotations

from typing import Any

from fastapi.testclient import TestClient

from tests.devices.worn import made

INDEX = {"kind": "finger", "digit": "index", "happened": "broken"}
MIDDLE = {"kind": "finger", "digit": "middle", "happened": "lost"}


def ask(client: TestClient, number: str, kind: str = "replacement", **more: Any) -> dict[str, Any]:
    """Ask for something; returns the request."""
    given: dict[str, Any] = {"words": "It snapped at the hinge."} if kind in {"replacement", "advice"} else {}
    return made(client, "requests", {"case_number": number, "kind": kind, **given, **more})


def asked(client: TestClient, number: str, kind: str = "replacement", **more: Any) -> Any:
    """Ask for something; returns the response, whatever it is."""
    return client.post("/api/v1/requests", json={"case_number": number, "kind": kind, **more})


def act(client: TestClient, request: int, what: str, /, **body: Any) -> Any:
    """Do something to a request; returns the response."""
    return client.post(f"/api/v1/requests/{request}/{what}", json=body)


def done(client: TestClient, request: int, what: str, /, **body: Any) -> dict[str, Any]:
    """Do something to a request that is taken; returns the answer."""
    answer = act(client, request, what, **body)
    assert answer.status_code in {200, 201}, answer.text
    found: dict[str, Any] = answer.json()
    return found


def listed(client: TestClient, **params: Any) -> list[dict[str, Any]]:
    """The requests of a list, its pages put together."""
    found: list[dict[str, Any]] = []
    while True:
        answer = client.get("/api/v1/requests", params=params)
        assert answer.status_code == 200, answer.text
        found += answer.json()["items"]
        if (cursor := answer.json()["next"]) is None:
            return found
        params["cursor"] = cursor
