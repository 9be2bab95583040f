"""Several answer or accept in the same moment: one counts, and the others are told."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest

from service.access.actor import Actor
from service.access.permissions import Role
from service.access.work import Work
from service.kit.errors import Conflict
from service.matching.actions import _answer
from service.matching.queries import offer
from service.matching.rules import OfferState
from tests.conftest import START
from tests.matching.things import (
    coordinator,
    offered,
    planned,
    recipient,
    request,
    standing,
    tapped,
    version,
    volunteer,
)


def test_of_many_who_answer_at_once_one_answer_counts(register, one):
    clients = [coordinator(register) for _ in range(6)]
    answers = ["accept", "decline"] * 3

    def press(at: int) -> int:
        return int(clients[at].post(f"/api/v1/offers/{one['offer']}/{answers[at]}", json={}).status_code)

    with ThreadPoolExecutor(6) as pool:
        statuses = list(pool.map(press, range(6)))
    assert sorted(statuses) == [200, 200, 200, 409, 409, 409]
    states = [state for _, name, state in standing(register) if name == "Bo"]
    assert len(states) == 1
    assert states[0] in {"accepted", "declined"}


def test_an_answer_that_comes_a_moment_after_the_opposite_is_refused(register, one):
    account = register.account(Role.COORDINATOR)
    actor = Actor("Bryony", frozenset({Role.COORDINATOR}), frozenset(register.sites.values()), account)
    with register.db.reading() as session:
        as_read_before = offer(Work(session, actor, START), one["offer"])
    assert coordinator(register).post(f"/api/v1/offers/{one['offer']}/accept", json={}).status_code == 200
    with register.db.writing() as session, pytest.raises(Conflict, match="accepted already"):
        _answer(Work(session, actor, START), as_read_before, OfferState.DECLINED, "")
    assert [state for _, name, state in standing(register) if name == "Bo"] == ["accepted"]


def test_of_many_who_accept_one_plan_at_once_one_asks(register):
    volunteer(register, "Bo", at_once=5)
    finger = version(register)
    for name in ("Ines", "Tam", "Uri"):
        request(register, recipient(register, name), version_id=finger)
    clients = [coordinator(register) for _ in range(4)]
    plan = planned(clients[0])
    with ThreadPoolExecutor(4) as pool:
        done = list(pool.map(lambda client: offered(client, plan), clients))
    assert {len(each["offers"]) for each in done} == {3}
    assert sum(offer["link"] is not None for each in done for offer in each["offers"]) == 3
    assert len(standing(register)) == 3


def test_of_two_plans_accepted_at_once_a_request_is_asked_once(register, one):
    tapped(register.browser(), one["link"], "decline")
    volunteer(register, "Di", colours=("red",))
    clients = [coordinator(register) for _ in range(4)]
    plans = [planned(client) for client in clients]
    with ThreadPoolExecutor(4) as pool:
        list(pool.map(lambda pair: offered(*pair), zip(clients, plans, strict=True)))
    assert [state for _, _, state in standing(register)].count("waiting") == 1
