"""Something broke, how many socks, where is my request: as a family taps through."""

from __future__ import annotations

import html
import re
from datetime import timedelta

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.devices.tables import SockReportRow
from service.growth.tables import ForecastRow
from service.requests.rules import Asker
from service.requests.tables import RequestRow
from tests.assembly.things import finger, put
from tests.conftest import Register
from tests.devices.worn import count, device, made, opened, socket
from tests.family.people import let_in, link, send
from tests.requests.asking import done, listed


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return opened(coordinator)


@pytest.fixture
def hand(coordinator: TestClient, number: str) -> int:
    made = device(coordinator, number)
    socket(coordinator, number, made)
    return made


@pytest.fixture
def home(coordinator: TestClient, number: str) -> str:
    return link(coordinator, number)


@pytest.fixture
def family(register: Register, home: str) -> TestClient:
    return let_in(register, home)


def choices(page: str) -> dict[str, str]:
    """The choices of a page: what each says, and where it leads."""
    found = re.findall(r'<a class="choice" href="([^"]+)">(.+?)</a>', page)
    return {re.sub(r"<[^>]+>", "", said).strip(): html.unescape(address) for address, said in found}


def test_a_broken_finger_is_asked_for_in_under_ten_taps(
    register: Register, coordinator: TestClient, *, family: TestClient, home: str, number: str, hand: int
) -> None:
    place = put(coordinator, number, hand, version=finger(register, digit="index"), digit="index")["place"]
    which = family.get(choices(family.get(home).text)["Something broke"]).text
    assert "What is broken?" in which
    assert which.count("part=index") == 2, "once in the drawing and once in the list"
    what = family.get(choices(which)["1. the first finger"]).text
    assert "What happened to it?" in what
    last = choices(what)["It is broken"]
    fields = dict(pair.split("=") for pair in last.partition("?")[2].split("&"))
    answer = send(family, f"{home}/broken", {**fields, "usable": "no", "words": "It snapped."}, opened=last)
    assert answer.status_code == 201
    assert "We will look for somebody to make it." in answer.text

    (found,) = listed(coordinator, case_number=number)
    assert (found["kind"], found["asker"], found["usable"], found["words"]) == (
        "replacement",
        "family",
        False,
        "It snapped.",
    )
    (part,) = coordinator.get(f"/api/v1/requests/{found['id']}").json()["parts"]
    assert (part["place"], part["digit"], part["happened"]) == (place, "index", "broken")

    again = send(family, f"{home}/broken", {**fields, "usable": "no"}, opened=last)
    assert again.status_code == 201
    assert "You told us before." in again.text
    assert count(register, RequestRow) == 1


def test_several_fingers_and_a_colour_are_told_at_once(
    register: Register, coordinator: TestClient, *, family: TestClient, home: str, number: str, hand: int
) -> None:
    for digit in ("index", "middle", "ring"):
        put(coordinator, number, hand, version=finger(register, digit=digit), digit=digit)
    maker = made(coordinator, "volunteers", {"name": "Mira Lund"})["id"]
    made(coordinator, f"volunteers/{maker}/materials", {"material": "PETG", "colour": "Teal"})
    last = f"{home}/broken?device={hand}&part=index&happened=broken"
    page = family.get(last).text
    assert '<option value="teal">' in page
    assert 'name="also-middle"' in page
    assert 'name="also-index"' not in page, "it is what they came for"
    fields = {"device": str(hand), "part": "index", "happened": "broken", "usable": "no"}
    chosen = {"also-middle": "yes", "colour": "teal"}
    assert send(family, f"{home}/broken", {**fields, **chosen}, opened=last).status_code == 201
    (found,) = listed(coordinator, case_number=number)
    request = coordinator.get(f"/api/v1/requests/{found['id']}").json()
    assert [part["digit"] for part in request["parts"]] == ["index", "middle"]
    assert request["colour"] == "teal"


def test_a_part_that_is_not_there_is_not_asked_for(
    coordinator: TestClient, family: TestClient, home: str, number: str, hand: int
) -> None:
    fields = {"device": str(hand), "part": "index", "happened": "broken", "usable": "no", "also-nose": "yes"}
    refused = send(family, f"{home}/broken", fields, opened=f"{home}/broken?device={hand}&part=index&happened=broken")
    assert refused.status_code == 422
    assert listed(coordinator, case_number=number) == []


def test_something_without_a_name_is_told_in_words(
    coordinator: TestClient, family: TestClient, home: str, number: str, hand: int
) -> None:
    page = choices(family.get(f"{home}/broken").text)["Something else"]
    unsaid = send(family, f"{home}/broken", {"part": "other", "usable": "yes"}, opened=page)
    assert unsaid.status_code == 422
    assert "Something is missing." in unsaid.text
    told = send(family, f"{home}/broken", {"part": "other", "usable": "yes", "words": "A small screw."}, opened=page)
    assert told.status_code == 201
    (found,) = listed(coordinator, case_number=number)
    assert (found["words"], found["usable"], found["device"]) == ("A small screw.", True, hand)


@pytest.mark.parametrize(
    "fields",
    [
        {"part": "index", "happened": "broken", "usable": "no"},
        {"part": "index", "happened": "broken", "usable": "no", "device": "999999999999999999999"},
        {"part": "index", "happened": "eaten", "usable": "no", "device": "1"},
        {"part": "nothing", "happened": "broken", "usable": "maybe", "words": "x"},
        {"part": "other", "words": "x", "device": "x", "usable": "no"},
    ],
)
def test_what_cannot_be_is_asked_again(
    register: Register, family: TestClient, home: str, fields: dict[str, str]
) -> None:
    refused = send(family, f"{home}/broken", fields, opened=f"{home}/broken?part=other&happened=broken")
    assert refused.status_code == 422
    assert count(register, RequestRow) == 0


