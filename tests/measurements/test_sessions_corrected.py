"""Putting right when, how and by whom a session was taken, over HTTP: what it said before stays."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa

from service.access.permissions import Role
from service.audit.tables import AuditRow
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.devices.worn import opened
from tests.measurements.taken import girth, listed, taken


@pytest.fixture
def client(register: Register) -> Any:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(client: Any) -> str:
    return opened(client)


def corrected(client: Any, number: str, session: dict[str, Any], **changes: Any) -> Any:
    return client.patch(f"/api/v1/recipients/{number}/measurements/{session['id']}", json={"why": "A slip.", **changes})


def test_a_day_is_put_right_and_the_old_one_kept(register: Register, client: Any, number: str) -> None:
    made = taken(client, number, girth(171), taken_on="2026-03-01")
    answer = corrected(client, number, made, taken_on="2026-02-01", method="scan", taken_by="Noor")
    assert answer.status_code == 200, answer.text
    found = answer.json()
    assert (found["taken_on"], found["method"], found["taken_by"]) == ("2026-02-01", "scan", "Noor")
    (kept,) = found["corrections"]
    assert kept["before"] == {"taken_on": "2026-03-01", "method": "tape", "taken_by": ""}
    assert (kept["by"], kept["why"]) == ("coordinator", "A slip.")
    assert found["readings"] == made["readings"]
    again = corrected(client, number, made, taken_on="2026-02-02").json()
    assert [each["before"]["taken_on"] for each in again["corrections"]] == ["2026-03-01", "2026-02-01"]
    assert listed(client, number)["items"] == [again]
    with register.db.reading() as db:
        entry = db.scalars(sa.select(AuditRow).where(AuditRow.act == "corrected").order_by(AuditRow.id)).first()
    assert entry is not None
    assert entry.changes["taken_on"] == ["2026-03-01", "2026-02-01"]


def test_a_moved_session_is_judged_anew(client: Any, number: str) -> None:
    taken(client, number, girth(170), taken_on="2024-03-02")
    made = taken(client, number, girth(190), taken_on="2026-03-01")
    asked = corrected(client, number, made, taken_on="2024-03-12")
    assert asked.status_code == 422
    (doubt,) = asked.json()["doubts"]
    assert doubt["field"] == "taken_on"
    assert "12 % larger than the 170.0 mm of 2 March 2024" in doubt["message"]
    assert "in 10 days" in doubt["message"]
    assert "in a day" in corrected(client, number, made, taken_on="2024-03-03").json()["doubts"][0]["message"]
    assert listed(client, number)["items"][0] == made
    moved = corrected(client, number, made, taken_on="2024-03-12", confirmed=True).json()
    assert moved["readings"][0]["doubts"] == [doubt["message"]]
    back = corrected(client, number, made, taken_on="2026-03-01").json()
    assert back["readings"][0]["doubts"] == [], "on its own day nothing is odd"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"taken_on": "2026-03-03"}, "taken_on"),
        ({"taken_on": "2018-05-03"}, "taken_on"),
        ({"taken_on": "2026-03-01"}, "taken_on"),
        ({}, "taken_on"),
        ({"taken_on": "2026-02-01", "why": " "}, "why"),
        ({"method": "eye"}, "method"),
        ({"note": "x"}, "note"),
    ],
)
def test_what_cannot_be_leaves_the_session(client: Any, number: str, changes: dict[str, Any], field: str) -> None:
    made = taken(client, number, girth(171), taken_on="2026-03-01")
    refused = corrected(client, number, made, **changes)
    assert refused.status_code == 422
    assert [error["field"] for error in refused.json()["errors"]] == [field]
    assert listed(client, number)["items"] == [made]


def test_a_session_of_another_case_is_not_found(client: Any, number: str) -> None:
    made = taken(client, number, girth(171), taken_on="2026-03-01")
    assert corrected(client, opened(client), made, taken_on="2026-02-01").status_code == 404


def test_sessions_are_listed_by_their_right_day_page_by_page(client: Any, number: str) -> None:
    days = ("2026-02-03", "2026-02-01", "2026-02-02")
    sessions = [taken(client, number, girth(171), taken_on=day) for day in days]
    corrected(client, number, sessions[1], taken_on="2026-02-04")
    seen: list[str] = []
    page = listed(client, number, limit=1)
    while page["next"]:
        seen += [each["taken_on"] for each in page["items"]]
        page = listed(client, number, limit=1, cursor=page["next"])
    assert [*seen, *(each["taken_on"] for each in page["items"])] == ["2026-02-04", "2026-02-03", "2026-02-02"]


def test_the_form_puts_a_day_right_and_the_case_says_so(register: Register) -> None:
    account = open_account(register, Role.COORDINATOR)
    client, browser = register.api(account=account), signed_in(register)
    number = opened(client)
    made = taken(client, number, girth(171), taken_on="2026-03-01")
    page = f"/recipients/{number}/measurements/{made['id']}/correct"
    assert f'href="{page}"' in browser.get(f"/recipients/{number}/readings/{made['readings'][0]['id']}/correct").text
    assert f'href="{page}"' in browser.get(f"/recipients/{number}").text
    fields = {"taken_on": "2026-02-27", "method": "tape", "taken_by": ""}
    assert 'value="2026-03-01"' in browser.get(page).text
    assert 'href="#why"' in post(browser, page, fields).text
    done = post(browser, page, {**fields, "why": "Typed in late."})
    assert done.headers["location"] == f"/recipients/{number}?done=session-corrected"
    said = "the day was corrected from 1 March 2026 by Ines Duarte: Typed in late."
    assert said in browser.get(f"/recipients/{number}").text
    assert said in browser.get(page).text
