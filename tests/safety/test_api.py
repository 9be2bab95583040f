"""What hurts, from the report to the judgement, over HTTP."""

from __future__ import annotations

import threading
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import PEOPLE, Role
from service.audit.tables import AuditRow
from service.notifications.tables import MessageRow
from service.safety.tables import IncidentRow, ReviewTaskRow
from tests.conftest import Register
from tests.devices.worn import count, device, made, opened

TODAY = "2026-03-02"  # a Monday


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def skin(client: TestClient, number: str, *signs: str, **more: Any) -> dict[str, Any]:
    return made(client, f"recipients/{number}/skin-reports", {"signs": list(signs), **more})


def incident(client: TestClient, number: str, **changes: Any) -> dict[str, Any]:
    return made(
        client, f"recipients/{number}/incidents", {"kind": "near_harm", "words": "The wrist fell off."} | changes
    )


def test_redness_that_went_away_starts_nothing(register: Register, coordinator: TestClient) -> None:
    answer = skin(coordinator, opened(coordinator), "red_gone")
    assert answer == {
        "seen": "gone",
        "say": "This is fine. You can go on wearing it.",
        "then": "We wrote it down. There is nothing to do.",
        "review_due_on": None,
        "incident": None,
    }
    assert coordinator.get("/api/v1/reviews").json()["items"] == []
    assert count(register, MessageRow) == 0


def test_redness_that_stays_is_looked_at_within_two_working_days(register: Register, coordinator: TestClient) -> None:
    number = opened(coordinator)
    hand = device(coordinator, number)
    register.clock.forward(days=4)  # Friday
    answer = skin(coordinator, number, "red_stays", "warm", words="At the elbow.", device=hand)
    assert (answer["seen"], answer["review_due_on"], answer["incident"]) == ("stays", "2026-03-10", None)
    (task,) = coordinator.get("/api/v1/reviews").json()["items"]
    assert (task["case_number"], task["device"], task["done_at"]) == (number, hand, None)
    assert task["words"].endswith("The skin feels warm. At the elbow.")
    assert task["said"] == answer["say"]


def test_redness_for_half_an_hour_is_looked_at_the_same_day(register: Register, coordinator: TestClient) -> None:
    register.account(Role.CLINICIAN, email="clinic@example.org")
    answer = skin(coordinator, opened(coordinator), "red_long", "sore")
    assert (answer["seen"], answer["review_due_on"]) == ("stays_long", TODAY)
    assert "Leave it off" in answer["say"]
    with register.db.reading() as session:
        told = session.execute(sa.select(MessageRow.to_name, MessageRow.urgent, MessageRow.body)).all()
    assert {name for name, _, _ in told} == {"clinician", "coordinator"}
    assert all(urgent and "Okafor" not in body and "/reviews/" in body for _, urgent, body in told)


@pytest.mark.parametrize("sign", ["blister", "broken", "bruise", "numb", "swelling", "colour", "fever"])
def test_what_is_worse_opens_an_incident_and_says_stop(coordinator: TestClient, sign: str) -> None:
    number = opened(coordinator)
    answer = skin(coordinator, number, sign, "red_gone")
    assert answer["seen"] == "hurt"
    assert answer["say"] == "Stop wearing it. See a doctor today."
    found = coordinator.get(f"/api/v1/incidents/{answer['incident']}").json()
    assert (found["case_number"], found["kind"], found["serious"], found["aware_on"]) == (number, "skin", None, TODAY)


def test_the_same_report_sent_twice_starts_one_thing(register: Register, coordinator: TestClient) -> None:
    number = opened(coordinator)
    for _ in range(2):
        skin(coordinator, number, "red_stays")
        skin(coordinator, number, "blister")
        incident(coordinator, number)
    assert count(register, ReviewTaskRow) == 1
    assert count(register, IncidentRow) == 2
    skin(coordinator, number, "red_stays", words="And on the other side.")
    assert count(register, ReviewTaskRow) == 2


def test_two_who_report_the_same_at_once_start_one_thing(register: Register, coordinator: TestClient) -> None:
    number = opened(coordinator)
    clients = [register.api(Role.CLINICIAN) for _ in range(4)]
    threads = [threading.Thread(target=skin, args=(client, number, "blister")) for client in clients]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert count(register, IncidentRow) == 1


