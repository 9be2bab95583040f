"""A family says how it goes on its own page, and is asked to by mail or by a call, once."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.actor import SYSTEM
from service.access.permissions import Role
from service.access.work import Work
from service.family import actions
from service.notifications.tables import MessageRow
from service.outcomes.rules import TAKE_OFF
from service.words.catalogue import words
from tests.conftest import Register
from tests.devices.worn import device, made, socket
from tests.family.mail import into_folder, mails
from tests.family.people import MOTHER, let_in, link, send
from tests.gate.things import Workshop, workshop
from tests.outcomes.things import asked, say, wearing

QUESTIONS = "We have a few short questions."


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return wearing(coordinator)[0]


@pytest.fixture
def home(coordinator: TestClient, number: str) -> str:
    return link(coordinator, number)


@pytest.fixture
def family(register: Register, home: str) -> TestClient:
    return let_in(register, home)


def used(coordinator: TestClient, number: str, value: str = "true") -> str:
    """What comes after the address of the page once it is said whether a device is used."""
    return f"device={asked(coordinator, number)['two_weeks']['device']}&used={value}"


def test_it_is_asked_on_the_first_page_while_it_is_time(
    register: Register, coordinator: TestClient, family: TestClient, home: str, number: str
) -> None:
    assert QUESTIONS in family.get(home).text
    assert "<h1>Do you still use it?</h1>" in family.get(f"{home}/how").text
    page = f"{home}/how?{used(coordinator, number)}"
    answers = {
        "device": str(asked(coordinator, number)["two_weeks"]["device"]),
        "used": "true",
        "answered_by": "both",
        "days_a_week": "5",
        "hours_a_day": "3",
        "comfort": "10",
        "pain": "none",
        "used_for-play": "yes",
        "recommend": "yes",
        "words": "I climbed the frame!",
    }
    for _ in range(2):  # sent twice, it is said once
        answer = send(family, page, answers, opened=f"{home}/say")
        assert answer.status_code == 201, answer.text
        assert "<h1>Thank you for telling us.</h1>" in answer.text
        assert "It helps us to make better ones." in answer.text
    kept = asked(coordinator, number)["two_weeks"]["answer"]
    assert (kept["way"], kept["answered_by"], kept["recorded_by"]) == ("link", "both", "the family")
    assert (kept["used"], kept["hours_a_day"], kept["used_for"]) == (True, 3, ["play"])
    assert QUESTIONS not in family.get(home).text
    assert "We have no questions for you now." in family.get(f"{home}/how").text
    with register.db.reading() as session:
        assert session.scalar(sa.text("SELECT count(*) FROM device_follow_ups")) == 1


def test_every_question_may_be_skipped_but_not_all(
    coordinator: TestClient, family: TestClient, home: str, number: str
) -> None:
    page = f"{home}/how?{used(coordinator, number, 'skipped')}"
    nothing = send(family, page, {"used": "skipped"})
    assert nothing.status_code == 422
    assert "Something is missing." in nothing.text
    assert send(family, page, {"used": "skipped", "comfort": "4"}).status_code == 201
    kept = asked(coordinator, number)["two_weeks"]["answer"]
    assert (kept["used"], kept["comfort"], kept["answered_by"]) == (None, 4, None)


def test_who_would_rather_not_answer_is_left_in_peace(
    coordinator: TestClient, family: TestClient, home: str, number: str
) -> None:
    answer = send(family, f"{home}/how", {"outcome": "declined"})
    assert "We will not ask about this again." in answer.text
    assert asked(coordinator, number)["two_weeks"]["state"] == "declined"
    assert QUESTIONS not in family.get(home).text


@pytest.mark.parametrize("code", ["en", "nl", "ar"])
def test_who_is_hurt_reads_first_what_to_do_in_their_words(
    register: Register, coordinator: TestClient, code: str
) -> None:
    number, _ = wearing(coordinator, language=code)
    home = link(coordinator, number)
    family = let_in(register, home)
    page = f"{home}/how?{used(coordinator, number)}"
    said = send(family, page, {"used": "true", "pain": "a_lot", "pain_where": "elbow"})
    assert f"<h1>{words(code)(TAKE_OFF)}</h1>" in said.text
    assert words(code)("We have told our team. One of us will call you.") in said.text
    (incident,) = coordinator.get("/api/v1/incidents").json()["items"]
    assert "It hurts a lot: elbow." in incident["words"]
    assert (incident["case_number"], incident["opened_by"]) == (number, "the family")


def test_no_longer_used_has_a_reason_and_somebody_calls(
    coordinator: TestClient, family: TestClient, home: str, number: str
) -> None:
    page = f"{home}/how?{used(coordinator, number, 'false')}"
    without = send(family, page, {"used": "false", "why_not": "other"})
    assert without.status_code == 422
    assert "checked" in without.text
    answer = send(family, page, {"used": "false", "why_not": "other", "why_not_words": "It is too loud."})
    assert "One of us will call you about it." in answer.text
    kept = asked(coordinator, number)["two_weeks"]["answer"]
    assert (kept["why_not"], kept["why_not_words"], kept["waits"]) == ("other", "It is too loud.", True)


def test_of_two_devices_each_is_asked_about(register: Register, coordinator: TestClient, number: str) -> None:
    bicycle = device(coordinator, number, purpose="cycling")
    socket(coordinator, number, bicycle, "2026-02-11")
    home = link(coordinator, number)
    family = let_in(register, home)
    assert "Which one do you want to tell us about?" in family.get(f"{home}/how").text
    answer = send(family, f"{home}/how?device={bicycle}&used=true", {"device": str(bicycle), "used": "true"})
    assert "Tell us about another one" in answer.text
    assert "<h1>Do you still use it?</h1>" in family.get(f"{home}/how").text


def test_another_familys_device_is_not_theirs_to_speak_of(
    register: Register, coordinator: TestClient, family: TestClient, home: str, number: str
) -> None:
    other, theirs = wearing(coordinator, given_name="Ola")
    page = f"{home}/how?{used(coordinator, number)}"
    assert send(family, page, {"device": str(theirs), "used": "true"}).status_code == 422
    assert asked(coordinator, other)["two_weeks"]["answer"] is None
    foreign = link(coordinator, other)
    assert "how-it-goes" not in family.get(f"{foreign}/how").text
    stranger = register.browser()
    assert QUESTIONS not in stranger.get(foreign).text  # who has not shown who they are is told nothing


@pytest.mark.parametrize("fields", [{"days_a_week": "8"}, {"hours_a_day": "25"}, {"comfort": "11"}, {"pain": "awful"}])
def test_what_cannot_be_comes_back_as_it_was_written(
    coordinator: TestClient, family: TestClient, home: str, number: str, fields: dict[str, str]
) -> None:
    page = f"{home}/how?{used(coordinator, number)}"
    refused = send(family, page, {"used": "true", "words": "I like it.", **fields})
    assert refused.status_code == 422
    assert "I like it." in refused.text


def ask_all(register: Register) -> int:
    """Do what the daily job does."""
    with register.db.writing() as session:
        return actions.ask_how_it_goes(Work(session, SYSTEM, register.clock()))


def mother(coordinator: TestClient, number: str, **contact: Any) -> int:
    case = made(coordinator, f"recipients/{number}/contacts", {**MOTHER, **contact})
    found: int = case["contacts"][-1]["id"]
    return found


def to_ring(coordinator: TestClient) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = coordinator.get("/api/v1/messages", params={"to_do": True}).json()["items"]
    return found


@pytest.mark.parametrize("code", ["en", "nl", "ar"])
def test_who_takes_mail_and_holds_a_link_is_written_to_once(
    register: Register, coordinator: TestClient, code: str
) -> None:
    into_folder(register)
    number, _ = wearing(coordinator, language=code)
    link(coordinator, number, contact=mother(coordinator, number))
    assert [ask_all(register) for _ in range(2)] == [1, 0]
    (mail,) = mails(register)
    assert mail["Subject"] == words(code)("How is it going?")
    assert words(code)("Open your link and answer a few short questions.") in mail.get_content()
    register.clock.forward(days=30)
    assert ask_all(register) == 0
    register.clock.forward(days=45)  # three months after the fitting
    assert ask_all(register) == 1


@pytest.mark.parametrize("reach", [{"reach_by": "phone", "phone": "01632 960 200"}, {"reach_by": "mail"}])
def test_everybody_else_is_rung_and_not_if_they_said_it_meanwhile(
    register: Register, coordinator: TestClient, number: str, reach: dict[str, str]
) -> None:
    mother(coordinator, number, **reach)  # without a link, mail could not be answered
    assert ask_all(register) == 1
    (call,) = to_ring(coordinator)
    assert call["channel"] == "call"
    body = coordinator.get(f"/api/v1/messages/{call['id']}").json()["body"]
    assert f"/recipients/{number}/follow-ups/new?device=" in body
    assert say(coordinator, number, outcome="not_reached").status_code == 201
    assert len(to_ring(coordinator)) == 1
    assert say(coordinator, number, used=True).status_code == 201
    assert to_ring(coordinator) == []
    with register.db.reading() as session:
        assert session.scalars(sa.select(MessageRow.problem)).all() == ["They said it meanwhile."]


def test_who_wants_no_mail_is_rung(register: Register, coordinator: TestClient, number: str) -> None:
    link(coordinator, number, contact=mother(coordinator, number, phone="01632 960 200"))
    with register.db.writing() as session:
        from service.notifications.links import mailbox  # noqa: PLC0415 what the wish is kept by
        from service.notifications.tables import StoppedRow  # noqa: PLC0415

        session.add(StoppedRow(mailbox=mailbox(MOTHER["email"]), stopped_at=register.clock()))
    assert ask_all(register) == 1
    assert [each["channel"] for each in to_ring(coordinator)] == ["call"]


def test_a_family_is_not_asked_twice_in_a_week(register: Register, coordinator: TestClient, number: str) -> None:
    mother(coordinator, number)
    bicycle = device(coordinator, number, purpose="cycling")
    socket(coordinator, number, bicycle, "2026-02-11")
    assert [ask_all(register) for _ in range(2)] == [1, 0]
    register.clock.forward(days=8)
    assert ask_all(register) == 1


def test_with_nobody_on_record_nobody_is_told_and_the_list_says_so(
    register: Register, coordinator: TestClient, number: str
) -> None:
    assert ask_all(register) == 0
    (due,) = coordinator.get("/api/v1/follow-ups").json()["items"]
    assert (due["case_number"], due["late"]) == (number, True)


@pytest.fixture
def shop(register: Register) -> Workshop:
    return workshop(register)


def test_no_mail_asks_while_a_check_is_due_this_week(register: Register, shop: Workshop) -> None:
    mother(shop.coordinator, shop.number)
    build = shop.opened()
    assert shop.fit(shop.delivered(build)).status_code == 201
    register.clock.forward(days=14)
    checks = [each for each in shop.coordinator.get("/api/v1/follow-ups").json()["items"] if each["build"] == build]
    assert [each["name"] for each in checks] == ["wear_in", "two_weeks"]
    assert sum(each["questions"] for each in checks) == 1
    assert ask_all(register) == 0
    assert shop.checked(build, kind="follow_up").status_code == 201
    assert ask_all(register) == 0  # they were rung today
    register.clock.forward(days=8)
    assert ask_all(register) == 1
