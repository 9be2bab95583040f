"""What a family says on its pages, and what becomes of it."""

from __future__ import annotations

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.audit.tables import AuditRow
from service.family.tables import SaidRow
from service.safety.rules import SIGNS, SKIN, Sign
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.devices.worn import count, opened
from tests.family.people import let_in, link, send


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return opened(coordinator)


@pytest.fixture
def home(coordinator: TestClient, number: str) -> str:
    return link(coordinator, number)


@pytest.fixture
def family(register: Register, home: str) -> TestClient:
    return let_in(register, home)


@pytest.mark.parametrize("sign", SIGNS)
def test_what_to_do_is_said_first(
    coordinator: TestClient, family: TestClient, home: str, number: str, sign: Sign
) -> None:
    answer = send(family, f"{home}/skin", {f"signs-{sign}": "yes", "words": "At the elbow."})
    advice = SKIN[SIGNS[sign][0]]
    assert answer.status_code == 201
    assert f"<h1>{advice.say}</h1>" in answer.text
    assert advice.then.format(day="4 March") in answer.text
    incidents = coordinator.get("/api/v1/incidents").json()["items"]
    reviews = coordinator.get("/api/v1/reviews").json()["items"]
    assert len(incidents) == advice.opens_incident
    assert len(reviews) == (advice.look is not None)
    for each in [*incidents, *reviews]:
        assert (each["case_number"], each["opened_by"]) == (number, "the family")
        assert each["words"].endswith("At the elbow.")


def test_a_form_with_nothing_chosen_comes_back_with_what_was_written(family: TestClient, home: str) -> None:
    refused = send(family, f"{home}/skin", {"words": "At the elbow.", "signs-itch": "yes"})
    assert refused.status_code == 422
    assert "Something is missing." in refused.text
    assert "At the elbow." in refused.text
    assert send(family, f"{home}/say", {"kind": "shout"}).status_code == 422
    assert send(family, f"{home}/worry", {"words": ""}).status_code == 422


@pytest.mark.parametrize("kind", ["thanks", "stop", "data", "link_lost"])
def test_what_is_said_reaches_the_coordinator_who_sees_to_it(
    register: Register, family: TestClient, home: str, number: str, kind: str
) -> None:
    open_account(register, Role.COORDINATOR)
    browser = signed_in(register)
    answer = send(family, f"{home}/say", {"kind": kind, "words": "From all of us."})
    assert answer.status_code == 201
    assert "Thank you for telling us." in answer.text
    page = browser.get(f"/recipients/{number}/family").text
    assert "From all of us." in page
    assert ("withdraw" in page) == (kind == "stop")
    assert family.get(home).status_code == (404 if kind == "link_lost" else 200)
    with register.db.reading() as session:
        said = session.scalars(sa.select(SaidRow.id)).one()
    settled = post(
        browser, f"/recipients/{number}/family/words/{said}/settled", {}, opened=f"/recipients/{number}/family"
    )
    assert settled.status_code == 303
    assert "saw to it" in browser.get(f"/recipients/{number}/family").text


def test_sent_twice_it_is_said_once(register: Register, family: TestClient, home: str) -> None:
    for _ in range(2):
        assert send(family, f"{home}/say", {"kind": "thanks"}).status_code == 201
    assert count(register, SaidRow) == 1


def test_a_worry_goes_to_the_safeguarding_lead_and_leaves_no_trace(
    register: Register, coordinator: TestClient, family: TestClient, home: str, number: str
) -> None:
    words = "He asked me to keep a secret."
    assert send(family, f"{home}/worry", {"words": words}).status_code == 201
    (found,) = register.api(Role.SAFEGUARDING_LEAD).get("/api/v1/concerns").json()["items"]
    assert (found["words"], found["case_number"], found["raised_by"]) == (words, number, "the family")
    assert words not in coordinator.get(f"/api/v1/recipients/{number}/case").text
    with register.db.reading() as session:
        assert "concern" not in set(session.scalars(sa.select(AuditRow.subject)))


def test_a_coordinator_makes_and_ends_a_link(register: Register, number: str) -> None:
    open_account(register, Role.COORDINATOR)
    browser = signed_in(register)
    page = f"/recipients/{number}/family"
    assert "pages yet." in browser.get(page).text
    shown = post(browser, page, {})
    assert shown.status_code == 201
    key = shown.text.split('class="measure">')[1].split("<")[0].rpartition("/")[2]
    assert register.browser().get(f"/family/{key}").status_code == 200
    again = browser.get(page).text
    assert "not opened yet" in again
    assert key not in again
    ending = again.split(f'action="{page}/links/')[1].split("/end")[0]
    assert post(browser, f"{page}/links/{ending}/end", {}, opened=page).status_code == 303
    assert register.browser().get(f"/family/{key}").status_code == 404
