"""What is kept of forecasts, and when another is made."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.growth.rules import inputs_hash
from service.growth.tables import ForecastRow
from service.worker import schedule_daily
from tests.conftest import Register
from tests.devices.worn import device, made, opened, socket


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return opened(coordinator)


def kept(register: Register) -> list[Any]:
    with register.db.reading() as session:
        return list(session.execute(sa.select(ForecastRow.__table__).order_by(ForecastRow.id)))


def test_the_same_inputs_are_not_stored_twice(register: Register, coordinator: TestClient, number: str) -> None:
    everyday = device(coordinator, number)
    socket(coordinator, number, everyday)
    register.run_jobs()
    coordinator.patch(f"/api/v1/recipients/{number}/devices/{everyday}", json={"note": "green"})
    assert register.run_jobs() == 2  # the refresh, and a look whether the next socket is asked for: it is time
    assert len(kept(register)) == 1


def test_earlier_forecasts_stay_as_the_record_without_their_drawing(
    register: Register, coordinator: TestClient, number: str
) -> None:
    socket(coordinator, number, device(coordinator, number))
    register.run_jobs()
    made(coordinator, f"recipients/{number}/sock-reports", {"on": "2026-03-01", "plies": [], "fit": "tight"})
    register.run_jobs()
    before, now = kept(register)
    assert (before.is_newest, now.is_newest) == (False, True)
    assert before.inputs_hash != now.inputs_hash
    assert "curve" not in before.answer
    assert before.answer["due"]["p50"] == before.p50.isoformat()
    assert now.answer["curve"]


def test_the_forecast_of_a_socket_that_came_off_is_record_only(
    register: Register, coordinator: TestClient, number: str
) -> None:
    everyday = device(coordinator, number)
    fitted = socket(coordinator, number, everyday)
    register.run_jobs()
    end = {"ended_on": "2026-03-01", "end_reason": "broken"}
    coordinator.post(f"/api/v1/recipients/{number}/devices/{everyday}/sockets/{fitted}/end", json=end)
    register.run_jobs()
    assert [row.is_newest for row in kept(register)] == [False]


def test_every_day_everybody_who_wears_a_socket_is_forecast_anew(
    register: Register, coordinator: TestClient, number: str
) -> None:
    socket(coordinator, number, device(coordinator, number))
    socket_of = {}
    for state in ("paused", "closed"):
        other = opened(coordinator, given_name="Tomas")
        socket_of[state] = socket(coordinator, other, device(coordinator, other))
        coordinator.patch(f"/api/v1/recipients/{other}", json={"state": state, "state_reason": "moved away"})
    device(coordinator, opened(coordinator, given_name="Noor"))
    register.run_jobs()
    assert len(kept(register)) == 3

    register.clock.forward(days=1)
    schedule_daily(register.db, register.clock)
    register.run_jobs()
    anew = [row.socket_id for row in kept(register)[3:]]
    assert len(anew) == 2
    assert socket_of["paused"] in anew
    assert socket_of["closed"] not in anew
    schedule_daily(register.db, register.clock)
    assert register.run_jobs() == 0


def test_a_birth_date_corrected_past_a_reading_does_not_stop_the_forecast(
    register: Register, coordinator: TestClient, number: str
) -> None:
    reading = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60, "values": [120], "unit": "mm"}
    session = {"taken_on": "2018-06-01", "method": "tape", "readings": [reading], "confirmed": True}
    made(coordinator, f"recipients/{number}/measurements", session)
    socket(coordinator, number, device(coordinator, number))
    coordinator.patch(f"/api/v1/recipients/{number}", json={"birth_date": "2019-05-04"})
    register.run_jobs()
    assert [row.is_newest for row in kept(register)] == [True]


def test_a_hash_does_not_depend_on_the_order_of_names() -> None:
    assert inputs_hash({"a": 1, "b": [1.5, None]}) == inputs_hash({"b": [1.5, None], "a": 1})
    assert inputs_hash({"a": 1}) != inputs_hash({"a": 2})


def test_a_site_that_takes_longer_or_accepts_less_risk_starts_earlier(
    register: Register, coordinator: TestClient, number: str
) -> None:
    socket(coordinator, number, device(coordinator, number))
    register.run_jobs()
    starts = [kept(register)[-1].start_by]
    administrator = register.api(Role.ADMINISTRATOR)
    for change in ({"lead_days": 60}, {"tight_risk": 0.02}):
        assert administrator.patch("/api/v1/sites/harbour", json=change).status_code == 200
        register.run_jobs()
        starts.append(kept(register)[-1].start_by)
    assert starts[0] > starts[1] > starts[2]
    administrator.patch("/api/v1/sites/harbour", json={"note": "by the water"})
    assert register.run_jobs() == 0


@pytest.mark.parametrize("risk", [0, 0.6, -0.1, "a tenth", None])
def test_a_risk_that_cannot_be_is_refused(register: Register, risk: Any) -> None:
    body = {"code": "quay", "name": "Quay", "tight_risk": risk}
    answer = register.api(Role.ADMINISTRATOR).post("/api/v1/sites", json=body)
    assert answer.status_code == 422
    assert [each["field"] for each in answer.json()["errors"]] == ["tight_risk"]
