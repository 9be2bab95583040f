"""A family takes back what it agreed to, at once; and asks what is known of it, by a day that is said."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, signed_in
from tests.conftest import Register
from tests.devices.worn import opened
from tests.family.people import let_in, link, send

GIVEN = [
    {"kind": "consent", "purpose": purpose, "given_by": "Ada Okafor", "given_on": "2026-01-05"}
    for purpose in ("records", "device", "first_name")
]


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return opened(coordinator, consents=GIVEN)


def standing(coordinator: TestClient, number: str) -> dict[str, Any]:
    consents = coordinator.get(f"/api/v1/recipients/{number}").json()["consents"]
    return {each["purpose"]: each["withdrawn_on"] for each in consents}


def test_what_is_taken_back_is_withdrawn_at_once_and_the_coordinator_is_told(register, coordinator, number):
    home = link(coordinator, number)
    browser = let_in(register, home)
    page = browser.get(f"{home}/stop").text
    assert "Do not tell our first name" in page
    assert "Do not count us" not in page  # they never agreed to that
    told = send(browser, f"{home}/stop", {"purposes-first_name": "yes", "words": "She wishes it."})
    assert told.status_code == 201
    assert "Nobody new is told your first name." in told.text
    assert standing(coordinator, number) == {"records": None, "device": None, "first_name": "2026-03-02"}
    again = send(browser, f"{home}/stop", {"purposes-first_name": "yes"})
    assert again.status_code == 201
    assert standing(coordinator, number)["first_name"] == "2026-03-02"
    page = coordinator_page(register, number)
    assert "Taken back: first name. She wishes it." in page


def coordinator_page(register: Register, number: str) -> str:
    open_account(register, Role.COORDINATOR)
    return signed_in(register).get(f"/recipients/{number}/family").text


def test_nothing_chosen_stops_nothing(register, coordinator, number):
    home = link(coordinator, number)
    browser = let_in(register, home)
    refused = send(browser, f"{home}/stop", {"words": "all of it"})
    assert refused.status_code == 422
    assert "all of it" in refused.text
    assert set(standing(coordinator, number).values()) == {None}


def test_another_family_stops_nothing_here(register, coordinator, number):
    other = opened(coordinator, given_name="Tam")
    home = link(coordinator, other)
    browser = let_in(register, home)
    assert "There is nothing left to stop." in browser.get(f"{home}/stop").text
    send(browser, f"{home}/stop", {"purposes-device": "yes"}, f"{home}/say")
    assert set(standing(coordinator, number).values()) == {None}


def test_who_asks_what_is_known_hears_by_when_and_so_does_the_coordinator(register, coordinator, number):
    home = link(coordinator, number)
    browser = let_in(register, home)
    told = send(browser, f"{home}/say", {"kind": "data"})
    assert "We will show you all of it by 2 April." in told.text
    assert "2 April" in coordinator_page(register, number)
