"""Nobody is sent where they may not go, and a page that says no still shows the ways on."""

from __future__ import annotations

import pytest

from service.access.permissions import Role
from tests.accounts.people import open_account, signed_in
from tests.conftest import Register

CASES, ACCOUNTS, RECORD = 'href="/work-list"', 'href="/accounts"', 'href="/forecast-record"'
OUTCOMES = 'href="/outcomes"'


@pytest.mark.parametrize(
    ("role", "start", "shown", "hidden"),
    [
        (Role.COORDINATOR, "/work-list", {CASES, OUTCOMES}, {ACCOUNTS}),
        (Role.VOLUNTEER, "/work-list", {CASES}, {ACCOUNTS, RECORD, OUTCOMES}),
        (Role.TRUSTEE, "/outcomes", {OUTCOMES}, {CASES, ACCOUNTS, RECORD, 'role="search"'}),
        (Role.ADMINISTRATOR, "/account", {ACCOUNTS}, {CASES, RECORD, OUTCOMES, 'role="search"'}),
    ],
)
def test_the_head_of_a_page_leads_only_where_its_reader_may_go(
    register: Register, role: Role, start: str, shown: set[str], hidden: set[str]
) -> None:
    open_account(register, role, email="reader@example.org")
    browser = signed_in(register, "reader@example.org")
    assert browser.get("/").headers["location"] == start
    page = browser.get(start).text
    head = page.partition("</header>")[0]
    assert {link for link in shown | hidden if link in head} == shown
    assert ("record is shown to you" in page) == (start == "/account")
    for link in shown:
        assert browser.get(link[6:-1]).status_code == 200


@pytest.mark.parametrize(
    ("address", "status"), [("/nowhere", 404), ("/recipients/1111111", 404), ("/work-list?kind=no", 422)]
)
def test_a_page_that_says_no_keeps_the_ways_on_of_whoever_is_signed_in(
    register: Register, address: str, status: int
) -> None:
    open_account(register, Role.COORDINATOR, email="reader@example.org")
    answer = signed_in(register, "reader@example.org").get(address)
    assert answer.status_code == status
    assert CASES in answer.text
    assert 'role="search"' in answer.text
    assert CASES not in register.browser().get("/nowhere").text


def test_a_form_from_before_signing_in_says_so_and_leads_back_to_itself(register: Register) -> None:
    open_account(register, Role.COORDINATOR, email="reader@example.org")
    browser = signed_in(register, "reader@example.org")
    came_from = {"Referer": "http://testserver/recipients/new"}
    answer = browser.post("/recipients/new", data={"given_name": "Ines", "form_token": "of before"}, headers=came_from)
    assert answer.status_code == 403
    assert "This form is out of date" in answer.text
    assert "nothing was recorded" in answer.text
    assert 'href="/recipients/new">Open the form again' in answer.text
    elsewhere = browser.post("/recipients/new", data={}, headers={"Referer": "http://elsewhere.example/recipients"})
    assert "Open the form again" not in elsewhere.text
