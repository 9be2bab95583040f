"""Who has no account stops by one click what they can do without; a link and what is not safe come all the same."""

from __future__ import annotations

import re
from email.message import EmailMessage
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.notifications.schemas import Person
from service.notifications.tables import StoppedRow
from service.volunteers.tables import VolunteerRow
from service.words.catalogue import languages, words
from tests.conftest import Register
from tests.family.mail import family, into_folder, mails, send_link, somebody_makes_it
from tests.matching.things import offered, recipient, request, version, volunteer
from tests.notifications.told import say

MESSAGES = "/api/v1/messages"
STILL = "That is your link, or a warning that something is not safe."
MAKING = "Somebody is making something for you"
LINK = "Your link to our pages"
ONE_CLICK = {"List-Unsubscribe": "One-Click"}


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    into_folder(register)
    return register.api(Role.COORDINATOR)


def stop_path(mail: EmailMessage) -> str:
    assert mail["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    found = re.fullmatch(r"<http://[^/]+(/unsubscribe/\S+)>", mail["List-Unsubscribe"])
    assert found
    assert found[1] in mail.get_content()
    return found[1]


def by_subject(register: Register, code: str = "en") -> dict[str, EmailMessage]:
    english = {words(code)(each): each for each in (MAKING, LINK)}
    return {english.get(str(mail["Subject"]), str(mail["Subject"])): mail for mail in mails(register)}


@pytest.mark.parametrize("code", languages())
def test_a_family_stops_kindnesses_and_still_gets_its_link_and_what_is_urgent(
    register: Register, coordinator: TestClient, code: str
) -> None:
    number, mother = family(coordinator, code)
    send_link(coordinator, number, mother)
    somebody_makes_it(register, coordinator, number)
    sent = by_subject(register, code)
    assert sent[LINK]["List-Unsubscribe"] is None  # there is nothing to stop about it
    assert words(code)(STILL) in sent[MAKING].get_content()
    path = stop_path(sent[MAKING])

    browser = register.browser()
    asked = browser.get(path)
    assert f'<html lang="{code}" dir="{words(code).direction}">' in asked.text
    assert words(code)("Less mail from us?") in asked.text
    assert words(code)(STILL) in asked.text
    assert is_told(register, coordinator, number, code)  # looking stops nothing
    stopped = browser.post(path, data=ONE_CLICK)
    assert stopped.status_code == 200
    assert words(code)("You get less mail from us now.") in stopped.text
    assert words(code)(STILL) in stopped.text
    assert browser.post(path, data=ONE_CLICK).status_code == 200

    assert not is_told(register, coordinator, number, code)
    problems = {each["problem"] for each in coordinator.get(MESSAGES).json()["items"] if each["state"] == "dropped"}
    assert problems == {"They asked for no messages by mail."}
    url = send_link(coordinator, number, mother)
    say(register, key="notice", to=Person("Ada", email=" ADA@example.org"), subject="Stop using it", urgent=True)
    texts = [mail.get_content() for mail in mails(register)]
    assert any(url in text for text in texts)
    assert "Stop using it" in by_subject(register)
    assert by_subject(register)["Stop using it"]["List-Unsubscribe"] is None

    again = re.search(r'action="(/unsubscribe/[^"]+/again[^"]*)"', stopped.text)
    assert again
    assert words(code)("We write to you again.") in browser.post(again[1]).text
    assert is_told(register, coordinator, number, code)


def is_told(register: Register, coordinator: TestClient, number: str, code: str) -> bool:
    """Whether it is mailed that something more is made."""
    before = makings(register, code)
    somebody_makes_it(register, coordinator, number)
    return makings(register, code) == before + 1


def makings(register: Register, code: str) -> int:
    return len([mail for mail in mails(register) if mail["Subject"] == words(code)(MAKING)])


def asked(register: Register, coordinator: TestClient) -> dict[str, Any]:
    """A volunteer without an account is asked to make something; returns what was written to them."""
    request(register, recipient(register), version_id=version(register))
    offered(coordinator)
    newest: dict[str, Any] = coordinator.get(MESSAGES).json()["items"][0]
    return newest


@pytest.mark.parametrize(("phone", "then"), [("01 200 300", ("call", "waiting")), ("", ("mail", "dropped"))])
def test_a_volunteer_without_an_account_stops_offers_by_mail_and_is_rung(
    register: Register, coordinator: TestClient, phone: str, then: tuple[str, str]
) -> None:
    number = volunteer(register, "Bo", at_once=9)
    with register.db.writing() as session:
        contact = {"email": "bo@example.org", "phone": phone}
        session.execute(sa.update(VolunteerRow).where(VolunteerRow.id == number).values(**contact))
    first = asked(register, coordinator)
    assert (first["channel"], first["to_address"]) == ("mail", "bo@example.org")
    (mail,) = mails(register)
    assert register.browser().post(stop_path(mail), data=ONE_CLICK).status_code == 200
    second = asked(register, coordinator)
    assert (second["channel"], second["state"]) == then
    assert len(mails(register)) == 1


def test_what_waits_for_the_morning_is_stopped_too_but_not_a_link(register: Register, coordinator: TestClient) -> None:
    number, mother = family(coordinator)
    send_link(coordinator, number, mother)
    somebody_makes_it(register, coordinator, number)
    path = stop_path(by_subject(register)[MAKING])
    register.clock.forward(hours=12)
    somebody_makes_it(register, coordinator, number)
    send_link(coordinator, number, mother)
    say(register, key="another", to=Person("Noor", email="noor@example.org"))
    register.run_jobs()
    assert register.browser().post(path, data=ONE_CLICK).status_code == 200
    states = {each["subject"]: each["state"] for each in reversed(coordinator.get(MESSAGES).json()["items"])}
    assert states == {
        LINK: "waiting",
        MAKING: "dropped",
        "Something to print": "waiting",
        "Would you make this?": "waiting",
    }


def test_of_an_address_only_a_hash_is_kept_and_only_the_mails_own_link_stops_it(
    register: Register, coordinator: TestClient
) -> None:
    say(register, to=Person("Noor", email="Noor@example.org"))
    path = stop_path(mails(register)[0]).partition("?")[0]
    name, _, proof = path.rpartition("/")[2].partition(".")
    browser = register.browser()
    for wrong in (f"{name}.{'0' * 40}", f"m{'0' * 40}.{proof}", name, f"{name[1:]}.{proof}", f"{name}é.{proof}"):
        for answer in (browser.get(f"/unsubscribe/{wrong}"), browser.post(f"/unsubscribe/{wrong}")):
            assert answer.status_code == 404
        assert browser.post(f"/unsubscribe/{wrong}/again").status_code == 404
    browser.post(path)
    with register.db.reading() as session:
        (kept,) = session.scalars(sa.select(StoppedRow.mailbox)).all()
    assert "noor" not in kept
    assert not say_and_send(register, "noor@example.org")
    assert say_and_send(register, "nora@example.org")


def say_and_send(register: Register, address: str) -> bool:
    before = len(mails(register))
    say(register, key=f"to {address}", to=Person("Noor", email=address))
    return len(mails(register)) == before + 1


def test_who_has_an_account_takes_it_back_by_signing_in(register: Register, coordinator: TestClient) -> None:
    account = register.account(Role.VOLUNTEER)
    say(register, to=Person("Noor", email="noor@example.org", account_id=account))
    path = stop_path(mails(register)[0])
    browser = register.browser()
    assert "once you are signed in" in browser.post(path).text
    assert browser.post(f"{path}/again").status_code == 422
    assert register.api(account=account).get("/api/v1/me/wishes").json()["wants_mail"] is False
