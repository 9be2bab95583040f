"""A socket that was reported or measured tight must reach somebody, whatever its forecast says."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.casefile.people import fitted, foreseen, measured, opened
from tests.casefile.test_pages import as_somebody, words
from tests.conftest import START, Register

TODAY = START.date()
TIGHT_AT = 190.0


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(register: Register, coordinator: TestClient) -> str:
    """A case whose socket fits for another two years, says the forecast."""
    number = opened(coordinator, register.api(Role.CLINICIAN))
    measured(coordinator, number, "2026-02-01", 171)
    socket = fitted(coordinator, number, tight_at=TIGHT_AT)
    later = date(2028, 3, 1)
    foreseen(register, socket, p10=later, p50=later, p90=later, start_by=date(2028, 2, 1))
    return number


def report(client: TestClient, number: str, on: str, fit: str, note: str = "") -> dict[str, Any]:
    body = {"on": on, "plies": [], "fit": fit, "note": note}
    answer = client.post(f"/api/v1/recipients/{number}/sock-reports", json=body)
    assert answer.status_code == 201, answer.text
    made: dict[str, Any] = answer.json()
    return made


def sign(client: TestClient) -> dict[str, Any] | None:
    """The sign of the first socket on the work list."""
    answer = client.get("/api/v1/work-list", params={"kind": "socket_due"})
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] | None = answer.json()["items"][0]["sign"]
    return found


def test_a_tight_report_heads_the_list_before_what_is_only_probably_tight(
    register: Register, coordinator: TestClient, number: str
) -> None:
    probably = opened(coordinator, register.api(Role.CLINICIAN), given_name="Probably")
    foreseen(register, fitted(coordinator, probably), p10=TODAY, p50=TODAY, already=0.95, start_by=TODAY)
    report(coordinator, number, "2026-02-25", "tight", "It hurts at the thumb.")
    items = coordinator.get("/api/v1/work-list", params={"kind": "socket_due"}).json()["items"]
    assert [item["given_name"] for item in items] == ["Ines", "Probably"]
    assert items[0]["sign"]["note"] == "It hurts at the thumb."
    assert items[0]["act_by"] == "2026-02-25"
    assert items[0]["why"] == "The socket was reported tight on 25 February 2026: ask today, and measure."

    browser = as_somebody(register, Role.COORDINATOR)
    said = words(browser, "/work-list")
    assert "One socket was reported or measured tight: ask today. One other socket should be started now" in said
    assert "reported tight on 25 February with no sock. Ask today, and measure." in said
    assert "“It hurts at the thumb.”" in said
    assert "A socket that hurts should come off" in said


def test_the_case_page_says_it_first_with_what_to_do_and_the_caution(
    register: Register, coordinator: TestClient, number: str
) -> None:
    report(coordinator, number, "2026-02-25", "tight", "It hurts at the thumb.")
    page = as_somebody(register, Role.COORDINATOR).get(f"/recipients/{number}").text
    lead, aside = page.partition('class="lead"')[2], page.partition('class="aside"')[2].partition("</aside>")[0]
    assert "everyday socket was reported tight" in lead[:200]
    for words_of_it in ("Ask today, and measure.", "It hurts at the thumb.", "should come off", "with no sock"):
        assert words_of_it in aside, aside


@pytest.mark.parametrize(
    ("then", "stands"),
    [
        (("report", "2026-02-26", "tight"), True),
        (("report", "2026-02-26", "snug"), False),
        (("report", "2026-02-26", "loose"), False),
        (("report", "2026-02-24", "snug"), True),
        (("measured", "2026-02-26", 60), False),
        (("measured", "2026-02-25", 60), False),
        (("measured", "2026-02-24", 60), True),
        (("measured", "2026-02-26", 120), True),  # not where the socket is tight
        (("fitted", "2026-02-26"), False),
        (("struck",), False),
    ],
)
def test_a_tight_report_stands_until_something_later_settles_it(
    register: Register, coordinator: TestClient, number: str, then: tuple[Any, ...], *, stands: bool
) -> None:
    made = report(coordinator, number, "2026-02-25", "tight")
    register.clock.forward(minutes=5)
    root = f"/api/v1/recipients/{number}"
    match then:
        case "report", on, fit:
            report(coordinator, number, on, fit)
        case "measured", on, level:
            measured(coordinator, number, on, 172, level_mm=level)
        case "fitted", on:
            limit = {"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": 199}
            previous = {"ended_on": on, "end_reason": "outgrown"}
            body = {"fitted_on": on, "limits": [limit], "previous": previous, "confirmed": True}
            answer = coordinator.post(f"{root}/devices/{made['device']}/sockets", json=body)
            assert answer.status_code == 201, answer.text
        case _:
            struck = f"{root}/sock-reports/{made['id']}/strike"
            answer = coordinator.post(struck, json={"why": "It was the other child."})
            assert answer.status_code in {200, 201}, answer.text
    assert (sign(coordinator) is not None) is stands


@pytest.mark.parametrize(("girth", "tight"), [(TIGHT_AT - 0.1, False), (TIGHT_AT, True), (TIGHT_AT + 4, True)])
def test_a_reading_at_a_limit_of_the_socket_in_place_is_a_sign(
    register: Register, coordinator: TestClient, number: str, girth: float, *, tight: bool
) -> None:
    measured(coordinator, number, "2026-02-27", girth)
    found = sign(coordinator)
    assert (found is not None) is tight
    if found is None:
        return
    assert (found["size_mm"], found["tight_at_mm"], found["on"]) == (girth, TIGHT_AT, "2026-02-27")
    browser = as_somebody(register, Role.COORDINATOR)
    for page in ("/work-list", f"/recipients/{number}"):
        said = words(browser, page)
        assert f"was measured tight on 27 February, {girth:.1f} mm where {TIGHT_AT:.1f} mm is tight" in said
        assert "That is the left residual limb girth at 60 mm." in said
        assert "should come off" in said
    measured(coordinator, number, "2026-02-28", TIGHT_AT - 5)
    assert sign(coordinator) is None


def test_a_snug_report_after_it_settles_a_reading_at_a_limit(coordinator: TestClient, number: str) -> None:
    measured(coordinator, number, "2026-02-27", TIGHT_AT)
    report(coordinator, number, "2026-02-27", "snug")
    assert sign(coordinator) is not None
    report(coordinator, number, "2026-02-28", "snug")
    assert sign(coordinator) is None


def test_a_sign_is_shown_even_while_the_case_is_paused(
    register: Register, coordinator: TestClient, number: str
) -> None:
    report(coordinator, number, "2026-02-25", "tight")
    paused = {"state": "paused", "state_reason": "is travelling"}
    assert coordinator.patch(f"/api/v1/recipients/{number}", json=paused).status_code == 200
    browser = as_somebody(register, Role.COORDINATOR)
    assert "· paused" in words(browser, "/work-list")
    assert "was reported tight" in words(browser, f"/recipients/{number}")


def test_the_probably_tight_come_likeliest_first(register: Register, coordinator: TestClient) -> None:
    clinician = register.api(Role.CLINICIAN)
    for name, already, late in (("Half", 0.5, 90), ("Most", 0.97, 3), ("Same", 0.6, 9), ("Older", 0.6, 30)):
        socket = fitted(coordinator, opened(coordinator, clinician, given_name=name))
        foreseen(register, socket, p10=TODAY, already=already, start_by=TODAY - timedelta(days=late))
    items = coordinator.get("/api/v1/work-list", params={"kind": "socket_due"}).json()["items"]
    assert [item["given_name"] for item in items] == ["Most", "Older", "Same", "Half"]


def test_what_is_said_and_read_of_one_child_neither_raises_nor_settles_a_sign_of_another(
    register: Register, coordinator: TestClient, number: str
) -> None:
    other = opened(coordinator, register.api(Role.CLINICIAN), given_name="Other")
    fitted(coordinator, other, tight_at=TIGHT_AT)
    report(coordinator, number, "2026-02-25", "tight")
    measured(coordinator, other, "2026-02-26", 172)
    report(coordinator, other, "2026-02-27", "snug")
    assert signed(coordinator) == {number: "reported"}
    report(coordinator, number, "2026-02-26", "snug")
    measured(coordinator, other, "2026-02-28", TIGHT_AT)
    assert signed(coordinator) == {other: "read"}
    measured(coordinator, number, "2026-03-01", 172)
    report(coordinator, number, "2026-03-01", "loose")
    assert signed(coordinator) == {other: "read"}


def signed(client: TestClient) -> dict[str, str]:
    """Whose sockets have a sign, and of which kind; those that have one come first."""
    items = client.get("/api/v1/work-list", params={"kind": "socket_due"}).json()["items"]
    found = {each["case_number"]: "read" if each["sign"]["place"] else "reported" for each in items if each["sign"]}
    assert [each["case_number"] for each in items[: len(found)]] == list(found)
    return found
