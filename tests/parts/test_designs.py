"""Designs over HTTP: recorded, found by words and kind, listed a page at a time, refused in words."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import PEOPLE, Role
from tests.conftest import Register
from tests.parts.made import design, finger, released, version


def listed(client: TestClient, **wanted: Any) -> list[str]:
    answer = client.get("/api/v1/part-designs", params=wanted)
    assert answer.status_code == 200, answer.text
    return [each["name"] for each in answer.json()["items"]]


def test_a_design_is_recorded_and_seen(coordinator: TestClient) -> None:
    made = design(coordinator, side="left", note="With a rubber tip.")
    seen = coordinator.get(f"/api/v1/part-designs/{made}").json()
    assert (seen["name"], seen["kind"], seen["digit"], seen["side"]) == ("Finger, index", "finger", "index", "left")
    assert (seen["interface"], seen["note"]) == ("tongue 8", "With a rubber tip.")
    assert seen["released"] is seen["newest"] is None
    assert coordinator.get(f"/api/v1/part-designs/{made + 1}").status_code == 404


def test_designs_are_listed_by_kind_and_found_by_words(coordinator: TestClient) -> None:
    design(coordinator, name="Palm, wide", kind="palm", digit=None)
    design(coordinator, name="Ring finger", digit="ring", interface="tongue 6")
    design(coordinator, name="Índex finger, left", side="left")
    design(coordinator, name="Wrist, turning", kind="wrist_coupling", digit=None, interface="cone 12")
    everything = ["Índex finger, left", "Ring finger", "Palm, wide", "Wrist, turning"]
    assert listed(coordinator) == everything
    assert listed(coordinator, q="finger") == everything[:2]
    assert listed(coordinator, q="INDEX") == everything[:1]
    assert listed(coordinator, q="tongue ring") == ["Ring finger"]
    assert listed(coordinator, q="coupling") == ["Wrist, turning"]
    assert listed(coordinator, kind="palm") == ["Palm, wide"]
    assert listed(coordinator, digit="ring") == ["Ring finger"]
    assert listed(coordinator, side="left", kind="") == ["Índex finger, left"]
    assert listed(coordinator, q="100%") == []


def test_a_long_list_comes_a_page_at_a_time_and_loses_nothing(coordinator: TestClient) -> None:
    names = [f"Cover {number:02}" for number in range(7)]
    for name in reversed(names):
        design(coordinator, name=name, kind="cover", digit=None)
    found: list[str] = []
    cursor = None
    while cursor or not found:
        page = coordinator.get(
            "/api/v1/part-designs", params={"limit": 3, **({"cursor": cursor} if cursor else {})}
        ).json()
        found += [each["name"] for each in page["items"]]
        cursor = page["next"]
        if len(found) == 3:
            design(coordinator, name="Cover 00b", kind="cover", digit=None)  # on a page that was passed already
    assert found == names
    assert coordinator.get("/api/v1/part-designs", params={"cursor": "WzFd"}).status_code == 422


def test_what_a_list_says_of_versions(coordinator: TestClient) -> None:
    made = design(coordinator)
    first = released(coordinator, made)
    draft = version(coordinator, made, {"what_changed": "Longer."}, finger(80))
    (line,) = coordinator.get("/api/v1/part-designs").json()["items"]
    assert (line["released"]["id"], line["released"]["number"]) == (first, 1)
    assert (line["newest"]["id"], line["newest"]["state"]) == (draft["id"], "draft")


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"name": ""}, "name"),
        ({"name": "  "}, "name"),
        ({"kind": "hook"}, "kind"),
        ({"kind": "motor", "digit": None}, "kind"),
        ({"kind": "palm"}, "digit"),
        ({"kind": "thumb"}, "digit"),
        ({"side": "both"}, "side"),
        ({"colour": "green"}, "colour"),
    ],
)
def test_a_design_that_cannot_be_is_refused_in_words(coordinator: TestClient, said: dict[str, Any], field: str) -> None:
    body = {"name": "Finger", "kind": "finger", "digit": "index", **said}
    answer = coordinator.post("/api/v1/part-designs", json=body)
    assert answer.status_code == 422
    assert field in {each["field"] for each in answer.json()["errors"]}
    assert listed(coordinator) == []


@pytest.mark.parametrize("name", ["Finger, index", "FINGER,  INDEX", "Fingér, índex"])
def test_two_designs_do_not_share_a_name(coordinator: TestClient, name: str) -> None:
    design(coordinator)
    answer = coordinator.post("/api/v1/part-designs", json={"name": name, "kind": "finger"})
    assert answer.status_code == 409
    assert "name already" in answer.json()["detail"]


def test_everybody_sees_the_library_and_those_who_keep_it_add(register: Register, coordinator: TestClient) -> None:
    design(coordinator)
    for role in PEOPLE:
        client = register.api(role)
        assert "Finger, index" in listed(client), role
        answer = client.post("/api/v1/part-designs", json={"name": f"Cover of {role}", "kind": "cover"})
        assert answer.status_code == (201 if role in {Role.COORDINATOR, Role.VOLUNTEER} else 403), role
    assert register.browser().get("/api/v1/part-designs").status_code == 401
