"""The forecast asks for the next socket: exactly once, and takes it back when it no longer does."""

from __future__ import annotations

import threading
from datetime import date, timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.growth.tables import ForecastRow
from service.kit.jobs import JobRow, JobState
from service.worker import run_one, schedule_daily
from tests.casefile.test_pages import as_somebody, words
from tests.conftest import Register
from tests.devices.worn import device, opened, socket
from tests.requests.asking import act, ask, asked, done, listed

WAITS = "The forecast waits because the case is paused."


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def measured(client: TestClient, number: str, girth: float, on: str = "2026-03-01") -> None:
    """Measure the limb at the level that limits the socket."""
    reading = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60, "values": [girth], "unit": "mm"}
    body = {"taken_on": on, "method": "tape", "readings": [reading], "confirmed": True}
    answer = client.post(f"/api/v1/recipients/{number}/measurements", json=body)
    assert answer.status_code == 201, answer.text


def worn(client: TestClient, girth: float = 189.0, **changes: Any) -> tuple[str, int]:
    """A case whose socket is tight at 190.5 mm, with the limb measured; its number, and the device's id."""
    number = opened(client, **changes)
    everyday = device(client, number)
    socket(client, number, everyday)
    measured(client, number, girth)
    return number, everyday


def said_by_forecast(register: Register, days: int | None) -> None:
    """Have every newest forecast say that the next socket is to be started in so many days, and look at it."""
    on = None if days is None else register.clock().date() + timedelta(days=days)
    with register.db.writing() as session:
        session.execute(sa.update(ForecastRow).where(ForecastRow.is_newest).values(start_by=on))
        session.execute(sa.delete(JobRow).where(JobRow.state == JobState.QUEUED))
        recipients = session.scalars(sa.select(ForecastRow.recipient_id).where(ForecastRow.is_newest)).all()
        for each in recipients:
            session.add(
                JobRow(
                    kind="requests.review",
                    key=f"requests.review:{each}",
                    subject_id=each,
                    payload={"recipient_id": each},
                    run_at=register.clock(),
                    created_at=register.clock(),
                )
            )
    register.run_jobs()


def test_a_socket_that_is_due_is_asked_for(register: Register, coordinator: TestClient) -> None:
    number, everyday = worn(coordinator)
    register.run_jobs()
    (found,) = listed(coordinator)
    assert (found["kind"], found["asker"], found["asked_by"]) == ("next_socket", "forecast", "the forecast")
    assert (found["case_number"], found["device"]) == (number, everyday)
    assert "should be started by" in found["words"]
    days_left = (date.fromisoformat(found["tight_on"]) - register.clock().date()).days
    assert found["triage"]["rank"] == (3 if days_left <= 28 else 4)  # making takes 28 days at this site
    assert found["needed_by"] >= register.clock().date().isoformat()
    again = asked(coordinator, number, "next_socket")
    assert again.status_code == 409
    assert f"request {found['id']}," in again.json()["detail"]


def test_a_socket_with_room_is_not_asked_for(register: Register, coordinator: TestClient) -> None:
    worn(coordinator, girth=165.0)
    register.run_jobs()
    assert listed(coordinator) == []


def test_day_after_day_it_stays_one(register: Register, coordinator: TestClient) -> None:
    worn(coordinator)
    register.run_jobs()
    first = listed(coordinator)
    for _day in range(3):
        register.clock.forward(days=1)
        schedule_daily(register.db, register.clock)
        register.run_jobs()
    assert [each["id"] for each in listed(coordinator)] == [each["id"] for each in first]


def test_three_workers_and_a_restart_open_exactly_one(register: Register, coordinator: TestClient) -> None:
    people = [worn(coordinator, given_name=name)[0] for name in ("Ada", "Ben", "Cem")]
    schedule_daily(register.db, register.clock)

    def works() -> None:
        while run_one(register.db, register.clock):
            pass

    threads = [threading.Thread(target=works) for _each in range(3)]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    with register.db.writing() as session:  # a worker that died in its work: another does it once more
        done_once = sa.update(JobRow).where(JobRow.kind == "requests.review")
        session.execute(done_once.values(state=JobState.RUNNING, lease_until=register.clock() - timedelta(minutes=1)))
    register.run_jobs()
    assert sorted(each["case_number"] for each in listed(coordinator)) == sorted(people)


def test_it_is_taken_back_only_when_the_day_lies_well_ahead(register: Register, coordinator: TestClient) -> None:
    worn(coordinator)
    register.run_jobs()
    (opened_one,) = listed(coordinator)
    said_by_forecast(register, 13)
    assert [each["id"] for each in listed(coordinator)] == [opened_one["id"]]
    said_by_forecast(register, 14)
    assert listed(coordinator) == []
    (closed,) = listed(coordinator, state="closed")
    view = coordinator.get(f"/api/v1/requests/{closed['id']}").json()
    assert view["settled_by"] == "the forecast"
    assert view["settled_why"] == "The newest forecast says that the next socket is to be started by 16 March 2026."
    said_by_forecast(register, 1)
    assert listed(coordinator) == []  # not before the day has come
    said_by_forecast(register, 0)
    assert len(listed(coordinator)) == 1


