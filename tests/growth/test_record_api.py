"""How good the forecasts were, as those read it who work with them: on the page and over HTTP."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import PEOPLE, Role
from service.devices.rules import EndReason
from service.devices.tables import SocketRow
from service.growth.record import HORIZONS
from service.growth.tables import ForecastRow
from service.statistics import wilson
from tests.accounts.people import open_account, signed_in
from tests.conftest import Register
from tests.devices.worn import device, opened

FIRST = date(2020, 1, 1)


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def everyday(coordinator: TestClient) -> int:
    return device(coordinator, opened(coordinator))


def worn(
    register: Register,
    of_device: int,
    days: int,
    *,
    reason: EndReason = EndReason.OUTGROWN,
    made: Sequence[tuple[int, str]] = ((365, "alpha 1"),),
    late: int = 0,
) -> None:
    """A socket that came off after `days`; `made` are forecasts so many days before, each by a model.

    Each foresaw 10, 50 and 90 per cent at 300, 365 and 430 days from the fitting, and was worked out `late` days late.
    """
    with register.db.writing() as session:
        socket = SocketRow(device_id=of_device, fitted_on=FIRST, socks_at_fitting=[], ended_on=FIRST, end_reason=reason)
        socket.ended_on = FIRST + timedelta(days=days)
        session.add(socket)
        session.flush()
        for before, model in made:
            as_of = socket.ended_on - timedelta(days=before)
            session.add(
                ForecastRow(
                    recipient_id=1,
                    device_id=of_device,
                    socket_id=socket.id,
                    is_newest=False,
                    as_of=as_of,
                    computed_at=register.clock() + (as_of - register.clock().date()) + timedelta(days=late),
                    model=model,
                    inputs_hash="",
                    **{f"p{p}": FIRST + timedelta(days=to) for p, to in ((10, 300), (50, 365), (90, 430))},
                    already=0.0,
                    answer={},
                    explanation="",
                )
            )


def record(client: TestClient) -> dict[str, Any]:
    answer = client.get("/api/v1/forecast-record")
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = answer.json()
    return found


def line(client: TestClient, days: int, model: str = "alpha 1", *, replayed: bool = False) -> dict[str, Any]:
    wanted = {"model": model, "horizon_days": days, "replayed": replayed}
    lines: list[dict[str, Any]] = record(client)["by_model"]
    (found,) = [each for each in lines if wanted.items() <= each.items()]
    return found


def test_coverage_bias_and_loss_are_those_of_the_forecasts_in_force_so_many_days_before(
    register: Register, coordinator: TestClient, everyday: int
) -> None:
    ends = [250, 310, 330, 350, 365, 370, 380, 400, 420, 500]
    for days in ends:
        worn(register, everyday, days, made=[(200, "alpha 1"), (100, "alpha 1"), (20, "too late to judge")])
    found = line(coordinator, 90)
    assert (found["judged"], found["outgrown"]) == (10, 10)
    low, high = wilson(8, 10) or (0, 0)
    assert found["coverage"] == {"value": 0.8, "low": round(low, 2), "high": round(high, 2)}
    # The median of 365 - end, and for ten errors the second smallest and the second largest.
    assert found["bias_days"] == {"value": -2.0, "low": -55.0, "high": 55.0}
    misses = [[days - due for due in (300, 365, 430)] for days in ends]
    loss = sum(max(p * m, (p - 1) * m) for each in misses for p, m in zip((0.1, 0.5, 0.9), each, strict=True)) / 30
    assert found["pinball_days"] == pytest.approx(loss, abs=0.06)
    assert [each["horizon_days"] for each in record(coordinator)["by_model"]] == list(HORIZONS)
    assert line(coordinator, 365)["judged"] == 0
    assert line(coordinator, 30)["judged"] == 10


def test_the_newest_forecast_before_the_day_counts_by_its_model(
    register: Register, coordinator: TestClient, everyday: int
) -> None:
    for _ in range(8):
        worn(register, everyday, 365, made=[(200, "alpha 1"), (100, "beta 2")])
    assert line(coordinator, 180)["judged"] == 10
    assert line(coordinator, 90, "beta 2")["judged"] == 10
    assert line(coordinator, 90)["judged"] == 0


def test_a_socket_that_broke_counts_without_being_called_outgrown_and_a_mistake_not_at_all(
    register: Register, coordinator: TestClient, everyday: int
) -> None:
    for days in (310, 320, 340, 360, 380, 400, 410, 420):
        worn(register, everyday, days)
    for days in (200, 310, 350, 350, 350, 350, 350, 460):
        worn(register, everyday, days, reason=EndReason.BROKEN)
    for days in (100, 200, 300):
        worn(register, everyday, days, reason=EndReason.MISTAKE)
    found = line(coordinator, 30)
    assert (found["judged"], found["outgrown"]) == (15, 10)
    assert 0.7 < found["coverage"]["value"] < 1
    assert found["bias_days"]["value"] == 365 - 370


def test_few_are_hidden_and_none_is_said(register: Register, coordinator: TestClient, everyday: int) -> None:
    assert record(coordinator) == {"by_model": [], "by_year": []}
    for _ in range(7):
        worn(register, everyday, 365)
    found = line(coordinator, 90)
    assert [found[name] for name in ("judged", "outgrown", "coverage", "bias_days", "pinball_days")] == [None] * 5
    worn(register, everyday, 365)
    assert line(coordinator, 90)["judged"] == 10
    assert line(coordinator, 90)["coverage"] is not None


def test_the_years_stand_in_order(register: Register, coordinator: TestClient, everyday: int) -> None:
    for days in [365] * 8 + [740] * 8:
        worn(register, everyday, days)
    years = [(each["year"], each["horizon_days"]) for each in record(coordinator)["by_year"]]
    assert years == [(year, days) for year in (2020, 2022) for days in HORIZONS]


def test_what_was_worked_out_with_hindsight_stands_apart(
    register: Register, coordinator: TestClient, everyday: int
) -> None:
    for _ in range(8):
        worn(register, everyday, 365, made=[(90, "alpha 1")], late=500)
    assert line(coordinator, 90, replayed=True)["judged"] == 10
    worn(register, everyday, 365, made=[(100, "alpha 1")], late=1)
    assert line(coordinator, 90, replayed=True)["judged"] == 10
    assert line(coordinator, 90)["judged"] is None


def test_only_the_own_sites_count_and_nobody_is_named(
    register: Register, coordinator: TestClient, everyday: int
) -> None:
    for _ in range(8):
        worn(register, everyday, 365)
    assert record(register.api(Role.CLINICIAN, sites=("island",))) == {"by_model": [], "by_year": []}
    both = record(register.api(Role.CLINICIAN, sites=("harbour", "island")))
    assert both == record(coordinator)
    assert "Ines" not in json.dumps(both)


def test_those_who_see_cases_may_see_it_and_trustees_see_what_their_sheets_tell(register: Register) -> None:
    allowed = {role for role in PEOPLE if register.api(role).get("/api/v1/forecast-record").status_code == 200}
    assert allowed == {Role.COORDINATOR, Role.CLINICIAN}
    assert register.browser().get("/api/v1/forecast-record").status_code == 401


def test_the_page_says_what_is_known_so_far(register: Register, everyday: int) -> None:
    open_account(register, Role.CLINICIAN)
    clinician = signed_in(register)
    assert "No socket that had a forecast has come off yet." in clinician.get("/forecast-record").text
    worn(register, everyday, 365)
    assert "Too few sockets have come off" in clinician.get("/forecast-record").text
    for days in [250, 310, 330, 350, 365, 370, 380, 400, 420]:
        worn(register, everyday, days)
    page = clinician.get("/forecast-record").text
    assert "alpha 1" in page
    assert "90 in 100" in page.replace('<span class="n">', "").replace("</span>", "")
    assert "replayed" not in page


def test_a_volunteer_is_not_offered_the_page_and_does_not_get_it(register: Register) -> None:
    open_account(register, Role.VOLUNTEER)
    volunteer = signed_in(register)
    assert "/forecast-record" not in volunteer.get("/account").text
    assert volunteer.get("/forecast-record").status_code == 403
