"""The work list says what waits beside it: harm, calls to make, requests that are late; to whoever may act on it."""

from __future__ import annotations

from service.access.permissions import Role
from tests.accounts.people import open_account, signed_in
from tests.casefile.people import opened
from tests.conftest import Register
from tests.devices.worn import made
from tests.requests.asking import ask


def page_of(register: Register, role: Role) -> str:
    open_account(register, role)
    return signed_in(register).get("/work-list").text


def test_nothing_waits_in_an_empty_register(register):
    page = page_of(register, Role.COORDINATOR)
    for words in ("not been judged", "looked at, the first", "to be rung", "answered already"):
        assert words not in page


def test_what_waits_is_said_with_where_to_act(register):
    coordinator = register.api(Role.COORDINATOR)
    number = opened(coordinator)
    made(coordinator, f"recipients/{number}/incidents", {"kind": "near_harm", "words": "It came apart."})
    made(coordinator, f"recipients/{number}/skin-reports", {"signs": ["red_stays"], "words": "At the elbow."})
    ask(coordinator, number, "adjustment")
    register.clock.forward(days=12)
    page = page_of(register, Role.COORDINATOR)
    assert "One incident has not been judged yet." in page
    assert "One limb should be looked at, the first by 4 March 2026." in page
    assert "One request should have been answered already." in page
    assert page.count('href="/safety"') >= 2


def test_a_volunteer_is_told_nothing_they_cannot_act_on(register):
    coordinator = register.api(Role.COORDINATOR)
    made(coordinator, f"recipients/{opened(coordinator)}/incidents", {"kind": "harm", "words": "It pinched."})
    assert "not been judged" not in page_of(register, Role.VOLUNTEER)