def test_a_new_socket_takes_the_need_away(register: Register, coordinator: TestClient) -> None:
    number, everyday = worn(coordinator)
    register.run_jobs()
    assert len(listed(coordinator)) == 1
    register.clock.forward(days=10)
    roomy = {"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": 215.0}
    previous = {"ended_on": "2026-03-12", "end_reason": "outgrown"}
    socket(coordinator, number, everyday, "2026-03-12", [roomy], previous=previous)
    register.run_jobs()
    assert listed(coordinator) == []
    (closed,) = listed(coordinator, state="closed")
    why = coordinator.get(f"/api/v1/requests/{closed['id']}").json()["settled_why"]
    assert why.startswith("Another socket was fitted on 12 March 2026")


def test_what_a_person_opened_is_never_closed_by_the_forecast(register: Register, coordinator: TestClient) -> None:
    number, _device = worn(coordinator, girth=165.0)
    register.run_jobs()
    theirs = ask(coordinator, number, "next_socket", words="She wants a blue one")
    said_by_forecast(register, None)
    assert [each["id"] for each in listed(coordinator)] == [theirs["id"]]
    said_by_forecast(register, 0)
    assert [each["id"] for each in listed(coordinator)] == [theirs["id"]]


def test_what_a_person_closed_is_not_asked_for_again_at_once(register: Register, coordinator: TestClient) -> None:
    worn(coordinator)
    register.run_jobs()
    (found,) = listed(coordinator)
    done(coordinator, found["id"], "close", why="He stops wearing it in summer.")
    said_by_forecast(register, 0)
    assert listed(coordinator) == []
    register.clock.forward(days=60)
    said_by_forecast(register, 0)
    assert len(listed(coordinator)) == 1


@pytest.mark.parametrize("state", ["paused", "closed"])
def test_nothing_is_started_for_a_case_that_rests(register: Register, coordinator: TestClient, state: str) -> None:
    number, _device = worn(coordinator, girth=165.0)
    changed = coordinator.patch(f"/api/v1/recipients/{number}", json={"state": state, "state_reason": "abroad"})
    assert changed.status_code == 200, changed.text
    register.run_jobs()
    said_by_forecast(register, 0)
    assert listed(coordinator) == []


def test_while_a_case_is_paused_the_forecast_waits_and_says_so(register: Register, coordinator: TestClient) -> None:
    number, _device = worn(coordinator, girth=196.0)  # the socket is tight at 190.5 mm
    pause = {"state": "paused", "state_reason": "is travelling"}
    assert coordinator.patch(f"/api/v1/recipients/{number}", json=pause).status_code == 200
    for _day in range(2):
        register.run_jobs()
        register.clock.forward(days=1)
        schedule_daily(register.db, register.clock)
    register.run_jobs()
    (found,) = coordinator.get(f"/api/v1/recipients/{number}/forecasts").json()["items"]
    assert found["already"] > 0.5
    assert listed(coordinator) == []
    browser = as_somebody(register, Role.COORDINATOR)
    assert WAITS in words(browser, f"/recipients/{number}")
    assert coordinator.patch(f"/api/v1/recipients/{number}", json={"state": "active"}).status_code == 200
    register.run_jobs()
    assert [each["asker"] for each in listed(coordinator)] == ["forecast"]
    assert WAITS not in words(browser, f"/recipients/{number}")


def test_one_that_was_asked_for_before_the_pause_waits_for_nothing(register: Register, coordinator: TestClient) -> None:
    number, _device = worn(coordinator)
    register.run_jobs()
    pause = {"state": "paused", "state_reason": "is travelling"}
    assert coordinator.patch(f"/api/v1/recipients/{number}", json=pause).status_code == 200
    register.run_jobs()
    assert len(listed(coordinator)) == 1
    assert WAITS not in words(as_somebody(register, Role.COORDINATOR), f"/recipients/{number}")


def test_one_of_a_case_that_was_closed_closes_the_same_day(register: Register, coordinator: TestClient) -> None:
    number, _device = worn(coordinator)
    register.run_jobs()
    coordinator.patch(f"/api/v1/recipients/{number}", json={"state": "closed", "state_reason": "moved away"})
    schedule_daily(register.db, register.clock)
    register.run_jobs()
    assert listed(coordinator) == []
    (closed,) = listed(coordinator, state="closed")
    assert coordinator.get(f"/api/v1/requests/{closed['id']}").json()["settled_why"] == "The case was closed."
    assert act(coordinator, closed["id"], "close", why="again").status_code == 409


def test_the_days_are_those_of_the_forecast(register: Register, coordinator: TestClient) -> None:
    worn(coordinator, girth=165.0)
    register.run_jobs()
    said_by_forecast(register, 0)
    (found,) = listed(coordinator)
    assert date.fromisoformat(found["needed_by"]) == register.clock().date() + timedelta(days=28)
