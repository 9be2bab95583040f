"""What the case page tells of what has happened."""

from __future__ import annotations

import re
from datetime import date

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.casefile import casepage
from tests.assembly import things
from tests.casefile.people import fitted, measured, opened
from tests.casefile.test_pages import as_somebody, words
from tests.conftest import Register


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def browser(register: Register) -> TestClient:
    return as_somebody(register, Role.COORDINATOR)


def test_the_history_keeps_what_was_corrected_with_who_and_why(coordinator: TestClient, browser: TestClient) -> None:
    number = opened(coordinator)
    session = measured(coordinator, number, "2026-02-20", 181)
    reading = session["readings"][0]["id"]
    slip = {
        "reading": reading,
        "values": [171],
        "unit": "mm",
        "why": "The point was in the wrong place.",
        "confirmed": True,
    }
    answer = coordinator.post(f"/api/v1/recipients/{number}/measurements/{session['id']}/corrections", json=slip)
    assert answer.status_code == 201, answer.text

    page = browser.get(f"/recipients/{number}").text
    assert "<s>left residual limb girth at 60 mm: 181.0 mm</s>" in page
    assert f"/readings/{reading}/correct" not in page
    said = words(browser, f"/recipients/{number}")
    assert "struck through by coordinator, 2 March 2026: The point was in the wrong place." in said
    assert "171.0 mm (put in place of the one struck through)" in said
    assert page.count('class="point corrected"') == 1


def test_the_history_tells_sockets_settings_and_where_the_case_stood(
    coordinator: TestClient, browser: TestClient
) -> None:
    number = opened(coordinator)
    socket = fitted(coordinator, number)
    device = coordinator.get(f"/api/v1/recipients/{number}/devices").json()["items"][0]["id"]
    root = f"/api/v1/recipients/{number}"
    ended = {"ended_on": "2026-02-20", "end_reason": "outgrown"}
    setting = {"set_on": "2026-02-01", "name": "grip strength", "value": "40", "unit": "%"}
    assert coordinator.post(f"{root}/devices/{device}/sockets/{socket}/end", json=ended).status_code in {200, 201}
    assert coordinator.post(f"{root}/devices/{device}/settings", json=setting).status_code == 201
    assert coordinator.patch(root, json={"state": "paused", "state_reason": "is travelling"}).status_code == 200
    said = words(browser, f"/recipients/{number}")
    for sentence in (
        "A socket was fitted to the left everyday device",
        "tight at a residual limb girth at 60 mm of 190.0 mm",
        "The socket of the left everyday device came off: outgrown",
        "grip strength of the left everyday device set to 40 %",
        "The case became paused; it was active",
        "This case has been paused since 2 March: is travelling.",
    ):
        assert sentence in said, said


def test_the_history_tells_what_was_agreed_to_and_what_changed_of_allergies_and_prescriber(
    coordinator: TestClient, browser: TestClient
) -> None:
    number = opened(coordinator)
    root = f"/api/v1/recipients/{number}"
    changes = {
        "latex_allergy": True,
        "skin_allergies": "nickel",
        "prescriber_name": "Dr Imre Solt",
        "notes": "new notes",
    }
    assert coordinator.patch(root, json=changes).status_code == 200
    consent = coordinator.get(root).json()["consents"][1]["id"]
    withdrawn = coordinator.post(f"{root}/consents/{consent}/withdraw", json={"on": "2026-02-27"})
    assert withdrawn.status_code == 200, withdrawn.text
    said = words(browser, f"/recipients/{number}")
    for sentence in (
        "Latex allergy: now yes 2 March, before that no; by coordinator",
        "Skin allergies: now nickel 2 March, before that nothing recorded; by coordinator",
        "The prescriber: now Dr Imre Solt 2 March, before that Dr Tamsin Vale; by coordinator",
        "Consent to keeping records, given by Ada Okafor 5 January",
        "Consent to making and fitting the device was withdrawn 27 February",
    ):
        assert sentence in said, said
    assert "new notes" not in said.partition("What has happened")[2]


def test_a_long_history_is_told_a_page_at_a_time(
    coordinator: TestClient, browser: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(casepage, "HISTORY_LENGTH", 2)
    number = opened(coordinator, consents=[])
    for month in (1, 2, 3):
        measured(coordinator, number, date(2025, month, 10).isoformat(), 160 + month)
    case = f"/recipients/{number}"
    assert "at 60 mm: 161.0 mm" not in words(browser, case)
    older = re.search(r'href="([^"]+)" rel="next"', browser.get(case).text)
    assert older is not None
    said = words(browser, older[1].partition("#")[0])
    assert "at 60 mm: 161.0 mm" in said
    assert browser.get(f"{case}?before=soon").status_code == 422


def test_only_who_may_correct_a_measurement_is_led_to_where_that_is_done(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    number = opened(coordinator)
    session = measured(coordinator, number, "2026-02-27", 171)
    ways = (f"/measurements/{session['id']}/correct", f"/readings/{session['readings'][0]['id']}/correct")
    case = f"/recipients/{number}"
    assert all(f'href="{case}{way}"' in browser.get(case).text for way in ways)
    lead = as_somebody(register, Role.SAFEGUARDING_LEAD)
    seen = lead.get(case).text
    assert "Measured with a tape" in seen
    assert "171.0 mm" in seen
    assert not any(way in seen for way in ways)
    assert [lead.get(f"{case}{way}").status_code for way in ways] == [403, 403]


def test_many_parts_of_one_day_are_told_as_one_event(
    register: Register, coordinator: TestClient, browser: TestClient
) -> None:
    number, device = things.a_device(coordinator)
    placed = [things.put(coordinator, number, device, kind="strap", what=f"strap {n}", on="2026-02-01") for n in "abc"]
    said = words(browser, f"/recipients/{number}")
    assert "Three parts of the everyday device were put in place" in said
    assert "strap b" in said
    for part in placed:
        answer = things.act(coordinator, number, part["place"], "end", on="2026-02-20", came_off="worn_out")
        assert answer.status_code in {200, 201}, answer.text
    assert "Three parts of the everyday device came off: worn out" in words(browser, f"/recipients/{number}")
