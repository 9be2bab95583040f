"""What of a case as it is recorded its forecast may rest on, over HTTP."""

from __future__ import annotations

import re
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.measurements.tables import ReadingRow
from tests.accounts.people import open_account, signed_in
from tests.conftest import Register
from tests.devices.worn import GIRTH, device, made, opened, socket

UPPER_ARM = {"side": "left", "cause": "acquired", "level": "upper_arm_middle"}
FIGURES = ("due", "already", "within", "limiting", "curve", "from_socks", "start_by", "measure_by")


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def forecast(register: Register, client: TestClient, number: str) -> dict[str, Any]:
    register.run_jobs()
    (found,) = client.get(f"/api/v1/recipients/{number}/forecasts").json()["items"]
    assert found["state"] == "current"
    return dict(found)


def measured(client: TestClient, number: str, on: str, size: float, **changes: Any) -> None:
    reading = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60, "values": [size], "unit": "mm"}
    body = {"taken_on": on, "method": "tape", "readings": [{**reading, **changes}], "confirmed": True}
    made(client, f"recipients/{number}/measurements", body)


def reported(client: TestClient, number: str) -> None:
    made(client, f"recipients/{number}/sock-reports", {"on": "2026-02-25", "plies": [3], "fit": "snug"})


def test_a_reading_counted_from_another_landmark_is_left_out_and_that_is_said(
    register: Register, coordinator: TestClient
) -> None:
    number = opened(coordinator)
    socket(coordinator, number, device(coordinator, number))
    measured(coordinator, number, "2026-02-20", 172.0)
    before = forecast(register, coordinator, number)
    sized = coordinator.get(f"/api/v1/recipients/{number}/next-size").json()["items"][0]
    measured(coordinator, number, "2026-03-01", 188.0, landmark="the end of the limb")
    after = forecast(register, coordinator, number)
    assert {name: after[name] for name in FIGURES} == {name: before[name] for name in FIGURES}
    said = "One reading counted from another landmark was left out."
    assert after["warnings"] == [*before["warnings"], said]
    (sized_after,) = coordinator.get(f"/api/v1/recipients/{number}/next-size").json()["items"]
    assert said in sized_after["warnings"]
    assert sized_after["next"] == sized["next"]
    measured(coordinator, number, "2026-03-02", 189.0, landmark="the end of the limb")
    assert (
        "2 readings counted from other landmarks were left out." in forecast(register, coordinator, number)["warnings"]
    )


def test_a_socket_fitted_before_a_birth_date_put_right_has_no_forecast_and_says_why(
    register: Register, coordinator: TestClient
) -> None:
    number = opened(coordinator)
    socket(coordinator, number, device(coordinator, number), "2026-01-12", socks_at_fitting=[3])
    measured(coordinator, number, "2026-01-12", 172.0)
    reported(coordinator, number)
    foreseen = forecast(register, coordinator, number)
    corrected = coordinator.patch(f"/api/v1/recipients/{number}", json={"birth_date": "2026-02-27", "confirmed": True})
    assert corrected.status_code == 200, corrected.text

    found = forecast(register, coordinator, number)
    why = "The socket is recorded as fitted on 12 January 2026, before the birth date, 27 February 2026"
    assert (found["due"], found["already"], found["start_by"], found["curve"]) == (None, None, None, [])
    assert found["explanation"].startswith(why)
    assert found["warnings"] == [found["explanation"]]
    refused = coordinator.get(f"/api/v1/recipients/{number}/next-size")
    assert (refused.status_code, refused.json()["detail"]) == (409, found["explanation"])
    (item,) = coordinator.get("/api/v1/work-list", params={"kind": "socket_due"}).json()["items"]
    assert (item["why"], item["due"], item["start_by"]) == (found["explanation"], None, None)
    open_account(register, Role.COORDINATOR)
    browser = signed_in(register)
    for page in (f"/recipients/{number}", "/work-list"):
        assert why in browser.get(page).text
    assert why in browser.get(f"/recipients/{number}/next-size").text

    coordinator.patch(f"/api/v1/recipients/{number}", json={"birth_date": "2018-05-04", "confirmed": True})
    assert forecast(register, coordinator, number)["due"] == foreseen["due"]


