"""A case that is paused or closed takes what is measured, and says that nobody follows it; over HTTP and in a form."""

from __future__ import annotations

import pytest

from service.access.permissions import Role
from tests.conftest import Register
from tests.devices.worn import opened
from tests.measurements.taken import girth, listed, post, session
from tests.measurements.test_pages import GIRTH, Visit


@pytest.mark.parametrize(
    ("state", "said"), [("paused", "This case is paused."), ("closed", "This case is closed."), ("enquiry", None)]
)
def test_what_is_measured_for_a_case_nobody_follows_is_recorded_and_said(
    register: Register, state: str, said: str | None
) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    at = f"/api/v1/recipients/{number}"
    assert client.patch(at, json={"state": state, "state_reason": "is travelling"}).status_code == 200
    answer = post(client, number, session(girth(171)))
    assert answer.status_code == 201, answer.text
    warnings = answer.json()["warnings"]
    assert [each.partition("What is measured")[0].strip() for each in warnings] == ([said] if said else [])
    assert [each["readings"][0]["value_mm"] for each in listed(client, number)["items"]] == [171.0]
    assert client.patch(at, json={"state": "active"}).status_code == 200
    assert post(client, number, session(girth(172), taken_on="2026-03-01")).json()["warnings"] == []


@pytest.mark.parametrize("state", ["paused", "closed"])
def test_the_form_says_that_nobody_follows_the_case_and_records_all_the_same(register: Register, state: str) -> None:
    visit = Visit(register)
    said = f"This case is {state}. What is measured is recorded, but nobody is asked to"
    assert said not in visit.page().text
    changed = {"state": state, "state_reason": "is travelling"}
    assert visit.api.patch(f"/api/v1/recipients/{visit.number}", json=changed).status_code == 200
    assert said in visit.page().text
    refused = visit.send({f"{GIRTH}-1": "1810"})
    assert said in refused.text, "and still does beside what is to be put right"
    assert visit.send({f"{GIRTH}-1": "171"}, page=refused).status_code == 303
    assert [each["value_mm"] for each in visit.readings()] == [171.0]
