"""What is refused, or asked about, when a part is put in place: versions, lots, latex, and what cannot be."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.assembly.tables import PartLotRow, PartRow, PlaceRow
from service.parts.rules import PartKind, VersionState
from tests.assembly.things import (
    a_device,
    act,
    design,
    finger,
    lot,
    palm,
    put,
    socket_version,
    version,
    withdraw,
)
from tests.conftest import Register
from tests.devices.worn import count

TODAY = "2026-03-02"


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def case(coordinator: TestClient) -> tuple[str, int]:
    return a_device(coordinator)


def tried(client: TestClient, case: tuple[str, int], **body: Any) -> Any:
    return client.post(f"/api/v1/recipients/{case[0]}/devices/{case[1]}/parts", json=body)


def fields(answer: Any) -> list[str]:
    body = answer.json()
    return [each["field"] for each in body.get("errors") or body.get("doubts") or []]


@pytest.mark.parametrize("state", [VersionState.DRAFT, VersionState.WITHDRAWN])
def test_a_draft_or_withdrawn_version_is_refused(
    coordinator: TestClient, register: Register, case: tuple[str, int], state: VersionState
) -> None:
    of = design(register, "Short finger", PartKind.FINGER)
    successor = version(register, design_id=of)
    bad = version(register, design_id=of, state=VersionState.DRAFT, released_at=None)
    if state is VersionState.WITHDRAWN:
        bad = version(register, design_id=of)
        withdraw(register, bad, successor)
    answer = tried(coordinator, case, version=bad, digit="index")
    assert (answer.status_code, fields(answer)) == (422, ["version"])
    if state is VersionState.WITHDRAWN:
        assert "use Short finger, version 1 instead" in answer.json()["errors"][0]["message"]
    assert count(register, PartRow) == 0


def test_a_part_from_before_its_version_was_withdrawn_is_recorded_when_confirmed(
    coordinator: TestClient, register: Register, case: tuple[str, int]
) -> None:
    of = finger(register)
    withdraw(register, of)
    body: dict[str, Any] = {"version": of, "digit": "index", "on": "2026-02-01"}
    asked = tried(coordinator, case, **body)
    assert (asked.status_code, fields(asked)) == (422, ["version"])
    there = put(coordinator, *case, **body, confirmed=True)
    assert [each["word"] for each in there["attention"]] == ["withdrawn"]
    assert len(there["doubts"]) == 1


@pytest.mark.parametrize("state", ["held", "withdrawn", "used_up"])
def test_a_lot_that_may_not_be_used_is_refused(
    coordinator: TestClient, register: Register, case: tuple[str, int], state: str
) -> None:
    spool = lot(coordinator)
    of = finger(register)
    moved = coordinator.post(f"/api/v1/lots/{spool}/state", json={"state": state, "why": "brittle"})
    assert moved.status_code == 200, moved.text
    answer = tried(coordinator, case, version=of, digit="index", lots=[spool])
    assert (answer.status_code, fields(answer)) == (422, ["lots"])
    assert f"Lot {spool}" in answer.json()["errors"][0]["message"]
    asked = tried(coordinator, case, version=of, digit="index", lots=[spool], on="2026-02-01")
    assert "doubts" in asked.json()
    assert count(register, PartRow) == 0


def test_lots_are_of_the_cases_own_site_and_of_the_right_stuff(
    coordinator: TestClient, register: Register, case: tuple[str, int]
) -> None:
    elsewhere = lot(register.api(Role.COORDINATOR, sites=("island",)))
    pla = lot(coordinator, what="PLA 1.75 mm", material="PLA")
    of = finger(register)
    for wrong, body in (
        ([elsewhere], {"version": of, "digit": "index"}),
        ([9999], {"version": of, "digit": "index"}),
        ([pla], {"version": of, "digit": "index", "material": "PETG"}),
        ([pla], {"kind": "strap", "what": "strap"}),
    ):
        answer = tried(coordinator, case, **body, lots=wrong)
        assert (answer.status_code, fields(answer)) == (422, ["lots"]), body
    mismatched = tried(coordinator, case, version=of, digit="index", lots=[pla])
    assert fields(mismatched) == ["material"]
    assert "printed in PETG" in mismatched.json()["errors"][0]["message"]


def test_what_holds_latex_goes_to_nobody_who_is_allergic_to_it(coordinator: TestClient) -> None:
    allergic = a_device(coordinator, latex_allergy=True)
    other = a_device(coordinator, given_name="Bela")
    band = {"kind": "hardware", "what": "elastic band", "material": "", "colour": "", "maker": "Loops"}
    with_latex = lot(coordinator, **band, latex_free=False)
    unknown = lot(coordinator, **{**band, "batch": "2"}, latex_free=None)
    refused = tried(coordinator, allergic, kind="elastic", lots=[with_latex], confirmed=True)
    assert (refused.status_code, fields(refused)) == (422, ["lots"])
    assert "latex" in refused.json()["errors"][0]["message"]
    assert fields(tried(coordinator, allergic, kind="elastic", lots=[unknown])) == ["lots"]
    there = put(coordinator, *other, kind="elastic", lots=[with_latex])
    moved = act(coordinator, other[0], there["place"], "move", device=allergic[1], confirmed=True)
    assert (moved.status_code, fields(moved)) == (422, ["device"])


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"on": "2026-03-03"}, "on"),
        ({"on": "2018-05-03"}, "on"),
        ({"digit": None}, "digit"),
        ({"digit": "thumb"}, "digit"),
        ({"side": "right"}, "side"),
        ({"material": "PLA"}, "material"),
        ({"version": 9999}, "version"),
        ({"kind": "palm"}, "kind"),
        ({"scale_across": 0}, "scale_across"),
        ({"scale_along": 6}, "scale_along"),
        ({"lots": [0]}, "lots.0"),
        ({"version": None, "kind": None, "what": "a thing"}, "kind"),
        ({"version": None, "kind": "motor"}, "what"),
        ({"version": None, "kind": "socket", "what": "a socket"}, "kind"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_nothing_is_stored(
    register: Register, coordinator: TestClient, case: tuple[str, int], change: dict[str, Any], field: str
) -> None:
    body = {"version": finger(register), "digit": "index", **change}
    answer = tried(coordinator, case, **body)
    assert answer.status_code == 422
    assert fields(answer) == [field]
    assert count(register, PartRow) == count(register, PlaceRow) == count(register, PartLotRow) == 0


def test_a_socket_version_is_no_part_to_be_put_in_place(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    answer = tried(coordinator, case, version=socket_version(register, case[0]))
    assert fields(answer) == ["version"]
    assert "A socket is recorded with the sizes" in answer.json()["errors"][0]["message"]


def test_a_part_that_does_not_go_with_the_palm_is_doubted_and_marked_when_confirmed(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    put(coordinator, *case, version=palm(register), scale_across=1.1, scale_along=1.1)
    body: dict[str, Any] = {
        "version": finger(register, interface="B"),
        "digit": "index",
        "scale_across": 1.0,
        "scale_along": 1.0,
    }
    asked = tried(coordinator, case, **body)
    assert (asked.status_code, fields(asked)) == (422, ["version", "scale_across"])
    there = put(coordinator, *case, **body, confirmed=True)
    assert len(there["doubts"]) == 2
    assert (
        tried(
            coordinator, case, version=finger(register), digit="ring", scale_across=1.1055, scale_along=1.0945
        ).status_code
        == 201
    )
