"""The lot pages as a browser uses them."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.lots.shelf import CORD, SPOOL, lot, moved

EMAIL = "coordinator@example.org"
LABEL = {name: str(value) for name, value in SPOOL.items()}


@pytest.fixture
def api(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def browser(register: Register) -> TestClient:
    open_account(register, Role.COORDINATOR, email=EMAIL)
    return signed_in(register, EMAIL)


def test_a_lot_from_the_shelf_to_its_page(browser: TestClient) -> None:
    assert "No lot is recorded yet" in browser.get("/lots").text
    answer = post(browser, "/lots/new", {**LABEL, "quantity": "0,75", "latex_free": "yes", "skin_contact": "not known"})
    assert answer.status_code == 303
    shown = browser.get(answer.headers["location"]).text
    assert "Write its number on the spool" in shown
    assert "PETG 1.75 mm, black" in shown
    assert "<dt>Free of latex</dt><dd>yes</dd>" in shown
    assert "<dt>May touch the skin</dt><dd>not known</dd>" in shown
    assert "0.75 g" in shown
    assert "No lot is held." in browser.get("/lots").text


def test_the_next_of_the_same_begins_as_the_last(api: TestClient, browser: TestClient) -> None:
    lot(api, batch="24-100", quantity=500)
    last = lot(api, batch="24-118", skin_contact=False)["id"]
    lot(api, CORD)
    offered = browser.get("/lots/new").text
    assert offered.count("/lots/new?like=") == 2
    page = f"/lots/new?like={last}"
    form = browser.get(page).text
    assert 'name="what" type="text" value="PETG 1.75 mm"' in form
    assert 'name="quantity" type="text" value="750"' in form
    assert 'name="batch" type="text" value=""' in form
    assert form.index('id="batch"') < form.index('id="what"')

    twice = post(browser, page, LABEL)
    assert twice.status_code == 422
    assert f"This is lot {last} already" in twice.text
    assert 'value="24-118"' in twice.text
    taken = post(browser, page, {**LABEL, "batch": "24-119"})
    assert taken.status_code == 303
    assert "Another lot of PETG 1.75 mm, black" in form


def test_what_was_typed_stays_when_something_is_wrong(browser: TestClient) -> None:
    refused = post(
        browser, "/lots/new", {**LABEL, "maker": "", "received_on": "2026-04-01", "note": "on the top shelf"}
    )
    assert refused.status_code == 422
    assert 'href="#maker"' in refused.text
    assert "on the top shelf" in refused.text
    assert 'value="24-118"' in refused.text
    much = post(browser, "/lots/new", {**LABEL, "quantity": "a lot"})
    assert 'href="#quantity"' in much.text


def test_a_lot_is_held_after_a_second_look_and_stands_first_in_the_list(api: TestClient, browser: TestClient) -> None:
    made = lot(api)["id"]
    lot(api, CORD)
    page = f"/lots/{made}"
    assert f"{page}/state?to=held" in browser.get(page).text
    asked = browser.get(f"{page}/state?to=held").text
    assert "Nothing is made from it until somebody has looked" in asked
    unsaid = post(browser, f"{page}/state?to=held", {"why": ""})
    assert unsaid.status_code == 422
    answer = post(browser, f"{page}/state?to=held", {"why": "Brittle when bent."})
    assert answer.headers["location"] == f"{page}?done=lot-moved"
    shown = browser.get(page).text
    assert "It is held: somebody has to look at it" in shown
    assert f"{page}/state?to=used_up" not in shown
    assert "Brittle when bent." in shown

    listed = browser.get("/lots").text
    assert "One lot is held: nothing is made from it" in listed
    assert listed.index("Brittle when bent.") < listed.index("Elastic cord")
    again = post(browser, f"{page}/state?to=held", {"why": "Twice."})
    assert again.status_code == 422
    assert "already" in again.text


def test_what_was_done_to_a_lot_is_told(api: TestClient, browser: TestClient) -> None:
    made = lot(api, latex_free=None)["id"]
    page = f"/lots/{made}"
    fields = {"kind": "filament", "unit": "g", "quantity": "", "latex_free": "yes", "received_on": "2026-03-01"}
    answer = post(browser, f"{page}/change", fields)
    assert answer.headers["location"] == f"{page}?done=lot-changed"
    moved(api, made, "withdrawn", "Recalled by the maker.")
    shown = browser.get(page).text
    assert "free of latex, not known before, now yes" in shown
    assert "quantity, 750 before, now not known" in shown
    assert "Recalled by the maker." in shown
    assert shown.index("Withdrawn") < shown.index("Put right") < shown.index("Recorded")
    assert f"{page}/worn" in shown


def test_latex_is_warned_of_where_it_may_be(api: TestClient, browser: TestClient) -> None:
    warned = browser.get(f"/lots/{lot(api, CORD)['id']}").text
    assert "latex allergy" in warned
    unknown = browser.get(f"/lots/{lot(api, {**CORD, 'batch': 'E8', 'latex_free': None})['id']}").text
    assert "Until the maker says that it holds no latex" in unknown
    assert "latex allergy" not in browser.get(f"/lots/{lot(api)['id']}").text


def test_a_search_that_finds_nothing_keeps_its_words(api: TestClient, browser: TestClient) -> None:
    lot(api)
    found = browser.get("/lots?q=petg&state=in_use").text
    assert "Northern Reels" in found
    nothing = browser.get("/lots?q=nylon").text
    assert "No lot matches" in nothing
    assert 'value="nylon"' in nothing


def test_whoever_may_only_look_sees_no_forms(register: Register, api: TestClient) -> None:
    made = lot(api)["id"]
    open_account(register, Role.CLINICIAN, email="clinician@example.org")
    clinician = signed_in(register, "clinician@example.org")
    shown = clinician.get(f"/lots/{made}").text
    assert "/state?to=" not in shown
    for path in ("/lots/new", f"/lots/{made}/change", f"/lots/{made}/state?to=held"):
        assert clinician.get(path).status_code == 403
    open_account(register, Role.TRUSTEE, email="trustee@example.org")
    assert 'href="/lots"' not in signed_in(register, "trustee@example.org").get("/account").text
