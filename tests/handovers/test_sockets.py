"""The next socket, made and fitted: its limits follow, the old one ends, its forecast with it; and a first device."""

from __future__ import annotations

import pytest

from tests.assembly.things import assemblies, lot, motors, put, socket_version
from tests.devices.worn import device, made, socket
from tests.gate.things import agreed_case, fitting, workshop


@pytest.fixture
def shop(register):
    return workshop(register)


def socket_build(shop, version, **scales):
    """A build of the next socket, begun; returns its id."""
    asked = made(shop.coordinator, "requests", {"case_number": shop.number, "kind": "next_socket"})
    build = int(made(shop.coordinator, "builds", {"request": asked["id"], "volunteer": shop.volunteer})["id"])
    assert shop.build(build)["items"] == []
    empty = shop.move(build, "making")
    assert [each["code"] for each in empty.json()["blocked_by"]] == ["unfinished"]
    items = {"items": [{"version": version, "material": "PETG", **scales}]}
    answer = shop.coordinator.put(f"/api/v1/builds/{build}/items", json=items)
    assert answer.status_code == 200, answer.text
    return build


def test_the_next_socket_brings_its_limits_and_ends_the_old_one(shop, register):
    old = socket(shop.coordinator, shop.number, shop.device)
    build = shop.delivered(socket_build(shop, socket_version(register, shop.number), scale_across=1.04))
    without = shop.coordinator.post(f"/api/v1/builds/{build}/fitted", json={**fitting(shop), "came_off": []})
    assert without.status_code == 422
    assert "Say why the socket came off" in without.json()["errors"][0]["message"]
    body = {**fitting(shop), "came_off": [{"socket": old, "why": "outgrown"}], "socks": [3, 1]}
    done = shop.coordinator.post(f"/api/v1/builds/{build}/fitted", json=body)
    assert done.status_code == 201, done.text
    held = shop.coordinator.get(f"/api/v1/recipients/{shop.number}/devices/{shop.device}").json()
    now = [each for each in held["sockets"] if each["ended_on"] is None]
    assert len(now) == 1
    before = next(each for each in held["sockets"] if each["id"] == old)
    assert before["end_reason"] == "outgrown"
    assert now[0]["socks_at_fitting"] == [3, 1]
    # An inside of 150 mm and half a millimetre more for each of length, 1.04 times as wide and as long (computed).
    for limit in now[0]["limits"]:
        assert limit["tight_at_mm"] == pytest.approx(1.04 * (150 + 0.5 * limit["level_mm"] / 1.04), abs=0.06)
    register.run_jobs()
    forecasts = shop.coordinator.get(f"/api/v1/recipients/{shop.number}/forecasts").json()["items"]
    assert {each["socket"] for each in forecasts} == {now[0]["id"]}
    kinds = {each["kind"] for each in assemblies(shop.coordinator, shop.number)[shop.device]}
    assert kinds == {"socket", "finger"}


def test_nobody_makes_another_persons_socket(shop, register):
    other = agreed_case(shop.coordinator, given_name="Tam", family_name="Vos", birth_date="2016-01-05")
    version = socket_version(register, other)
    asked = made(shop.coordinator, "requests", {"case_number": shop.number, "kind": "next_socket"})
    build = made(shop.coordinator, "builds", {"request": asked["id"]})["id"]
    answer = shop.coordinator.put(f"/api/v1/builds/{build}/items", json={"items": [{"version": version}]})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "items.0.version"


