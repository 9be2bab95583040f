"""A person's own days, fetched by a secret link: what is in it, what never is, and what opens nothing."""

from __future__ import annotations

from datetime import date
from typing import Any

import icalendar
import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.audit.tables import AuditRow
from service.calendars.tables import FeedRow
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.devices.worn import made, opened
from tests.matching.things import offered, recipient, request, tapped, version, volunteer
from tests.requests.asking import ask, done


def linked(browser: TestClient) -> str:
    """Make a link; returns its path."""
    answer = post(browser, "/calendar", {})
    assert answer.status_code == 201
    found: str = answer.text.split('<p class="measure">')[1].split("</p>")[0]
    return "/calendars/" + found.rpartition("/")[2]


def fetched(register: Register, path: str) -> list[Any]:
    answer = register.browser().get(path)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    return list(icalendar.Calendar.from_ical(answer.content).walk("VEVENT"))


def said(events: list[Any]) -> list[tuple[str, date]]:
    return [(str(event["summary"]), event["dtstart"].dt) for event in events]


@pytest.fixture
def maker(register: Register) -> TestClient:
    """Bo, signed in, who agreed to make a finger."""
    account = open_account(register, Role.VOLUNTEER)
    volunteer(register, "Bo", colours=("red",), account=account, away=(date(2026, 3, 20), date(2026, 3, 24)))
    request(register, recipient(register), colour="red", version_id=version(register))
    (offer,) = offered(register.api(Role.COORDINATOR))["offers"]
    tapped(register.browser(), offer["link"], "accept")
    return signed_in(register)


def test_a_volunteers_jobs_and_days_away_are_in_it_and_nobodys_name(register, maker):
    path = linked(maker)
    events = fetched(register, path)
    summaries = dict(said(events))
    assert "What you agreed to make is due: replacement" in summaries
    assert summaries["You are away: nothing is offered to you"] == date(2026, 3, 20)
    (away,) = [event for event in events if "away" in str(event["uid"])]
    assert away["dtend"].dt == date(2026, 3, 25)  # the day after the last
    text = register.browser().get(path).text
    for word in ("Ines", "Quill", "Kiln", "100-"):
        assert word not in text


def test_a_coordinators_promises_and_looks_are_in_it_without_case_or_name(register):
    coordinator = register.api(Role.COORDINATOR)
    number = opened(coordinator)
    wanted = ask(coordinator, number, "adjustment")["id"]
    done(coordinator, wanted, "promise", on="2026-03-12")
    made(coordinator, f"recipients/{number}/skin-reports", {"signs": ["red_stays"], "words": "At the elbow."})
    elsewhere = register.api(Role.COORDINATOR, sites=("island",))
    theirs = ask(elsewhere, opened(elsewhere, site="island"), "adjustment")["id"]
    done(elsewhere, theirs, "promise", on="2026-03-13")
    open_account(register, Role.COORDINATOR)
    path = linked(signed_in(register))
    found = said(fetched(register, path))
    assert (f"Request {wanted} was promised for today", date(2026, 3, 12)) in found
    assert any("looked at" in summary for summary, _ in found)
    assert not any(str(theirs) in summary for summary, _ in found)
    text = register.browser().get(path).text
    assert number not in text
    assert "Ines" not in text


def test_it_stays_the_same_thing_when_its_day_moves(register):
    coordinator = register.api(Role.COORDINATOR)
    wanted = ask(coordinator, opened(coordinator), "adjustment")["id"]
    done(coordinator, wanted, "promise", on="2026-03-12")
    open_account(register, Role.COORDINATOR)
    path = linked(signed_in(register))
    (before,) = fetched(register, path)
    done(coordinator, wanted, "promise", on="2026-03-15")
    (after,) = fetched(register, path)
    assert before["uid"] == after["uid"]
    assert (before["dtstart"].dt, after["dtstart"].dt) == (date(2026, 3, 12), date(2026, 3, 15))


def test_wrong_ended_and_closed_are_answered_alike_and_noted(register, maker):
    path = linked(maker)
    newer = linked(maker)
    gone = register.browser().get(path)
    assert gone.status_code == 404
    assert fetched(register, newer)
    assert post(maker, "/calendar/end", {}, opened="/calendar").status_code == 303
    assert post(maker, "/calendar/end", {}, opened="/calendar").status_code == 422
    last = linked(maker)
    with register.db.writing() as session:
        account = session.scalars(sa.select(FeedRow.account_id)).one()
        closed = "UPDATE accounts SET closed_at = :now WHERE id = :id"
        session.execute(sa.text(closed), {"now": register.clock(), "id": account})
    for each in (path, newer, last, "/calendars/guess.ics", f"/calendars/{'x' * 400}.ics"):
        answer = register.browser().get(each)
        assert (answer.status_code, answer.text) == (404, gone.text), each
    with register.db.reading() as session:
        tries = sa.select(sa.func.count()).where(AuditRow.act == "tried a link that opens nothing")
        assert session.scalar(tries) == 6
        assert last.rpartition("/")[2].removesuffix(".ics") not in str(
            session.execute(sa.select(FeedRow.__table__)).all()
        )


def test_the_page_says_what_there_is(register, maker):
    assert "can show when something is due" in maker.get("/calendar").text
    path = linked(maker)
    assert "nobody has yet" in maker.get("/calendar").text
    fetched(register, path)
    assert "last on" in maker.get("/calendar").text
