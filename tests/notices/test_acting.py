"""What is done about a notice: telling, answering, asking for replacements, closing."""

from __future__ import annotations

import pytest

from service.access.permissions import Role
from tests.assembly.things import act, finger, put, socket_version
from tests.conftest import Register
from tests.devices.worn import device, made
from tests.gate.things import Workshop, agreed_case, workshop
from tests.notices.things import (
    WHY,
    answered,
    asked_for_all,
    closed,
    contact,
    devices,
    messages,
    off,
    opened,
    seen,
)


@pytest.fixture
def shop(register: Register) -> Workshop:
    return workshop(register)


def test_each_family_is_told_once_in_its_language(shop: Workshop) -> None:
    client = shop.coordinator
    contact(client, shop.number)
    spare = device(client, shop.number, purpose="swimming")
    put(client, shop.number, spare, version=shop.version, digit="index")  # two devices, one family
    number = agreed_case(client, given_name="Bela", language="nl")
    put(client, number, device(client, number), version=shop.version, digit="index")
    contact(client, number, name="Bo Duyn", email="duyn@example.org")
    untouched = agreed_case(client, given_name="Cleo")
    contact(client, untouched, email="cleo@example.org")
    notice = opened(client, version=shop.version)
    told = {each.to_address: each for each in messages(shop.register, "family-notice-stop")}
    assert set(told) == {"ada@example.org", "duyn@example.org"}
    english, dutch = told["ada@example.org"], told["duyn@example.org"]
    assert english.subject == "Safety notice: please stop using a part"
    assert dutch.subject != english.subject
    for each in (english, dutch):
        assert WHY in each.body
        assert "+44 1632 960 011" in each.body
        assert each.urgent
    assert seen(client, notice["id"])["affected"]["told"] == 2


def test_a_family_of_whom_nobody_is_on_record_does_not_count_as_told(shop: Workshop) -> None:
    notice = opened(shop.coordinator, version=shop.version)["id"]
    assert seen(shop.coordinator, notice)["affected"]["told"] == 0
    assert devices(shop.coordinator, notice)[shop.device]["told_at"] is None


def test_a_family_that_only_looks_is_told_so(shop: Workshop) -> None:
    contact(shop.coordinator, shop.number)
    opened(shop.coordinator, version=shop.version, todo="look")
    (message,) = messages(shop.register, "family-notice-look")
    assert "Please look at it today." in message.body


def test_who_is_making_it_is_told(shop: Workshop) -> None:
    shop.made(shop.opened())
    notice = opened(shop.coordinator, version=shop.version)["id"]
    (message,) = messages(shop.register, f"notice:{notice}:maker")
    assert message.to_name == "Bo"
    assert WHY in message.body


def test_a_second_notice_on_the_same_is_refused_until_the_first_is_closed(shop: Workshop) -> None:
    first = opened(shop.coordinator, version=shop.version)["id"]
    again = shop.coordinator.post("/api/v1/notices", json={"version": shop.version, "why": "Again."})
    assert again.status_code == 409
    assert f"Notice {first} is open" in again.json()["detail"]
    days = {"printer": shop.printer, "from_on": "2026-02-01"}
    opened(shop.coordinator, **days)
    assert shop.coordinator.post("/api/v1/notices", json={**days, "why": "Again."}).status_code == 409
    opened(shop.coordinator, **days, until_on="2026-02-03")  # other days are another notice
    off(shop.coordinator, shop.number, shop.place)
    assert closed(shop.coordinator, first).status_code == 200
    opened(shop.coordinator, version=shop.version)


