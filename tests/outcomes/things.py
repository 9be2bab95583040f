"""A case with a device of which it is known when it was fitted, and what is said about it."""

from __future__ import annotations

from typing import Any

from fastapi.testclient import TestClient

from tests.devices.worn import device, made, opened, socket

FITTED = "2026-02-10"
"""Three weeks before today's day in tests: the first ask, after two weeks, has been open for six days."""

WELL: dict[str, Any] = {
    "answered_by": "recipient",
    "used": True,
    "days_a_week": 5,
    "hours_a_day": 4.5,
    "comfort": 8,
    "pain": "a_little",
    "pain_where": "at the elbow",
    "used_for": ["school", "play"],
    "recommend": "yes",
}
LEVELS = {
    "-2": "Somebody does it up for me.",
    "-1": "I hold it, somebody pulls.",
    "0": "I do it up on most days.",
    "1": "I do it up every day.",
    "2": "I am as fast as the others.",
}
GOAL: dict[str, Any] = {"words": "Do up my own coat.", "weight": 3, "levels": LEVELS, "baseline": -2}


def wearing(coordinator: TestClient, fitted_on: str = FITTED, **case: Any) -> tuple[str, int]:
    """A case and its device, fitted on a day."""
    number = opened(coordinator, **case)
    worn = device(coordinator, number)
    socket(coordinator, number, worn, fitted_on)
    return number, worn


def say(client: TestClient, number: str, **body: Any) -> Any:
    """Record a follow-up; returns the response."""
    return client.post(f"/api/v1/recipients/{number}/follow-ups", json=body)


def asked(client: TestClient, number: str) -> dict[str, dict[str, Any]]:
    """The asks of a case with one device, by name."""
    answer = client.get(f"/api/v1/recipients/{number}/follow-ups")
    assert answer.status_code == 200, answer.text
    return {each["ask"]: each for each in answer.json()["items"]}


def goal(client: TestClient, number: str, **more: Any) -> int:
    """Agree on a goal; returns its id."""
    found: int = made(client, f"recipients/{number}/goals", {**GOAL, **more})["id"]
    return found
