"""Builds over HTTP: who opens them, what is made, and every bad version of it."""

from __future__ import annotations

import pytest

from service.access.permissions import Role
from tests.assembly.things import finger, lot, motors, withdraw
from tests.devices.worn import made
from tests.gate.things import workshop
from tests.matching.things import offered, volunteer


@pytest.fixture
def shop(register):
    return workshop(register)


def test_a_yes_to_an_offer_begins_a_build_once(shop, register):
    asked = made(
        shop.coordinator,
        "requests",
        {"case_number": shop.number, "kind": "replacement", "parts": [{"place": shop.place}], "words": "snapped"},
    )
    (offer,) = offered(shop.coordinator)["offers"]
    for _twice in range(2):
        assert shop.maker.post(f"/api/v1/offers/{offer['id']}/accept", json={}).status_code == 200
        register.run_jobs()
    (build,) = shop.maker.get("/api/v1/builds").json()["items"]
    assert (build["request"], build["state"], build["what"]) == (asked["id"], "planned", "index finger")
    back = {"why": "The printer broke."}
    assert shop.coordinator.post(f"/api/v1/offers/{offer['id']}/take-back", json=back).status_code == 200
    register.run_jobs()
    assert shop.build(build["id"])["state"] == "dropped"


def test_a_request_has_one_build_that_is_not_dropped(shop):
    build = shop.opened()
    asked = shop.build(build)["request"]
    again = shop.coordinator.post("/api/v1/builds", json={"request": asked})
    assert again.status_code == 409
    assert f"Build {build}" in again.json()["detail"]
    assert shop.move(build, "dropped", why="made twice").status_code == 200
    assert shop.coordinator.post("/api/v1/builds", json={"request": asked}).status_code == 201


def test_the_build_takes_up_what_stands_today(shop, register):
    better = finger(register, digit="index", materials=["TPU"])
    withdraw(register, shop.version, better)
    (item,) = shop.build(shop.opened())["items"]
    assert item["version"] == better
    assert item["material"] == "TPU"
    assert item["place"] == shop.place


@pytest.mark.parametrize(
    ("item", "field"),
    [
        ({"version": 999}, "items.0.version"),
        ({}, "items.0.kind"),
        ({"kind": "motor"}, "items.0.what"),
        ({"version": 1, "digit": "index", "material": "PLA"}, "items.0.material"),
        ({"version": 1, "digit": "index", "side": "right"}, "items.0.side"),
        ({"version": 1, "digit": "index", "place": 999}, "items.0.place"),
        ({"version": 1, "digit": "index", "scale_across": 9}, "items.0.scale_across"),
        ({"version": 1, "digit": "index", "quantity": 0}, "items.0.quantity"),
    ],
)
def test_what_cannot_be_made_is_refused(shop, item, field):
    build = shop.opened()
    answer = shop.maker.put(f"/api/v1/builds/{build}/items", json={"items": [item]})
    assert answer.status_code == 422, answer.text
    assert field in [each["field"] for each in answer.json()["errors"]]
    assert len(shop.build(build)["items"]) == 1


def test_a_print_names_its_spool_and_only_one_that_may_be_used(shop):
    build = shop.opened()
    item = shop.build(build)["items"][0]["id"]
    path = f"/api/v1/builds/{build}/prints"
    early = shop.maker.post(path, json={"item": item, "lots": [{"lot": shop.spool}]})
    assert early.status_code == 409
    shop.move(build, "making")
    batch = motors(shop.coordinator)
    other = lot(shop.coordinator, batch="24-300", material="TPU", what="TPU 1.75 mm")
    for body, field in (
        ({"item": item}, "lots"),
        ({"item": 999, "lots": [{"lot": shop.spool}]}, "item"),
        ({"item": item, "lots": [{"lot": 999}]}, "lots.0.lot"),
        ({"item": item, "lots": [{"lot": batch}]}, "lots.0.lot"),
        ({"item": item, "lots": [{"lot": other}]}, "lots.0.lot"),
        ({"item": item, "lots": [{"lot": shop.spool}], "on": "2026-03-09"}, "on"),
        ({"item": item, "lots": [{"lot": shop.spool}], "printer": 999}, "printer"),
        ({"item": item, "lots": [{"lot": shop.spool}], "hours": -1}, "hours"),
    ):
        answer = shop.maker.post(path, json=body)
        assert answer.status_code == 422, body
        assert field in [each["field"] for each in answer.json()["errors"]], body
    assert shop.build(build)["prints"] == []
    press = {"item": item, "lots": [{"lot": shop.spool}], "press": "a-form-of-ours"}
    for _twice in range(2):
        assert shop.maker.post(path, json=press).status_code == 201
    assert len(shop.build(build)["prints"]) == 1


def test_who_sees_and_who_moves_a_build(shop, register):
    build = shop.opened()
    path = f"/api/v1/builds/{build}"
    account = register.account(Role.VOLUNTEER, name="Di")
    volunteer(register, "Di", account=account)
    other = register.api(account=account)
    assert other.get(path).status_code == 404
    assert register.api(Role.COORDINATOR, sites=("island",)).get(path).status_code == 404
    assert register.api(Role.TRUSTEE).get(path).status_code == 403
    shop.made(build)
    seen = other.get(path).json()
    assert (seen["case_number"], seen["given_name"]) == (None, None)
    assert other.post(f"{path}/moves", json={"to": "dropped", "why": "no"}).status_code == 409
    assert shop.state(build) == "made"


def test_a_move_back_says_why(shop):
    build = shop.made(shop.opened())
    assert shop.move(build, "sent_back").status_code == 422
    assert shop.move(build, "made").status_code == 200  # it is there already
    assert shop.move(build, "sent_back", why="a sharp edge").status_code == 200
    moves = [(each["came_from"], each["to"], each["by"]) for each in shop.build(build)["moves"]]
    assert moves == [("planned", "making", "Bo"), ("making", "made", "Bo"), ("made", "sent_back", "Bo")]


def test_a_print_is_traced_to_its_printer(shop, register):
    build = shop.opened()
    shop.move(build, "making")
    shop.printed(build, failed="strings")
    assert shop.build(build)["prints"][0]["printer"] == shop.printer  # the maker has one
    second = {"name": "Second", "width_mm": 200, "depth_mm": 200, "height_mm": 200, "materials": ["PETG"]}
    answer = shop.coordinator.post(f"/api/v1/volunteers/{shop.volunteer}/printers", json=second)
    assert answer.status_code == 201, answer.text
    item = shop.build(build)["items"][0]["id"]
    body = {"item": item, "lots": [{"lot": shop.spool}]}
    unsaid = shop.maker.post(f"/api/v1/builds/{build}/prints", json=body)
    assert [each["field"] for each in unsaid.json()["errors"]] == ["printer"]
    said = shop.maker.post(f"/api/v1/builds/{build}/prints", json={**body, "printer": shop.printer})
    assert said.status_code == 201