def test_what_a_family_says_is_kept_and_its_last_word_counts(shop: Workshop) -> None:
    notice = opened(shop.coordinator, version=shop.version)["id"]
    assert answered(shop.coordinator, notice, shop.number, "still_worn").status_code == 201
    page = answered(shop.coordinator, notice, shop.number, "stopped", "It lies in a drawer.").json()
    (held,) = page["affected"]["items"]
    assert (held["answer"], held["words"]) == ("stopped", "It lies in a drawer.")
    assert page["affected"]["answered"] == 1
    assert page["remaining"] == 1, "stopped is not replaced: the part is still in the device"
    untouched = agreed_case(shop.coordinator, given_name="Cleo")
    assert answered(shop.coordinator, notice, untouched, "stopped").status_code == 422
    assert answered(shop.coordinator, notice, shop.number, "maybe").status_code == 422


def test_replacements_of_all_are_asked_for_in_one_act_and_twice_is_once(shop: Workshop) -> None:
    client = shop.coordinator
    number = agreed_case(client, given_name="Bela")
    other = device(client, number)
    put(client, number, other, version=shop.version, digit="index")
    notice = opened(client, version=shop.version)["id"]
    first = asked_for_all(client, notice)
    assert len(first["opened"]) == 2
    assert first["not_asked"] == []
    assert {each["request"] for each in devices(client, notice).values()} == set(first["opened"])
    again = asked_for_all(client, notice)
    assert again["opened"] == []
    assert sorted(again["open_before"]) == sorted(first["opened"])
    assert len(client.get("/api/v1/requests").json()["items"]) == 2


def test_for_a_socket_the_next_one_is_asked_for(shop: Workshop) -> None:
    client = shop.coordinator
    printed = {"fitted_on": "2026-02-20", "version": socket_version(shop.register, shop.number), "confirmed": True}
    made(client, f"recipients/{shop.number}/devices/{shop.device}/sockets/printed", printed)
    notice = opened(client, version=printed["version"])["id"]
    (request,) = asked_for_all(client, notice)["opened"]
    assert client.get(f"/api/v1/requests/{request}").json()["kind"] == "next_socket"


def test_it_is_closed_only_when_none_remains(shop: Workshop) -> None:
    notice = opened(shop.coordinator, version=shop.version)["id"]
    refused = closed(shop.coordinator, notice)
    assert refused.status_code == 409
    assert "1 device still holds" in refused.json()["detail"]
    other = finger(shop.register, digit="index")
    replaced = act(shop.coordinator, shop.number, shop.place, "replace", came_off="notice", version=other)
    assert replaced.status_code == 201, replaced.text
    done = closed(shop.coordinator, notice)
    assert done.status_code == 200, done.text
    assert done.json()["outcome"] == "All were replaced."
    assert closed(shop.coordinator, notice).status_code == 409
    assert shop.coordinator.get("/api/v1/notices").json()["items"] == []
    assert [each["id"] for each in shop.coordinator.get("/api/v1/notices?all=true").json()["items"]] == [notice]


def test_what_remains_at_another_site_keeps_it_open(shop: Workshop) -> None:
    island = shop.register.api(Role.COORDINATOR, sites=("island",))
    number = agreed_case(island, given_name="Bela", site="island")
    there = put(island, number, device(island, number), version=shop.version, digit="index")
    notice = opened(shop.coordinator, version=shop.version)["id"]
    off(shop.coordinator, shop.number, shop.place)
    assert seen(shop.coordinator, notice)["remaining"] == 0
    assert closed(shop.coordinator, notice).status_code == 409
    off(island, number, there["place"])
    assert closed(shop.coordinator, notice).status_code == 200


def test_who_may_do_what(shop: Workshop) -> None:
    notice = opened(shop.clinician, version=shop.version)["id"]
    assert seen(shop.maker, notice)["affected"]["items"] == [], "who was not asked to help sees no case"
    assert shop.maker.post("/api/v1/notices", json={"lot": shop.spool, "why": WHY}).status_code == 403
    assert shop.maker.post(f"/api/v1/notices/{notice}/requests", json={}).status_code == 403
    assert shop.maker.post(f"/api/v1/notices/{notice}/close", json={"outcome": "Done."}).status_code == 403
    assert shop.register.api(Role.TRUSTEE).get("/api/v1/notices").status_code == 403
