"""Offers: a tap answers, twice is once, the next is asked when one lapses; and what of a case is shown to whom."""

from __future__ import annotations

from datetime import timedelta

import pytest
import sqlalchemy as sa

from service.access.permissions import PEOPLE, Role
from service.matching.tables import OfferRow
from service.notifications.tables import MessageRow
from service.requests.rules import RequestKind
from service.requests.tables import RequestRow
from service.volunteers.rules import Skill
from service.worker import schedule_daily
from tests.conftest import START
from tests.matching.things import (
    coordinator,
    offered,
    planned,
    recipient,
    request,
    settle,
    signed_in,
    standing,
    tapped,
    town,
    version,
    volunteer,
)

TODAY = START.date()


def test_a_link_shows_what_is_needed_and_no_more(register, one):
    page = register.browser().get(f"/offers/{one['link']}")
    assert "Replacement for Ines" in page.text
    assert "Bo, would you make this by" in page.text
    assert ">16 March<" in page.text
    assert "60 by 20 by 20 mm" in page.text
    assert "in red" in page.text
    for secret in ("Quill", "Kiln Lane", "snapped"):
        assert secret not in page.text
    assert page.headers["Cache-Control"] == "no-store"


def test_a_name_the_family_did_not_agree_to_is_not_shown(register):
    volunteer(register, "Bo")
    child = recipient(register, "Zadie", first_name_agreed=False)
    request(register, child, version_id=version(register))
    (offer,) = offered(coordinator(register))["offers"]
    assert offer["for_whom"] == ""
    assert "Zadie" not in register.browser().get(f"/offers/{offer['link']}").text


def test_yes_with_a_tap_and_again_is_once(register, one):
    browser = register.browser()
    assert tapped(browser, one["link"], "accept").status_code == 303
    assert "Thank you: it is yours" in browser.get(f"/offers/{one['link']}").text
    assert standing(register) == [(one["request"], "Bo", "accepted")]
    again = coordinator(register).post(f"/api/v1/offers/{one['offer']}/accept", json={})
    assert again.json()["state"] == "accepted"
    with register.db.reading() as session:
        entries = session.execute(
            sa.text("SELECT count(*) FROM audit_entries WHERE subject = 'offer' AND act = 'accepted'")
        )
        assert entries.scalar_one() == 1
    refused = coordinator(register).post(f"/api/v1/offers/{one['offer']}/decline", json={})
    assert refused.status_code == 409


def test_the_request_is_agreed_to_and_open_again_when_it_is_taken_back(register, one):
    def state() -> str:
        with register.db.reading() as session:
            return str(session.scalar(sa.select(RequestRow.state).where(RequestRow.id == one["request"])))

    assert state() == "open"
    tapped(register.browser(), one["link"], "accept")
    assert state() == "agreed"
    coordinator(register).post(f"/api/v1/offers/{one['offer']}/take-back", json={"why": "Ill."})
    assert state() == "open"


def test_no_with_a_reason_goes_on_to_the_next(register, one):
    browser = register.browser()
    reasons = {"reason": "Away", "why": "Back on Sunday"}
    assert tapped(browser, one["link"], "decline", **reasons).status_code == 303
    assert standing(register) == [(one["request"], "Bo", "declined"), (one["request"], "Cy", "waiting")]
    found = coordinator(register).get(f"/api/v1/offers/{one['offer']}").json()
    assert found["answer_why"] == "Away. Back on Sunday"
    assert "somebody else is asked" in browser.get(f"/offers/{one['link']}").text
    # Nobody is asked twice for the same, not by a new plan either.
    (candidate,) = [
        each
        for each in coordinator(register).get(f"/api/v1/requests/{one['request']}/candidates").json()
        if each["name"] == "Bo"
    ]
    assert candidate["eligible"] is False


def test_when_nobody_is_left_the_request_is_planned_again(register, one):
    tapped(register.browser(), one["link"], "decline")
    second = next(each for each in coordinator(register).get("/api/v1/offers").json()["items"])
    assert coordinator(register).post(f"/api/v1/offers/{second['id']}/decline", json={}).status_code == 200
    (left,) = planned(coordinator(register))["unassigned"]
    assert left["reasons"] == ["Asked before and did not take it: 2 of 2."]


def test_an_offer_lapses_and_goes_on_to_the_next_once(register, one):
    register.run_jobs()
    assert standing(register) == [(one["request"], "Bo", "waiting")]
    register.clock.forward(days=4, minutes=1)
    register.run_jobs()
    register.run_jobs()
    assert standing(register) == [(one["request"], "Bo", "lapsed"), (one["request"], "Cy", "waiting")]
    late = tapped_late(register, one["link"])
    assert late.status_code == 409


def tapped_late(register, link: str):
    browser = register.browser()
    page = browser.get(f"/offers/{link}")
    assert "This has lapsed" in page.text
    offer = coordinator(register).get("/api/v1/offers?state=lapsed").json()["items"][0]
    return coordinator(register).post(f"/api/v1/offers/{offer['id']}/accept", json={})


def test_what_is_needed_no_more_is_taken_back(register, one):
    settle(register, one["request"])
    tapped(register.browser(), one["link"], "accept")
    assert standing(register) == [(one["request"], "Bo", "taken_back")]
    assert "not needed any more" in register.browser().get(f"/offers/{one['link']}").text


