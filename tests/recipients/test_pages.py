"""The pages of a case as a browser uses them: opened, filled in, refused, and changed by two people at once."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import AT_HOME, form_token, open_account, signed_in
from tests.conftest import Register
from tests.recipients.test_api import opened

NEW = {
    "given_name": "Ruth",
    "family_name": "Ekwueme",
    "birth_date": "2019-02-11",
    "sex": "female",
    "language": "ig",
    "left_cause": "congenital",
    "left_level": "forearm_upper",
    "latex_allergy": "not asked",
    "state": "active",
}


@pytest.fixture
def desk(register: Register) -> TestClient:
    """A coordinator's browser."""
    open_account(register, Role.COORDINATOR)
    return signed_in(register)


def fields(page: Any) -> dict[str, str]:
    """What the particulars form holds: inputs, the choices made and the areas of text."""
    found = {}
    for tag in re.findall(r"<input[^>]*>", page.text):
        name, value = (re.search(rf'{part}="([^"]*)"', tag) for part in ("name", "value"))
        if name and ('type="radio"' not in tag or "checked" in tag):
            found[unescape(name[1])] = unescape(value[1]) if value else ""
    for name, options in re.findall(r'<select[^>]*name="([^"]+)"[^>]*>(.*?)</select>', page.text, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', options)
        found[name] = chosen[1] if chosen else ""
    for name, text in re.findall(r'<textarea[^>]*name="([^"]+)"[^>]*>\n?(.*?)</textarea>', page.text, re.DOTALL):
        found[name] = unescape(text)
    return found


def send(browser: TestClient, path: str, values: dict[str, str], page: Any = None) -> Any:
    page = page or browser.get(path)
    return browser.post(path, data={**values, "form_token": form_token(page)}, headers=AT_HOME)


def test_a_case_is_opened_on_a_page(register: Register, desk: TestClient) -> None:
    assert "Open a case" in desk.get("/recipients").text
    answer = send(desk, "/recipients/new", NEW)
    assert answer.status_code == 303
    page = desk.get(answer.headers["location"].partition("?")[0] + "/particulars").text
    assert "Ruth" in page
    assert "Igbo" in page
    assert "left transverse deficiency at the upper third of the forearm" in page


def test_a_refused_form_comes_back_as_it_was_typed(register: Register, desk: TestClient) -> None:
    answer = send(
        desk, "/recipients/new", {**NEW, "birth_date": "2031-02-11", "notes": "Ask for <Ada>", "right_level": "wrist"}
    )
    assert answer.status_code == 422
    shown = fields(answer)
    assert shown["notes"] == "Ask for <Ada>"
    assert shown["birth_date"] == "2031-02-11"
    assert shown["right_level"] == "wrist"
    assert "Say whether it was so at birth or came later." in unescape(answer.text)


def test_the_same_child_twice_is_asked_about(register: Register, desk: TestClient) -> None:
    send(desk, "/recipients/new", NEW)
    asked = send(desk, "/recipients/new", NEW)
    assert asked.status_code == 422
    assert "Is it the same person?" in asked.text
    assert send(desk, "/recipients/new", {**NEW, "confirmed": "true"}).status_code == 303


def test_two_people_change_different_fields_and_neither_is_lost(register: Register, desk: TestClient) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)["case_number"]
    at = f"/recipients/{number}/change"
    first, second = desk.get(at), desk.get(at)
    assert send(desk, at, {**fields(first), "latex_allergy": "yes"}, first).status_code == 303
    assert send(desk, at, {**fields(second), "colour_wishes": "green"}, second).status_code == 303
    case = client.get(f"/api/v1/recipients/{number}").json()
    assert (case["latex_allergy"], case["colour_wishes"]) == (True, "green")


