"""Sockets printed from a version made for one person: their limits are the file's, their days the socket's."""

from __future__ import annotations

from math import pi
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.assembly.tables import PartRow, SocketPartRow
from service.devices.tables import SocketRow
from service.parts.rules import PartKind, VersionState
from service.recipients.rules import Side
from tests.assembly.things import (
    CONE,
    a_device,
    assemblies,
    design,
    figures,
    finger,
    lot,
    socket_version,
    version,
    withdraw,
    worn,
)
from tests.conftest import Register
from tests.devices.worn import GIRTH, count, made, opened, socket

TODAY = "2026-03-02"


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def case(coordinator: TestClient) -> tuple[str, int]:
    return a_device(coordinator)


def printed(client: TestClient, case: tuple[str, int], **body: Any) -> Any:
    where = f"/api/v1/recipients/{case[0]}/devices/{case[1]}/sockets/printed"
    return client.post(where, json={"fitted_on": "2026-02-20", **body})


def fields(answer: Any) -> list[str]:
    body = answer.json()
    return [each["field"] for each in body.get("errors") or body.get("doubts") or []]


def inside(level: float) -> float:
    """The girth of the cone of `things.CONE` in the file, mm."""
    return 150 + 0.5 * level


def measured(client: TestClient, number: str, *levels: float) -> None:
    """A girth at each level, a little less than the cone leaves there."""
    readings = [
        {
            "dimension": "residual_limb_girth",
            "side": "left",
            "level_mm": level,
            "values": [0.95 * inside(level)],
            "unit": "mm",
        }
        for level in levels
    ]
    made(
        client,
        f"recipients/{number}/measurements",
        {"taken_on": "2026-02-10", "method": "tape", "readings": readings, "confirmed": True},
    )