def test_an_incident_is_judged_by_name_and_the_day_to_report_it_follows(
    register: Register, coordinator: TestClient
) -> None:
    number = opened(coordinator)
    made_incident = incident(coordinator, number, aware_on="2026-02-27")
    address = f"/api/v1/incidents/{made_incident['id']}"
    assert [each["report_by"] for each in made_incident["clocks"]] == ["2026-03-01", "2026-03-09", "2026-03-14"]
    assert coordinator.get("/api/v1/incidents", params={"judged": False}).json()["items"] == [made_incident]

    half = coordinator.post(f"{address}/judgement", json={"serious": True, "why": "It needed a doctor."})
    assert half.status_code == 422
    assert half.json()["errors"][0]["field"] == "clock"
    lead = register.api(Role.SAFEGUARDING_LEAD)
    judgement = {"serious": True, "clock": "other_serious", "why": "It needed a doctor."}
    judged = lead.post(f"{address}/judgement", json=judgement).json()
    assert (judged["serious"], judged["judged_by"], judged["report_by"]) == (True, "safeguarding lead", "2026-03-14")
    assert coordinator.get("/api/v1/incidents", params={"judged": False}).json()["items"] == []
    assert coordinator.get("/api/v1/incidents", params={"judged": True}).json()["items"] == [judged]

    again = coordinator.post(f"{address}/judgement", json={"serious": False, "why": "A scratch."}).json()
    assert (again["serious"], again["report_by"]) == (False, None)
    with register.db.reading() as session:
        kept = session.scalars(sa.select(AuditRow.changes).where(AuditRow.act == "judged").order_by(AuditRow.id)).all()
    assert [each["serious"] for each in kept] == [[None, True], [True, False]]


def test_an_incident_is_closed_once_by_name_and_only_after_it_was_judged(
    register: Register, coordinator: TestClient
) -> None:
    address = f"/api/v1/incidents/{incident(coordinator, opened(coordinator), aware_on='2026-02-27')['id']}"
    closing = {"outcome": "The wrist was made anew.", "reported_on": TODAY}
    early = coordinator.post(f"{address}/close", json=closing)
    assert (early.status_code, "Judge how serious" in early.json()["detail"]) == (409, True)
    judgement = {"serious": True, "clock": "other_serious", "why": "It needed a doctor."}
    assert coordinator.post(f"{address}/judgement", json=judgement).status_code == 200
    for wrong, field in (
        ({"outcome": " "}, "outcome"),
        ({"reported_on": None}, "reported_on"),
        ({"reported_on": "2026-03-03"}, "reported_on"),
        ({"reported_on": "2026-02-26"}, "reported_on"),
        ({"not_reported_why": "Advised against."}, "reported_on"),
    ):
        refused = coordinator.post(f"{address}/close", json=closing | wrong)
        assert (refused.status_code, refused.json()["errors"][0]["field"]) == (422, field), wrong
    assert coordinator.get(address).json()["closed_at"] is None

    elsewhere = register.api(Role.COORDINATOR, sites=("island",))
    assert elsewhere.post(f"{address}/close", json=closing).status_code == 404
    assert register.api(Role.VOLUNTEER).post(f"{address}/close", json=closing).status_code == 403
    closed = coordinator.post(f"{address}/close", json=closing).json()
    assert (closed["closed_by"], closed["outcome"], closed["reported_on"]) == ("coordinator", *closing.values())
    assert coordinator.post(f"{address}/close", json=closing).status_code == 409
    assert coordinator.post(f"{address}/judgement", json=judgement).status_code == 409
    assert coordinator.get(address).json() == closed
    with register.db.reading() as session:
        kept = session.scalars(sa.select(AuditRow.changes).where(AuditRow.act == "closed")).all()
    assert [each["reported_on"] for each in kept] == [[None, TODAY]]


def test_what_is_not_serious_is_closed_without_a_report(coordinator: TestClient) -> None:
    address = f"/api/v1/incidents/{incident(coordinator, opened(coordinator))['id']}"
    coordinator.post(f"{address}/judgement", json={"serious": False, "why": "A scratch."})
    closed = coordinator.post(f"{address}/close", json={"outcome": "A new strap."}).json()
    assert (closed["outcome"], closed["reported_on"], closed["not_reported_why"]) == ("A new strap.", None, None)


