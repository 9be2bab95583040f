"""Asking for things over HTTP: opened once, listed in the order of triage, settled with a reason."""

from __future__ import annotations

from threading import Barrier, Thread
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.assembly.things import a_device, finger, put, withdraw
from tests.conftest import Register
from tests.devices.worn import device, opened
from tests.requests.asking import INDEX, MIDDLE, act, ask, asked, done, listed


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def test_a_request_is_opened_and_says_when_it_is_needed_and_why(coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    found = ask(coordinator, number, parts=[INDEX], usable=False)
    assert found["state"] == "open"
    assert found["what"] == "index finger broken"
    assert found["needed_by"] == "2026-03-09"  # a week, as the site replaces parts
    assert "7 days" in found["needed_why"]
    assert found["triage"] == {
        "rank": 2,
        "why": "Second: it cannot be used since today: no spare device.",
        "by": None,
    }
    assert found["words"] == "It snapped at the hinge."
    assert found["asker"] == "coordinator"
    assert coordinator.get(f"/api/v1/requests/{found['id']}").json() == found


def test_what_the_family_said_is_kept_as_theirs(coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    found = ask(coordinator, number, asker="family", asked_by="Mrs Okafor", words="It is  broke\nagain")
    assert (found["asker"], found["asked_by"], found["words"]) == ("family", "Mrs Okafor", "It is  broke\nagain")
    assert asked(coordinator, number, "advice", asker="forecast", words="x").status_code == 422


@pytest.mark.parametrize("kind", ["first_device", "next_socket", "adjustment", "colour", "advice", "replacement"])
def test_the_same_need_is_asked_for_once(coordinator: TestClient, kind: str) -> None:
    number, _device = a_device(coordinator)
    first = ask(coordinator, number, kind)
    again = asked(coordinator, number, kind, words="once more")
    assert again.status_code == 409, again.text
    assert f"request {first['id']}," in again.json()["detail"]
    other_number, _other = a_device(coordinator, given_name="Noor")
    assert asked(coordinator, other_number, kind, words="another child").status_code == 201


def test_a_part_is_asked_for_once_among_others_too_and_a_spare_is_another_need(coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    first = ask(coordinator, number, parts=[INDEX])
    again = asked(coordinator, number, parts=[INDEX, MIDDLE])
    assert again.status_code == 409
    assert f"request {first['id']}," in again.json()["detail"]
    ask(coordinator, number, parts=[MIDDLE])
    spare = ask(coordinator, number, parts=[{**INDEX, "happened": "spare"}])
    assert spare["usable"] is True
    assert spare["triage"]["rank"] == 4
    assert len(listed(coordinator)) == 3


def test_two_who_press_at_once_open_one(register: Register, coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    clients = [register.api(Role.COORDINATOR) for _each in range(4)]
    answers: list[Any] = []
    together = Barrier(len(clients))

    def press(client: TestClient) -> None:
        together.wait()
        answers.append(asked(client, number, parts=[INDEX]))

    threads = [Thread(target=press, args=(client,)) for client in clients]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    assert sorted(each.status_code for each in answers) == [201, 409, 409, 409]
    (only,) = listed(coordinator)
    assert all(f"request {only['id']}," in each.json()["detail"] for each in answers if each.status_code == 409)


def test_once_settled_the_same_may_be_asked_again(coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    first = ask(coordinator, number, parts=[INDEX])
    closed = done(coordinator, first["id"], "close", why="She found it under the bed.")
    assert (closed["state"], closed["settled_why"]) == ("closed", "She found it under the bed.")
    assert closed["settled_by"] == "coordinator"
    second = ask(coordinator, number, parts=[INDEX])
    assert done(coordinator, second["id"], "answered")["state"] == "answered"
    again = act(coordinator, second["id"], "close", why="once more")
    assert again.status_code == 409
    assert "answered on 2 March 2026" in again.json()["detail"]
    assert [each["id"] for each in listed(coordinator)] == []
    assert [each["id"] for each in listed(coordinator, state="closed")] == [first["id"]]


def test_a_part_is_named_by_its_place(register: Register, coordinator: TestClient) -> None:
    number, in_device = a_device(coordinator)
    version = finger(register)
    worn = put(
        coordinator,
        number,
        in_device,
        version=version,
        digit="index",
        material="PETG",
        colour="teal",
        scale_across=1.05,
        scale_along=1.05,
        on="2026-01-12",
    )
    found = ask(coordinator, number, parts=[{"place": worn["place"], "happened": "broken"}])
    (part,) = found["parts"]
    assert part["version"] == version
    assert (part["scale_across"], part["scale_along"]) == (1.05, 1.05)
    assert (part["material"], part["colour"], part["digit"], part["side"]) == ("PETG", "teal", "index", "left")
    assert part["interface"] == "A"
    assert "as worn" in part["proposal"]
    assert found["device"] == in_device
    same = asked(coordinator, number, parts=[INDEX])  # the only index finger there is the same part
    assert same.status_code == 409


def test_a_withdrawn_version_is_not_made_again(register: Register, coordinator: TestClient) -> None:
    number, in_device = a_device(coordinator)
    old, better = finger(register), finger(register)
    worn = put(coordinator, number, in_device, version=old, digit="index", material="PETG", on="2026-01-12")
    request = ask(coordinator, number, parts=[{"place": worn["place"]}])["id"]
    withdraw(register, old, better)
    (part,) = coordinator.get(f"/api/v1/requests/{request}").json()["parts"]
    assert part["version"] == better
    assert "was withdrawn: make Long finger 1, version 1 instead" in part["proposal"]


def test_the_list_is_in_the_order_of_triage_and_pages_hold(register: Register, coordinator: TestClient) -> None:
    people = [a_device(coordinator, given_name=name)[0] for name in ("Ada", "Ben", "Cem", "Dov", "Eva", "Fay")]
    calm = ask(coordinator, people[0], "colour", colour="teal")
    register.clock.forward(days=1)
    second_calm = ask(coordinator, people[1], "adjustment")
    unusable = ask(coordinator, people[2], parts=[INDEX], usable=False)
    register.clock.forward(days=1)
    hurts = ask(coordinator, people[3], "adjustment", harm=True)
    later = ask(coordinator, people[4], parts=[INDEX], usable=False)
    decided = ask(coordinator, people[5], "colour", colour="red")
    done(coordinator, decided["id"], "triage", rank=1, why="His swimming camp begins on Monday")
    wanted = [decided, hurts, unusable, later, calm, second_calm]
    found = listed(coordinator)
    assert [each["triage"]["rank"] for each in found] == [1, 1, 2, 2, 4, 4]
    assert {each["id"] for each in found[:2]} == {decided["id"], hurts["id"]}
    assert [each["id"] for each in found[2:]] == [each["id"] for each in wanted[2:]]
    assert [each["id"] for each in listed(coordinator, limit=1)] == [each["id"] for each in found]
    said = next(each["triage"] for each in found if each["id"] == decided["id"])
    assert said["why"] == "First: His swimming camp begins on Monday. coordinator decided so."
    back = done(coordinator, decided["id"], "triage", rank=None)
    assert (back["triage"]["rank"], back["triage"]["by"]) == (4, None)


def test_the_list_is_narrowed(register: Register) -> None:
    both = register.api(Role.COORDINATOR, sites=("harbour", "island"))
    ines = opened(both, site="harbour")
    noor = opened(both, given_name="Noor", family_name="Haddad", site="island")
    for number in (ines, noor):
        device(both, number)
    one = ask(both, ines, parts=[INDEX], words="The hinge of the pointing finger")
    two = ask(both, noor, "adjustment", words="It rubs")
    assert [each["id"] for each in listed(both, kind="adjustment")] == [two["id"]]
    assert [each["id"] for each in listed(both, site="harbour")] == [one["id"]]
    assert [each["id"] for each in listed(both, q="haddad")] == [two["id"]]
    assert [each["id"] for each in listed(both, q="HINGE pointing")] == [one["id"]]
    assert [each["id"] for each in listed(both, q=ines)] == [one["id"]]
    assert [each["id"] for each in listed(both, case_number=noor)] == [two["id"]]
    assert listed(both, q="nobody") == []
    assert both.get("/api/v1/requests", params={"cursor": "made-up"}).status_code == 422


def test_what_is_not_theirs_is_not_there(register: Register, coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    request = ask(coordinator, number, parts=[INDEX])["id"]
    for stranger in (register.api(Role.COORDINATOR, sites=("island",)), register.api(Role.VOLUNTEER)):
        assert stranger.get(f"/api/v1/requests/{request}").status_code == 404
        assert listed(stranger) == []
        assert asked(stranger, number, parts=[MIDDLE]).status_code == 404
    volunteer = register.api(Role.VOLUNTEER)
    assert act(volunteer, request, "close", why="not mine").status_code == 403
    assert register.api(Role.TRUSTEE).get("/api/v1/requests").status_code == 403
    lead = register.api(Role.SAFEGUARDING_LEAD)
    assert [each["id"] for each in listed(lead)] == [request]
    assert asked(lead, number, parts=[MIDDLE]).status_code == 403


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"kind": "replacement"}, "words"),
        ({"kind": "replacement", "parts": [{"happened": "broken"}]}, "parts.0.kind"),
        ({"kind": "replacement", "parts": [{"kind": "finger"}]}, "parts.0.digit"),
        ({"kind": "replacement", "parts": [{"kind": "palm", "digit": "index"}]}, "parts.0.digit"),
        ({"kind": "replacement", "parts": [{"place": 999}]}, "parts.0.place"),
        ({"kind": "replacement", "parts": [INDEX, INDEX]}, "parts.1"),
        ({"kind": "adjustment", "parts": [INDEX]}, "parts"),
        ({"kind": "adjustment", "device": 999}, "device"),
        ({"kind": "a hook"}, "kind"),
        ({"kind": "replacement", "parts": [{**INDEX, "quantity": 0}]}, "parts.0.quantity"),
        ({"kind": "advice", "words": "x", "needed": "soon"}, "needed"),
    ],
)
def test_what_cannot_be_asked_for_is_said(coordinator: TestClient, body: dict[str, Any], field: str) -> None:
    number, _device = a_device(coordinator)
    answer = coordinator.post("/api/v1/requests", json={"case_number": number, **body})
    assert answer.status_code == 422, answer.text
    assert field in [each["field"] for each in answer.json()["errors"]]
    assert listed(coordinator) == []


def test_with_two_devices_it_is_said_which(coordinator: TestClient) -> None:
    number, first = a_device(coordinator)
    second = device(coordinator, number, purpose="cycling")
    unclear = asked(coordinator, number, "adjustment")
    assert unclear.status_code == 422
    assert "cycling" in unclear.json()["errors"][0]["message"]
    assert ask(coordinator, number, "adjustment", device=second)["purpose"] == "cycling"
    assert ask(coordinator, number, "adjustment", device=first)["purpose"] == "everyday"


def test_a_promise_is_kept_with_the_request(coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    request = ask(coordinator, number, parts=[INDEX])["id"]
    assert done(coordinator, request, "promise", on="2026-03-12")["promised_on"] == "2026-03-12"
    assert act(coordinator, request, "promise", on="2026-03-01").status_code == 422
    assert done(coordinator, request, "promise", on=None)["promised_on"] is None
    acts = [each["act"] for each in coordinator.get(f"/api/v1/requests/{request}/history").json()["items"]]
    assert acts == ["promised", "promised", "asked"]


def test_a_closed_case_asks_for_nothing(coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    changed = coordinator.patch(f"/api/v1/recipients/{number}", json={"state": "closed", "state_reason": "moved away"})
    assert changed.status_code == 200, changed.text
    assert asked(coordinator, number, "adjustment").status_code == 409