def test_a_limb_that_ends_above_the_elbow_is_spoken_of_as_it_is_recorded(
    register: Register, coordinator: TestClient
) -> None:
    number = opened(coordinator, limbs=[UPPER_ARM])
    socket(coordinator, number, device(coordinator, number), limits=[{**GIRTH, "tight_at_mm": 215}])
    measured(coordinator, number, "2024-12-01", 190.0)
    measured(coordinator, number, "2024-12-01", 205.0, level_mm=20)
    old = forecast(register, coordinator, number)
    said = " ".join([old["explanation"], old["start_why"], old["measure_why"], *old["warnings"]])
    assert "The newest reading of the residual limb girth is more than a year old." in said
    assert "A tape reading of the residual limb girth" in old["measure_why"]
    assert "upper arm" not in said
    (sized,) = coordinator.get(f"/api/v1/recipients/{number}/next-size").json()["items"]
    assert "upper arm" not in str(sized)
    assert sized["next"] is not None


def test_a_socket_with_limits_of_limb_and_upper_arm_at_one_level_is_sized(
    register: Register, coordinator: TestClient
) -> None:
    number = opened(coordinator, limbs=[UPPER_ARM])
    limits = [{**GIRTH, "tight_at_mm": 215}, {**GIRTH, "dimension": "upper_arm_girth", "tight_at_mm": 221}]
    socket(coordinator, number, device(coordinator, number), limits=limits)
    measured(coordinator, number, "2026-02-20", 200.0)
    assert forecast(register, coordinator, number)["limiting"]["dimension"] == "residual_limb_girth"
    (sized,) = coordinator.get(f"/api/v1/recipients/{number}/next-size").json()["items"]
    assert [(each["level_mm"], each["inside_now_mm"]) for each in sized["levels"]] == [(60, 215)]


@pytest.mark.parametrize("dimension", ["residual_limb_girth", "upper_arm_girth"])
def test_socks_are_evidence_of_an_upper_arm_too(register: Register, coordinator: TestClient, dimension: str) -> None:
    number = opened(coordinator, limbs=[UPPER_ARM])
    limit = {**GIRTH, "dimension": dimension, "tight_at_mm": 215}
    socket(coordinator, number, device(coordinator, number), limits=[limit])
    reported(coordinator, number)
    found = forecast(register, coordinator, number)
    assert found["explanation"].startswith("The socks worn say")
    assert [(each["on"], each["dimension"], each["level_mm"]) for each in found["from_socks"]] == [
        ("2026-02-25", dimension, 60)
    ]
    assert not any("left out" in warning for warning in found["warnings"])


ACROMION = "the acromion, measuring distally"
AT_80: dict[str, Any] = {**GIRTH, "level_mm": 80, "tight_at_mm": 215}


def upper_arm(coordinator: TestClient) -> str:
    """A limb that ends above the elbow, with a socket that is tight at 215 mm, 80 mm from the acromion."""
    number = opened(coordinator, limbs=[UPPER_ARM])
    socket(coordinator, number, device(coordinator, number), limits=[AT_80])
    return number


def test_a_reading_from_the_acromion_is_in_the_forecast_of_a_limb_that_ends_above_the_elbow(
    register: Register, coordinator: TestClient
) -> None:
    number, unnamed = upper_arm(coordinator), upper_arm(coordinator)
    nothing_known = forecast(register, coordinator, number)
    measured(coordinator, number, "2026-02-20", 200.0, level_mm=80, landmark="the acromion")
    measured(coordinator, unnamed, "2026-02-20", 200.0, level_mm=80)
    found = forecast(register, coordinator, number)
    assert found["explanation"].startswith("One reading says")
    assert found["due"] != nothing_known["due"]
    assert {name: found[name] for name in FIGURES} == {
        name: forecast(register, coordinator, unnamed)[name] for name in FIGURES
    }
    assert not any("left out" in warning for warning in found["warnings"])
    open_account(register, Role.COORDINATOR)
    page = signed_in(register).get(f"/recipients/{number}").text
    assert "Left residual limb girth at 80 mm from the acromion, and when" in page
    assert re.search(r"20 February.*?200\.0", page, re.DOTALL), "it is drawn with the forecast"