def test_a_review_is_done_once(coordinator: TestClient) -> None:
    skin(coordinator, opened(coordinator), "firm")
    (task,) = coordinator.get("/api/v1/reviews").json()["items"]
    address = f"/api/v1/reviews/{task['id']}"
    assert coordinator.post(f"{address}/done", json={"outcome": " "}).status_code == 422
    done = coordinator.post(f"{address}/done", json={"outcome": "The liner was folded."}).json()
    assert (done["done_by"], done["outcome"]) == ("coordinator", "The liner was folded.")
    assert coordinator.get(address).json() == done
    assert coordinator.get("/api/v1/reviews").json()["items"] == []
    assert coordinator.post(f"{address}/done", json={"outcome": "Again."}).status_code == 409


def test_what_cannot_be_is_refused_and_nothing_is_kept(register: Register, coordinator: TestClient) -> None:
    number, other = opened(coordinator), opened(coordinator, given_name="Tomas")
    theirs = device(coordinator, other)
    for path, body, field in [
        ("skin-reports", {"signs": []}, "signs"),
        ("skin-reports", {"signs": ["itch"]}, "signs.0"),
        ("skin-reports", {"signs": ["warm"], "device": theirs}, "device"),
        ("incidents", {"kind": "harm", "words": ""}, "words"),
        ("incidents", {"kind": "harm", "words": "Ow.", "aware_on": "2026-03-03"}, "aware_on"),
        ("incidents", {"kind": "harm", "words": "Ow.", "device": theirs}, "device"),
    ]:
        refused = coordinator.post(f"/api/v1/recipients/{number}/{path}", json=body)
        assert refused.status_code == 422, path
        assert refused.json()["errors"][0]["field"] == field
    assert count(register, IncidentRow) == count(register, ReviewTaskRow) == 0


def test_only_those_who_see_a_case_see_what_hurt(register: Register, coordinator: TestClient) -> None:
    number = opened(coordinator)
    address = f"/api/v1/incidents/{incident(coordinator, number)['id']}"
    skin(coordinator, number, "warm")
    stranger, elsewhere = register.api(Role.VOLUNTEER), register.api(Role.COORDINATOR, sites=("island",))
    for client in (stranger, elsewhere):
        assert client.get(address).status_code == 404
        assert client.get("/api/v1/incidents").json()["items"] == []
        assert client.get("/api/v1/reviews").json()["items"] == []
        refused = client.post(f"/api/v1/recipients/{number}/skin-reports", json={"signs": ["warm"]})
        assert refused.status_code == 404
    allowed = {role for role in PEOPLE if register.api(role).get(address).status_code in {200, 404}}
    assert allowed == {Role.COORDINATOR, Role.CLINICIAN, Role.VOLUNTEER, Role.SAFEGUARDING_LEAD}


def test_a_long_list_is_read_page_by_page(coordinator: TestClient) -> None:
    number = opened(coordinator)
    for turn in range(5):
        skin(coordinator, number, "warm" if turn % 2 else "red_long", words=f"Turn {turn}.")
        incident(coordinator, number, words=f"Turn {turn}.")
    for path, key in (("reviews", lambda each: (each["due_on"], each["id"])), ("incidents", lambda each: -each["id"])):
        seen: list[dict[str, Any]] = []
        cursor = None
        while True:
            page = coordinator.get(f"/api/v1/{path}", params={"limit": 2} | ({"cursor": cursor} if cursor else {}))
            seen += page.json()["items"]
            if (cursor := page.json()["next"]) is None:
                break
        assert len(seen) == 5
        assert seen == sorted(seen, key=key)


def test_an_incident_may_name_its_case_in_the_body_and_is_judged_as_often_as_needed(
    register: Register, coordinator: TestClient
) -> None:
    number = opened(coordinator)
    body = {"case_number": number, "kind": "near_harm", "words": "The wrist fell off."}
    new = made(coordinator, "incidents", body)
    assert new["case_number"] == number
    assert incident(coordinator, number)["id"] == new["id"], "the same report by the other address is the same one"
    for serious, why in ((True, "It needed a doctor."), (False, "A scratch.")):
        judgement = {"serious": serious, "why": why, **({"clock": "other_serious"} if serious else {})}
        judged = made(coordinator, f"incidents/{new['id']}/judgements", judgement)
        assert (judged["serious"], judged["judged_why"]) == (serious, why)
    assert coordinator.post("/api/v1/incidents", json={**body, "case_number": "100-0001"}).status_code == 404
    assert coordinator.post("/api/v1/incidents", json={"kind": "harm", "words": "It hurt."}).status_code == 422
    island = register.api(Role.COORDINATOR, sites=("island",))
    assert island.post("/api/v1/incidents", json=body).status_code == 404
    assert register.api(Role.TRUSTEE).post("/api/v1/incidents", json=body).status_code == 403
