"""Who a link lets in, and that everybody else is answered alike."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import PEOPLE, Role
from service.app import PAGES
from service.audit.tables import AuditRow
from service.family.rules import MOST_WRONG_BIRTHS, MOST_WRONG_LINKS
from service.family.tables import LinkRow
from service.notifications.tables import MessageRow
from tests.conftest import Register
from tests.devices.worn import made, opened
from tests.family.people import BORN, MOTHER, let_in, link, send

PATHS = sorted({route.path for pages in PAGES for route in pages.router.routes if route.path.startswith("/family/{")})


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def contact(coordinator: TestClient, number: str) -> int:
    case = made(coordinator, f"recipients/{number}/contacts", MOTHER)
    found: int = case["contacts"][-1]["id"]
    return found


def test_a_link_opens_after_the_month_of_birth_and_names_nobody_before(
    register: Register, coordinator: TestClient
) -> None:
    home = link(coordinator, opened(coordinator))
    browser = register.browser()
    gate = browser.get(home)
    assert gate.status_code == 200
    assert "When were you born?" in gate.text
    assert "Ines" not in gate.text
    for wrong in ({"month": "6", "year": "2018"}, {"month": "5", "year": "2017"}, {"month": "x", "year": ""}):
        refused = send(browser, home, wrong)
        assert refused.status_code == 422
        assert "not right" in refused.text
        assert "Ines" not in refused.text
    assert send(browser, home, BORN).headers["location"] == home
    page = browser.get(home)
    assert "Hello Ines." in page.text
    assert "Okafor" not in page.text
    assert "When were you born?" in register.browser().get(home).text


def test_no_page_lets_a_browser_pass_that_has_not_shown_who_it_is(register: Register, coordinator: TestClient) -> None:
    home = link(coordinator, opened(coordinator))
    other = link(coordinator, opened(coordinator, given_name="Tomas"))
    sibling = let_in(register, other)  # what it keeps is worth nothing at another's link
    for browser in (register.browser(), sibling):
        for path in PATHS:
            shown = browser.get(path.replace("/family/{token}", home))
            if "{" not in path:
                assert "When were you born?" in shown.text, path
            assert "Ines" not in shown.text


def looks_alike(page: Any) -> tuple[int, str, dict[str, str]]:
    """A page as a stranger can compare it, the length of its address aside."""
    kept = {name: value for name, value in page.headers.items() if name not in {"content-length", "date"}}
    text = page.text.replace(page.request.url.path, "ADDRESS")
    return page.status_code, text, kept


def test_wrong_old_ended_and_made_up_links_are_answered_alike(register: Register, coordinator: TestClient) -> None:
    number = opened(coordinator)
    ended, old = link(coordinator, number), link(coordinator, opened(coordinator))
    (row,) = coordinator.get(f"/api/v1/recipients/{number}/family-links").json()["items"]
    assert coordinator.delete(f"/api/v1/recipients/{number}/family-links/{row['id']}").status_code == 204
    browser = register.browser()
    first = browser.get(ended)
    assert first.status_code == 404
    assert "Stop wearing it if it hurts" in first.text
    assert "+44 1632 960 011" in first.text
    register.clock.forward(days=366)
    for path in (ended, old, "/family/nothing", "/family/" + "x" * 400, f"{old}/skin", "/family/nothing/else/at/all"):
        assert looks_alike(browser.get(path)) == looks_alike(first), path


def test_family_pages_are_kept_nowhere_and_told_to_nobody(register: Register, coordinator: TestClient) -> None:
    home = link(coordinator, opened(coordinator))
    family = let_in(register, home)
    for page in (family.get(home), family.get("/family/nothing"), register.browser().get(home)):
        assert page.headers["cache-control"] == "no-store"
        assert page.headers["referrer-policy"] == "no-referrer"
        assert "noindex" in page.headers["x-robots-tag"]
    with register.db.reading() as session:
        assert home.rpartition("/")[2] not in str(session.execute(sa.select(LinkRow.__table__)).all())


def test_guessing_is_held_back_but_keeps_no_family_out(register: Register, coordinator: TestClient) -> None:
    home = link(coordinator, opened(coordinator))
    family = let_in(register, home)
    stranger = register.browser()
    for turn in range(MOST_WRONG_LINKS):
        assert stranger.get(f"/family/guess{turn}").status_code == 404
    held = stranger.get("/family/guess")
    assert held.status_code == 429
    assert int(held.headers["retry-after"]) > 0
    assert "Stop wearing it" in held.text
    assert "Hello Ines." in family.get(home).text
    register.clock.forward(minutes=16)
    assert stranger.get("/family/guess").status_code == 404

    for _ in range(MOST_WRONG_BIRTHS):
        assert send(stranger, home, {"month": "1", "year": "2018"}).status_code == 422
    assert send(stranger, home, BORN).status_code == 429
    assert "Hello Ines." in family.get(home).text
    register.clock.forward(hours=25)
    assert send(stranger, home, BORN).status_code == 303


def test_what_was_tried_is_written_down(register: Register, coordinator: TestClient) -> None:
    home = link(coordinator, opened(coordinator))
    browser = register.browser()
    browser.get("/family/nothing")
    send(browser, home, {"month": "1", "year": "2018"})
    send(browser, home, BORN)
    with register.db.reading() as session:
        acts = session.execute(
            sa.select(AuditRow.act, AuditRow.actor).where(AuditRow.subject == "family link").order_by(AuditRow.id)
        ).all()
    assert acts == [
        ("made", "coordinator"),
        ("tried a link that opens nothing", "nobody"),
        ("gave a wrong month of birth", "the family"),
        ("opened", "the family"),
    ]


def test_a_link_is_sent_to_the_contact_on_record_alone_and_ends_the_one_before(
    register: Register, coordinator: TestClient
) -> None:
    number = opened(coordinator)
    mother = contact(coordinator, number)
    before = link(coordinator, number, contact=mother)
    answer = made(coordinator, f"recipients/{number}/family-links", {"contact": mother, "send": True})
    assert answer["sent_to"] == "Ada Okafor"
    key = answer["url"].rpartition("/")[2]
    with register.db.reading() as session:
        told = session.execute(sa.select(MessageRow.to_address, MessageRow.subject, MessageRow.body)).one()
    assert told.to_address == "ada@example.org"
    assert f"/family/{key}" in told.body
    assert "Okafor" not in told.subject
    assert register.browser().get(before).status_code == 404
    assert register.browser().get(f"/family/{key}").status_code == 200

    other = opened(coordinator, given_name="Tomas")
    for body in ({"send": True}, {"contact": 999}, {"contact": mother}):
        refused = coordinator.post(f"/api/v1/recipients/{other}/family-links", json=body)
        assert refused.status_code == 422
        assert refused.json()["errors"][0]["field"] == "contact"


@pytest.mark.parametrize("role", PEOPLE)
def test_coordinators_make_links_of_their_own_cases_alone(
    register: Register, coordinator: TestClient, role: Role
) -> None:
    number = opened(coordinator)
    expected = 201 if role is Role.COORDINATOR else 403
    assert register.api(role).post(f"/api/v1/recipients/{number}/family-links", json={}).status_code == expected
    elsewhere = register.api(Role.COORDINATOR, sites=("island",))
    assert elsewhere.post(f"/api/v1/recipients/{number}/family-links", json={}).status_code == 404
    assert elsewhere.get(f"/api/v1/recipients/{number}/family-links").status_code == 404


def test_a_link_opens_nothing_but_family_pages(register: Register, coordinator: TestClient) -> None:
    number = opened(coordinator)
    home = link(coordinator, number)
    family = let_in(register, home)
    key = home.rpartition("/")[2]
    for path in (f"/recipients/{number}", "/work-list", "/safety", "/concerns/new"):
        assert family.get(path).status_code == 303  # to sign in
    for credential in (key, f"Bearer {key}"):
        answer = family.get(f"/api/v1/recipients/{number}", headers={"Authorization": f"Bearer {credential}"})
        assert answer.status_code == 401
