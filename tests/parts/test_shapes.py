"""Shapes and the sockets made from them over HTTP: seen with the case and nowhere else."""

from __future__ import annotations

from math import pi
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.actor import SYSTEM, Actor
from service.access.permissions import PEOPLE, Role
from service.access.work import Work
from service.audit.tables import AuditRow
from service.parts import queries
from service.parts.rules import PartKind
from tests.conftest import Register
from tests.devices.worn import opened
from tests.geometry import solids
from tests.parts.made import (
    DEEP,
    INSIDE,
    NARROW,
    SCANNED,
    WIDE,
    design,
    limb,
    move,
    post_file,
    released,
    send,
    shape,
    socket,
    socket_version,
)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return opened(coordinator)


@pytest.fixture
def elsewhere(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR, sites=("island",))


def reads(register: Register) -> int:
    """How often a case was opened, by the audit."""
    with register.db.reading() as session:
        count = sa.select(sa.func.count()).select_from(AuditRow).where(AuditRow.act == "read")
        return session.scalar(count) or 0


def listed(client: TestClient, number: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = client.get(f"/api/v1/recipients/{number}/shapes").json()["items"]
    return found


def test_a_shape_is_recorded_and_seen_with_its_file(register: Register, coordinator: TestClient, number: str) -> None:
    made = shape(coordinator, number, note="Held out straight.")
    assert {name: made[name] for name in ("side", "taken_on", "taken_by", "method", "note", "case_number")} == {
        "side": "left",
        "taken_on": "2026-02-20",
        "taken_by": "coordinator",
        "method": "scan",
        "note": "Held out straight.",
        "case_number": number,
    }
    assert (made["struck"], made["versions"]) == (None, [])
    assert sorted(made["geometry"]["bounding_box_mm"]) == pytest.approx([60, 60, 150], rel=0.01)
    before = reads(register)
    assert listed(coordinator, number) == [made]
    assert coordinator.get(f"/api/v1/recipients/{number}/shapes/{made['id']}").json() == made
    assert coordinator.get(f"/api/v1/recipients/{number}/shapes/{made['id']}/file").content == limb()
    assert reads(register) == before + 3


def test_shapes_come_newest_first(coordinator: TestClient, number: str) -> None:
    old = shape(coordinator, number, limb(140), taken_on="2025-02-20", taken_by="Idris Quillam", method="cast")
    new = shape(coordinator, number)
    assert [each["id"] for each in listed(coordinator, number)] == [new["id"], old["id"]]
    assert old["taken_by"] == "Idris Quillam"


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"side": "right"}, "side"),
        ({"taken_on": "2026-03-03"}, "taken_on"),
        ({"taken_on": "2010-03-03"}, "taken_on"),
        ({"taken_on": 20260303}, "taken_on"),
        ({"method": "guess"}, "method"),
        ({"unit": None}, "unit"),
        ({"colour": "blue"}, "colour"),
    ],
)
def test_a_shape_that_cannot_be_is_refused(
    coordinator: TestClient, number: str, said: dict[str, Any], field: str
) -> None:
    answer = post_file(coordinator, f"recipients/{number}/shapes", {**SCANNED, **said}, limb())
    assert answer.status_code == 422
    assert field in {each["field"] for each in answer.json()["errors"]}
    assert listed(coordinator, number) == []


def test_the_same_scan_is_one_shape_until_it_is_struck(coordinator: TestClient, number: str) -> None:
    made = shape(coordinator, number)["id"]
    again = post_file(coordinator, f"recipients/{number}/shapes", {**SCANNED, "side": "left"}, limb())
    assert again.status_code == 409
    strike = f"/api/v1/recipients/{number}/shapes/{made}/strike"
    assert coordinator.post(strike, json={"why": ""}).status_code == 422
    struck = coordinator.post(strike, json={"why": "This is the other arm."}).json()
    assert struck["struck"]["why"] == "This is the other arm."
    assert coordinator.post(strike, json={"why": "Again."}).status_code == 409
    shape(coordinator, number)
    assert len(listed(coordinator, number)) == 2


