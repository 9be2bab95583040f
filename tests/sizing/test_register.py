"""The next size of the register's own sockets, over HTTP."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.audit.tables import AuditRow
from tests.conftest import SITES, START, Register
from tests.devices.worn import device, made, opened, socket

LIMITS = [
    {"dimension": "residual_limb_girth", "level_mm": 30, "tight_at_mm": 186.0},
    {"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": 176.0},
]


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def next_sizes(client: TestClient, number: str, query: str = "") -> list[dict[str, Any]]:
    answer = client.get(f"/api/v1/recipients/{number}/next-size{query}")
    assert answer.status_code == 200, answer.text
    found: list[dict[str, Any]] = answer.json()["items"]
    return found


def measured(client: TestClient, number: str, *readings: tuple[int, float], on: str = "2026-03-01") -> None:
    taken = [
        {"dimension": "residual_limb_girth", "side": "left", "level_mm": level, "values": [size], "unit": "mm"}
        for level, size in readings
    ]
    body = {"taken_on": on, "method": "tape", "readings": taken, "confirmed": True}
    made(client, f"recipients/{number}/measurements", body)


def test_the_register_sizes_the_next_socket_beside_the_one_worn(coordinator: TestClient) -> None:
    number = opened(coordinator)
    worn = device(coordinator, number)
    place = socket(coordinator, number, worn, limits=LIMITS)
    measured(coordinator, number, (30, 180.0), (60, 170.5))
    (found,) = next_sizes(coordinator, number)
    assert (found["device"], found["socket"], found["side"]) == (worn, place, "left")
    assert found["day_one"] == str(START.date() + timedelta(days=SITES["harbour"]))
    assert found["next"]["of_base"] is None
    assert [each["inside_now_mm"] for each in found["levels"]] == [186.0, 176.0]
    assert any("file" in each for each in found["warnings"])
    assert any("hand length" in each for each in found["asks"])
    (tried,) = next_sizes(coordinator, number, "?months=6&socks=0&across=1.1&recast=true")
    assert tried["tried"]["of_last"] == {"across": 1.1, "along": 1.0}
    assert tried["next"]["socks"] == []
    assert tried["shape"]["verdict"] == "recast"
    assert next_sizes(coordinator, number, "?months=&socks=&across=") == [found]  # as a form sends no choice


def test_a_level_that_was_not_measured_is_asked_for(coordinator: TestClient) -> None:
    number = opened(coordinator)
    socket(coordinator, number, device(coordinator, number), limits=LIMITS)
    measured(coordinator, number, (30, 180.0))
    (found,) = next_sizes(coordinator, number)
    assert any("at 60 mm" in each for each in found["asks"])
    assert found["shape"]["verdict"] == "cannot tell"


def test_a_struck_reading_does_not_size_a_socket(coordinator: TestClient) -> None:
    number = opened(coordinator)
    socket(coordinator, number, device(coordinator, number), limits=LIMITS)
    measured(coordinator, number, (30, 180.0), (60, 170.5))
    before = next_sizes(coordinator, number)
    measured(coordinator, number, (30, 220.0), on="2026-03-02")
    session = coordinator.get(f"/api/v1/recipients/{number}/measurements").json()["items"][0]
    wrong = session["readings"][0]["id"]
    path = f"recipients/{number}/measurements/{session['id']}/corrections"
    made(coordinator, path, {"reading": wrong, "why": "a slip of the tape"})
    assert next_sizes(coordinator, number) == before


def test_without_a_socket_there_is_nothing_to_size(coordinator: TestClient) -> None:
    assert next_sizes(coordinator, opened(coordinator)) == []


def test_a_size_is_read_by_whoever_may_see_the_case_and_that_is_recorded(
    register: Register, coordinator: TestClient
) -> None:
    number = opened(coordinator)
    path = f"/api/v1/recipients/{number}/next-size"
    with register.db.reading() as session:
        before = session.scalar(sa.select(sa.func.max(AuditRow.id))) or 0
    next_sizes(coordinator, number)
    with register.db.reading() as session:
        acts = session.scalars(sa.select(AuditRow.act).where(AuditRow.id > before)).all()
    assert acts == ["read"]
    assert register.api(Role.COORDINATOR, sites=("island",)).get(path).status_code == 404
    assert register.api(Role.VOLUNTEER).get(path).status_code == 404
    assert register.api(Role.TRUSTEE).get(path).status_code == 403
    assert register.browser().get(path).status_code == 401


@pytest.mark.parametrize("query", ["months=0", "months=soon", "socks=9", "across=3", "hand=50", "size=2"])
def test_a_wish_that_cannot_be_is_refused(coordinator: TestClient, query: str) -> None:
    answer = coordinator.get(f"/api/v1/recipients/{opened(coordinator)}/next-size?{query}")
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == query.partition("=")[0]