def test_nobody_need_open_an_offer_for_it_to_be_taken_back(register, one):
    settle(register, one["request"])
    schedule_daily(register.db, register.clock)
    register.run_jobs()
    assert standing(register) == [(one["request"], "Bo", "taken_back")]


def test_a_coordinator_takes_an_accepted_one_back_with_a_reason(register, one):
    client = coordinator(register)
    client.post(f"/api/v1/offers/{one['offer']}/accept", json={})
    assert client.post(f"/api/v1/offers/{one['offer']}/take-back", json={}).status_code == 422
    done = client.post(f"/api/v1/offers/{one['offer']}/take-back", json={"why": "Bo's printer broke."})
    assert done.json()["state"] == "taken_back"
    assert len(planned(client)["assignments"]) == 1
    assert client.post(f"/api/v1/offers/{one['offer']}/take-back", json={"why": "again"}).status_code == 409


def test_a_new_link_ends_the_one_before(register, one):
    fresh = coordinator(register).post(f"/api/v1/offers/{one['offer']}/link").json()["link"]
    assert register.browser().get(f"/offers/{one['link']}").status_code == 404
    assert register.browser().get(f"/offers/{fresh}").status_code == 200
    assert register.browser().get("/offers/made-up").status_code == 404
    coordinator(register).post(f"/api/v1/offers/{one['offer']}/accept", json={})
    assert coordinator(register).post(f"/api/v1/offers/{one['offer']}/link").status_code == 409


def test_the_secret_of_a_link_is_not_kept(register, one):
    with register.db.reading() as session:
        assert one["link"] not in session.scalars(sa.select(OfferRow.token_hash)).all()


def test_the_volunteer_is_told_once_with_the_link_and_nothing_of_the_child(register, one):
    with register.db.reading() as session:
        (message,) = session.scalars(sa.select(MessageRow)).all()
    assert f"/offers/{one['link']}" in message.body
    for secret in ("Ines", "Quill", "finger", "Kiln"):
        assert secret not in message.body + message.subject


VISITING = (Skill.PRINT, Skill.ASSEMBLE, Skill.FIT)


@pytest.fixture
def visit(register):
    """Gil makes and brings a first device."""
    here = town(register, "Saltby", 52.0)
    account, client = signed_in(register, Role.VOLUNTEER, name="Gil")
    volunteer(
        register,
        "Gil",
        account=account,
        town_id=here,
        skills=VISITING,
        hours=20,
        vetted_until=TODAY + timedelta(days=30),
    )
    child = recipient(register, town_id=here)
    asked = request(register, child, kind=RequestKind.FIRST_DEVICE, days=90)
    (offer,) = offered(coordinator(register))["offers"]
    assert offer["delivers"] is True
    return {"client": client, "offer": offer["id"], "link": offer["link"], "request": asked, "recipient": child}


def address(client, offer: int):
    return client.get(f"/api/v1/offers/{offer}").json()["address"]


def test_an_address_is_shown_to_who_brings_it_from_yes_to_handed_over(register, visit):
    gil, offer = visit["client"], visit["offer"]
    assert address(gil, offer) is None, "not before they agreed"
    gil.post(f"/api/v1/offers/{offer}/accept", json={})
    assert address(gil, offer) == "7 Kiln Lane"
    assert gil.get("/api/v1/assignments").json()["items"][0]["address"] == "7 Kiln Lane"
    assert address(coordinator(register), offer) is None, "the case page has it; here it is the bringer's"
    assert "Kiln" not in register.browser().get(f"/offers/{visit['link']}").text, "a link can be forwarded"
    with register.db.reading() as session:
        read = sa.text("SELECT count(*) FROM audit_entries WHERE act = 'read' AND actor = 'Gil' AND recipient_id = :id")
        assert session.execute(read, {"id": visit["recipient"]}).scalar_one() >= 1, "who saw it is on record"
    settle(register, visit["request"])
    assert address(gil, offer) is None


def test_an_address_is_hidden_on_the_day_a_review_of_the_vetting_has_passed(register, visit):
    gil, offer = visit["client"], visit["offer"]
    gil.post(f"/api/v1/offers/{offer}/accept", json={})
    register.clock.forward(days=30)
    assert address(gil, offer) == "7 Kiln Lane", "on the day itself it still holds"
    register.clock.forward(days=1)
    assert address(gil, offer) is None


def test_who_posts_it_is_shown_no_address(register):
    account, client = signed_in(register, Role.VOLUNTEER, name="Hal")
    volunteer(register, "Hal", account=account, vetted_until=TODAY + timedelta(days=30))
    request(register, recipient(register), version_id=version(register))
    (offer,) = offered(coordinator(register))["offers"]
    client.post(f"/api/v1/offers/{offer['id']}/accept", json={})
    assert address(client, offer["id"]) is None


@pytest.mark.parametrize("role", PEOPLE)
def test_who_may_see_and_answer_offers(register, one, role):
    client = register.api(role)
    listed = client.get("/api/v1/offers").status_code
    answered = client.post(f"/api/v1/offers/{one['offer']}/accept", json={}).status_code
    expected = {Role.COORDINATOR: (200, 200), Role.VOLUNTEER: (200, 404)}.get(role, (403, 403))
    assert (listed, answered) == expected


def test_nobody_signed_in_sees_no_list(register, one):
    assert register.browser().get("/api/v1/offers").status_code == 401
    assert register.browser().get("/assignments").status_code in {303, 401}
