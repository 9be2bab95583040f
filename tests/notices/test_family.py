"""What a family reads on its own first page while a notice concerns a device of theirs, and what it answers."""

from __future__ import annotations

import pytest

from service.words.catalogue import words
from tests.assembly.things import put
from tests.conftest import Register
from tests.devices.worn import device
from tests.family.people import let_in, link, send
from tests.gate.things import Workshop, agreed_case, workshop
from tests.notices.things import WHY, closed, devices, off, opened

UNSAFE = "A part of the device may not be safe."


@pytest.fixture
def shop(register: Register) -> Workshop:
    return workshop(register)


def test_the_first_page_says_it_first_while_the_part_is_there(shop: Workshop) -> None:
    home = link(shop.coordinator, shop.number)
    family = let_in(shop.register, home)
    assert UNSAFE not in family.get(home).text
    notice = opened(shop.coordinator, version=shop.version)["id"]
    page = family.get(home).text
    assert f"<h1>{UNSAFE}</h1>" in page
    assert page.index("Please stop using it today") < page.index(WHY) < page.index("+44 1632 960 011")
    assert page.index("+44 1632 960 011") < page.index("We stopped using it") < page.index("Hello Ines.")
    assert "We looked and found nothing" not in page

    said = send(family, f"{home}/notices/{notice}", {"answer": "still_worn"}, opened=home)
    assert said.status_code == 303, said.text
    assert "Please stop now, and call us." in family.get(home).text
    send(family, f"{home}/notices/{notice}", {"answer": "stopped"}, opened=home)
    assert "Thank you. We send another part." in family.get(home).text
    (held,) = devices(shop.coordinator, notice).values()
    assert held["answer"] == "stopped"

    off(shop.coordinator, shop.number, shop.place)
    assert UNSAFE not in family.get(home).text
    assert closed(shop.coordinator, notice).status_code == 200


def test_who_is_asked_to_look_may_have_found_nothing(shop: Workshop) -> None:
    home = link(shop.coordinator, shop.number)
    family = let_in(shop.register, home)
    notice = opened(shop.coordinator, version=shop.version, todo="look")["id"]
    page = family.get(home).text
    assert "Please look at it today." in page
    assert "We looked and found nothing" in page
    send(family, f"{home}/notices/{notice}", {"answer": "looked"}, opened=home)
    assert devices(shop.coordinator, notice)[shop.device]["answer"] == "looked"


@pytest.mark.parametrize("code", ["nl", "ar"])
def test_it_is_said_in_their_language(shop: Workshop, code: str) -> None:
    home = link(shop.coordinator, shop.number)
    family = let_in(shop.register, home)
    opened(shop.coordinator, version=shop.version)
    page = family.get(f"{home}?lang={code}").text
    for sentence in (UNSAFE, "Please stop using it today, and keep it.", "We stopped using it", "What did you do?"):
        assert words(code)(sentence) in page
        assert sentence not in page


def test_a_family_answers_for_itself_alone(shop: Workshop) -> None:
    number = agreed_case(shop.coordinator, given_name="Bela")
    home = link(shop.coordinator, number)
    family = let_in(shop.register, home)
    notice = opened(shop.coordinator, version=shop.version)["id"]
    refused = send(family, f"{home}/notices/{notice}", {"answer": "stopped"}, opened=f"{home}/skin")
    assert refused.status_code == 404
    assert devices(shop.coordinator, notice)[shop.device]["answer"] is None
    assert UNSAFE not in family.get(home).text
    # What came into the device after the notice was opened counts as much.
    own = device(shop.coordinator, number)
    put(shop.coordinator, number, own, version=shop.version, digit="index")
    assert UNSAFE in family.get(home).text
    stranger = shop.register.browser()
    asked = send(stranger, f"{home}/notices/{notice}", {"answer": "not_worn"}, opened=home)
    assert 'name="month"' in asked.text, "who has not shown who they are is asked"
    assert devices(shop.coordinator, notice)[own]["answer"] is None
    assert send(family, f"{home}/notices/{notice}", {"answer": "stopped"}, opened=home).status_code == 303
    assert devices(shop.coordinator, notice)[own]["answer"] == "stopped"
    assert devices(shop.coordinator, notice)[shop.device]["answer"] is None
