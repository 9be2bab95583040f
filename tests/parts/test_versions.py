"""Versions over HTTP: drafts that can be corrected, released once, withdrawn for good, numbered without a gap."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import PEOPLE, Role
from service.audit.tables import AuditRow
from service.parts.tables import VersionRow
from tests.conftest import Register
from tests.parts.made import LENGTH, PIN, RADIUS, design, finger, move, open_rod, released, send, version


def seen(client: TestClient, version_id: int) -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/api/v1/part-versions/{version_id}").json()
    return found


def test_a_version_is_read_measured_and_kept_as_a_draft(coordinator: TestClient, index: int) -> None:
    settings = {
        "nozzle_mm": 0.6,
        "layer_mm": 0.3,
        "walls": 4,
        "infill": 0.15,
        "orientation": "upright",
        "supports": False,
    }
    said = {
        "why": "It is needed.",
        "licence": "CC0",
        "print_settings": settings,
        "features": [PIN],
        "materials": ["PLA"],
    }
    made = version(coordinator, index, said, name="C:\\things\\finger v1.stl")
    assert made == seen(coordinator, made["id"])
    assert (made["number"], made["state"], made["name"]) == (1, "draft", "Finger, index, version 1")
    assert (made["kind"], made["digit"], made["interface"]) == ("finger", "index", "tongue 8")
    assert made["what_changed"]
    assert made["print_settings"] == {**settings, "supports": "none"}
    assert [each["nominal_mm"] for each in made["features"]] == [3.2]
    assert "captive_pins" in made["checks"]
    assert made["file"]["name"] == "finger v1.stl"
    assert made["file"]["bytes"] == len(finger())
    geometry = made["geometry"]
    assert geometry["watertight"] is True
    assert geometry["bodies"] == 1
    assert sorted(geometry["bounding_box_mm"]) == pytest.approx([2 * RADIUS, 2 * RADIUS, LENGTH], rel=0.01)


def test_versions_are_numbered_and_listed_newest_first(coordinator: TestClient, index: int) -> None:
    for number, length in enumerate((50, 60, 80), start=1):
        assert version(coordinator, index, {"what_changed": "Longer."}, finger(length))["number"] == number
    other = design(coordinator, name="Finger, ring", digit="ring")
    assert version(coordinator, other)["number"] == 1
    page = coordinator.get(f"/api/v1/part-designs/{index}/versions", params={"limit": 2}).json()
    rest = coordinator.get(f"/api/v1/part-designs/{index}/versions", params={"cursor": page["next"]}).json()
    assert [each["number"] for each in page["items"] + rest["items"]] == [3, 2, 1]
    assert coordinator.get("/api/v1/part-designs/99/versions").status_code == 404


def test_a_later_version_says_what_changed(coordinator: TestClient, index: int) -> None:
    version(coordinator, index)
    answer = send(coordinator, f"part-designs/{index}/versions", {}, finger(60))
    assert answer.status_code == 422
    assert "since version 1" in answer.json()["detail"]


def test_the_same_file_is_one_version(coordinator: TestClient, index: int) -> None:
    version(coordinator, index)
    again = send(coordinator, f"part-designs/{index}/versions", {"what_changed": "Nothing."}, name="renamed.stl")
    assert again.status_code == 409
    assert "version 1" in again.json()["detail"]
    other = design(coordinator, name="Finger, ring", digit="ring")
    assert version(coordinator, other)["number"] == 1


def test_versions_sent_at_once_are_numbered_one_by_one(register: Register, coordinator: TestClient, index: int) -> None:
    clients = [register.api(Role.VOLUNTEER) for _ in range(4)]
    lengths = (51, 52, 53, 51)  # two of them the same
    path = f"part-designs/{index}/versions"

    def sent(client: TestClient, length: int) -> Any:
        answer = send(client, path, {"what_changed": "Longer."}, finger(length))
        return sent(client, length) if answer.status_code == 429 else answer  # on a machine that is busy with others

    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(sent, clients, lengths))
    assert sorted(each.status_code for each in answers) == [201, 201, 201, 409]
    assert sorted(each.json()["number"] for each in answers if each.status_code == 201) == [1, 2, 3]


def test_a_file_sent_twice_under_one_key_is_taken_once(coordinator: TestClient, index: int) -> None:
    path, key = f"part-designs/{index}/versions", {"Idempotency-Key": "once"}
    first, again = (send(coordinator, path, headers=key) for _ in range(2))  # each with a boundary of its own
    assert first.request.headers["content-type"] != again.request.headers["content-type"]
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    assert again.headers["Idempotency-Replayed"] == "true"
    other = send(coordinator, path, {"what_changed": "Longer."}, finger(60), headers=key)
    assert other.status_code == 422
    assert "new key" in other.json()["detail"]


def test_what_is_odd_about_a_file_is_asked_about_once(coordinator: TestClient, index: int) -> None:
    path = f"part-designs/{index}/versions"
    doubted = send(coordinator, path, {}, open_rod())
    assert doubted.status_code == 422
    assert {each["field"] for each in doubted.json()["doubts"]} == {"file"}
    assert coordinator.get(f"/api/v1/{path}").json()["items"] == []
    taken = send(coordinator, path, {"confirmed": True}, open_rod())
    assert taken.status_code == 201
    assert taken.json()["geometry"]["doubts"] == [each["message"] for each in doubted.json()["doubts"]]
    assert taken.json()["geometry"]["watertight"] is False


def test_a_draft_is_corrected_and_read_again_where_it_must_be(coordinator: TestClient, index: int) -> None:
    made = version(coordinator, index)
    at = f"/api/v1/part-versions/{made['id']}"
    changed = coordinator.patch(at, json={"why": "It broke.", "materials": ["PETG", "PLA"], "features": [PIN]})
    assert changed.status_code == 200, changed.text
    assert (changed.json()["why"], changed.json()["materials"]) == ("It broke.", ["PETG", "PLA"])
    assert changed.json()["geometry"] == made["geometry"]
    inches = coordinator.patch(at, json={"unit": "cm", "confirmed": True}).json()
    assert inches["file"]["unit"] == "cm"
    assert inches["geometry"]["bounding_box_mm"] == pytest.approx(
        [10 * each for each in made["geometry"]["bounding_box_mm"]], rel=1e-6
    )
    assert inches["why"] == "It broke."
    back = coordinator.patch(at, json={"unit": "mm"}).json()
    assert back["geometry"] == made["geometry"]
    assert coordinator.patch(at, json={"file": "x"}).status_code == 422
    assert coordinator.patch(at, json={"what_changed": ""}).status_code == 422


def test_a_released_version_never_changes(register: Register, coordinator: TestClient, index: int) -> None:
    made = released(coordinator, index)
    answer = coordinator.patch(f"/api/v1/part-versions/{made}", json={"why": "Another reason."})
    assert answer.status_code == 409
    assert "never changes" in answer.json()["detail"]
    changes: list[dict[str, Any]] = [{"why": "x"}, {"file_sha256": "0" * 64}, {"geometry": {}}, {"state": "draft"}]
    for change in changes:
        with pytest.raises(sa.exc.DBAPIError, match="part version"), register.db.writing() as session:
            session.execute(sa.update(VersionRow).where(VersionRow.id == made).values(**change))
    with pytest.raises(sa.exc.DBAPIError, match="never removed"), register.db.writing() as session:
        session.execute(sa.delete(VersionRow).where(VersionRow.id == made))


def test_a_version_is_released_once_and_says_why(register: Register, coordinator: TestClient, index: int) -> None:
    made = version(coordinator, index)["id"]
    assert coordinator.post(f"/api/v1/part-versions/{made}/release", json={}).status_code == 422
    assert coordinator.post(f"/api/v1/part-versions/{made}/release", json={"why": " "}).status_code == 422
    found = move(coordinator, made, "release").json()
    assert found["state"] == "released"
    assert found["released"] == {"at": "2026-03-02T09:00:00Z", "by": "coordinator", "why": "Tried on the bench."}
    again = move(coordinator, made, "release")
    assert again.status_code == 409
    assert "released already" in again.json()["detail"]
    with register.db.reading() as session:
        acts = session.execute(sa.select(AuditRow.act, AuditRow.subject).where(AuditRow.subject_id == made)).all()
    assert ("released", "part version") in [tuple(each) for each in acts]


def test_two_who_release_at_once_do_it_once(register: Register, coordinator: TestClient, index: int) -> None:
    made = version(coordinator, index)["id"]
    clients = [register.api(Role.CLINICIAN) for _ in range(2)]
    with ThreadPoolExecutor(2) as pool:
        answers = list(pool.map(lambda client: move(client, made, "release"), clients))
    assert sorted(each.status_code for each in answers) == [200, 409]


def test_what_is_not_closed_is_not_released(coordinator: TestClient, index: int) -> None:
    made = version(coordinator, index, {"confirmed": True}, open_rod())["id"]
    answer = move(coordinator, made, "release")
    assert answer.status_code == 409
    assert "Close the mesh" in answer.json()["detail"]
    assert seen(coordinator, made)["state"] == "draft"


def test_a_withdrawn_version_is_never_released_again(coordinator: TestClient, index: int) -> None:
    made = released(coordinator, index)
    found = move(coordinator, made, "withdraw", why="The tongue broke.").json()
    assert (found["state"], found["withdrawn"]["why"], found["successor"]) == ("withdrawn", "The tongue broke.", None)
    assert found["released"]["why"] == "Tried on the bench."
    for act, said in (("release", "never released again"), ("withdraw", "withdrawn already")):
        answer = move(coordinator, made, act)
        assert answer.status_code == 409
        assert said in answer.json()["detail"]
    (line,) = coordinator.get("/api/v1/part-designs").json()["items"]
    assert line["released"] is None


def test_a_draft_that_was_a_mistake_is_withdrawn(coordinator: TestClient, index: int) -> None:
    made = version(coordinator, index)["id"]
    assert move(coordinator, made, "withdraw").json()["state"] == "withdrawn"


def test_a_successor_is_named_at_once_or_later(coordinator: TestClient, index: int) -> None:
    old, new = released(coordinator, index), released(coordinator, index, {"what_changed": "Longer."}, finger(80))
    draft = version(coordinator, index, {"what_changed": "Longer yet."}, finger(90))["id"]
    cover = released(coordinator, design(coordinator, name="Cover", kind="cover", digit=None))
    for unfit in (old, draft, cover, 999):
        answer = move(coordinator, old, "withdraw", successor=unfit)
        assert answer.status_code == 422, unfit
        assert answer.json()["errors"][0]["field"] == "successor"
    assert coordinator.post(f"/api/v1/part-versions/{old}/successor", json={"successor": new}).status_code == 409
    assert move(coordinator, old, "withdraw").status_code == 200
    named = coordinator.post(f"/api/v1/part-versions/{old}/successor", json={"successor": new}).json()
    assert (named["successor"]["id"], named["successor"]["name"]) == (new, "Finger, index, version 2")
    assert move(coordinator, draft, "withdraw", successor=new).json()["successor"]["number"] == 2


def test_who_keeps_and_who_releases(register: Register, coordinator: TestClient, index: int) -> None:
    for turn, role in enumerate(PEOPLE):
        client = register.api(role)
        sent = send(client, f"part-designs/{index}/versions", {"what_changed": "x"}, finger(100 + turn))
        assert sent.status_code == (201 if role in {Role.COORDINATOR, Role.VOLUNTEER} else 403), role
    draft = version(coordinator, index, {"what_changed": "x"}, finger(99))["id"]
    for role in PEOPLE:
        client = register.api(role)
        assert client.get(f"/api/v1/part-versions/{draft}").status_code == 200
        may_release = role in {Role.COORDINATOR, Role.CLINICIAN}
        answer = move(client, draft, "withdraw", successor=999)
        assert answer.status_code == (422 if may_release else 403), role
        may_keep = role in {Role.COORDINATOR, Role.VOLUNTEER}
        assert client.patch(f"/api/v1/part-versions/{draft}", json={"why": role}).status_code == (
            200 if may_keep else 403
        )


@pytest.mark.parametrize(
    ("said", "field"),
    [
        ({"unit": "feet"}, "unit"),
        ({"print_settings": {"infill": 20}}, "print_settings.infill"),
        ({"print_settings": {"nozzle_mm": 0}}, "print_settings.nozzle_mm"),
        ({"features": [{"kind": "pin_bore"}]}, "features.0.nominal_mm"),
        ({"features": [{**PIN, "kind": "slot"}]}, "features.0.kind"),
        ({"features": [{**PIN, "axis": "around"}]}, "features.0.axis"),
        ({"axis": {"direction": [0, 0, 0]}}, "axis"),
        ({"axis": {"direction": [0, 1]}}, "axis.direction.2"),
        ({"inside": {"liner_mm": -1}}, "inside.liner_mm"),
        ({"checks": ["taste"]}, "checks.0"),
        ({"materials": "PETG"}, "materials"),
        ({"materials": ["x" * 300]}, "materials.0"),
        ({"geometry": {}}, "geometry"),
        ({"what_changed": "\x00"}, "what_changed"),
    ],
)
def test_what_cannot_be_said_of_a_version_is_refused(
    coordinator: TestClient, index: int, said: dict[str, Any], field: str
) -> None:
    answer = send(coordinator, f"part-designs/{index}/versions", said)
    assert answer.status_code == 422, answer.text
    assert field in {each["field"] for each in answer.json()["errors"]}
    assert coordinator.get(f"/api/v1/part-designs/{index}/versions").json()["items"] == []
