"""Who wears what came from a lot or was printed from a version: those who may be seen, and how many others."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.assembly.things import (
    a_device,
    act,
    assemblies,
    finger,
    lot,
    palm,
    put,
    socket_version,
    worn,
)
from tests.conftest import Register
from tests.devices.worn import made

TODAY = "2026-03-02"
RIGHT = {"limbs": [{"side": "right", "cause": "acquired", "level": "forearm_middle"}]}


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def fields(answer: Any) -> list[str]:
    body = answer.json()
    return [each["field"] for each in body.get("errors") or body.get("doubts") or []]


def test_limbs_that_may_not_be_seen_are_only_counted(register: Register, coordinator: TestClient) -> None:
    of = finger(register)
    ines, everyday = a_device(coordinator)
    island = register.api(Role.COORDINATOR, sites=("island",))
    zoe, hers = a_device(island, given_name="Zoe", **RIGHT)
    for digit in ("index", "ring"):
        put(coordinator, ines, everyday, version=of, digit=digit)
        put(island, zoe, hers, version=of, digit=digit)
    here = worn(coordinator, f"part-versions/{of}")
    assert {each["case_number"] for each in here["items"]} == {ines}
    assert (len(here["items"]), here["limbs"], here["elsewhere"]) == (2, 1, 1)
    there = worn(island, f"part-versions/{of}")
    assert {(each["case_number"], each["given_name"]) for each in there["items"]} == {(zoe, "Zoe")}
    helper = register.account(Role.VOLUNTEER)
    volunteer = register.api(account=helper)
    assert (worn(volunteer, f"part-versions/{of}")["limbs"], worn(volunteer, f"part-versions/{of}")["elsewhere"]) == (
        0,
        2,
    )
    asked = coordinator.post(f"/api/v1/recipients/{ines}/helpers", json={"account": helper})
    assert asked.status_code == 201, asked.text
    assert worn(volunteer, f"part-versions/{of}")["limbs"] == 1
    assert "Zoe" not in coordinator.get(f"/api/v1/part-versions/{of}/worn").text


def test_lots_and_private_versions_of_others_are_not_there(register: Register, coordinator: TestClient) -> None:
    island = register.api(Role.COORDINATOR, sites=("island",))
    ines, _everyday = a_device(coordinator)
    private = socket_version(register, ines)
    spool = lot(coordinator)
    for address in (f"lots/{spool}", f"part-versions/{private}", "lots/9999", "part-versions/9999"):
        assert island.get(f"/api/v1/{address}/worn").status_code == 404
    assert worn(coordinator, f"part-versions/{private}")["items"] == []
    assert register.api(Role.TRUSTEE).get(f"/api/v1/lots/{spool}/worn").status_code == 403
    assert register.api(Role.SAFEGUARDING_LEAD).get(f"/api/v1/lots/{spool}/worn").status_code == 200
    future = coordinator.get(f"/api/v1/lots/{spool}/worn", params={"on": "2026-03-03"})
    assert (future.status_code, fields(future)) == (422, ["on"])


def test_what_lies_in_a_drawer_is_not_worn_from_the_day_its_device_was_stopped(
    register: Register, coordinator: TestClient
) -> None:
    of = palm(register)
    ines, everyday = a_device(coordinator)
    put(coordinator, ines, everyday, on="2026-01-10", version=of)
    where = f"/api/v1/recipients/{ines}/devices/{everyday}"
    coordinator.patch(where, json={"use": "spare"})
    assert [each["use"] for each in worn(coordinator, f"part-versions/{of}")["items"]] == ["spare"]
    stopped = {"use": "stopped", "stopped_reason": "goes without", "stopped_on": "2026-02-01"}
    coordinator.patch(where, json=stopped)
    found = {day: worn(coordinator, f"part-versions/{of}", on=day)["limbs"] for day in ("2026-01-31", "2026-02-01")}
    assert found == {"2026-01-31": 1, "2026-02-01": 0}
    assert worn(coordinator, f"part-versions/{of}", ever=True)["limbs"] == 1


def test_a_long_list_of_wearers_comes_in_pages(register: Register, coordinator: TestClient) -> None:
    spool = lot(coordinator)
    of = finger(register)
    numbers = []
    for name in ("Ada", "Bela", "Caro"):
        number, its = a_device(coordinator, given_name=name)
        numbers.append(number)
        for digit in ("index", "ring"):
            put(coordinator, number, its, version=of, digit=digit, lots=[spool])
    found: list[dict[str, Any]] = []
    params: dict[str, Any] = {"limit": 4}
    while True:
        page = worn(coordinator, f"lots/{spool}", **params)
        assert page["limbs"] == 3
        found += page["items"]
        if page["next"] is None:
            break
        params["cursor"] = page["next"]
    assert len(found) == len({each["place"] for each in found}) == 6
    assert {each["case_number"] for each in found} == set(numbers)
    bad = coordinator.get(f"/api/v1/lots/{spool}/worn", params={"cursor": "nonsense"})
    assert bad.status_code == 422


def test_a_lot_that_is_held_later_is_told_at_every_part_made_from_it(
    register: Register, coordinator: TestClient
) -> None:
    spool = lot(coordinator)
    ines, everyday = a_device(coordinator)
    put(coordinator, ines, everyday, version=finger(register), digit="index", lots=[spool])
    coordinator.post(f"/api/v1/lots/{spool}/state", json={"state": "held", "why": "brittle"})
    (part,) = assemblies(coordinator, ines)[everyday]
    (flag,) = part["attention"]
    assert (flag["word"], "Northern Reels 24-118" in flag["sentence"]) == ("held", True)


def test_a_stay_of_no_whole_day_is_never_in_place(register: Register, coordinator: TestClient) -> None:
    ines, everyday = a_device(coordinator)
    there = put(coordinator, ines, everyday, on="2026-02-01", version=finger(register), digit="index")
    act(coordinator, ines, there["place"], "end", on="2026-02-01", came_off="preference")
    assert assemblies(coordinator, ines, "2026-02-01")[everyday] == []
    made(
        coordinator,
        f"recipients/{ines}/devices/{everyday}/parts",
        {"on": "2026-02-01", "version": finger(register), "digit": "index"},
    )
    assert len(assemblies(coordinator, ines, "2026-02-01")[everyday]) == 1
