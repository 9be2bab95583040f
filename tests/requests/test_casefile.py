"""What is asked for, where people look first: the work list and the case page."""

from __future__ import annotations

from service.access.permissions import Role
from tests.accounts.people import open_account, signed_in
from tests.assembly.things import a_device
from tests.conftest import Register
from tests.requests.asking import INDEX, ask, done


def test_the_work_list_and_the_case_say_what_is_asked_for(register: Register) -> None:
    api = register.api(Role.COORDINATOR)
    open_account(register, Role.COORDINATOR, email="c@example.org")
    browser = signed_in(register, "c@example.org")
    number, _device = a_device(api)
    request = ask(api, number, parts=[INDEX], asker="family", usable=False)
    register.clock.forward(days=2)
    said = "asked on Monday by the family; needed by 9 March 2026."
    items = api.get("/api/v1/work-list", params={"kind": "missing"}).json()["items"]
    assert [each["said"] for each in items[0]["asked"]] == [said]
    for page in (f"/recipients/{number}", "/work-list?kind=missing"):
        shown = browser.get(page).text
        assert f'<a href="/requests/{request["id"]}">Index finger broken</a>: {said}' in shown
    assert f'href="/recipients/{number}/requests/new"' in browser.get(f"/recipients/{number}").text
    done(api, request["id"], "close", why="They found it")
    for page in (f"/recipients/{number}", "/work-list?kind=missing"):
        assert "Index finger broken" not in browser.get(page).text
