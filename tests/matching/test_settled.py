"""What is asked for no more is taken back from whoever was asked to make it, at once, and they are told."""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import Role
from service.notifications.tables import MessageRow
from tests.matching.things import coordinator, standing, tapped


def told(register):
    with register.db.reading() as session:
        return list(session.scalars(sa.select(MessageRow.body).where(MessageRow.key.endswith(":over"))))


def settled(register, one, what, **body):
    answer = coordinator(register).post(f"/api/v1/requests/{one['request']}/{what}", json=body)
    assert answer.status_code == 200, answer.text
    register.run_jobs()


def test_an_offer_that_waits_is_taken_back_when_its_request_closes(register, one):
    settled(register, one, "close", why="They found it under the bed.")
    assert [state for _, _, state in standing(register)] == ["taken_back"]
    (body,) = told(register)
    assert "there is nothing to do" in body
    assert "not needed any more" in register.browser().get(f"/offers/{one['link']}").text


def test_who_makes_it_already_is_told_to_stop(register, one):
    tapped(register.browser(), one["link"], "accept")
    settled(register, one, "close", why="The family moved away.")
    assert [state for _, _, state in standing(register)] == ["taken_back"]
    (body,) = told(register)
    assert "Please stop" in body
    assert register.api(Role.COORDINATOR).get("/api/v1/assignments").json()["items"] == []


def test_what_was_handed_over_stays_with_whoever_made_it(register, one):
    tapped(register.browser(), one["link"], "accept")
    settled(register, one, "answered", note="Posted on Monday.")
    assert [state for _, _, state in standing(register)] == ["accepted"]
    assert told(register) == []


def test_it_is_said_once(register, one):
    settled(register, one, "close", why="Found again.")
    register.clock.forward(days=1)
    register.run_jobs()
    assert len(told(register)) == 1
