"""What the chart of a case draws, as the page has it."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, signed_in
from tests.conftest import Register
from tests.devices.worn import GIRTH, LENGTH, device, made, opened, socket

MEASURED = 'class="point kept"'
FROM_SOCKS = 'class="point socks kept"'


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def browser(register: Register) -> TestClient:
    open_account(register, Role.COORDINATOR)
    return signed_in(register)


def drawn(register: Register, browser: TestClient, number: str) -> str:
    register.run_jobs()
    return browser.get(f"/recipients/{number}").text


def measured(client: TestClient, number: str, **changes: Any) -> None:
    reading = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60, "values": [172.0], "unit": "mm"}
    body = {"taken_on": "2026-02-20", "method": "tape", "readings": [{**reading, **changes}], "confirmed": True}
    made(client, f"recipients/{number}/measurements", body)


def reported(client: TestClient, number: str) -> None:
    made(client, f"recipients/{number}/sock-reports", {"on": "2026-02-25", "plies": [3], "fit": "snug"})


def test_a_reading_counted_from_another_landmark_is_not_drawn_with_the_others(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    number = opened(coordinator)
    socket(coordinator, number, device(coordinator, number))
    measured(coordinator, number)
    measured(coordinator, number, landmark="the end of the limb", values=[150.0])
    assert drawn(register, browser, number).count(MEASURED) == 1


@pytest.mark.parametrize(
    ("limits", "points"),
    [
        ([GIRTH], 1),
        ([{**GIRTH, "tight_at_mm": 230}, {**GIRTH, "level_mm": 120, "tight_at_mm": 176}], 1),
        ([{**GIRTH, "tight_at_mm": 230}, {**LENGTH, "tight_at_mm": 90}], 0),
    ],
    ids=["the girth that limits", "the tightest of two girths", "a length limits, of which socks say nothing"],
)
def test_socks_are_drawn_where_the_forecast_took_them_for_a_size(
    register: Register, coordinator: TestClient, browser: TestClient, limits: list[dict[str, Any]], points: int
) -> None:
    number = opened(coordinator)
    socket(coordinator, number, device(coordinator, number), limits=limits)
    measured(coordinator, number)
    measured(coordinator, number, level_mm=120, values=[170.0])
    measured(coordinator, number, dimension="residual_limb_length", level_mm=None, values=[88.0])
    reported(coordinator, number)
    assert drawn(register, browser, number).count(FROM_SOCKS) == points
