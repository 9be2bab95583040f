"""A notice finds every limb: on a version, on a lot, on a printer between two days."""

from __future__ import annotations

import pytest

from service.access.permissions import Role
from tests.assembly.things import act, finger, lot, put, socket_version
from tests.conftest import Register
from tests.devices.worn import device, made
from tests.gate.things import Workshop, agreed_case, workshop
from tests.notices.things import devices, off, opened, seen


@pytest.fixture
def shop(register: Register) -> Workshop:
    return workshop(register)


def test_a_version_is_found_in_its_place_where_it_moved_and_in_a_spare_but_not_where_it_stopped(shop: Workshop) -> None:
    client, about = shop.coordinator, {"version": shop.version, "digit": "index"}
    spare = device(client, shop.number, purpose="swimming")
    stopped = device(client, shop.number, purpose="the first")
    number = agreed_case(client, given_name="Bela")
    worn, old = device(client, number), device(client, number, purpose="the old one")
    put(client, shop.number, stopped, **about)
    there = put(client, number, old, **about)
    assert act(client, number, there["place"], "move", device=worn).status_code == 201
    put(client, shop.number, spare, **about)
    untouched = finger(shop.register, digit="middle")
    put(client, number, old, version=untouched, digit="middle")
    for each, change in ((spare, {"use": "spare"}), (stopped, {"use": "stopped", "stopped_reason": "outgrown"})):
        assert client.patch(f"/api/v1/recipients/{shop.number}/devices/{each}", json=change).status_code == 200
    notice = opened(client, version=shop.version)
    found = devices(client, notice["id"])
    assert set(found) == {shop.device, spare, worn}
    assert found[spare]["spare"]
    assert not found[worn]["spare"]
    assert found[worn]["given_name"] == "Bela"
    assert notice["remaining"] == notice["remaining_everywhere"] == 3


def test_a_lot_is_found_in_places_in_sockets_and_as_stock(shop: Workshop) -> None:
    client = shop.coordinator
    number = agreed_case(client, given_name="Bela")
    in_socket = device(client, number)
    printed = {"fitted_on": "2026-02-20", "version": socket_version(shop.register, number), "confirmed": True}
    made(client, f"recipients/{number}/devices/{in_socket}/sockets/printed", {**printed, "lots": [shop.spool]})
    other = agreed_case(client, given_name="Cleo")
    put(client, other, device(client, other), version=shop.version, digit="index", lots=[lot(client, batch="another")])
    notice = opened(client, lot=shop.spool)
    found = devices(client, notice["id"])
    assert set(found) == {shop.device, in_socket}
    (part,) = found[in_socket]["parts"]
    assert part["kind"] == "socket"
    assert part["socket"]
    (left,) = seen(client, notice["id"])["affected"]["stock"]
    assert left["lot"] == shop.spool


def test_a_printer_is_answered_for_the_days_that_are_named(shop: Workshop) -> None:
    fitted = shop.fit(shop.delivered(shop.opened(printer=shop.printer)))  # printed on 2 March
    assert fitted.status_code == 201, fitted.text
    before = opened(shop.coordinator, printer=shop.printer, from_on="2026-02-01", until_on="2026-03-01")
    assert before["remaining"] == 0
    from_then = opened(shop.coordinator, printer=shop.printer, from_on="2026-03-02", until_on="2026-03-02")
    assert set(devices(shop.coordinator, from_then["id"])) == {shop.device}
    assert opened(shop.coordinator, printer=shop.printer, from_on="2026-02-20")["remaining"] == 1


def test_a_print_that_failed_concerns_nobody(shop: Workshop) -> None:
    build = shop.opened(printer=shop.printer)
    shop.move(build, "making")
    (item,) = shop.build(build)["items"]
    failed = {"item": item["id"], "failed": "came_loose", "hours": 0.2, "grams": 2}
    assert shop.maker.post(f"/api/v1/builds/{build}/prints", json=failed).status_code == 201
    notice = opened(shop.coordinator, printer=shop.printer, from_on="2026-03-01")
    assert seen(shop.coordinator, notice["id"])["affected"]["builds"] == []


def test_what_is_being_made_is_listed_and_stands_still(shop: Workshop) -> None:
    build = shop.made(shop.opened())
    notice = opened(shop.coordinator, version=shop.version)
    (under_way,) = seen(shop.coordinator, notice["id"])["affected"]["builds"]
    assert under_way["build"] == build
    assert under_way["volunteer_name"] == "Bo"
    assert "notice" in shop.blocks(build)
    signed = shop.checked(build)
    assert signed.status_code == 201
    assert shop.state(build) == "made"


def test_another_site_sees_its_own_cases_and_how_many_there_are_else(shop: Workshop) -> None:
    island = shop.register.api(Role.COORDINATOR, sites=("island",))
    number = agreed_case(island, given_name="Bela", site="island")
    theirs = device(island, number)
    put(island, number, theirs, version=shop.version, digit="index")
    notice = opened(shop.coordinator, version=shop.version)["id"]
    for client, own in ((shop.coordinator, shop.device), (island, theirs)):
        page = seen(client, notice)
        assert [each["device"] for each in page["affected"]["items"]] == [own]
        assert (page["remaining"], page["remaining_everywhere"], page["affected"]["elsewhere"]) == (1, 2, 1)
    assert "Bela" not in str(seen(shop.coordinator, notice))
    assert "Ines" not in str(seen(island, notice))
    wrong = {"case_number": number, "answer": "stopped"}
    assert shop.coordinator.post(f"/api/v1/notices/{notice}/answers", json=wrong).status_code == 404


def test_what_came_off_since_is_no_longer_among_them(shop: Workshop) -> None:
    notice = opened(shop.coordinator, version=shop.version)["id"]
    off(shop.coordinator, shop.number, shop.place)
    affected = seen(shop.coordinator, notice)["affected"]
    assert affected["items"] == []
    assert [each["case_number"] for each in affected["replaced"]] == [shop.number]


@pytest.mark.parametrize(
    "about",
    [
        {},
        {"version": 1, "lot": 1},
        {"version": 999},
        {"printer": 1},
        {"printer": 1, "from_on": "2027-01-01"},
        {"printer": 1, "from_on": "2026-02-02", "until_on": "2026-02-01"},
        {"version": 1, "from_on": "2026-02-01"},
    ],
    ids=[
        "nothing",
        "two things",
        "no such",
        "no day",
        "a day to come",
        "days the wrong way round",
        "days of a version",
    ],
)
def test_a_notice_is_about_one_thing_that_there_is(shop: Workshop, about: dict[str, object]) -> None:
    named = {"version": shop.version, "lot": shop.spool, "printer": shop.printer}
    body = {name: named[name] if value == 1 else value for name, value in about.items()}
    answer = shop.coordinator.post("/api/v1/notices", json={"why": "It breaks.", **body})
    assert answer.status_code == 422, answer.text
    assert shop.coordinator.get("/api/v1/notices").json()["items"] == []


def test_a_lot_and_a_printer_of_another_site_are_not_there(shop: Workshop) -> None:
    island = shop.register.api(Role.COORDINATOR, sites=("island",))
    for about in ({"lot": shop.spool}, {"printer": shop.printer, "from_on": "2026-03-01"}):
        assert island.post("/api/v1/notices", json={"why": "It breaks.", **about}).status_code == 422
