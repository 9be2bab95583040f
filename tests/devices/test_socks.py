"""Sock reports over HTTP."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.devices.tables import SockReportRow
from tests.conftest import Register
from tests.devices.worn import count, device, made, opened, socket


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return opened(coordinator)


def test_socks_are_reported_for_the_one_device_in_use(coordinator: TestClient, number: str) -> None:
    everyday = device(coordinator, number)
    socket(coordinator, number, everyday, "2026-01-12")
    report = {"on": "2026-02-20", "plies": [3, 1], "fit": "snug"}
    answer = made(coordinator, f"recipients/{number}/sock-reports", report)
    assert (answer["device"], answer["plies"], answer["fit"], answer["on"]) == (everyday, [3, 1], "snug", "2026-02-20")
    bare = made(coordinator, f"recipients/{number}/sock-reports", {**report, "plies": [], "fit": "tight"})
    listed = coordinator.get(f"/api/v1/recipients/{number}/sock-reports").json()["items"]
    assert listed == [bare, answer]
    assert coordinator.post(f"/api/v1/recipients/{number}/sock-reports", json=report).status_code == 409


@pytest.mark.postgres  # SQLite lets one writer in at a time, whatever is locked
def test_the_same_report_sent_four_times_at_once_is_stored_once(
    register: Register, coordinator: TestClient, number: str
) -> None:
    socket(coordinator, number, device(coordinator, number), "2026-01-12")
    where, report = f"/api/v1/recipients/{number}/sock-reports", {"on": "2026-02-20", "plies": [3], "fit": "snug"}
    senders = [register.api(Role.COORDINATOR) for _ in range(4)]
    with ThreadPoolExecutor(len(senders)) as pool:
        answers = list(pool.map(lambda sender: sender.post(where, json=report), senders))
    assert sorted(answer.status_code for answer in answers) == [201, 409, 409, 409]
    assert count(register, SockReportRow) == 1


def test_with_several_devices_in_use_the_report_must_name_one(coordinator: TestClient, number: str) -> None:
    where = f"/api/v1/recipients/{number}/sock-reports"
    report = {"on": "2026-02-20", "plies": [3], "fit": "snug"}
    nothing = coordinator.post(where, json=report)
    assert (nothing.status_code, nothing.json()["errors"][0]["field"]) == (422, "device")

    everyday, cycling = device(coordinator, number), device(coordinator, number, purpose="cycling")
    socket(coordinator, number, cycling)
    unclear = coordinator.post(where, json=report).json()["errors"][0]
    assert unclear["field"] == "device"
    assert f"{everyday} (everyday, left)" in unclear["message"]
    assert f"{cycling} (cycling, left)" in unclear["message"]
    assert made(coordinator, where.removeprefix("/api/v1/"), {**report, "device": cycling})["device"] == cycling


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"on": "2026-03-03"}, "on"),
        ({"on": "2026-01-11"}, "on"),
        ({"plies": [4]}, "plies"),
        ({"plies": ["3"]}, "plies.0"),
        ({"plies": [True]}, "plies.0"),
        ({"plies": [1] * 7}, "plies"),
        ({"fit": "comfortable"}, "fit"),
        ({"device": 99}, "device"),
    ],
)
def test_a_sock_report_that_cannot_be_is_refused(
    register: Register, coordinator: TestClient, number: str, change: dict[str, Any], field: str
) -> None:
    socket(coordinator, number, device(coordinator, number), "2026-01-12")
    body = {"on": "2026-02-20", "plies": [3], "fit": "snug", **change}
    refused = coordinator.post(f"/api/v1/recipients/{number}/sock-reports", json=body)
    assert refused.status_code == 422
    assert [error["field"] for error in refused.json()["errors"]] == [field]
    assert count(register, SockReportRow) == 0


def test_sock_reports_are_read_page_by_page(coordinator: TestClient, number: str) -> None:
    socket(coordinator, number, device(coordinator, number), "2026-01-12")
    for day in range(1, 6):
        report = {"on": f"2026-02-0{day}", "plies": [3], "fit": "snug"}
        made(coordinator, f"recipients/{number}/sock-reports", report)
    seen: list[str] = []
    cursor = None
    while True:
        wanted = {"limit": 2} | ({"cursor": cursor} if cursor else {})
        page = coordinator.get(f"/api/v1/recipients/{number}/sock-reports", params=wanted).json()
        seen += [each["on"] for each in page["items"]]
        if (cursor := page["next"]) is None:
            break
    assert seen == [f"2026-02-0{day}" for day in (5, 4, 3, 2, 1)]
