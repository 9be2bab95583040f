"""Mail goes out once, to the right place, says no more than it should, and what does not get through is not lost."""

from __future__ import annotations

import email
import re
import socket
from collections.abc import Iterator
from email.message import EmailMessage
from email.policy import default
from pathlib import Path
from typing import Any

import pytest
from aiosmtpd.controller import Controller

from service.access.permissions import Role
from service.notifications.schemas import Person
from service.worker import run_one
from tests.conftest import Register
from tests.notifications.told import say

MESSAGES = "/api/v1/messages"


class Box:
    """A mail server's inside: keeps what it takes, and answers as it is told to."""

    def __init__(self) -> None:
        self.taken: list[bytes] = []
        self.answer = "250 taken"

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:  # noqa: N802 named by aiosmtpd
        if self.answer.startswith("250"):
            self.taken.append(envelope.content)
        return self.answer

    def mails(self) -> list[EmailMessage]:
        return [email.message_from_bytes(each, policy=default) for each in self.taken]


@pytest.fixture
def box(register: Register) -> Iterator[Box]:
    inside = Box()
    with socket.socket() as free:  # the server cannot ask for a free port itself
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    server = Controller(inside, hostname="127.0.0.1", port=port)
    server.start()
    register.settings = register.settings.model_copy(update={"smtp_url": f"smtp://127.0.0.1:{port}"})
    yield inside
    server.stop()


def state(register: Register, number: int = 1) -> Any:
    return register.api(Role.COORDINATOR).get(f"{MESSAGES}/{number}").json()


def test_a_mail_is_sent_once_as_plain_text(register: Register, box: Box) -> None:
    say(register, body="Open it here:\n/offers/abc")
    assert register.run_jobs() == 1
    say(register)
    register.run_jobs()
    (mail,) = box.mails()
    assert mail["To"] == "noor@example.org"
    assert mail["Subject"] == "Something to print"
    assert mail.get_content_type() == "text/plain"
    assert f"{register.settings.base_url}/offers/abc" in mail.get_content()
    assert mail["Message-ID"].endswith("@localhost>")
    assert state(register)["state"] == "sent"


def test_a_lost_record_sends_a_duplicate_that_can_be_known(
    register: Register, box: Box, monkeypatch: pytest.MonkeyPatch
) -> None:
    say(register)
    with monkeypatch.context() as lost:
        lost.setattr("service.worker.finish", lambda *_: False)
        run_one(register.db, register.clock, register.settings)
    register.clock.forward(minutes=5)
    register.run_jobs()
    first, second = box.mails()
    assert first["Message-ID"] == second["Message-ID"]


def test_a_secret_address_is_forgotten_once_it_is_sent(register: Register, box: Box) -> None:
    secret = "abcdefghijklmnopqrstuvwxyz0123456789"
    say(register, body=f"Open it here:\n/family/{secret}")
    register.run_jobs()
    assert secret in box.mails()[0].get_content()
    assert secret not in state(register)["body"]


def test_a_server_that_is_not_ready_is_tried_again_and_in_the_end_a_person_sees_to_it(
    register: Register, box: Box
) -> None:
    box.answer = "451 later"
    say(register)
    for _ in range(6):
        register.run_jobs()
        register.clock.forward(days=2)
    failed = state(register)
    assert (failed["state"], failed["tries"]) == ("failed", 6)
    client = register.api(Role.COORDINATOR)
    assert len(client.get(MESSAGES, params={"to_do": True}).json()["items"]) == 1
    box.answer = "250 taken"
    assert client.post(f"{MESSAGES}/1/again").status_code == 200
    register.run_jobs()
    assert state(register)["state"] == "sent"
    assert len(box.taken) == 1


@pytest.mark.parametrize("address", ["nobody", "a@b@c", "a b@example.org"])
def test_an_address_that_is_none_is_for_a_person_at_once(register: Register, box: Box, address: str) -> None:
    say(register, to=Person("Noor", email=address))
    register.run_jobs()
    assert state(register)["state"] == "failed"
    assert box.taken == []


def test_a_refusal_for_good_is_not_tried_again(register: Register, box: Box) -> None:
    box.answer = "550 no such box"
    say(register)
    register.run_jobs()
    assert state(register)["state"] == "failed"
    assert "550" in state(register)["problem"]


def test_without_a_server_mail_waits_and_goes_out_once_there_is_one(register: Register, tmp_path: Path) -> None:
    say(register)
    register.run_jobs()
    assert state(register)["state"] == "waiting"
    assert "HANDSPAN_SMTP_URL" in state(register)["problem"]
    register.settings = register.settings.model_copy(update={"mail_folder": tmp_path / "mail"})
    register.clock.forward(hours=2)
    register.run_jobs()
    (file,) = (tmp_path / "mail").glob("*.eml")
    assert b"A part is wanted by Friday." in file.read_bytes()
    assert state(register)["state"] == "sent"


def test_a_weeks_messages_come_in_one_mail_and_what_is_urgent_at_once(register: Register, box: Box) -> None:
    account = register.account(Role.VOLUNTEER)
    register.api(account=account).put("/api/v1/me/wishes", json={"digest_day": 3})
    person = Person("Noor", email="noor@example.org", account_id=account)
    for number in (1, 2):
        say(register, key=f"k{number}", to=person, body=f"Matter {number}.")
    say(register, key="now", to=person, body="Stop using it.", urgent=True)
    register.run_jobs()
    assert [mail["Subject"] for mail in box.mails()] == ["Something to print"]
    register.clock.forward(days=3, hours=1)
    register.run_jobs()
    digest = box.mails()[-1]
    assert len(box.taken) == 2
    assert digest["Subject"].startswith("2 messages")
    assert "Matter 1." in digest.get_content()
    assert "Matter 2." in digest.get_content()


def test_one_click_stops_the_mail(register: Register, box: Box) -> None:
    account = register.account(Role.VOLUNTEER)
    person = Person("Noor", email="noor@example.org", account_id=account)
    say(register, key="a", to=person)
    register.run_jobs()
    (mail,) = box.mails()
    assert mail["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    found = re.fullmatch(r"<http://[^/]+(/unsubscribe/\S+)>", mail["List-Unsubscribe"])
    assert found
    browser = register.browser()
    assert "Stop the mail?" in browser.get(found[1]).text
    say(register, key="b", to=person)
    assert browser.post(found[1], data={"List-Unsubscribe": "One-Click"}).status_code == 200
    assert browser.post(found[1]).status_code == 200
    register.run_jobs()
    assert len(box.taken) == 1
    say(register, key="c", to=person, urgent=True)
    register.run_jobs()
    assert len(box.taken) == 2
    for wrong in (f"/unsubscribe/{account}.{'0' * 40}", "/unsubscribe/x", found[1][:-1]):
        assert browser.get(wrong).status_code == 404
        assert browser.post(wrong).status_code == 404
