"""How often what somebody made passed its first bench check, and what waits for one."""

from __future__ import annotations

import pytest

from service.access.permissions import Role
from tests.accounts.people import open_account, signed_in
from tests.gate.things import workshop


def test_only_the_first_check_of_each_build_counts(register):
    shop = workshop(register)
    path = f"/api/v1/volunteers/{shop.volunteer}/first-time"
    assert shop.maker.get(path).json()["passed_first"] is None
    build = shop.made(shop.opened())
    assert shop.checked(build, label={"result": "fail", "why": "no number"}).status_code == 201
    shop.move(build, "making")
    shop.move(build, "made")
    assert shop.checked(build).status_code == 201
    found = shop.maker.get(path).json()
    assert (found["checked"], found["passed"]) == (1, 0)
    # Wilson, 95 per cent, none of one: 1.96^2 / (1 + 1.96^2) (computed).
    assert found["passed_first"] == pytest.approx([0, 0, 0.7935], abs=1e-4)
    assert shop.checker.get(path).status_code == 404
    assert register.api(Role.COORDINATOR, sites=("island",)).get(path).status_code == 404


def test_the_work_list_says_what_waits_for_a_check(register):
    shop = workshop(register)
    open_account(register, Role.COORDINATOR, email="coordinator@example.org")
    browser = signed_in(register, "coordinator@example.org")
    assert "bench check by somebody else" not in browser.get("/work-list").text
    shop.made(shop.opened())
    assert "One build waits for a bench check by somebody else." in browser.get("/work-list").text