def test_a_socket_is_made_from_a_shape_with_its_inside_profile(coordinator: TestClient, number: str) -> None:
    made = socket_version(coordinator, number, shape(coordinator, number)["id"])
    assert (made["kind"], made["side"], made["case_number"], made["design"]) == ("socket", "left", number, None)
    assert made["name"] == "left socket of the shape of 20 February 2026, version 1"
    round_ = solids.polygon(96)
    profile = made["geometry"]["inside_profile"]
    assert len(profile) > 10
    for each in profile:
        radius = WIDE + (NARROW - WIDE) * each["level_mm"] / DEEP
        # A tape reads between the polygon that the mesh is and the circle that was meant.
        assert 2 * pi * radius * round_ * 0.995 <= each["girth_mm"] <= 2 * pi * radius * 1.005
    assert made["inside"] == {"dimension": "residual_limb_girth", "level_at_origin_mm": 0, "liner_mm": 2}


def test_how_the_inside_lies_beside_the_limb_is_put_right_while_it_is_a_draft(
    coordinator: TestClient, number: str
) -> None:
    of_shape = shape(coordinator, number)["id"]
    made = socket_version(coordinator, number, of_shape, inside=None)
    assert made["geometry"]["inside_profile"] == []
    change = f"/api/v1/recipients/{number}/shapes/{of_shape}/versions/{made['id']}"
    own = coordinator.patch(change, json={"inside": INSIDE}).json()["geometry"]["inside_profile"]
    moved = coordinator.patch(change, json={"inside": {**INSIDE, "level_at_origin_mm": 15}}).json()
    assert [each["girth_mm"] for each in moved["geometry"]["inside_profile"]] == [each["girth_mm"] for each in own]
    assert [each["level_mm"] - 15 for each in moved["geometry"]["inside_profile"]] == pytest.approx(
        [each["level_mm"] for each in own]
    )
    assert coordinator.patch(change, json={"inside": None}).json()["geometry"]["inside_profile"] == []


def test_a_socket_is_seen_only_with_the_case_and_never_among_designs(
    register: Register, coordinator: TestClient, elsewhere: TestClient, number: str
) -> None:
    of_shape = shape(coordinator, number)["id"]
    private = socket_version(coordinator, number, of_shape)["id"]
    for path in (
        f"part-versions/{private}",
        f"part-versions/{private}/geometry",
        f"part-versions/{private}/file",
        f"part-versions/{private}/original",
        f"recipients/{number}/shapes",
        f"recipients/{number}/shapes/{of_shape}",
        f"recipients/{number}/shapes/{of_shape}/file",
        f"recipients/{number}/shapes/{of_shape}/versions",
    ):
        assert elsewhere.get(f"/api/v1/{path}").status_code == 404, path
        before = reads(register)
        assert coordinator.get(f"/api/v1/{path}").status_code == 200, path
        assert reads(register) == before + 1, path
    for role in (Role.TRUSTEE, Role.ADMINISTRATOR, Role.VOLUNTEER):  # nobody asked the volunteer to help
        assert register.api(role).get(f"/api/v1/part-versions/{private}").status_code == 404, role
    for act in ("release", "withdraw"):
        assert move(elsewhere, private, act).status_code == 404
    change = f"/api/v1/recipients/{number}/shapes/{of_shape}/versions/{private}"
    assert elsewhere.patch(change, json={"why": "x"}).status_code == 404
    assert coordinator.patch(f"/api/v1/part-versions/{private}", json={"why": "x"}).status_code == 404
    assert coordinator.patch(change, json={"why": "It rubbed."}).json()["why"] == "It rubbed."
    assert coordinator.get("/api/v1/part-designs").json()["items"] == []
    assert coordinator.get("/api/v1/part-designs", params={"kind": "socket"}).json()["items"] == []


def test_other_rooms_are_told_only_of_what_may_be_seen(
    register: Register, coordinator: TestClient, number: str
) -> None:
    private = socket_version(coordinator, number, shape(coordinator, number)["id"])["id"]
    public = released(coordinator, design(coordinator))
    here, there = (
        Actor("x", frozenset({Role.COORDINATOR}), frozenset({register.sites[site]}), 1)
        for site in ("harbour", "island")
    )
    trustee = Actor("x", frozenset({Role.TRUSTEE}), frozenset({register.sites["harbour"]}), 1)
    with register.db.reading() as session:
        for actor, seen in (
            (here, {private, public}),
            (SYSTEM, {private, public}),
            (there, {public}),
            (trustee, {public}),
        ):
            facts = queries.version_facts(Work(session, actor, register.clock()), [private, public, 999])
            assert set(facts) == seen
        work = Work(session, here, register.clock())
        found = queries.version_facts(work, [private])[private]
        assert found.kind is PartKind.SOCKET
        assert found.recipient is not None
        assert found.geometry.inside_profile
        assert [each.id for each in queries.released_versions(work, [PartKind.FINGER])] == [public]