def test_a_reading_counted_from_elsewhere_than_the_acromion_stays_out(
    register: Register, coordinator: TestClient
) -> None:
    number = upper_arm(coordinator)
    measured(coordinator, number, "2026-02-20", 200.0, level_mm=80)
    before = forecast(register, coordinator, number)
    measured(coordinator, number, "2026-02-25", 212.0, level_mm=80, landmark="the end of the limb")
    after = forecast(register, coordinator, number)
    assert {name: after[name] for name in FIGURES} == {name: before[name] for name in FIGURES}
    assert after["warnings"] == [*before["warnings"], "One reading counted from another landmark was left out."]


def test_a_forearm_takes_no_reading_from_the_acromion(register: Register, coordinator: TestClient) -> None:
    number = opened(coordinator)
    socket(coordinator, number, device(coordinator, number))
    measured(coordinator, number, "2026-02-20", 172.0, landmark=ACROMION)
    assert (
        "One reading counted from another landmark was left out." in forecast(register, coordinator, number)["warnings"]
    )


def test_an_old_session_goes_on_meaning_what_it_meant(register: Register, coordinator: TestClient) -> None:
    # Before such limbs were counted from the acromion, a reading that named no landmark was kept as from the elbow.
    number = upper_arm(coordinator)
    nothing_known = forecast(register, coordinator, number)
    for on, size in (("2025-12-20", 196.0), ("2026-02-20", 200.0)):
        measured(coordinator, number, on, size, level_mm=80)
    with register.db.writing() as db:
        db.execute(sa.update(ReadingRow).values(landmark=""))
    old = forecast(register, coordinator, number)
    assert old["due"] == nothing_known["due"]
    (said,) = [warning for warning in old["warnings"] if "left out" in warning]
    assert said.startswith("2 readings were left out that would be counted from the elbow")
    assert "struck through and recorded again" in said
    measured(coordinator, number, "2026-02-21", 200.0, level_mm=80)
    new = forecast(register, coordinator, number)
    assert new["explanation"].startswith("One reading says")
    assert said in new["warnings"]


def test_a_limb_described_anew_does_not_move_its_old_readings(register: Register, coordinator: TestClient) -> None:
    number = opened(coordinator, limbs=[UPPER_ARM])
    socket(coordinator, number, device(coordinator, number), limits=[GIRTH])
    measured(coordinator, number, "2026-02-20", 172.0)
    forearm = {"limbs": [{**UPPER_ARM, "level": "forearm_middle"}]}
    assert coordinator.patch(f"/api/v1/recipients/{number}", json=forearm).status_code == 200
    found = forecast(register, coordinator, number)
    assert "One reading counted from another landmark was left out." in found["warnings"]


def test_an_upper_arm_is_foreseen_as_one(register: Register, coordinator: TestClient) -> None:
    number = upper_arm(coordinator)
    measured(coordinator, number, "2026-02-20", 200.0, level_mm=80)
    found = forecast(register, coordinator, number)
    asked = {
        "case_id": "as recorded",
        "birth_date": "2018-05-04",
        "sex": "female",
        "as_of": "2026-03-02",
        "readings": [
            {
                "on": "2026-02-20",
                "dimension": "residual_limb_girth",
                "side": "left",
                "level_mm": 80,
                "value_mm": 200.0,
                "method": "tape",
            }
        ],
        "device": {"fitted_on": "2026-01-12", "limits": [{**AT_80, "side": "left"}]},
    }
    forearm, upper = (
        coordinator.post("/api/v1/forecasts", json={"cases": [{**asked, "limb": limb}]}).json()["items"][0]
        for limb in ("forearm", "upper_arm")
    )
    assert (found["due"], found["curve"]) == (upper["due"], upper["curve"])
    assert found["due"] != forearm["due"]