def test_socks_are_two_taps_and_say_how_long_it_fits(
    register: Register, family: TestClient, home: str, hand: int
) -> None:
    register.run_jobs()
    likely = (register.clock().date() + timedelta(days=122)).isoformat()
    with register.db.writing() as session:
        row = session.scalars(sa.select(ForecastRow).where(ForecastRow.device_id == hand)).one()
        row.answer = {**row.answer, "due": {"p10": likely, "p50": likely, "p90": likely}}
    which = family.get(f"{home}/socks").text
    assert "Which socks do you wear in it today?" in which
    feel = family.get(choices(which)["3 + 1"])
    assert "How does it feel?" in feel.text
    fields = {"device": str(hand), "plies": "3+1", "fit": "snug"}
    for _ in range(2):  # the same again changes nothing
        told = send(family, f"{home}/socks", fields, opened=choices(which)["3 + 1"])
        assert told.status_code == 201
        assert "It should fit for about 4 months." in told.text
    with register.db.reading() as session:
        report = session.execute(sa.select(SockReportRow.plies, SockReportRow.recorded_by)).one()
    assert report == ([3, 1], "the family")
    with register.db.reading() as session:
        assert Asker.FAMILY not in set(session.scalars(sa.select(RequestRow.asker)))


@pytest.mark.parametrize(
    ("plies", "fit", "said", "asks"),
    [
        ("none", "tight", "It is getting too small. If it hurts, take it off.", True),
        ("3", "tight", "It is getting too small. If it hurts, take it off.", True),
        ("none", "snug", "It fits now, but there is no room left.", True),
        ("none", "loose", "Thank you. It still fits.", False),
        ("1", "snug", "Thank you. It still fits.", False),
    ],
)
def test_no_sock_left_asks_for_the_next_socket_once(
    coordinator: TestClient,
    *,
    family: TestClient,
    home: str,
    number: str,
    hand: int,
    plies: str,
    fit: str,
    said: str,
    asks: bool,
) -> None:
    page = f"{home}/socks?plies={plies}"
    for _ in range(2):
        told = send(family, f"{home}/socks", {"device": str(hand), "plies": plies, "fit": fit}, opened=page)
        assert told.status_code == 201
        assert said in told.text
    found = listed(coordinator, case_number=number)
    assert [(each["kind"], each["asker"]) for each in found] == ([("next_socket", "family")] if asks else [])


def test_socks_that_cannot_be_are_asked_again(family: TestClient, home: str, hand: int) -> None:
    for plies, fit in (("lots", "snug"), ("3", "itchy"), ("", "snug"), ("9", "snug")):
        fields = {"device": str(hand), "plies": plies, "fit": fit}
        refused = send(family, f"{home}/socks", fields, opened=f"{home}/socks?plies=3")
        assert refused.status_code == 422, plies


def test_without_a_device_there_is_nothing_to_wear_socks_in(family: TestClient, home: str) -> None:
    assert "There is nothing to wear socks in yet." in family.get(f"{home}/socks").text
    assert choices(family.get(f"{home}/broken").text).keys() == {"Something else"}


def test_where_the_request_is(coordinator: TestClient, family: TestClient, home: str, number: str, hand: int) -> None:
    assert "You have not asked for anything." in family.get(f"{home}/requests").text
    asked = done_ask(coordinator, number)
    page = family.get(f"{home}/requests").text
    assert "We are looking for somebody to make it." in page
    assert "You asked on 2 March." in page
    done(coordinator, asked, "promise", on="2026-03-20")
    assert "You will have it by 20 March." in family.get(f"{home}/requests").text
    assert hand


def test_a_family_sees_and_changes_its_own_case_alone(
    register: Register, coordinator: TestClient, *, family: TestClient, home: str, number: str, hand: int
) -> None:
    other = opened(coordinator, given_name="Tomas")
    theirs = device(coordinator, other)
    put(coordinator, other, theirs, version=finger(register, digit="index"), digit="index")
    done_ask(coordinator, other)
    assert "You have not asked for anything." in family.get(f"{home}/requests").text
    for page, fields in (
        ("broken", {"device": str(theirs), "part": "index", "happened": "lost", "usable": "no"}),
        ("broken", {"device": str(theirs), "part": "other", "words": "x", "usable": "no"}),
        ("socks", {"device": str(theirs), "plies": "3", "fit": "snug"}),
        ("skin", {"device": str(theirs), "signs-warm": "yes"}),
    ):
        opened_page = f"{home}/socks?plies=3" if page == "socks" else f"{home}/skin"
        answer = send(family, f"{home}/{page}", fields, opened=opened_page)
        assert answer.status_code == (201 if page == "skin" else 422), page
    assert len(listed(coordinator, case_number=other)) == 1
    assert count(register, SockReportRow) == 0
    assert number
    assert hand


def done_ask(coordinator: TestClient, number: str) -> int:
    """Ask for a part as the coordinator; returns the request's id."""
    body = {"case_number": number, "kind": "replacement", "words": "A screw.", "usable": True}
    answer = coordinator.post("/api/v1/requests", json=body)
    assert answer.status_code == 201, answer.text
    found: int = answer.json()["id"]
    return found