def test_two_people_change_the_same_field_and_the_second_is_told(register: Register, desk: TestClient) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)["case_number"]
    at = f"/recipients/{number}/change"
    first, second = desk.get(at), desk.get(at)
    send(desk, at, {**fields(first), "latex_allergy": "yes"}, first)
    told = send(desk, at, {**fields(second), "latex_allergy": "no"}, second)
    assert told.status_code == 422
    assert "Somebody changed this to “yes” since you opened the form." in unescape(told.text)
    assert client.get(f"/api/v1/recipients/{number}").json()["latex_allergy"] is True
    insisted = send(desk, at, fields(told), told)
    assert insisted.status_code == 303, "having seen it, the second may decide"
    assert client.get(f"/api/v1/recipients/{number}").json()["latex_allergy"] is False


def test_a_note_on_a_limb_leaves_its_level_to_whoever_changed_that(register: Register, desk: TestClient) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client, notes="one line\nand another")["case_number"]
    at = f"/recipients/{number}/change"
    page = desk.get(at)
    wrist = {"side": "left", "cause": "congenital", "level": "wrist"}
    client.patch(f"/api/v1/recipients/{number}", json={"limbs": [wrist]})
    as_browsers_do = {name: value.replace("\n", "\r\n") for name, value in fields(page).items()}
    sent = {**as_browsers_do, "left_note": "tender at the end"}
    assert send(desk, at, sent, page).status_code == 303
    case = client.get(f"/api/v1/recipients/{number}").json()
    assert (case["limbs"][0]["level"], case["limbs"][0]["note"]) == ("wrist", "tender at the end")
    assert case["notes"] == "one line\nand another"


def test_a_field_can_be_emptied_and_a_limb_cannot(register: Register, desk: TestClient) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client, colour_wishes="green", prescribed_on="2026-01-05")["case_number"]
    at = f"/recipients/{number}/change"
    page = desk.get(at)
    assert send(desk, at, {**fields(page), "colour_wishes": "", "prescribed_on": ""}, page).status_code == 303
    case = client.get(f"/api/v1/recipients/{number}").json()
    assert (case["colour_wishes"], case["prescribed_on"]) == ("", None)
    page = desk.get(at)
    assert send(desk, at, {**fields(page), "left_level": "", "left_cause": ""}, page).status_code == 422


def test_a_birth_date_far_from_the_old_one_is_asked_about(register: Register, desk: TestClient) -> None:
    client = register.api(Role.COORDINATOR)
    at = f"/recipients/{opened(client)['case_number']}/change"
    page = desk.get(at)
    moved = {**fields(page), "birth_date": "2008-05-04"}
    asked = send(desk, at, moved, page)
    assert asked.status_code == 422
    assert "more than a year" in asked.text
    assert send(desk, at, {**moved, "confirmed": "true"}, page).status_code == 303


def test_several_consents_are_recorded_at_once_and_one_is_withdrawn(register: Register, desk: TestClient) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)["case_number"]
    at = f"/recipients/{number}/particulars"
    page = desk.get(at)
    agreed = {
        "purpose-records": "records",
        "purpose-device": "device",
        "kind": "consent",
        "given_by": "Ada",
        "given_on": "2026-02-01",
    }
    token = {"form_token": form_token(page)}
    assert desk.post(f"/recipients/{number}/consents", data=agreed | token, headers=AT_HOME).status_code == 303
    given = client.get(f"/api/v1/recipients/{number}").json()["consents"]
    assert [each["purpose"] for each in given] == ["records", "device"]
    withdrawn = {"on": "2026-02-20"} | token
    ended = desk.post(f"/recipients/{number}/consents/{given[1]['id']}/withdraw", data=withdrawn, headers=AT_HOME)
    assert ended.status_code == 303
    assert client.get(f"/api/v1/recipients/{number}").json()["consents"][1]["withdrawn_on"] == "2026-02-20"
    nothing = desk.post(
        f"/recipients/{number}/consents", data={"kind": "consent", "given_by": "Ada"} | token, headers=AT_HOME
    )
    assert nothing.status_code == 422
    assert "Tick at least one" in nothing.text


def test_who_may_not_open_cases_is_told_before_typing(register: Register) -> None:
    open_account(register, Role.VOLUNTEER)
    assert signed_in(register).get("/recipients/new").status_code == 403
