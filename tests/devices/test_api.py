"""Devices, sockets, socks and settings over HTTP."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.audit.tables import AuditRow
from service.devices.tables import DeviceRow, LimitRow, SocketRow
from service.kit.jobs import JobRow, JobState
from tests.conftest import Register
from tests.devices.worn import GIRTH, LENGTH, count, device, made, opened, socket


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return opened(coordinator)


def the_device(client: TestClient, number: str, device_id: int) -> dict[str, Any]:
    answer = client.get(f"/api/v1/recipients/{number}/devices/{device_id}")
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_a_device_and_its_socket_are_recorded_and_read_back(coordinator: TestClient, number: str) -> None:
    everyday = device(coordinator, number, note="green palm")
    fitted = socket(coordinator, number, everyday, limits=[GIRTH, LENGTH], socks_at_fitting=[3, 3])

    (listed,) = coordinator.get(f"/api/v1/recipients/{number}/devices").json()["items"]
    assert (listed["id"], listed["purpose"], listed["side"], listed["use"]) == (everyday, "everyday", "left", "in_use")
    assert listed["note"] == "green palm"
    assert listed["socket"]["id"] == fitted
    assert listed["socket"]["socks_at_fitting"] == [3, 3]
    assert listed["socket"]["limits"] == [
        {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60.0, "tight_at_mm": 190.5, "doubts": []},
        {"dimension": "residual_limb_length", "side": "left", "level_mm": None, "tight_at_mm": 120.0, "doubts": []},
    ]
    assert the_device(coordinator, number, everyday)["sockets"] == [listed["socket"]]


def test_every_change_is_audited_and_asks_for_one_forecast(
    register: Register, coordinator: TestClient, number: str
) -> None:
    everyday = device(coordinator, number)
    socket(coordinator, number, everyday)
    made(coordinator, f"recipients/{number}/sock-reports", {"on": "2026-02-01", "plies": [3], "fit": "snug"})
    with register.db.reading() as session:
        acts = session.execute(sa.select(AuditRow.act, AuditRow.subject).order_by(AuditRow.id)).all()
        jobs = session.scalars(sa.select(JobRow.kind).where(JobRow.state == JobState.QUEUED)).all()
    assert [tuple(act) for act in acts if act.act == "recorded"] == [
        ("recorded", "device"),
        ("recorded", "socket"),
        ("recorded", "sock report"),
    ]
    assert jobs == ["forecast.refresh"]


def test_stopping_a_device_needs_a_reason_and_leaves_its_socket(
    register: Register, coordinator: TestClient, number: str
) -> None:
    everyday = device(coordinator, number)
    fitted = socket(coordinator, number, everyday)
    where = f"/api/v1/recipients/{number}/devices/{everyday}"
    refused = coordinator.patch(where, json={"use": "stopped"})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["field"] == "stopped_reason"

    stopped = coordinator.patch(where, json={"use": "stopped", "stopped_reason": "goes without"}).json()
    assert (stopped["use"], stopped["stopped_reason"]) == ("stopped", "goes without")
    assert stopped["stopped_on"] == register.clock().date().isoformat()
    assert stopped["socket"]["id"] == fitted

    again = coordinator.patch(where, json={"use": "in_use", "purpose": "school"}).json()
    assert (again["use"], again["purpose"], again["stopped_on"], again["stopped_reason"]) == (
        "in_use",
        "school",
        None,
        "",
    )
    with register.db.reading() as session:
        changes = session.scalars(sa.select(AuditRow.changes).where(AuditRow.act == "changed")).all()
    assert changes[-1]["use"] == ["stopped", "in_use"]
    assert changes[-1]["stopped_reason"] == ["goes without", ""]


def test_a_socket_in_place_is_ended_before_the_next(coordinator: TestClient, number: str) -> None:
    everyday = device(coordinator, number)
    first = socket(coordinator, number, everyday, "2025-03-01")
    where = f"/api/v1/recipients/{number}/devices/{everyday}/sockets"
    next_one = {"fitted_on": "2026-02-10", "limits": [GIRTH]}

    refused = coordinator.post(where, json=next_one)
    assert refused.status_code == 409
    assert "previous" in refused.json()["detail"]

    second = made(coordinator, where.removeprefix("/api/v1/"), {**next_one, "previous": {"end_reason": "outgrown"}})
    sockets = the_device(coordinator, number, everyday)["sockets"]
    assert [each["id"] for each in sockets] == [second["id"], first]
    assert (sockets[1]["ended_on"], sockets[1]["end_reason"]) == ("2026-02-10", "outgrown")
    assert sockets[0]["ended_on"] is None


def test_a_socket_comes_off_once(coordinator: TestClient, number: str) -> None:
    everyday = device(coordinator, number)
    fitted = socket(coordinator, number, everyday, "2026-01-12")
    where = f"/api/v1/recipients/{number}/devices/{everyday}/sockets/{fitted}/end"
    early = coordinator.post(where, json={"ended_on": "2026-01-11", "end_reason": "broken"})
    assert (early.status_code, early.json()["errors"][0]["field"]) == (422, "ended_on")
    ended = coordinator.post(where, json={"ended_on": "2026-02-01", "end_reason": "broken", "note": "at the rim"})
    assert ended.json()["end_note"] == "at the rim"
    assert coordinator.post(where, json={"ended_on": "2026-02-01", "end_reason": "broken"}).status_code == 409
    assert the_device(coordinator, number, everyday)["socket"] is None


def test_sockets_of_a_device_do_not_overlap(coordinator: TestClient, number: str) -> None:
    everyday = device(coordinator, number)
    first = socket(coordinator, number, everyday, "2025-03-01")
    end = {"ended_on": "2025-12-01", "end_reason": "outgrown"}
    coordinator.post(f"/api/v1/recipients/{number}/devices/{everyday}/sockets/{first}/end", json=end)
    where = f"/api/v1/recipients/{number}/devices/{everyday}/sockets"
    within = coordinator.post(where, json={"fitted_on": "2025-11-30", "limits": [GIRTH]})
    assert (within.status_code, within.json()["errors"][0]["field"]) == (422, "fitted_on")
    socket(coordinator, number, everyday, "2025-12-01")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"fitted_on": "2026-03-03"}, "fitted_on"),
        ({"fitted_on": "2018-05-03"}, "fitted_on"),
        ({"fitted_on": 1_700_000_000}, "fitted_on"),
        ({"limits": []}, "limits"),
        ({"limits": [{**GIRTH, "dimension": "height", "level_mm": None}]}, "limits.0.dimension"),
        ({"limits": [{**GIRTH, "dimension": "foot_length"}]}, "limits.0.dimension"),
        ({"limits": [{**GIRTH, "side": "right"}]}, "limits.0.side"),
        ({"limits": [{**GIRTH, "level_mm": None}]}, "limits.0.level_mm"),
        ({"limits": [{**GIRTH, "level_mm": -1}]}, "limits.0.level_mm"),
        ({"limits": [GIRTH, {**LENGTH, "level_mm": 10}]}, "limits.1.level_mm"),
        ({"limits": [GIRTH, {**GIRTH, "tight_at_mm": 191}]}, "limits.1.dimension"),
        ({"limits": [{**GIRTH, "tight_at_mm": 1905}]}, "limits.0.tight_at_mm"),
        ({"limits": [{**GIRTH, "tight_at_mm": -190}]}, "limits.0.tight_at_mm"),
        ({"limits": [{**GIRTH, "tight_at": 190}]}, "limits.0.tight_at"),
        ({"socks_at_fitting": [4]}, "socks_at_fitting"),
        ({"socks_at_fitting": [1, 1, 1, 1, 1, 1, 1]}, "socks_at_fitting"),
        ({"previous": {"end_reason": "outgrown"}}, "previous"),
        ({"note": "a\x00b"}, "note"),
    ],
)
def test_a_socket_that_cannot_be_is_refused_whole(
    register: Register, coordinator: TestClient, number: str, change: dict[str, Any], field: str
) -> None:
    everyday = device(coordinator, number)
    body = {"fitted_on": "2026-01-12", "limits": [GIRTH], **change}
    refused = coordinator.post(f"/api/v1/recipients/{number}/devices/{everyday}/sockets", json=body)
    assert refused.status_code == 422
    assert [error["field"] for error in refused.json()["errors"]] == [field]
    assert count(register, SocketRow) == count(register, LimitRow) == 0


def test_a_number_that_is_none_is_refused(coordinator: TestClient, number: str) -> None:
    everyday = device(coordinator, number)
    body = '{"fitted_on": "2026-01-12", "limits": [{"dimension": "residual_limb_length", "tight_at_mm": NaN}]}'
    refused = coordinator.post(
        f"/api/v1/recipients/{number}/devices/{everyday}/sockets",
        content=body,
        headers={"Content-Type": "application/json"},
    )
    assert refused.status_code in {400, 422}


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"side": "left"}, "purpose"),
        ({"purpose": "  ", "side": "left"}, "purpose"),
        ({"purpose": "everyday", "side": "both"}, "side"),
        ({"purpose": "everyday", "side": "right"}, "side"),
        ({"purpose": "everyday", "side": "left", "replaces": 99}, "replaces"),
        ({"purpose": "everyday", "side": "left", "replaces": 2**40}, "replaces"),
        ({"purpose": "everyday", "side": "left", "colour": "green"}, "colour"),
    ],
)
def test_a_device_that_cannot_be_is_refused(
    register: Register, coordinator: TestClient, number: str, body: dict[str, Any], field: str
) -> None:
    refused = coordinator.post(f"/api/v1/recipients/{number}/devices", json=body)
    assert refused.status_code == 422
    assert [error["field"] for error in refused.json()["errors"]] == [field]
    assert count(register, DeviceRow) == 0


def test_a_replacement_takes_the_newest_settings_along(
    register: Register, coordinator: TestClient, number: str
) -> None:
    old = device(coordinator, number)
    where = f"recipients/{number}/devices/{old}/settings"
    for set_on, name, value in [
        ("2025-05-01", "grip strength", "30"),
        ("2026-01-05", "grip strength", "45"),
        ("2025-05-01", "wrist", "slow"),
    ]:
        made(coordinator, where, {"set_on": set_on, "name": name, "value": value, "unit": "%"})
    history = coordinator.get(f"/api/v1/{where}").json()["items"]
    assert [(each["name"], each["value"], each["current"]) for each in history] == [
        ("grip strength", "45", True),
        ("wrist", "slow", True),
        ("grip strength", "30", False),
    ]

    new = device(coordinator, number, replaces=old, replaced_becomes="spare")
    copied = the_device(coordinator, number, new)
    assert copied["replaces"] == old
    assert {(each["name"], each["value"], each["unit"]) for each in copied["settings"]} == {
        ("grip strength", "45", "%"),
        ("wrist", "slow", "%"),
    }
    assert {each["set_on"] for each in copied["settings"]} == {register.clock().date().isoformat()}
    assert the_device(coordinator, number, old)["use"] == "spare"

    device(coordinator, number, replaces=new)
    stopped = the_device(coordinator, number, new)
    assert (stopped["use"], stopped["stopped_reason"]) == ("stopped", "replaced")


def test_a_stopped_device_takes_no_socket(coordinator: TestClient, number: str) -> None:
    everyday = device(coordinator, number)
    where = f"/api/v1/recipients/{number}/devices/{everyday}"
    coordinator.patch(where, json={"use": "stopped", "stopped_reason": "goes without"})
    refused = coordinator.post(f"{where}/sockets", json={"fitted_on": "2026-01-12", "limits": [GIRTH]})
    assert refused.status_code == 409


def test_whoever_may_not_see_the_case_finds_nothing(register: Register, coordinator: TestClient, number: str) -> None:
    everyday = device(coordinator, number)
    fitted = socket(coordinator, number, everyday)
    stranger = register.api(Role.COORDINATOR, sites=("island",))
    where = f"/api/v1/recipients/{number}"
    report = {"on": "2026-02-20", "plies": [3], "fit": "snug"}
    answers = [
        stranger.get(f"{where}/devices"),
        stranger.get(f"{where}/devices/{everyday}"),
        stranger.patch(f"{where}/devices/{everyday}", json={"note": "x"}),
        stranger.get(f"{where}/sock-reports"),
        stranger.post(f"{where}/sock-reports", json=report),
        stranger.post(
            f"{where}/devices/{everyday}/sockets/{fitted}/end", json={"ended_on": "2026-02-01", "end_reason": "moved"}
        ),
    ]
    assert [answer.status_code for answer in answers] == [404] * len(answers)
    trustee = register.api(Role.TRUSTEE)
    assert trustee.get(f"{where}/devices").status_code == 403
    assert register.browser().get(f"{where}/devices").status_code == 401


def test_a_device_of_another_case_is_not_found_under_this_one(coordinator: TestClient, number: str) -> None:
    other = opened(coordinator, given_name="Tomas")
    elsewhere = device(coordinator, other)
    fitted = socket(coordinator, other, elsewhere)
    mine = device(coordinator, number)
    where = f"/api/v1/recipients/{number}/devices"
    end = {"ended_on": "2026-02-01", "end_reason": "moved"}
    assert coordinator.get(f"{where}/{elsewhere}").status_code == 404
    assert coordinator.post(f"{where}/{mine}/sockets/{fitted}/end", json=end).status_code == 404
    assert coordinator.get(f"{where}/{2**31}").status_code == 422


def test_a_repeated_key_records_a_socket_once(register: Register, coordinator: TestClient, number: str) -> None:
    everyday = device(coordinator, number)
    body = {"fitted_on": "2026-01-12", "limits": [GIRTH]}
    answers = [
        coordinator.post(
            f"/api/v1/recipients/{number}/devices/{everyday}/sockets",
            json=body,
            headers={"Idempotency-Key": "socket-1"},
        )
        for _ in range(2)
    ]
    assert answers[0].json() == answers[1].json()
    assert count(register, SocketRow) == 1


def test_why_a_device_was_stopped_is_one_of_few_reasons_beside_its_words(coordinator, number):
    where = f"/api/v1/recipients/{number}/devices/{device(coordinator, number)}"
    assert coordinator.patch(where, json={"stopped_why": "looks"}).status_code == 422
    assert coordinator.patch(where, json={"use": "stopped", "stopped_why": "boring"}).status_code == 422
    assert coordinator.patch(where, json={"use": "stopped", "stopped_why": "other"}).status_code == 422
    stopped = coordinator.patch(where, json={"use": "stopped", "stopped_why": "too_heavy"}).json()
    assert (stopped["stopped_why"], stopped["stopped_reason"]) == ("too_heavy", "too heavy")
    changed = coordinator.patch(where, json={"use": "stopped", "stopped_why": "looks"}).json()
    assert (changed["stopped_why"], changed["stopped_reason"]) == ("looks", "how it looks")
    said = coordinator.patch(where, json={"stopped_reason": "too red"}).json()
    assert (said["stopped_why"], said["stopped_reason"]) == ("looks", "too red")
    again = coordinator.patch(where, json={"use": "in_use"}).json()
    assert (again["stopped_why"], again["stopped_reason"]) == (None, "")
