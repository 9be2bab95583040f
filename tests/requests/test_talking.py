"""Questions back, and the clock that stands still; two requests made one, and one made two."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.assembly.things import a_device
from tests.conftest import Register
from tests.devices.worn import device
from tests.requests.asking import INDEX, MIDDLE, act, ask, asked, done, listed


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def test_the_clock_stands_still_until_the_question_is_answered(register: Register, coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    request = ask(coordinator, number, parts=[INDEX])["id"]
    register.clock.forward(days=2)
    waiting = done(coordinator, request, "questions", question="Which colour?")
    assert (waiting["waits_for"], waiting["waits_since"], waiting["waited_days"]) == ("family", "2026-03-04", 2)
    register.clock.forward(days=5)
    assert coordinator.get(f"/api/v1/requests/{request}").json()["waited_days"] == 2
    assert [each["id"] for each in listed(coordinator, waits_for="family")] == [request]
    (question,) = waiting["questions"]
    answered = done(
        coordinator, request, f"questions/{question['id']}/answer", answer="Teal, please", answered_by="Mrs Okafor"
    )
    assert (answered["waits_for"], answered["waited_days"]) == (None, 2)
    assert answered["questions"][0]["answer"] == "Teal, please"
    assert answered["questions"][0]["answered_by"] == "Mrs Okafor"
    assert answered["waits"] == [
        {"waits_for": "family", "why": "Which colour?", "since": "2026-03-04", "until": "2026-03-09"}
    ]
    register.clock.forward(days=1)
    assert coordinator.get(f"/api/v1/requests/{request}").json()["waited_days"] == 3
    assert listed(coordinator, waits_for="family") == []
    again = act(coordinator, request, f"questions/{question['id']}/answer", answer="Red")
    assert again.status_code == 409


def test_a_wait_begins_and_ends_once_and_those_kept_waiting_longest_come_first(
    register: Register, coordinator: TestClient
) -> None:
    stood = ask(coordinator, a_device(coordinator)[0], "adjustment")["id"]
    done(coordinator, stood, "waits", waits_for="clinician", why="She looks at it on Friday.")
    twice = act(coordinator, stood, "waits", waits_for="family", why="Holidays")
    assert twice.status_code == 409
    assert "since 2 March 2026" in twice.json()["detail"]
    register.clock.forward(days=2)
    later = ask(coordinator, a_device(coordinator, given_name="Noor")[0], "adjustment")["id"]
    register.clock.forward(days=2)
    done(coordinator, stood, "waits/end")
    assert act(coordinator, stood, "waits/end").status_code == 409
    found = listed(coordinator)
    assert [(each["id"], each["waited_days"]) for each in found] == [(later, 2), (stood, 0)]


def test_a_settled_request_is_neither_asked_about_nor_waited_for(coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    request = ask(coordinator, number, parts=[INDEX])["id"]
    waiting = done(coordinator, request, "questions", question="Which colour?")
    closed = done(coordinator, request, "close", why="Not needed any more")
    assert closed["waits"][0]["until"] == "2026-03-02"
    assert act(coordinator, request, "questions", question="Really?").status_code == 409
    assert act(coordinator, request, "waits", waits_for="family", why="x").status_code == 409
    assert act(coordinator, request, f"questions/{waiting['questions'][0]['id']}/answer", answer="x").status_code == 409


def test_two_about_the_same_become_one_that_keeps_both_words(register: Register, coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    first = ask(coordinator, number, parts=[INDEX], words="The finger fell off")["id"]
    register.clock.forward(days=1)
    said = "Two fingers, I saw it"
    second = ask(coordinator, number, parts=[MIDDLE], words=said, usable=False, harm=True)["id"]
    wrong_way = act(coordinator, first, "join", into=second)
    assert wrong_way.status_code == 422
    assert f"Join request {second} into request {first}" in wrong_way.json()["detail"]
    joined = done(coordinator, second, "join", into=first)
    assert joined["id"] == first
    assert joined["words"] == "The finger fell off"
    assert [each["words"] for each in joined["joined"]] == ["Two fingers, I saw it"]
    assert {each["digit"] for each in joined["parts"]} == {"index", "middle"}
    assert (joined["usable"], joined["harm"], joined["triage"]["rank"]) == (False, True, 1)
    gone = coordinator.get(f"/api/v1/requests/{second}").json()
    assert (gone["state"], gone["joined_into"], gone["words"]) == ("closed", first, "Two fingers, I saw it")
    assert asked(coordinator, number, parts=[MIDDLE]).status_code == 409
    assert act(coordinator, first, "join", into=first).status_code == 422


def test_only_what_is_about_the_same_is_joined(coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    replacement = ask(coordinator, number, parts=[INDEX])["id"]
    adjustment = ask(coordinator, number, "adjustment")["id"]
    other = ask(coordinator, a_device(coordinator, given_name="Noor")[0], "adjustment")["id"]
    assert act(coordinator, adjustment, "join", into=replacement).status_code == 422
    assert act(coordinator, other, "join", into=adjustment).status_code == 422
    assert act(coordinator, adjustment, "join", into=9999).status_code == 404
    assert len(listed(coordinator)) == 3


def test_one_about_several_things_becomes_two(coordinator: TestClient) -> None:
    number, _device = a_device(coordinator)
    whole = ask(coordinator, number, parts=[INDEX, MIDDLE], usable=False)
    going = next(each["id"] for each in whole["parts"] if each["digit"] == "middle")
    new = done(coordinator, whole["id"], "split", parts=[going])
    assert (new["split_from"], new["what"], new["asked_at"]) == (whole["id"], "middle finger lost", whole["asked_at"])
    assert new["words"] == whole["words"]
    left = coordinator.get(f"/api/v1/requests/{whole['id']}").json()
    assert (left["what"], left["split_into"]) == ("index finger broken", [new["id"]])
    assert act(coordinator, whole["id"], "split", parts=[left["parts"][0]["id"]]).status_code == 422
    assert act(coordinator, whole["id"], "split", parts=[going]).status_code == 422
    for part in (INDEX, MIDDLE):
        assert asked(coordinator, number, parts=[part]).status_code == 409


def test_a_device_of_its_own_keeps_needs_apart(coordinator: TestClient) -> None:
    number, first = a_device(coordinator)
    second = device(coordinator, number, purpose="cycling")
    one = ask(coordinator, number, device=first, parts=[INDEX])["id"]
    two = ask(coordinator, number, device=second, parts=[INDEX])["id"]
    assert act(coordinator, two, "join", into=one).status_code == 422
