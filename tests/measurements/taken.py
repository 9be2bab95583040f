"""Readings taken of an invented child, recorded over HTTP."""

from __future__ import annotations

from typing import Any

from fastapi.testclient import TestClient

TODAY = "2026-03-02"


def girth(*values: float | str, side: str | None = "left", level_mm: float | None = 60, **more: Any) -> dict[str, Any]:
    """A residual limb girth."""
    place = {"dimension": "residual_limb_girth", "side": side, "level_mm": level_mm}
    return {**place, "values": list(values), "unit": "mm", **more}


def session(*readings: dict[str, Any], taken_on: str = TODAY, **more: Any) -> dict[str, Any]:
    """The body of a session, taken with a tape."""
    return {"taken_on": taken_on, "method": "tape", "readings": list(readings), **more}


def post(client: TestClient, number: str, body: dict[str, Any], **headers: str) -> Any:
    """Send a session."""
    return client.post(f"/api/v1/recipients/{number}/measurements", json=body, headers=headers)


def taken(client: TestClient, number: str, *readings: dict[str, Any], **more: Any) -> dict[str, Any]:
    """Record a session that is taken, of a case that is followed; returns it as it reads later."""
    answer = post(client, number, session(*readings, **more))
    assert answer.status_code == 201, answer.text
    found: dict[str, Any] = answer.json()
    assert found.pop("warnings") == []
    return found


def listed(client: TestClient, number: str, **query: Any) -> dict[str, Any]:
    """A page of a case's sessions."""
    found: dict[str, Any] = client.get(f"/api/v1/recipients/{number}/measurements", params=query).json()
    return found