def test_limits_are_worked_out_where_the_limb_was_measured_at_both_scales_less_the_liner(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    measured(coordinator, case[0], 33, 66, 130)
    of, spool = socket_version(register, case[0]), lot(coordinator)
    answer = printed(
        coordinator, case, version=of, scale_across=1.05, scale_along=1.1, liner_mm=0.5, lots=[spool], confirmed=True
    )
    assert answer.status_code == 201, answer.text
    limits = [(each["level_mm"], each["tight_at_mm"]) for each in answer.json()["socket"]["limits"]]
    # A level of the limb lies at level / 1.1 of the file, so 130 mm is still within its 120.
    expected = [(float(level), inside(level / 1.1) * 1.05 - 2 * pi * 0.5) for level in (33, 66, 130)]
    assert [level for level, _girth in limits] == [level for level, _girth in expected]
    assert [girth for _level, girth in limits] == pytest.approx([girth for _level, girth in expected], abs=0.06)

    part = answer.json()["part"]
    assert (part["kind"], part["since"], part["until"], part["place"]) == ("socket", "2026-02-20", None, None)
    assert part["socket"] == answer.json()["socket"]["id"]
    assert (part["scale_across"], part["scale_along"], part["material"]) == (1.05, 1.1, "PETG")
    assert [each["id"] for each in part["lots"]] == [spool]
    assert part["version"]["name"] == "left socket of the shape of 5 January 2026, version 1"
    (shown,) = assemblies(coordinator, case[0])[case[1]]
    assert shown["part"] == part["part"]
    assert worn(coordinator, f"lots/{spool}")["items"][0]["socket"] == part["socket"]
    assert worn(coordinator, f"part-versions/{of}")["limbs"] == 1


def test_where_nothing_was_measured_a_few_levels_from_end_to_end_are_taken(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    answer = printed(coordinator, case, version=socket_version(register, case[0]), confirmed=True)
    limits = {each["level_mm"]: each["tight_at_mm"] for each in answer.json()["socket"]["limits"]}
    assert limits == {level: inside(level) for level in (0.0, 40.0, 80.0, 120.0)}


def test_levels_and_other_limits_may_be_said(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    of = socket_version(register, case[0])
    length = {"dimension": "residual_limb_length", "tight_at_mm": 140}
    answer = printed(coordinator, case, version=of, levels=[50], limits=[length], confirmed=True)
    limits = [(each["dimension"], each["level_mm"]) for each in answer.json()["socket"]["limits"]]
    assert limits == [("residual_limb_girth", 50.0), ("residual_limb_length", None)]


def test_the_versions_own_liner_is_taken_off_unless_another_is_said(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    lined = {"dimension": "residual_limb_girth", "level_at_origin_mm": 0.0, "liner_mm": 3.0}
    of = socket_version(register, case[0], inside=lined)
    answer = printed(coordinator, case, version=of, levels=[40], confirmed=True)
    (limit,) = answer.json()["socket"]["limits"]
    assert limit["tight_at_mm"] == pytest.approx(inside(40) - 6 * pi, abs=0.06)


def test_the_socket_before_ends_with_it_and_its_part_too(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    first = socket_version(register, case[0])
    assert printed(coordinator, case, version=first, fitted_on="2025-06-01", confirmed=True).status_code == 201
    second = socket_version(register, case[0])
    refused = printed(coordinator, case, version=second, confirmed=True)
    assert refused.status_code == 409
    assert count(register, PartRow) == count(register, SocketRow) == count(register, SocketPartRow) == 1
    taken = printed(coordinator, case, version=second, previous={"end_reason": "outgrown"}, confirmed=True)
    assert taken.status_code == 201, taken.text
    on = {
        day: [each["version"]["id"] for each in assemblies(coordinator, case[0], day)[case[1]]]
        for day in ("2025-05-31", "2025-06-01", "2026-02-19", "2026-02-20", TODAY)
    }
    assert on == {
        "2025-05-31": [],
        "2025-06-01": [first],
        "2026-02-19": [first],
        "2026-02-20": [second],
        TODAY: [second],
    }
    # The part's stay is the socket's: ending that is enough.
    there = f"/api/v1/recipients/{case[0]}/devices/{case[1]}/sockets/{taken.json()['socket']['id']}/end"
    assert coordinator.post(there, json={"ended_on": "2026-03-01", "end_reason": "broken"}).status_code == 200
    assert assemblies(coordinator, case[0])[case[1]] == []
    assert worn(coordinator, f"part-versions/{second}")["limbs"] == 0
    assert worn(coordinator, f"part-versions/{second}", on="2026-02-28")["limbs"] == 1


def test_a_socket_from_elsewhere_is_in_its_place_and_nothing_more_is_known_of_it(
    coordinator: TestClient, case: tuple[str, int]
) -> None:
    fitted = socket(coordinator, *case, "2026-01-12", [GIRTH])
    (there,) = assemblies(coordinator, case[0])[case[1]]
    assert (there["kind"], there["socket"], there["part"], there["version"]) == ("socket", fitted, None, None)


def test_only_a_version_that_may_be_used_makes_a_socket(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    other = opened(coordinator, given_name="Bela")
    withdrawn = socket_version(register, case[0])
    withdraw(register, withdrawn)
    unread = socket_version(register, case[0], geometry=figures())
    for of, says in (
        (socket_version(register, other), "no such socket version in this case"),
        (9999, "no such socket version in this case"),
        (finger(register), "no socket"),
        (socket_version(register, case[0], state=VersionState.DRAFT), "draft"),
        (withdrawn, "was withdrawn"),
        (socket_version(register, case[0], Side.RIGHT), "made for the right"),
        (unread, "inside of this version is not known"),
    ):
        answer = printed(coordinator, case, version=of, fitted_on=TODAY, confirmed=True)
        assert (answer.status_code, fields(answer)) == (422, ["version"]), answer.text
        assert says in answer.json()["errors"][0]["message"]
    assert count(register, SocketRow) == count(register, PartRow) == 0


def test_a_design_of_sockets_for_anybody_can_be_worn_too(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    of = design(register, "Cuff", PartKind.SOCKET)
    cuff = version(register, design_id=of, inside={"dimension": "residual_limb_girth"}, geometry=figures(CONE))
    assert printed(coordinator, case, version=cuff, confirmed=True).status_code == 201


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"levels": [121]}, "levels"),
        ({"levels": [-1]}, "levels.0"),
        ({"scale_across": 9}, "scale_across"),
        ({"liner_mm": -1}, "liner_mm"),
        ({"fitted_on": "2026-03-03"}, "fitted_on"),
        ({"material": "PLA"}, "material"),
        ({"lots": [9999]}, "lots"),
        ({"previous": {"end_reason": "outgrown"}}, "previous"),
        ({"scale_across": 0.2, "levels": [40]}, "limits.0.tight_at_mm"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_stored(
    register: Register, coordinator: TestClient, case: tuple[str, int], change: dict[str, Any], field: str
) -> None:
    body = {"version": socket_version(register, case[0]), "confirmed": True, **change}
    answer = printed(coordinator, case, **body)
    assert (answer.status_code, fields(answer)) == (422, [field]), answer.text
    assert count(register, SocketRow) == count(register, PartRow) == 0


def test_doubts_about_the_lot_and_about_the_limits_are_told_together(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    measured(coordinator, case[0], 40)
    late = lot(coordinator, received_on="2026-03-01")
    body = {"version": socket_version(register, case[0]), "scale_across": 0.8, "lots": [late]}
    asked = printed(coordinator, case, **body)
    assert (asked.status_code, fields(asked)) == (422, ["lots", "limits.0.tight_at_mm"])
    stored = printed(coordinator, case, **body, confirmed=True)
    assert stored.status_code == 201
    assert len(stored.json()["part"]["doubts"]) == 1
    assert len(stored.json()["socket"]["limits"][0]["doubts"]) == 1
