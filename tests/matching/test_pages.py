"""The pages of matching as a browser uses them."""

from __future__ import annotations

import re
from datetime import timedelta
from html import unescape
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import START, Register
from tests.matching.things import (
    coordinator,
    offered,
    planned,
    recipient,
    request,
    town,
    version,
    volunteer,
)

EMAIL = "coordinator@example.org"


@pytest.fixture
def browser(register: Register) -> TestClient:
    open_account(register, Role.COORDINATOR, email=EMAIL)
    return signed_in(register, EMAIL)


@pytest.fixture
def asked(register: Register) -> int:
    here = town(register, "Saltby", 52.0)
    volunteer(register, "Bo", town_id=here, vetted_until=START.date() + timedelta(days=90), colours=("red",))
    volunteer(register, "Cy", town_id=town(register, "Farmere", 53.0))
    return request(register, recipient(register, town_id=here), colour="red", version_id=version(register))


def said(page: str) -> str:
    """A page's words, without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_from_nothing_to_an_offer(register, browser, asked):
    page = browser.get("/plans").text
    assert "One request waits for somebody to make it." in said(page)
    assert "No plan was made yet." in page
    made = post(browser, "/plans", {"site": "harbour"})
    assert made.status_code == 303
    plan = browser.get(made.headers["location"]).text
    assert "One request has somebody to make it, all in time." in said(plan)
    assert "It is proved that no other plan is better" in plan
    assert "Ines, replacement: Bo" in plan
    opened = made.headers["location"]
    done = post(browser, f"{opened}/accept", {f"request-{asked}": "yes"}, opened=opened)
    assert done.headers["location"].endswith("?done=offers-made")
    after = said(browser.get(done.headers["location"]).text)
    assert "They are asked, each with a message." in after
    assert "waiting for an answer" in after
    assert "All of it is offered." in after
    listed = said(browser.get("/assignments").text)
    assert "One offer waits for an answer." in listed
    assert "Replacement for Ines: Bo" in listed


def test_somebody_else_is_chosen_with_a_reason(register, browser, asked):
    plan = post(browser, "/plans", {"site": "harbour"}).headers["location"]
    page = f"/requests/{asked}/candidates?plan={plan.rsplit('/', 1)[1]}"
    shown = said(browser.get(page).text)
    assert "Two volunteers of two could take it; the plan proposes Bo." in shown
    assert "goes into the Cy's printer" in shown
    cy = next(each["volunteer"] for each in candidates(register, asked) if each["name"] == "Cy")
    silent = post(browser, page, {"volunteer": str(cy), "why": ""})
    assert silent.status_code == 422
    assert re.search(rf'value="{cy}" checked', silent.text), "what was chosen is still there"
    assert post(browser, page, {"volunteer": str(cy), "why": "Bo is ill."}).status_code == 303
    assert "Cy" in said(browser.get("/assignments").text)


def candidates(register: Register, asked: int) -> list[Any]:
    return list(coordinator(register).get(f"/api/v1/requests/{asked}/candidates").json())


def test_what_could_not_be_offered_is_said_on_the_page(register, browser, asked):
    plan = post(browser, "/plans", {"site": "harbour"}).headers["location"]
    cy = next(each["volunteer"] for each in candidates(register, asked) if each["name"] == "Cy")
    instead = [{"request": asked, "volunteer": cy, "why": "Bo is ill."}]
    offer = offered(coordinator(register), requests=[], instead=instead)["offers"][0]
    coordinator(register).post(f"/api/v1/offers/{offer['id']}/accept", json={})
    answer = post(browser, f"{plan}/accept", {f"request-{asked}": "yes"}, opened="/plans")
    assert answer.status_code == 200
    assert "Not everything was offered" in answer.text


def test_trying_weights_says_which_proposals_change_and_keeps_nothing(register, browser, asked):
    page = said(browser.get("/matching-weights").text)
    assert "A plan is the one with the fewest points" in page
    same = said(browser.get("/matching-weights?late=10").text)
    assert "A plan is the one with the fewest points" in same
    tried = browser.get("/matching-weights?colour=0&post=0&distance=1000&late=0&load=0").text
    assert "Weighed so" in tried
    assert post(browser, "/matching-weights", {"colour": "40"}, opened="/plans").status_code == 303
    assert coordinator(register).get("/api/v1/matching-weights").json()["colour"] == 40
    assert browser.get("/matching-weights?colour=9999").status_code == 422


def test_an_offer_is_answered_and_taken_back_on_its_page(register, browser, asked):
    offer = offered(coordinator(register))["offers"][0]
    page = f"/assignments/{offer['id']}"
    assert "Asked of Bo, until 6 March ." in said(browser.get(page).text)
    assert post(browser, f"{page}/accept", {}, opened=page).status_code == 303
    assert "to make by 16 March ." in said(browser.get(page).text)
    late = post(browser, f"{page}/decline", {}, opened=page)
    assert late.status_code == 422
    assert "accepted already" in late.text
    silent = post(browser, f"{page}/take-back", {"why": ""}, opened=page)
    assert silent.status_code == 422
    assert post(browser, f"{page}/take-back", {"why": "Ill."}, opened=page).status_code == 303
    assert "taken back" in browser.get(page).text


def test_a_volunteer_finds_what_is_asked_of_them(register, asked):
    open_account(register, Role.VOLUNTEER, email="di@example.org")
    browser = signed_in(register, "di@example.org")
    assert "Nothing is asked of you." in browser.get("/assignments").text
    assert browser.get("/plans").status_code == 403


def test_the_states_of_a_link_say_what_is_so(register, asked):
    offer = offered(coordinator(register))["offers"][0]
    page = said(register.browser().get(f"/offers/{offer['link']}").text)
    assert "Bo, would you make this by 16 March ?" in page
    coordinator(register).post(f"/api/v1/offers/{offer['id']}/decline", json={})
    assert "somebody else is asked" in said(register.browser().get(f"/offers/{offer['link']}").text)
    assert register.browser().get("/offers/none").status_code == 404
    planned(coordinator(register))
