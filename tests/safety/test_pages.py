"""The pages of what hurts, as a browser uses them."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.devices.worn import made, opened

EMAIL = "coordinator@example.org"


@pytest.fixture
def api(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def browser(register: Register) -> TestClient:
    open_account(register, Role.COORDINATOR, email=EMAIL)
    return signed_in(register, EMAIL)


def test_an_incident_from_the_report_to_its_end(api: TestClient, browser: TestClient) -> None:
    number = opened(api)
    assert "Nothing was reported." in browser.get("/safety").text
    form = f"/recipients/{number}/incidents/new"
    nothing = post(browser, form, {"kind": "harm", "words": "", "aware_on": "2026-02-10"})
    assert nothing.status_code == 422
    assert 'href="#words"' in nothing.text
    answer = post(browser, form, {"kind": "harm", "words": "She fell on it.", "aware_on": "2026-02-10"})
    page = answer.headers["location"].partition("?")[0]
    shown = browser.get(answer.headers["location"]).text
    assert "Nobody has judged this yet." in shown
    assert "15 days, so by" in shown
    assert "One incident has not been judged yet." in browser.get("/safety").text

    assert post(browser, page, {"how": "other_serious", "why": ""}).status_code == 422
    judged = post(browser, page, {"how": "other_serious", "why": "It needed a doctor."})
    assert judged.headers["location"] == f"{page}?done=incident-judged"
    assert "Ines Duarte judged this serious" in browser.get(page).text
    assert "Judged" in browser.get("/safety").text
    post(browser, page, {"how": "not", "why": "A scratch."})
    assert "judged this not serious" in browser.get(page).text
    post(browser, page, {"how": "other_serious", "why": "It needed a doctor."})

    kept = post(browser, f"{page}/close", {"outcome": "A new wrist.", "reported_on": "", "not_reported_why": ""})
    assert kept.status_code == 422
    assert "A new wrist." in kept.text
    assert kept.text.count('href="#reported_on"') == 1
    assert "This day is over" in browser.get("/safety").text
    why = {"outcome": "A new wrist.", "reported_on": "", "not_reported_why": "The authority was rung and said no."}
    assert post(browser, f"{page}/close", why).headers["location"] == f"{page}?done=incident-closed"
    shown = browser.get(page).text
    assert "Ines Duarte closed this on" in shown
    assert "It was not reported: “The authority was rung and said no.”" in shown
    assert "Record the judgement" not in shown
    assert "This day is over" not in browser.get("/safety").text


def test_a_limb_is_looked_at(register: Register, api: TestClient, browser: TestClient) -> None:
    number = opened(api)
    made(api, f"recipients/{number}/skin-reports", {"signs": ["red_stays"], "words": "At the elbow."})
    listed = browser.get("/safety").text
    assert "One limb should be looked at." in listed
    page = listed.split('href="/reviews/')[1].split('"')[0]
    register.clock.forward(days=3)
    assert "This is late." in browser.get("/safety").text
    answer = post(browser, f"/reviews/{page}", {"outcome": "The liner was folded."})
    assert answer.headers["location"] == "/safety?done=review-done"
    assert "The liner was folded." in browser.get(f"/reviews/{page}").text
    assert "Nothing waits for somebody" in browser.get("/safety").text


def test_a_volunteer_sees_no_form_to_judge(register: Register, api: TestClient) -> None:
    number = opened(api)
    account = open_account(register, Role.VOLUNTEER, email="volunteer@example.org")
    assert api.post(f"/api/v1/recipients/{number}/helpers", json={"account": account}).status_code == 201
    made_incident = made(api, f"recipients/{number}/incidents", {"kind": "harm", "words": "She fell on it."})
    volunteer = signed_in(register, "volunteer@example.org")
    shown = volunteer.get(f"/incidents/{made_incident['id']}").text
    assert "She fell on it." in shown
    assert "Record the judgement" not in shown
