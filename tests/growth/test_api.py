"""Forecasts over HTTP: of the register's own sockets, and of figures somebody sends."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.growth.model import MODEL
from service.growth.schemas import ForecastCase
from service.growth.stateless import answer
from service.growth.tables import ForecastRow
from service.kit.jobs import MOST_ATTEMPTS, JobRow, JobState
from service.worker import schedule_daily
from tests.conftest import SITES, START, Register
from tests.devices.worn import GIRTH, device, made, opened, socket

TODAY = START.date()
CASE: dict[str, Any] = {
    "case_id": "A-17",
    "birth_date": "2018-05-04",
    "sex": "female",
    "as_of": "2026-03-02",
    "readings": [{"on": "2026-01-12", "dimension": "residual_limb_girth", "level_mm": 60, "value_mm": 175.0}],
    "device": {
        "fitted_on": "2026-01-12",
        "limits": [{"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": 190.5}],
    },
    "sock_reports": [{"on": "2026-02-01", "plies": [3], "fit": "snug"}],
}


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return opened(coordinator)


def forecasts(client: TestClient, number: str) -> list[dict[str, Any]]:
    answer = client.get(f"/api/v1/recipients/{number}/forecasts")
    assert answer.status_code == 200, answer.text
    assert answer.json()["next"] is None
    found: list[dict[str, Any]] = answer.json()["items"]
    return found


def measured(client: TestClient, number: str, on: str, girth: float) -> None:
    reading = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60, "values": [girth], "unit": "mm"}
    body = {"taken_on": on, "method": "tape", "readings": [reading], "confirmed": True}
    made(client, f"recipients/{number}/measurements", body)


def test_a_socket_without_a_forecast_yet_says_so_and_gives_no_date(coordinator: TestClient, number: str) -> None:
    everyday = device(coordinator, number)
    fitted = socket(coordinator, number, everyday)
    (item,) = forecasts(coordinator, number)
    assert (item["device"], item["socket"], item["state"]) == (everyday, fitted, "being worked out")
    assert item["due"] is None
    assert item["already"] is None


def test_the_stored_forecast_is_the_stateless_answer_to_what_is_recorded(
    register: Register, coordinator: TestClient, number: str
) -> None:
    fitted = socket(coordinator, number, device(coordinator, number))
    for on, girth in (("2025-06-02", 168.0), ("2025-11-03", 171.5), ("2026-02-23", 174.0)):
        measured(coordinator, number, on, girth)
    made(coordinator, f"recipients/{number}/sock-reports", {"on": "2026-02-01", "plies": [3, 1], "fit": "snug"})
    assert register.run_jobs() > 0

    (item,) = forecasts(coordinator, number)
    place = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60}
    case = {
        **CASE,
        "case_id": f"{number}/{fitted}",
        "readings": [
            {**place, "on": "2025-06-02", "method": "tape", "value_mm": 168.0},
            {**place, "on": "2025-11-03", "method": "tape", "value_mm": 171.5},
            {**place, "on": "2026-02-23", "method": "tape", "value_mm": 174.0},
        ],
        "device": {"fitted_on": "2026-01-12", "limits": [{**place, "tight_at_mm": 190.5}]},
        "sock_reports": [{"on": "2026-02-01", "plies": [3, 1], "fit": "snug"}],
    }
    expected = answer(ForecastCase.model_validate(case)).model_dump(mode="json")
    for part in ("due", "already", "within", "limiting", "curve", "warnings", "model"):
        assert item[part] == expected[part], part
    assert (item["state"], item["as_of"]) == ("current", TODAY.isoformat())
    assert item["explanation"]
    asked = {"case": {**case, "case_id": "X"}, "lead": {"days": SITES["harbour"]}, "risk": 0.1}
    acting = coordinator.post("/api/v1/start-dates", json=asked).json()
    assert (item["start_by"], item["measure_by"]) == (acting["start_by"], acting["measure_by"])
    assert f"{item['start_why']} {item['measure_why']}".strip() == acting["why"]


def test_a_new_reading_marks_the_forecast_and_then_moves_it(
    register: Register, coordinator: TestClient, number: str
) -> None:
    socket(coordinator, number, device(coordinator, number))
    measured(coordinator, number, "2026-01-12", 172.0)
    register.run_jobs()
    (before,) = forecasts(coordinator, number)

    measured(coordinator, number, "2026-03-01", 186.0)
    (marked,) = forecasts(coordinator, number)
    assert marked["state"] == "being worked out"
    assert marked["due"] == before["due"]

    register.run_jobs()
    (after,) = forecasts(coordinator, number)
    assert after["state"] == "current"
    assert after["due"]["p50"] < before["due"]["p50"]
    assert after["already"] > before["already"]


def test_socks_worn_at_the_fitting_count_as_a_snug_report(
    register: Register, coordinator: TestClient, number: str
) -> None:
    bare = device(coordinator, number)
    socket(coordinator, number, bare)
    padded = device(coordinator, number, purpose="cycling")
    socket(coordinator, number, padded, socks_at_fitting=[5, 3])
    register.run_jobs()
    due = {item["device"]: item for item in forecasts(coordinator, number)}
    assert due[padded]["curve"] != due[bare]["curve"]
    assert due[padded]["already"] < due[bare]["already"]


def test_socks_worn_in_the_socket_before_do_not_count_for_this_one(
    register: Register, coordinator: TestClient, number: str
) -> None:
    for purpose in ("everyday", "cycling"):
        each = device(coordinator, number, purpose=purpose)
        socket(coordinator, number, each, "2025-06-01")
        if purpose == "everyday":
            report = {"on": "2025-12-01", "device": each, "plies": [5, 5, 3], "fit": "loose"}
            made(coordinator, f"recipients/{number}/sock-reports", report)
        socket(coordinator, number, each, "2026-01-12", previous={"end_reason": "outgrown"})
    register.run_jobs()
    everyday, cycling = forecasts(coordinator, number)
    assert everyday["curve"] == cycling["curve"]


def test_only_sockets_that_are_worn_have_a_forecast(register: Register, coordinator: TestClient, number: str) -> None:
    everyday, cycling = device(coordinator, number), device(coordinator, number, purpose="cycling")
    first, _ = socket(coordinator, number, everyday), socket(coordinator, number, cycling)
    register.run_jobs()
    assert {item["device"] for item in forecasts(coordinator, number)} == {everyday, cycling}

    where = f"/api/v1/recipients/{number}/devices"
    coordinator.patch(f"{where}/{cycling}", json={"use": "spare"})
    assert [item["device"] for item in forecasts(coordinator, number)] == [everyday]
    coordinator.post(
        f"{where}/{everyday}/sockets/{first}/end", json={"ended_on": "2026-02-20", "end_reason": "outgrown"}
    )
    assert forecasts(coordinator, number) == []
    register.run_jobs()
    assert forecasts(coordinator, number) == []


def test_a_day_later_the_forecast_is_old_until_the_daily_work_is_done(
    register: Register, coordinator: TestClient, number: str
) -> None:
    socket(coordinator, number, device(coordinator, number))
    register.run_jobs()
    register.clock.forward(days=1)
    assert forecasts(coordinator, number)[0]["state"] == "being worked out"
    schedule_daily(register.db, register.clock)
    register.run_jobs()
    (item,) = forecasts(coordinator, number)
    assert (item["state"], item["as_of"]) == ("current", (TODAY + timedelta(days=1)).isoformat())


def test_the_forecast_of_a_closed_case_is_not_late(register: Register, coordinator: TestClient, number: str) -> None:
    socket(coordinator, number, device(coordinator, number))
    coordinator.patch(f"/api/v1/recipients/{number}", json={"state": "closed", "state_reason": "moved away"})
    register.run_jobs()
    register.clock.forward(days=30)
    (item,) = forecasts(coordinator, number)
    assert (item["state"], item["as_of"]) == ("current", TODAY.isoformat())


def test_a_forecast_that_was_given_up_says_so_until_one_succeeds(
    register: Register, coordinator: TestClient, number: str
) -> None:
    socket(coordinator, number, device(coordinator, number))
    with register.db.writing() as session:
        session.execute(sa.update(JobRow).values(state=JobState.FAILED, attempts=MOST_ATTEMPTS))
    assert forecasts(coordinator, number)[0]["state"] == "failed"
    measured(coordinator, number, "2026-03-01", 175.0)
    assert forecasts(coordinator, number)[0]["state"] == "being worked out"
    register.run_jobs()
    assert forecasts(coordinator, number)[0]["state"] == "current"


def test_a_limb_that_ends_above_the_elbow_is_answered_in_its_own_dimension(
    register: Register, coordinator: TestClient
) -> None:
    limb = {"side": "left", "cause": "acquired", "level": "upper_arm_middle"}
    number = opened(coordinator, limbs=[limb])
    socket(coordinator, number, device(coordinator, number), limits=[{**GIRTH, "tight_at_mm": 215}])
    measured(coordinator, number, "2026-01-12", 198.0)
    register.run_jobs()
    (item,) = forecasts(coordinator, number)
    assert item["limiting"]["dimension"] == "residual_limb_girth"
    assert item["due"] is not None


def test_whoever_may_not_see_the_case_finds_no_forecast(register: Register, number: str) -> None:
    where = f"/api/v1/recipients/{number}/forecasts"
    assert register.api(Role.COORDINATOR, sites=("island",)).get(where).status_code == 404
    assert register.api(Role.TRUSTEE).get(where).status_code == 403
    assert register.browser().get(where).status_code == 401


def test_figures_are_answered_in_order_without_a_case(register: Register) -> None:
    trustee = register.api(Role.TRUSTEE)
    cases = [CASE, {**CASE, "case_id": "B", "device": None}]
    answers = trustee.post("/api/v1/forecasts", json={"cases": cases}).json()["items"]
    assert [each["case_id"] for each in answers] == ["A-17", "B"]
    assert answers[0] == answer(ForecastCase.model_validate(CASE)).model_dump(mode="json")
    assert answers[0]["model"] == MODEL
    assert answers[1]["due"] == {"p10": None, "p50": None, "p90": None}


@pytest.mark.parametrize(
    ("cases", "field"),
    [
        ([], "cases"),
        ([CASE] * 1001, "cases"),
        ([CASE, {**CASE, "birth_date": "2027-01-01"}], "cases.1"),
        ([CASE, CASE, {**CASE, "sex": "girl"}], "cases.2.sex"),
        ([{**CASE, "readings": [{**CASE["readings"][0], "value_mm": -5}]}], "cases.0.readings.0.value_mm"),
        ([{**CASE, "reading": []}], "cases.0.reading"),
    ],
)
def test_a_case_that_cannot_be_is_named_by_its_place(register: Register, cases: list[Any], field: str) -> None:
    refused = register.api(Role.COORDINATOR).post("/api/v1/forecasts", json={"cases": cases})
    assert refused.status_code == 422
    assert {error["field"] for error in refused.json()["errors"]} == {field}


def test_nobody_asks_without_a_token(register: Register) -> None:
    assert register.browser().post("/api/v1/forecasts", json={"cases": [CASE]}).status_code == 401


def test_figures_sent_are_explained_in_the_words_that_a_stored_forecast_has(
    register: Register, coordinator: TestClient, number: str
) -> None:
    fitted = socket(coordinator, number, device(coordinator, number))
    measured(coordinator, number, "2026-02-23", 174.0)
    register.run_jobs()
    (stored,) = forecasts(coordinator, number)
    place = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60}
    case = {
        **CASE,
        "case_id": f"{number}/{fitted}",
        "readings": [{**place, "on": "2026-02-23", "method": "tape", "value_mm": 174.0}],
        "device": {"fitted_on": "2026-01-12", "limits": [{**place, "tight_at_mm": 190.5}]},
        "sock_reports": [],
    }
    without_limits = {**case, "device": None}
    asked = coordinator.post("/api/v1/forecasts", json={"cases": [case, without_limits]}).json()["items"]
    assert asked[0]["explanation"] == stored["explanation"]
    assert asked[0]["explanation"].startswith("One reading says")
    assert asked[1]["explanation"].startswith("No date can be given")
    with register.db.reading() as session:
        kept = session.scalars(sa.select(ForecastRow).where(ForecastRow.is_newest)).one()
    assert kept.explanation == stored["explanation"]
    assert "explanation" not in kept.answer, "it is kept once"
