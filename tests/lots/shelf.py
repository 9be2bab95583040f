"""Invented lots, recorded over HTTP."""

from __future__ import annotations

from typing import Any

from fastapi.testclient import TestClient

SPOOL: dict[str, Any] = {
    "kind": "filament",
    "what": "PETG 1.75 mm",
    "material": "PETG",
    "colour": "black",
    "maker": "Northern Reels",
    "batch": "24-118",
    "quantity": 750,
}
CORD: dict[str, Any] = {
    "kind": "hardware",
    "what": "Elastic cord 3 mm",
    "maker": "Quay Supplies",
    "batch": "E7",
    "unit": "m",
    "latex_free": False,
}


def lot(client: TestClient, of: dict[str, Any] = SPOOL, **changes: Any) -> dict[str, Any]:
    """Record a lot that is taken; returns it."""
    answer = client.post("/api/v1/lots", json={**of, **changes})
    assert answer.status_code == 201, answer.text
    found: dict[str, Any] = answer.json()
    return found


def moved(client: TestClient, lot_id: int, state: str, why: str = "Looked at it.") -> Any:
    """Ask for another state; returns the answer, whatever it is."""
    return client.post(f"/api/v1/lots/{lot_id}/state", json={"state": state, "why": why})
