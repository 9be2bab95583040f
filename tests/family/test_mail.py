"""What is sent to a family is in its language, whoever sends it; whoever rings them can read it too."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.notifications.families import FAMILY, FamilyMessage, written
from service.words.catalogue import languages, words
from tests.accounts.people import open_account, signed_in
from tests.conftest import Register
from tests.family.mail import family, into_folder, mails, send_link, somebody_makes_it, yes
from tests.family.sentences import every_sentence

MESSAGES = "/api/v1/messages"
MEANT = "If this was not meant for you, please delete it and tell us."
MAKING = "Somebody is making something for you"
LINK_SUBJECTS = {"en": "Your link to our pages", "nl": "Je link naar onze pagina\u2019s", "ar": "رابطك إلى صفحاتنا"}


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    into_folder(register)
    return register.api(Role.COORDINATOR)


def test_every_message_is_said_in_every_language():
    assert set(FAMILY) == set(FamilyMessage)
    assert {each for text in FAMILY.values() for each in (text.subject, *text.sentences)} <= every_sentence()
    for message in FamilyMessage:
        said = {written(message, code, "", {}) for code in languages()}
        assert len(said) == len(languages()) >= 3


@pytest.mark.parametrize(("spoken", "code"), [("en", "en"), ("nl", "nl"), ("ar", "ar"), ("pl", "en")])
def test_a_link_comes_in_the_familys_language_or_in_english(
    register: Register, coordinator: TestClient, spoken: str, code: str
) -> None:
    number, mother = family(coordinator, spoken)
    url = send_link(coordinator, number, mother)
    (mail,) = mails(register)
    assert mail["Subject"] == LINK_SUBJECTS[code]
    assert mail["Content-Language"] == code
    text = mail.get_content().replace("\r\n", "\n")
    for said in (words(code)("This link is for you and your family."), words(code)(MEANT), words(code)("Hello.")):
        assert said in text
    assert f"\n{url}\n" in text
    assert f"{words(code)('You can call us:')} +44 1632 960 011" in text
    assert (MEANT in text) is (code == "en")
    (message,) = coordinator.get(MESSAGES).json()["items"]
    assert message["language"] == code
    assert message["in_english"] == ("" if code == "en" else LINK_SUBJECTS["en"])


@pytest.mark.parametrize("code", languages())
def test_who_holds_a_link_hears_once_in_their_words_that_somebody_makes_it(
    register: Register, coordinator: TestClient, code: str
) -> None:
    number, mother = family(coordinator, code)
    family(coordinator, code, email="another@example.org")  # another case, and nothing is made for it
    offer = somebody_makes_it(register, coordinator, number)
    assert not [mail for mail in mails(register) if mail["To"] == "ada@example.org"]  # she holds no link
    send_link(coordinator, number, mother)
    for again in (1, 2):
        taken_back = coordinator.post(f"/api/v1/offers/{offer}/take-back", json={"why": f"Ill, {again}."})
        assert taken_back.status_code == 200
        offer = yes(coordinator)
    (making,) = [mail for mail in mails(register) if mail["Subject"] == words(code)(MAKING)]
    assert making["To"] == "ada@example.org"
    assert words(code)("Good news: somebody is making something for you.") in making.get_content()


@pytest.mark.parametrize("code", languages())
def test_who_rings_them_reads_english_and_has_their_words_to_say(
    register: Register, coordinator: TestClient, code: str
) -> None:
    number, mother = family(coordinator, code, reach_by="text", email="", phone="01 200 300")
    send_link(coordinator, number, mother)
    (task,) = coordinator.get(MESSAGES, params={"to_do": True}).json()["items"]
    assert (task["channel"], task["subject"], task["language"]) == ("call", LINK_SUBJECTS["en"], code)
    body = coordinator.get(f"{MESSAGES}/{task['id']}").json()["body"]
    assert "This link is for you and your family." in body
    assert body.count(words(code)("This link is for you and your family.")) == 1
    assert ("to read out or to send" in body) is (code != "en")


def test_a_letter_is_in_their_language_and_its_page_says_what_it_is(
    register: Register, coordinator: TestClient
) -> None:
    number, mother = family(coordinator, "ar", reach_by="letter", email="", address="7 Kiln Lane")
    send_link(coordinator, number, mother)
    (task,) = coordinator.get(MESSAGES, params={"to_do": True}).json()["items"]
    assert (task["channel"], task["subject"], task["language"]) == ("letter", LINK_SUBJECTS["ar"], "ar")
    open_account(register, Role.COORDINATOR)
    browser = signed_in(register)
    page = browser.get(f"/messages/{task['id']}")
    assert f"<h1>{LINK_SUBJECTS['en']}</h1>" in page.text
    assert f'<p lang="ar" dir="auto"><strong>{LINK_SUBJECTS["ar"]}</strong></p>' in page.text
    assert (
        f'{LINK_SUBJECTS["en"]} (<span lang="ar" dir="auto">{LINK_SUBJECTS["ar"]}</span>)'
        in browser.get("/messages").text
    )
