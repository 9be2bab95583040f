"""The pages of safety notices, as a browser uses them."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.assembly.things import put
from tests.conftest import Register
from tests.devices.worn import device
from tests.gate.things import Workshop, agreed_case, workshop
from tests.notices.things import WHY, off, opened

EMAIL = "coordinator@example.org"


@pytest.fixture
def shop(register: Register) -> Workshop:
    return workshop(register)


@pytest.fixture
def browser(register: Register) -> TestClient:
    open_account(register, Role.COORDINATOR, email=EMAIL)
    return signed_in(register, EMAIL)


def test_a_notice_from_the_page_of_a_version_to_its_end(shop: Workshop, browser: TestClient) -> None:
    spare = device(shop.coordinator, shop.number, purpose="swimming")
    there = put(shop.coordinator, shop.number, spare, version=shop.version, digit="index")
    assert "No safety notice is open." in browser.get("/notices").text
    form = f"/notices/new?version={shop.version}"
    assert form in browser.get(f"/parts/versions/{shop.version}").text
    asked = browser.get(form).text
    assert "Two devices hold it: one family is told" in asked
    assert "Nothing is being made of it." in asked
    about = {"version": str(shop.version), "todo": "stop"}
    missing = post(browser, "/notices/new", {**about, "why": ""}, opened=form)
    assert missing.status_code == 422
    assert 'href="#why"' in missing.text
    answer = post(browser, "/notices/new", {**about, "why": WHY}, opened=form)
    assert answer.status_code == 303, answer.text
    page = answer.headers["location"].partition("?")[0]
    assert "A notice on this is open already." in browser.get(form).text
    assert post(browser, "/notices/new", {**about, "why": WHY}, opened=form).status_code == 422

    shown = browser.get(answer.headers["location"]).text
    assert '<p class="lead">Two devices still hold it.</p>' in shown
    assert "Ask for two replacements" in shown
    assert "Record the outcome" not in shown
    assert "They looked and found nothing" not in shown
    said = post(browser, f"{page}/answers", {"case_number": shop.number, "answer": "still_worn"}, opened=page)
    assert said.headers["location"] == f"{page}?done=notice-answered"
    assert "Ring them again:" in browser.get(page).text
    asked_all = post(browser, f"{page}/requests", {}, opened=page)
    assert asked_all.status_code == 201
    assert "Two replacements are asked for now." in asked_all.text
    assert "Its replacement is asked for" in browser.get(page).text
    assert "Nothing more had to be asked for." in post(browser, f"{page}/requests", {}, opened=page).text

    refused = post(browser, f"{page}/close", {"outcome": "All are new."}, opened=page)
    assert refused.status_code == 422
    assert "2 devices still hold" in refused.text
    assert "All are new." in refused.text
    for place in (shop.place, there["place"]):
        off(shop.coordinator, shop.number, place)
    assert "No device holds it any more." in browser.get(page).text
    closed = post(browser, f"{page}/close", {"outcome": "All are new."}, opened=page)
    assert closed.headers["location"] == f"{page}?done=notice-closed"
    assert "“All are new.”" in browser.get(page).text
    assert page not in browser.get("/notices").text
    assert page in browser.get("/notices?all=true").text


def test_a_lot_has_a_way_to_its_notice_for_who_may_open_one(shop: Workshop, browser: TestClient) -> None:
    way = f"/notices/new?lot={shop.spool}"
    assert way in browser.get(f"/lots/{shop.spool}").text
    assert "One device holds it" in browser.get(way).text
    open_account(shop.register, Role.VOLUNTEER, email="volunteer@example.org")
    volunteer = signed_in(shop.register, "volunteer@example.org")
    assert way not in volunteer.get(f"/lots/{shop.spool}").text
    assert volunteer.get(way).status_code == 403
    assert volunteer.get("/notices").status_code == 200


def test_a_printer_is_asked_for_its_days_first(shop: Workshop, browser: TestClient) -> None:
    shop.fit(shop.delivered(shop.opened(printer=shop.printer)))
    form = f"/notices/new?printer={shop.printer}"
    assert form in browser.get(f"/volunteers/{shop.volunteer}").text
    asked = browser.get(form).text
    assert "From which day on" in asked
    assert "What is wrong with it?" not in asked
    counted = f"{form}&from_on=2026-03-01&until_on="
    assert "One device holds it" in browser.get(counted).text
    fields = {"printer": str(shop.printer), "from_on": "2026-03-01", "todo": "look", "why": WHY}
    answer = post(browser, "/notices/new", fields, opened=counted)
    assert "They looked and found nothing" in browser.get(answer.headers["location"]).text


def test_what_is_not_there_has_no_form(browser: TestClient) -> None:
    assert browser.get("/notices/new").status_code == 422
    assert browser.get("/notices/new?version=999").status_code == 422
    assert browser.get("/notices/999").status_code == 404


def test_the_work_list_says_what_remains(shop: Workshop, browser: TestClient) -> None:
    assert "safety notice" not in browser.get("/work-list").text
    number = agreed_case(shop.coordinator, given_name="Bela")
    put(shop.coordinator, number, device(shop.coordinator, number), version=shop.version, digit="index")
    opened(shop.coordinator, version=shop.version)
    said = "One safety notice is open: two devices still hold what it is about."
    assert said in browser.get("/work-list").text
    opened(shop.coordinator, lot=shop.spool)  # of one of the same devices: it is counted once
    said = "Two safety notices are open: two devices still hold what they are about."
    assert said in browser.get("/work-list").text


def test_another_sites_page_names_nobody_of_ours(shop: Workshop) -> None:
    notice = opened(shop.coordinator, version=shop.version)["id"]
    open_account(shop.register, Role.COORDINATOR, email="island@example.org", site="island")
    page = signed_in(shop.register, "island@example.org").get(f"/notices/{notice}").text
    assert "No device of yours holds it any more; one device does at other sites." in page
    assert "Ines" not in page.partition("<main")[2]
