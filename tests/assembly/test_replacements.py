"""What may replace a part, at which scale and colour, and why others may not."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.parts.rules import Digit, PartKind, VersionState
from service.recipients.rules import Side
from tests.assembly.things import a_device, design, finger, lot, motors, palm, put, version, withdraw
from tests.conftest import Register


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def case(coordinator: TestClient) -> tuple[str, int]:
    return a_device(coordinator)


def offered(client: TestClient, number: str, place: int, **params: Any) -> dict[int, dict[str, Any]]:
    answer = client.get(f"/api/v1/recipients/{number}/parts-in-place/{place}/replacements", params=params)
    assert answer.status_code == 200, answer.text
    return {each["version"]: each for each in answer.json()["items"]}


def test_every_version_of_the_kind_is_offered_or_said_why_not(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    number = case[0]
    green = lot(coordinator, colour="green", batch="7")
    black = lot(coordinator)
    put(coordinator, *case, version=palm(register), scale_across=1.1, scale_along=1.1)
    of = design(register, "Short finger", PartKind.FINGER, interface="A")
    good = version(register, design_id=of, interface="A")
    old = version(register, design_id=of, interface="A")
    draft = version(register, design_id=of, interface="A", state=VersionState.DRAFT)
    other_mount = version(register, design_id=of, interface="B")
    for_ring = finger(register, digit=Digit.RING)
    for_right = finger(register, side=Side.RIGHT)
    there = put(
        coordinator,
        *case,
        version=good,
        digit="index",
        scale_across=1.1,
        scale_along=1.1,
        lots=[green],
    )
    withdraw(register, old, good)
    found = offered(coordinator, number, there["place"])
    assert {each: [reason["why"] for reason in answer["reasons"]] for each, answer in found.items()} == {
        good: [],
        old: ["state"],
        draft: ["state"],
        other_mount: ["interface"],
        for_ring: ["digit"],
        for_right: ["side"],
    }
    assert next(iter(found)) == good
    assert "use Short finger, version 1 instead" in found[old]["reasons"][0]["sentence"]
    best = found[good]
    assert (best["fits"], best["scale_across"], best["scale_along"]) == (True, 1.1, 1.1)
    assert (best["material"], best["colour"]) == ("PETG", "green")
    # The spool of the colour that is worn comes first.
    assert [each["id"] for each in best["lots"]] == [green, black]


def test_something_printed_already_is_judged_at_its_own_scale(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    put(coordinator, *case, version=palm(register), scale_across=1.1, scale_along=1.1)
    of = finger(register)
    there = put(coordinator, *case, version=of, digit="index", scale_across=1.1, scale_along=1.1)
    at = {
        scale: [
            each["why"] for each in offered(coordinator, case[0], there["place"], scale_across=scale)[of]["reasons"]
        ]
        for scale in (1.1, 1.1 * 1.005, 1.1 * 0.995, 1.1 * 1.006, 1.1 * 0.994)
    }
    assert list(at.values()) == [[], [], [], ["scale"], ["scale"]]


def test_a_bought_part_is_replaced_from_the_lots_of_the_same_thing(
    coordinator: TestClient, case: tuple[str, int]
) -> None:
    batch, other = motors(coordinator), motors(coordinator, what="servo 9 g")
    there = put(coordinator, *case, kind="motor", lots=[batch])
    where = f"/api/v1/recipients/{case[0]}/parts-in-place/{there['place']}/replacements"
    answer = coordinator.get(where).json()
    assert (answer["items"], [each["id"] for each in answer["lots"]]) == ([], [batch])
    coordinator.post(f"/api/v1/lots/{batch}/state", json={"state": "held", "why": "one grinds"})
    assert coordinator.get(where).json()["lots"] == []
    assert other != batch


def test_the_parts_of_another_case_are_not_offered_for(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    there = put(coordinator, *case, version=palm(register))
    island = register.api(Role.COORDINATOR, sites=("island",))
    number, _its = a_device(island, given_name="Bela")
    assert island.get(f"/api/v1/recipients/{number}/parts-in-place/{there['place']}/replacements").status_code == 404