def test_sockets_of_a_shape_are_numbered_and_released_by_whoever_may(
    register: Register, coordinator: TestClient, number: str
) -> None:
    of_shape = shape(coordinator, number)["id"]
    first = socket_version(coordinator, number, of_shape)["id"]
    second = socket_version(coordinator, number, of_shape, socket(4.0), what_changed="A thicker wall.")
    assert second["number"] == 2
    path = f"/api/v1/recipients/{number}/shapes/{of_shape}/versions"
    assert [each["number"] for each in coordinator.get(path).json()["items"]] == [2, 1]
    helper = register.account(Role.VOLUNTEER)
    assert coordinator.post(f"/api/v1/recipients/{number}/helpers", json={"account": helper}).status_code == 201
    volunteer = register.api(account=helper)
    assert volunteer.get(f"/api/v1/part-versions/{first}").status_code == 200
    assert move(volunteer, first, "release").status_code == 403
    assert move(register.api(Role.CLINICIAN), second["id"], "release").json()["state"] == "released"
    refused = coordinator.patch(f"{path}/{second['id']}", json={"why": "x"})
    assert refused.status_code == 409
    assert "never changes" in refused.json()["detail"]
    assert move(coordinator, first, "withdraw", successor=second["id"]).json()["successor"]["id"] == second["id"]


def test_who_may_record_shapes(register: Register, coordinator: TestClient, number: str) -> None:
    for turn, role in enumerate(PEOPLE):
        client = register.api(role)
        answer = post_file(client, f"recipients/{number}/shapes", SCANNED, limb(160 + turn))
        expected = {Role.COORDINATOR: 201, Role.CLINICIAN: 201, Role.VOLUNTEER: 404}.get(role, 403)
        assert answer.status_code == expected, role


def test_nothing_more_is_made_from_a_shape_that_was_struck(coordinator: TestClient, number: str) -> None:
    of_shape = shape(coordinator, number)["id"]
    draft = socket_version(coordinator, number, of_shape)["id"]
    other = socket_version(coordinator, number, of_shape, socket(4.0), what_changed="Thicker.")["id"]
    assert move(coordinator, other, "release").status_code == 200
    strike = f"/api/v1/recipients/{number}/shapes/{of_shape}/strike"
    refused = coordinator.post(strike, json={"why": "The other arm."})
    assert refused.status_code == 409
    assert "Withdraw it first" in refused.json()["detail"]
    assert move(coordinator, other, "withdraw").status_code == 200
    assert coordinator.post(strike, json={"why": "The other arm."}).status_code == 200
    for answer in (
        move(coordinator, draft, "release"),
        send(coordinator, f"recipients/{number}/shapes/{of_shape}/versions", {"what_changed": "x"}, socket(5.0)),
        coordinator.patch(f"/api/v1/recipients/{number}/shapes/{of_shape}/versions/{draft}", json={"why": "x"}),
    ):
        assert answer.status_code == 409
        assert "struck through" in answer.json()["detail"]


def test_a_socket_is_not_handed_out_for_somebody_else(coordinator: TestClient, number: str) -> None:
    other = opened(coordinator, given_name="Noor")
    private = socket_version(coordinator, number, shape(coordinator, number)["id"])["id"]
    at = f"/api/v1/part-versions/{private}/file"
    assert coordinator.get(at, params={"case": other}).status_code == 422
    own = coordinator.get(at, params={"case": number})
    assert own.status_code == 200
    assert number in own.headers["content-disposition"]
    assert "content-disposition" in coordinator.get(at).headers


def test_a_version_belongs_to_its_own_shape_and_case(coordinator: TestClient, number: str) -> None:
    other = opened(coordinator, given_name="Noor")
    of_shape, of_other = shape(coordinator, number)["id"], shape(coordinator, other, limb(140))["id"]
    private = socket_version(coordinator, number, of_shape)["id"]
    for path in (
        f"recipients/{other}/shapes/{of_shape}/versions/{private}",
        f"recipients/{other}/shapes/{of_other}/versions/{private}",
        f"recipients/{number}/shapes/{of_other}/versions/{private}",
    ):
        assert coordinator.patch(f"/api/v1/{path}", json={"why": "x"}).status_code == 404, path
    path = f"recipients/{other}/shapes/{of_shape}/versions"
    assert send(coordinator, path, {"inside": INSIDE}, socket()).status_code == 404
