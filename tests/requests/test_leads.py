"""How long making takes is learned from the requests of a site, and its forecasts reckon with it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.growth.tables import ForecastRow
from service.kit.jobs import JobRow, enqueue
from service.worker import schedule_daily
from tests.accounts.people import signed_in
from tests.casefile.test_pages import as_somebody, words
from tests.conftest import Register
from tests.devices.worn import opened
from tests.requests.asking import ask, done
from tests.requests.test_review import worn

TOOK_DAYS = (44, 47, 49, 50, 51, 52, 53, 55, 58, 61)
AS_SET = "How long making takes is as it is set for this site"


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def first_device(coordinator: TestClient, name: str) -> int:
    """A request for somebody's first device; its id."""
    return int(ask(coordinator, opened(coordinator, given_name=name), "first_device")["id"])


def handed_over(register: Register, coordinator: TestClient, took_days: tuple[int, ...]) -> None:
    """First devices asked for on one day, and handed over after so many days, ascending."""
    asked = [first_device(coordinator, f"N{each}") for each in took_days]
    gone = 0
    for request, days in zip(asked, took_days, strict=True):
        register.clock.forward(days=days - gone)
        gone = days
        done(coordinator, request, "answered")


def run_a_day(register: Register) -> None:
    """What the worker does on the clock's day."""
    schedule_daily(register.db, register.clock)
    register.run_jobs()


def foreseen(coordinator: TestClient, number: str) -> dict[str, Any]:
    (found,) = coordinator.get(f"/api/v1/recipients/{number}/forecasts").json()["items"]
    assert found["state"] == "current"
    return dict(found)


def refreshes(register: Register) -> tuple[int, int]:
    """How often forecasts were asked for, and how many were stored."""
    with register.db.reading() as session:
        asked = sa.select(sa.func.count(JobRow.id)).where(JobRow.kind == "forecast.refresh")
        return session.scalar(asked) or 0, session.scalar(sa.select(sa.func.count(ForecastRow.id))) or 0


def test_a_site_that_takes_longer_than_it_says_starts_earlier(register: Register, coordinator: TestClient) -> None:
    number, everyday = worn(coordinator, girth=165.0)
    handed_over(register, coordinator, TOOK_DAYS[:-1])
    run_a_day(register)
    before = foreseen(coordinator, number)
    assert (before["lead"]["p50"], before["lead"]["learned_from"]) == (28, 0)
    assert before["lead_why"].startswith(AS_SET)
    assert AS_SET in words(as_somebody(register, Role.COORDINATOR), f"/recipients/{number}")

    tenth = first_device(coordinator, "Last")
    first_device(coordinator, "Waits")
    register.clock.forward(days=52)
    done(coordinator, tenth, "answered")
    run_a_day(register)
    after = foreseen(coordinator, number)
    assert after["lead"]["learned_from"] == 11
    assert 50 <= after["lead"]["p50"] <= 54
    assert 54 <= after["lead"]["p90"] <= 65
    assert "learned from 11 requests" in words(
        signed_in(register, "coordinator.harbour@example.org"), f"/recipients/{number}"
    )
    assert date.fromisoformat(after["start_by"]) < date.fromisoformat(before["start_by"])
    later = ask(coordinator, number, "next_socket", device=everyday)
    days = (date.fromisoformat(later["needed_by"]) - date.fromisoformat(after["start_by"])).days
    assert days == after["lead"]["p50"]


def test_forecasts_are_refreshed_once_for_a_lead_time_and_only_at_its_site(
    register: Register, coordinator: TestClient
) -> None:
    number, _device = worn(coordinator, girth=165.0)
    island = register.api(Role.COORDINATOR, sites=("island",))
    elsewhere, _device = worn(island, girth=165.0, site="island")
    handed_over(register, coordinator, TOOK_DAYS[:-1])
    tenth = first_device(coordinator, "Last")
    register.clock.forward(days=50)
    run_a_day(register)
    asked, stored = refreshes(register)
    done(coordinator, tenth, "answered")
    for _again in range(3):
        with register.db.writing() as session:
            enqueue(session, "requests.leads", now=register.clock(), key="requests.leads")
        register.run_jobs()
        assert refreshes(register) == (asked + 1, stored + 1)
    assert foreseen(coordinator, number)["lead"]["learned_from"] == 10
    assert foreseen(island, elsewhere)["lead"]["learned_from"] == 0


def test_the_day_s_forecasts_are_worked_out_once_with_what_was_learned(
    register: Register, coordinator: TestClient
) -> None:
    number, _device = worn(coordinator, girth=165.0)
    handed_over(register, coordinator, TOOK_DAYS)
    register.run_jobs()
    asked, stored = refreshes(register)
    run_a_day(register)
    assert refreshes(register) == (asked + 1, stored + 1)
    assert foreseen(coordinator, number)["lead"]["learned_from"] == 10


def test_what_was_closed_without_a_socket_says_nothing(register: Register, coordinator: TestClient) -> None:
    number, _device = worn(coordinator, girth=165.0)
    asked = [first_device(coordinator, f"N{i}") for i in range(12)]
    register.clock.forward(days=5)
    for each in asked:
        done(coordinator, each, "close", why="moved away")
    run_a_day(register)
    assert foreseen(coordinator, number)["lead"]["learned_from"] == 0


def test_what_took_long_ago_is_forgotten_and_the_setting_counts_again(
    register: Register, coordinator: TestClient
) -> None:
    number, _device = worn(coordinator, girth=165.0)
    handed_over(register, coordinator, TOOK_DAYS)
    run_a_day(register)
    assert foreseen(coordinator, number)["lead"]["learned_from"] == 10
    register.clock.forward(days=740)
    run_a_day(register)
    assert foreseen(coordinator, number)["lead"]["learned_from"] == 0
