"""By when to start and to measure, asked over HTTP with every figure given."""

from __future__ import annotations

from copy import deepcopy
from datetime import date
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import PEOPLE, Role
from service.growth.lead import ENOUGH
from tests.conftest import Register

CASE: dict[str, Any] = {
    "case_id": "A-17",
    "birth_date": "2016-12-01",
    "sex": "female",
    "as_of": "2026-03-12",
    "readings": [
        {"on": "2025-01-16", "dimension": "residual_limb_girth", "level_mm": 60, "value_mm": 164.0},
        {"on": "2025-08-24", "dimension": "residual_limb_girth", "level_mm": 60, "value_mm": 168.0},
    ],
    "device": {"limits": [{"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": 182.0}]},
}


@pytest.fixture
def client(register: Register) -> TestClient:
    return register.api(Role.VOLUNTEER)


def asked(client: TestClient, **changes: Any) -> dict[str, Any]:
    answer = client.post("/api/v1/start-dates", json={"case": CASE, **changes})
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def starting(client: TestClient, **changes: Any) -> date:
    return date.fromisoformat(asked(client, **changes)["start_by"])


def limited_at(tight_at_mm: float) -> dict[str, Any]:
    case = deepcopy(CASE)
    case["device"]["limits"][0]["tight_at_mm"] = tight_at_mm
    return case


def test_it_says_when_to_start_and_to_measure_and_why(client: TestClient) -> None:
    found = asked(client, lead={"days": 28, "spread": 9}, risk=0.1)
    start, measure = date.fromisoformat(found["start_by"]), date.fromisoformat(found["measure_by"])
    assert date(2026, 3, 12) <= measure <= start
    assert 0 < found["cut"] < 1
    assert found["lead"]["p10"] < found["lead"]["p50"] == 28 < found["lead"]["p90"]
    assert f"started after {start.day} {start:%B %Y}" in found["why"]
    assert f"by {measure.day} {measure:%B %Y}" in found["why"]
    assert "residual limb girth" in found["why"]


def test_the_same_question_has_the_same_answer(client: TestClient) -> None:
    assert asked(client) == asked(client)


def test_a_longer_making_a_less_sure_one_and_a_smaller_risk_each_start_earlier(client: TestClient) -> None:
    usual = starting(client, lead={"days": 28, "spread": 5})
    assert starting(client, lead={"days": 56, "spread": 5}) < usual
    assert starting(client, lead={"days": 28, "spread": 50}) < usual
    assert starting(client, lead={"days": 28, "spread": 5}, risk=0.03) < usual


def test_past_requests_are_believed_once_there_are_enough_of_them(client: TestClient) -> None:
    slow = [{"days": 70 + day, "censored": False} for day in range(ENOUGH)]
    few = asked(client, lead={"days": 28, "observed": slow[1:]})
    assert (few["lead"]["learned_from"], few["lead"]["p50"]) == (0, 28)
    enough = asked(client, lead={"days": 28, "observed": [*slow, {"days": 40, "censored": True}]})
    assert enough["lead"]["learned_from"] == ENOUGH + 1
    assert enough["lead"]["p50"] > 70
    assert enough["start_by"] < few["start_by"]


def test_a_socket_that_is_tight_already_should_be_started_now(client: TestClient) -> None:
    found = asked(client, case=limited_at(150.0))
    assert found["start_by"] < CASE["as_of"]
    assert found["why"].endswith("before then is 10% or more.")
    assert (found["measure_by"], found["cut"]) == (None, None)


def test_a_socket_with_room_for_years_has_no_date(client: TestClient) -> None:
    found = asked(client, case=limited_at(300.0))
    assert (found["start_by"], found["measure_by"]) == (None, None)
    assert "three years" in found["why"]


def test_a_socket_without_limits_has_no_date_and_says_what_is_missing(client: TestClient) -> None:
    found = asked(client, case={**CASE, "device": None})
    assert found["start_by"] is None
    assert "has not been entered" in found["why"]


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({}, "case"),
        ({"case": {**CASE, "as_of": "2016-01-01"}}, "case"),
        ({"case": CASE, "risk": 0}, "risk"),
        ({"case": CASE, "risk": 0.9}, "risk"),
        ({"case": CASE, "risk": "a tenth"}, "risk"),
        ({"case": CASE, "lead": {"days": 0}}, "lead.days"),
        ({"case": CASE, "lead": {"days": 1000}}, "lead.days"),
        ({"case": CASE, "lead": {"days": 10, "spread": -1}}, "lead.spread"),
        ({"case": CASE, "lead": {"days": 10, "spread": 30}}, "lead"),
        ({"case": CASE, "lead": {"observed": [{"days": 0}]}}, "lead.observed.0.days"),
        ({"case": CASE, "lead": {"observed": [{"days": 10, "censored": "perhaps"}]}}, "lead.observed.0.censored"),
        ({"case": CASE, "lead": {"weeks": 4}}, "lead.weeks"),
        ({"case": CASE, "threshold": 0.1}, "threshold"),
    ],
)
def test_a_bad_question_is_told_what_is_wrong_where(client: TestClient, body: dict[str, Any], field: str) -> None:
    answer = client.post("/api/v1/start-dates", json=body)
    assert answer.status_code == 422
    assert field in [each["field"] for each in answer.json()["errors"]]


def test_everybody_who_signs_in_may_ask_and_nobody_else(register: Register) -> None:
    for role in PEOPLE:
        assert register.api(role).post("/api/v1/start-dates", json={"case": CASE}).status_code == 200
    assert register.browser().post("/api/v1/start-dates", json={"case": CASE}).status_code == 401