def test_a_first_device_begins_with_its_fitting_and_takes_over_what_moved(shop, register):
    """Motors go over from a spare device; the new device is there only once it is fitted."""
    spare = device(shop.coordinator, shop.number, purpose="trial")
    batch = motors(shop.coordinator)
    motor = put(shop.coordinator, shop.number, spare, on="2026-02-20", kind="motor", lots=[batch])
    note = {"verdict": "suitable", "noted_by": "Dr Noor Brandt", "noted_on": "2026-02-01"}
    made(shop.clinician, f"recipients/{shop.number}/suitability", note)
    asked = made(shop.coordinator, "requests", {"case_number": shop.number, "kind": "first_device"})
    items = [
        {"version": shop.version, "digit": "index"},
        {"kind": "line", "what": "braided line 0.8 mm"},
        {"version": shop.version, "digit": "index", "spare": True},
    ]
    body = {"request": asked["id"], "volunteer": shop.volunteer, "items": items}
    build = int(made(shop.coordinator, "builds", body)["id"])
    assert shop.move(build, "making").status_code == 200
    shop.printed(build)
    unnamed = shop.move(build, "made")
    assert "lot" in unnamed.json()["detail"]
    line = lot(shop.coordinator, kind="hardware", what="braided line 0.8 mm", material="", colour="", maker="Twine")
    bought = next(each["id"] for each in shop.build(build)["items"] if each["kind"] == "line")
    used = shop.maker.post(f"/api/v1/builds/{build}/lots", json={"item": bought, "lots": [{"lot": line, "amount": 1}]})
    assert used.status_code == 201, used.text
    assert shop.move(build, "made").status_code == 200
    assert shop.checked(build).status_code == 201
    assert shop.maker.post(f"/api/v1/builds/{build}/delivered", json={"to": "the father"}).status_code == 201
    devices = len(shop.coordinator.get(f"/api/v1/recipients/{shop.number}/devices").json()["items"])
    body = {**fitting(shop), "came_off": [], "moved": [motor["part"]], "device": {"purpose": "school"}}
    done = shop.coordinator.post(f"/api/v1/builds/{build}/fitted", json=body)
    assert done.status_code == 201, done.text
    now = shop.coordinator.get(f"/api/v1/recipients/{shop.number}/devices").json()["items"]
    assert len(now) == devices + 1
    held = assemblies(shop.coordinator, shop.number)
    parts = {each["kind"]: each for each in held[done.json()["device"]]}
    assert set(parts) == {"finger", "line", "motor"}  # the spare is given, not worn
    assert [each["id"] for each in parts["line"]["lots"]] == [line]
    assert [each["id"] for each in parts["motor"]["lots"]] == [batch]
    assert spare not in held or held[spare] == []


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"came_off": [{"part": 999, "why": "broken"}]}, "came_off.0.part"),
        ({"moved": [999]}, "moved.0"),
        ({"on": "2027-01-01"}, "on"),
        ({"on": "2026-02-01"}, "on"),
        ({"checks": {"worn_minutes": 19}}, "checks.worn_minutes"),
        ({"checks": {"worn_minutes": None}}, "checks.worn_minutes"),
        ({"checks": {"skin": "fail", "words": "red"}}, "signs"),
        ({"checks": {"signs": ["blister"]}}, "signs"),
        ({"by_family": True}, "on_the_phone"),
        ({"cautions_acknowledged_by": ""}, "cautions_acknowledged_by"),
    ],
)
def test_a_fitting_that_cannot_be_is_refused_whole(shop, changes, field):
    build = shop.delivered(shop.opened())
    answer = shop.fit(build, **changes)
    assert answer.status_code == 422, answer.text
    assert field in [each["field"] for each in answer.json()["errors"]]
    assert shop.state(build) == "delivered"
    (worn,) = assemblies(shop.coordinator, shop.number)[shop.device]
    assert worn["place"] == shop.place
    checks = shop.coordinator.get(f"/api/v1/builds/{build}/checks").json()["items"]
    assert [each["kind"] for each in checks] == ["bench"]


def test_skin_that_is_hurt_opens_an_incident_and_sends_it_back(shop):
    build = shop.delivered(shop.opened())
    hurt = {"skin": "fail", "signs": ["blister"], "words": "a blister at the edge"}
    assert shop.fit(build, checks=hurt).json()["state"] == "sent_back"
    incidents = shop.coordinator.get("/api/v1/incidents").json()["items"]
    assert len(incidents) == 1
    assert "blister" in incidents[0]["words"]
