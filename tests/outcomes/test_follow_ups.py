"""Asking how somebody gets on with a device: what is recorded, what follows, and what cannot be."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.audit.tables import AuditRow
from service.outcomes.tables import DeviceFollowUpRow
from tests.conftest import Register
from tests.devices.worn import count, device, made, opened, socket
from tests.gate.things import Workshop, workshop
from tests.outcomes.things import WELL, asked, say, wearing


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return wearing(coordinator)[0]


def test_what_was_said_is_the_answer_of_the_ask_that_is_open(
    register: Register, coordinator: TestClient, number: str
) -> None:
    before = asked(coordinator, number)
    assert {name: each["state"] for name, each in before.items()} == {"two_weeks": "open", "three_months": "not_yet"}
    assert before["two_weeks"]["due_on"] == "2026-02-24"
    answer = say(coordinator, number, **WELL)
    assert answer.status_code == 201, answer.text
    assert answer.json()["advice"] == []
    ask = asked(coordinator, number)["two_weeks"]
    assert ask["state"] == "answered"
    assert {name: ask["answer"][name] for name in WELL} == WELL
    assert (ask["answer"]["way"], ask["answer"]["on"]) == ("telephone", "2026-03-02")
    with register.db.reading() as session:
        acts = session.execute(sa.select(AuditRow.act, AuditRow.subject).where(AuditRow.subject == "follow-up")).all()
    assert [tuple(each) for each in acts] == [("recorded", "follow-up")]
    assert coordinator.get("/api/v1/incidents").json()["items"] == []


def test_the_same_sent_twice_is_recorded_once_and_another_is_refused(
    register: Register, coordinator: TestClient, number: str
) -> None:
    first = say(coordinator, number, **WELL).json()
    again = say(coordinator, number, **{**WELL, "used_for": ["play", "school"]})
    assert (again.status_code, again.json()["id"]) == (201, first["id"])
    other = say(coordinator, number, **{**WELL, "comfort": 2})
    assert other.status_code == 409
    assert "strike it through" in other.json()["detail"]
    assert say(coordinator, number, outcome="not_reached").status_code == 409
    assert count(register, DeviceFollowUpRow) == 1

    where = f"/api/v1/recipients/{number}/follow-ups/{first['id']}/strike"
    assert coordinator.post(where, json={"why": "His sister's."}).json()["struck"]["why"] == "His sister's."
    assert coordinator.post(where, json={"why": "Again."}).status_code == 409
    assert say(coordinator, number, **{**WELL, "comfort": 2}).status_code == 201
    ask = asked(coordinator, number)["two_weeks"]
    assert (ask["answer"]["comfort"], [each["comfort"] for each in ask["tries"]]) == (2, [8])


def test_who_is_not_reached_is_lost_in_the_end_and_counted(
    register: Register, coordinator: TestClient, number: str
) -> None:
    for _ in range(2):
        assert say(coordinator, number, outcome="not_reached").status_code == 201
    ask = asked(coordinator, number)["two_weeks"]
    assert (ask["state"], len(ask["tries"])) == ("open", 2)
    register.clock.forward(days=55)
    assert asked(coordinator, number)["two_weeks"]["state"] == "lost"
    late = say(coordinator, number, on="2026-04-26", used=True)  # said late, it is an answer all the same
    assert late.json()["ask"] == "two_weeks"
    assert asked(coordinator, number)["two_weeks"]["state"] == "answered"


def test_to_decline_is_no_loss(coordinator: TestClient, number: str) -> None:
    assert say(coordinator, number, outcome="declined", answered_by="guardian").status_code == 201
    assert asked(coordinator, number)["two_weeks"]["state"] == "declined"


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"used": True, "on": "2026-03-03"}, "on"),
        ({"used": True, "on": "2026-02-09"}, "on"),
        ({"used": True, "on": "2026-02-15"}, "on"),
        ({"used": True, "days_a_week": 8}, "days_a_week"),
        ({"used": True, "days_a_week": -1}, "days_a_week"),
        ({"used": True, "hours_a_day": 25}, "hours_a_day"),
        ({"used": True, "comfort": 11}, "comfort"),
        ({"used": True, "days_a_week": 0, "hours_a_day": 3}, "hours_a_day"),
        ({"used": False, "days_a_week": 3}, "used"),
        ({"used": True, "why_not": "looks"}, "why_not"),
        ({"why_not": "looks"}, "why_not"),
        ({"used": False, "why_not": "other"}, "why_not_words"),
        ({"used": True, "pain_where": "here"}, "pain"),
        ({"used": True, "way": "link"}, "way"),
        ({"used": True, "device": 99}, "device"),
        ({"used": True, "used_for": ["flying"]}, "used_for.0"),
        ({}, "used"),
        ({"outcome": "declined", "used": True}, "outcome"),
        ({"outcome": "not_reached", "words": "Busy."}, "outcome"),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_do(
    register: Register, coordinator: TestClient, number: str, body: dict[str, Any], field: str
) -> None:
    refused = say(coordinator, number, **body)
    assert refused.status_code == 422, refused.text
    assert field in [each["field"] for each in refused.json()["errors"]]
    assert count(register, DeviceFollowUpRow) == 0


@pytest.mark.parametrize(
    ("body", "words", "advice"),
    [
        ({"pain": "a_lot", "pain_where": "the elbow"}, "It hurts a lot: the elbow.", "Take it off."),
        ({"harm": "The pin scratched me."}, "“The pin scratched me.”", "Take it off."),
        ({"used": False, "why_not": "hurts"}, "because it hurts, or for the skin.", "see a doctor"),
    ],
)
def test_harm_and_a_lot_of_pain_are_never_only_figures(
    coordinator: TestClient, number: str, body: dict[str, Any], words: str, advice: str
) -> None:
    answer = say(coordinator, number, **body)
    assert answer.status_code == 201, answer.text
    assert any(advice in each for each in answer.json()["advice"])
    (incident,) = coordinator.get("/api/v1/incidents").json()["items"]
    assert words in incident["words"]
    assert (incident["kind"], incident["id"]) == ("harm", answer.json()["incident"])
    assert incident["device"] == answer.json()["device"]
    again = say(coordinator, number, **body)
    assert again.json()["advice"] == answer.json()["advice"]
    assert len(coordinator.get("/api/v1/incidents").json()["items"]) == 1


def test_nothing_is_half_recorded(register: Register, coordinator: TestClient, number: str) -> None:
    say(coordinator, number, **WELL)
    assert say(coordinator, number, pain="a_lot").status_code == 409
    assert coordinator.get("/api/v1/incidents").json()["items"] == []
    assert count(register, DeviceFollowUpRow) == 1


def test_no_longer_used_waits_for_a_coordinator_and_alters_no_device(coordinator: TestClient) -> None:
    number, worn = wearing(coordinator)
    said = say(coordinator, number, used=False, why_not="too_heavy").json()
    assert said["waits"]
    where = f"/api/v1/recipients/{number}/devices/{worn}"
    assert coordinator.get(where).json()["use"] == "in_use"
    seen = coordinator.post(f"/api/v1/recipients/{number}/follow-ups/{said['id']}/seen-to", json={"stopped": True})
    assert (seen.status_code, seen.json()["waits"]) == (201, False)
    stopped = coordinator.get(where).json()
    assert (stopped["use"], stopped["stopped_why"], stopped["stopped_reason"], stopped["stopped_on"]) == (
        "stopped",
        "too_heavy",
        "too heavy",
        "2026-03-02",
    )
    again = coordinator.post(f"/api/v1/recipients/{number}/follow-ups/{said['id']}/seen-to", json={"stopped": False})
    assert again.status_code == 409
    assert list(asked(coordinator, number)) == ["two_weeks"]  # nothing more is asked about it


def test_it_is_used_after_all(coordinator: TestClient) -> None:
    number, worn = wearing(coordinator)
    said = say(coordinator, number, used=False).json()
    where = f"/api/v1/recipients/{number}/follow-ups/{said['id']}/seen-to"
    assert coordinator.post(where, json={"stopped": False}).json()["seen_to_by"] == "coordinator"
    assert coordinator.get(f"/api/v1/recipients/{number}/devices/{worn}").json()["use"] == "in_use"
    well = say(coordinator, number, **WELL)
    assert well.status_code == 409
    assert coordinator.post(where, json={"stopped": True}).status_code == 409


def test_of_several_devices_it_is_said_which(coordinator: TestClient) -> None:
    number, everyday = wearing(coordinator)
    bicycle = device(coordinator, number, purpose="cycling")
    nothing = say(coordinator, number, device=bicycle, used=True)
    assert nothing.status_code == 422
    assert "Nothing was fitted" in nothing.json()["errors"][0]["message"]
    assert say(coordinator, number, used=True).json()["device"] == everyday  # the only one that is asked about
    socket(coordinator, number, bicycle, "2026-02-11")
    assert say(coordinator, number, used=True).json()["device"] == bicycle
    both = say(coordinator, number, used=True, days_a_week=2)
    assert both.status_code == 422
    assert "Say which one you mean" in both.json()["errors"][0]["message"]


def test_a_device_recorded_by_mistake_is_not_asked_about(coordinator: TestClient) -> None:
    number = opened(coordinator)
    worn = device(coordinator, number)
    mistaken = socket(coordinator, number, worn, "2025-12-01")
    where = f"/api/v1/recipients/{number}/devices/{worn}/sockets/{mistaken}/end"
    ended = coordinator.post(where, json={"end_reason": "mistake", "note": "Another child's."})
    assert ended.status_code == 200, ended.text
    assert asked(coordinator, number) == {}
    socket(coordinator, number, worn, "2026-02-10")
    assert asked(coordinator, number)["two_weeks"]["due_on"] == "2026-02-24"


def test_a_new_socket_does_not_begin_the_asks_of_its_device_anew(coordinator: TestClient) -> None:
    number, worn = wearing(coordinator, "2026-02-01")
    socket(coordinator, number, worn, "2026-02-20", previous={"end_reason": "outgrown"})
    assert asked(coordinator, number)["two_weeks"]["due_on"] == "2026-02-15"


@pytest.mark.parametrize("role", [Role.TRUSTEE, Role.ADMINISTRATOR])
def test_trustees_and_administrators_see_none_of_it(register: Register, number: str, role: Role) -> None:
    client = register.api(role)
    assert client.get(f"/api/v1/recipients/{number}/follow-ups").status_code == 403
    assert client.get(f"/api/v1/recipients/{number}/goals").status_code == 403
    assert say(client, number, used=True).status_code == 403
    assert client.get("/api/v1/follow-ups").status_code == 403


def test_somebody_elses_case_is_not_there(register: Register, coordinator: TestClient, number: str) -> None:
    said = say(coordinator, number, used=False).json()
    elsewhere = register.api(Role.COORDINATOR, sites=("island",))
    assert elsewhere.get(f"/api/v1/recipients/{number}/follow-ups").status_code == 404
    assert say(elsewhere, number, used=True).status_code == 404
    where = f"/api/v1/recipients/{number}/follow-ups/{said['id']}"
    assert elsewhere.post(f"{where}/strike", json={"why": "No."}).status_code == 404
    assert elsewhere.post(f"{where}/seen-to", json={"stopped": True}).status_code == 404
    assert elsewhere.get("/api/v1/follow-ups").json()["items"] == []
    mine, _worn = wearing(elsewhere)
    crossed = f"/api/v1/recipients/{mine}/follow-ups/{said['id']}/strike"
    assert elsewhere.post(crossed, json={"why": "No."}).status_code == 404


def test_a_score_of_a_questionnaire_is_kept_and_nothing_of_what_it_asks(coordinator: TestClient, number: str) -> None:
    body = {"instrument": "the clinic's own", "version": "2", "score": 71.5, "on": "2026-02-20"}
    first = made(coordinator, f"recipients/{number}/questionnaire-scores", body)
    assert made(coordinator, f"recipients/{number}/questionnaire-scores", body) == first
    where = f"/api/v1/recipients/{number}/questionnaire-scores"
    assert coordinator.get(where).json()["items"] == [first]
    for wrong in ({"on": "2026-03-03"}, {"score": "NaN"}, {"version": " "}, {"device": 99}, {"items": ["Can you?"]}):
        assert coordinator.post(where, json={**body, **wrong}).status_code == 422, wrong


@pytest.fixture
def shop(register: Register) -> Workshop:
    return workshop(register)


def test_a_check_and_the_questions_about_the_same_device_are_one_entry(register: Register, shop: Workshop) -> None:
    assert shop.fit(shop.delivered(shop.opened())).status_code == 201
    register.clock.forward(days=14)
    due = shop.coordinator.get("/api/v1/follow-ups").json()["items"]
    mine = [
        (each["name"], each["build"] is not None, each["questions"]) for each in due if each["device"] == shop.device
    ]
    first_fitted = asked(shop.coordinator, shop.number)
    assert sum(questions for _name, _build, questions in mine) == len(
        [each for each in first_fitted.values() if each["state"] == "open"]
    )
    assert ("wear_in", True, False) in mine or ("wear_in", True, True) in mine
    assert not [each for each in mine if each[1] is False]  # nothing of it is asked beside a check
