"""From a broken finger to a part that is worn, over HTTP, as each person would; and a fitting that fails."""

from __future__ import annotations

from tests.assembly.things import assemblies
from tests.gate.things import workshop


def test_from_a_broken_finger_to_one_that_is_worn(register):
    shop = workshop(register)
    build = shop.opened()
    assert shop.state(build) == "planned"
    assert shop.blocks(build) == {"bench_check"}
    assert shop.move(build, "making").json()["state"] == "making"
    failed = shop.maker.post(
        f"/api/v1/builds/{build}/prints",
        json={"item": shop.build(build)["items"][0]["id"], "failed": "came_loose", "hours": 0.2, "grams": 2},
    )
    assert failed.json()["failed_prints"] == 1
    assert shop.move(build, "made").status_code == 409
    shop.printed(build)
    assert shop.move(build, "made").status_code == 200
    own = shop.checked(build, by=shop.maker)
    assert own.status_code == 409
    assert [each["code"] for each in own.json()["blocked_by"]] == ["bench_check"]
    assert shop.checked(build).status_code == 201
    assert shop.state(build) == "cleared"
    given = shop.maker.post(f"/api/v1/builds/{build}/delivered", json={"on": "2026-03-02", "to": "the mother"})
    assert given.status_code == 201, given.text
    before = assemblies(shop.coordinator, shop.number)[shop.device]
    assert [each["place"] for each in before] == [shop.place]
    fitted = shop.fit(build)
    assert fitted.status_code == 201, fitted.text
    assert fitted.json()["state"] == "fitted"
    (worn,) = assemblies(shop.coordinator, shop.number)[shop.device]
    assert worn["place"] != shop.place
    assert worn["part"] in fitted.json()["parts"]
    assert [each["id"] for each in worn["lots"]] == [shop.spool]
    asked = shop.build(build)["request"]
    assert shop.coordinator.get(f"/api/v1/requests/{asked}").json()["state"] == "answered"
    due = shop.coordinator.get("/api/v1/follow-ups", params={"within_days": 400}).json()["items"]
    assert [each["name"] for each in due] == ["wear_in", "two_weeks", "three_months", "six_months"]
    register.clock.forward(days=1)
    assert shop.checked(build, by=shop.coordinator, kind="follow_up").status_code == 201
    early = shop.move(build, "worn")
    assert [each["code"] for each in early.json()["blocked_by"]] == ["wear_in"]
    register.clock.forward(days=6)
    assert shop.move(build, "worn").status_code == 409
    looked = shop.checked(build, by=shop.coordinator, kind="follow_up")
    assert looked.status_code == 201, looked.text
    assert shop.state(build) == "worn"
    due = shop.coordinator.get("/api/v1/follow-ups", params={"within_days": 400}).json()["items"]
    assert [each["name"] for each in due] == ["two_weeks", "three_months", "six_months"]


def test_a_fitting_recorded_late_counts_from_its_own_day(register):
    shop = workshop(register)
    build = shop.delivered(shop.opened())
    register.clock.forward(days=7)
    assert shop.fit(build, on="2026-03-02").status_code == 201
    asked = shop.coordinator.get(f"/api/v1/builds/{build}/checks").json()["asked"]["follow_up"]
    findings = [{"item": each["item"], "result": "pass"} for each in asked]
    before = {"kind": "follow_up", "findings": findings, "on": "2026-03-01"}
    refused = shop.coordinator.post(f"/api/v1/builds/{build}/checks", json=before)
    assert [each["field"] for each in refused.json()["errors"]] == ["on"]
    assert shop.checked(build, by=shop.coordinator, kind="follow_up").status_code == 201
    assert shop.state(build) == "worn"


def test_a_fitting_that_fails_changes_nothing_that_is_worn(register):
    shop = workshop(register)
    build = shop.delivered(shop.opened())
    failed = shop.fit(build, checks={"gaping": "fail", "words": "a finger's breadth at the elbow"})
    assert failed.status_code == 201, failed.text
    assert failed.json()["state"] == "sent_back"
    (worn,) = assemblies(shop.coordinator, shop.number)[shop.device]
    assert worn["place"] == shop.place
    last = shop.build(build)["moves"][-1]
    assert last["why"] == "gaping: a finger's breadth at the elbow"
    assert "bench_check" in shop.blocks(build)
    assert shop.move(build, "making").status_code == 200
    assert shop.build(build)["round"] == 2
    (printed,) = shop.build(build)["prints"]
    gone = shop.maker.post(f"/api/v1/builds/{build}/prints/{printed['id']}/discard", json={"why": "too wide"})
    assert gone.status_code == 200, gone.text
    refused = shop.move(build, "made")
    assert refused.status_code == 409
    assert refused.json()["blocked_by"][0]["code"] == "unfinished"
    shop.printed(build)
    assert shop.move(build, "made").status_code == 200
    assert "bench_check" in shop.blocks(build)
