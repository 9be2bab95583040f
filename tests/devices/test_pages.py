"""The device pages as a browser uses them: forms opened, filled in, refused and shown again."""

from __future__ import annotations

import re
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.conftest import Register
from tests.devices.worn import GIRTH, LENGTH, device, made, opened, socket

EMAIL = "coordinator@example.org"


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def browser(register: Register) -> TestClient:
    open_account(register, Role.COORDINATOR, email=EMAIL)
    return signed_in(register, EMAIL)


@pytest.fixture
def case(coordinator: TestClient) -> str:
    return f"/recipients/{opened(coordinator)}"


def listed(client: TestClient, case: str, what: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = client.get(f"/api/v1{case}/{what}").json()["items"]
    return found


def test_a_device_a_socket_and_a_report_through_the_forms(
    coordinator: TestClient, browser: TestClient, case: str
) -> None:
    made = post(browser, f"{case}/devices/new", {"purpose": "everyday", "side": "left"})
    assert made.status_code == 303
    page, _, done = made.headers["location"].partition("?")
    assert done == "done=device-recorded"
    assert "nothing can be forecast" in browser.get(page).text

    fields = {
        "fitted_on": "2026-01-12",
        "socks_at_fitting": "3 + 1",
        "limits.0.dimension": "residual_limb_girth",
        "limits.1.dimension": "residual_limb_girth",
        "limits.1.level_mm": "60",
        "limits.1.tight_at_mm": "190,5",
        "limits.3.dimension": "residual_limb_length",
        "limits.3.tight_at_mm": "120",
    }
    fitted = post(browser, f"{page}/sockets/new", fields)
    assert fitted.headers["location"] == f"{page}?done=socket-recorded"
    shown = browser.get(fitted.headers["location"]).text
    assert "190.5 mm" in shown
    assert "one 1-ply and one 3-ply socks" in shown
    (recorded,) = listed(coordinator, case, "devices")
    assert [(limit["level_mm"], limit["tight_at_mm"]) for limit in recorded["socket"]["limits"]] == [
        (60.0, 190.5),
        (None, 120.0),
    ]

    answer = post(browser, f"{case}/socks", {"plies": "3+1", "fit": "snug"})
    assert answer.headers["location"] == f"{case}?done=socks-reported"
    (report,) = listed(coordinator, case, "sock-reports")
    assert (report["plies"], report["fit"], report["on"]) == ([3, 1], "snug", "2026-03-02")
    assert "one 1-ply and one 3-ply socks, snug, on" in browser.get(f"{case}/socks").text


def test_what_was_typed_stays_and_each_problem_stands_at_its_row(
    coordinator: TestClient, browser: TestClient, case: str
) -> None:
    page = f"{case}/devices/{device(coordinator, case.rpartition('/')[2])}/sockets/new"
    fields = {
        "fitted_on": "2026-01-12",
        "note": "lined with silicone",
        "limits.1.dimension": "residual_limb_girth",
        "limits.1.level_mm": "60",
        "limits.1.tight_at_mm": "1905",
        "limits.2.dimension": "residual_limb_girth",
        "limits.2.tight_at_mm": "180",
    }
    refused = post(browser, page, fields)
    assert refused.status_code == 422
    assert 'href="#limits.1.tight_at_mm"' in refused.text
    assert 'href="#limits.2.level_mm"' in refused.text
    assert 'value="1905"' in refused.text
    assert "lined with silicone" in refused.text
    assert listed(coordinator, case, "devices")[0]["socket"] is None

    empty = post(browser, page, {"fitted_on": "2026-01-12"})
    assert "Type at least one size at which it is tight" in empty.text
    words = post(browser, page, {**fields, "limits.1.tight_at_mm": "about 190", "limits.2.level_mm": "30"})
    assert words.status_code == 422
    assert 'value="about 190"' in words.text


def test_the_device_page_says_how_much_room_is_left(coordinator: TestClient, browser: TestClient, case: str) -> None:
    number = case.rpartition("/")[2]
    everyday = device(coordinator, number)
    socket(coordinator, number, everyday, limits=[GIRTH, LENGTH])
    reading = {"dimension": "residual_limb_girth", "side": "left", "level_mm": 60, "values": [174], "unit": "mm"}
    session = {"taken_on": "2026-02-20", "method": "tape", "readings": [reading]}
    made(coordinator, f"recipients/{number}/measurements", session)
    page = browser.get(f"{case}/devices/{everyday}").text
    assert f"{GIRTH['tight_at_mm'] - 174:.1f} mm" in page
    assert "not measured here" in page
    assert "<td>none<br>" not in page
    bigger = {"taken_on": "2026-02-28", "method": "tape", "readings": [{**reading, "values": [191]}], "confirmed": True}
    made(coordinator, f"recipients/{number}/measurements", bigger)
    assert "<td>none<br>" in browser.get(f"{case}/devices/{everyday}").text


def test_the_socket_before_is_ended_by_the_form_and_its_sizes_stand_beside(
    coordinator: TestClient, browser: TestClient, case: str
) -> None:
    number = case.rpartition("/")[2]
    everyday = device(coordinator, number)
    socket(coordinator, number, everyday, "2025-03-01", [GIRTH, LENGTH])
    page = f"{case}/devices/{everyday}"
    form = browser.get(f"{page}/sockets/new").text
    assert "190.5 mm on the socket before" in form
    fields = {
        "fitted_on": "2026-02-10",
        "limits.0.dimension": "residual_limb_girth",
        "limits.0.level_mm": "60",
        "limits.0.tight_at_mm": "201",
    }
    without_reason = post(browser, f"{page}/sockets/new", fields)
    assert without_reason.status_code == 422
    assert "still in place" in without_reason.text
    assert post(browser, f"{page}/sockets/new", {**fields, "previous.end_reason": "outgrown"}).status_code == 303
    shown = browser.get(page).text
    assert "outgrown" in shown
    assert "201.0 mm" in shown


def test_a_socket_comes_off_through_its_form(coordinator: TestClient, browser: TestClient, case: str) -> None:
    number = case.rpartition("/")[2]
    everyday = device(coordinator, number)
    fitted = socket(coordinator, number, everyday)
    page = f"{case}/devices/{everyday}/sockets/{fitted}/end"
    unsaid = post(browser, page, {"ended_on": "2026-02-20"})
    assert unsaid.status_code == 422
    assert 'href="#end_reason"' in unsaid.text
    ended = post(browser, page, {"ended_on": "2026-02-20", "end_reason": "broken", "note": "at the rim"})
    assert ended.status_code == 303
    assert "at the rim" in browser.get(ended.headers["location"]).text
    again = post(browser, page, {"ended_on": "2026-02-20", "end_reason": "broken"})
    assert "come off already" in again.text


def test_use_is_changed_through_the_form(coordinator: TestClient, browser: TestClient, case: str) -> None:
    everyday = device(coordinator, case.rpartition("/")[2], note="green")
    page = f"{case}/devices/{everyday}/change"
    assert 'value="everyday"' in browser.get(page).text
    fields = {"purpose": "everyday", "use": "stopped", "note": ""}
    assert 'href="#stopped_reason"' in post(browser, page, fields).text
    assert post(browser, page, {**fields, "stopped_reason": "goes without"}).status_code == 303
    assert "goes without" in browser.get(f"{case}/devices/{everyday}").text
    (stopped,) = listed(coordinator, case, "devices")
    assert (stopped["use"], stopped["note"]) == ("stopped", "")
    back = {"purpose": "school", "use": "in_use", "stopped_reason": "goes without", "stopped_on": "2026-03-02"}
    assert post(browser, page, back).status_code == 303
    (used,) = listed(coordinator, case, "devices")
    assert (used["purpose"], used["use"], used["stopped_reason"]) == ("school", "in_use", "")


def test_a_setting_is_recorded_and_a_changed_one_struck(
    coordinator: TestClient, browser: TestClient, case: str
) -> None:
    everyday = device(coordinator, case.rpartition("/")[2])
    page = f"{case}/devices/{everyday}/settings/new"
    for day, value in (("2026-01-05", "30"), ("2026-02-05", "45")):
        fields = {"set_on": day, "name": "grip strength", "value": value, "unit": "%"}
        assert post(browser, page, fields).status_code == 303
    shown = browser.get(f"{case}/devices/{everyday}").text
    assert "<s>30 %</s>" in shown
    assert "<s>45 %</s>" not in shown


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"fit": "snug"}, "plies"),
        ({"fit": "snug", "plies": "other"}, "other"),
        ({"fit": "snug", "plies": "other", "other": "the thick one"}, "other"),
        ({"fit": "snug", "plies": "3", "other": "3+1"}, "plies"),
        ({"plies": "3"}, "fit"),
        ({"plies": "3", "fit": "snug", "on": "2026-03-03"}, "on"),
        ({"plies": "other", "other": "4", "fit": "snug"}, "plies"),
    ],
)
def test_a_sock_form_that_is_not_plain_comes_back_filled_in(
    coordinator: TestClient, browser: TestClient, case: str, fields: dict[str, str], field: str
) -> None:
    number = case.rpartition("/")[2]
    socket(coordinator, number, device(coordinator, number))
    refused = post(browser, f"{case}/socks", {**fields, "note": "after swimming"})
    assert refused.status_code == 422
    assert f'href="#{field}"' in refused.text
    assert 'value="after swimming"' in refused.text
    if fields.get("plies") == "3":
        assert re.search(r'value="3" checked', refused.text)
    assert listed(coordinator, case, "sock-reports") == []


def test_with_two_devices_the_sock_form_asks_which(coordinator: TestClient, browser: TestClient, case: str) -> None:
    number = case.rpartition("/")[2]
    everyday, cycling = device(coordinator, number), device(coordinator, number, purpose="cycling")
    for each in (everyday, cycling):
        socket(coordinator, number, each)
    assert "Which device?" in browser.get(f"{case}/socks").text
    unsaid = post(browser, f"{case}/socks", {"plies": "none", "fit": "tight"})
    assert 'href="#device"' in unsaid.text
    said = post(browser, f"{case}/socks", {"plies": "none", "fit": "tight", "device": str(cycling)})
    assert said.status_code == 303
    assert [(each["device"], each["plies"]) for each in listed(coordinator, case, "sock-reports")] == [(cycling, [])]


def test_without_a_socket_the_sock_page_says_what_to_do_first(browser: TestClient, case: str) -> None:
    page = browser.get(f"{case}/socks").text
    assert "no socket in place" in page
    assert f'href="{case}/devices/new"' in page


def test_somebody_who_may_only_look_is_shown_no_form(register: Register, coordinator: TestClient, case: str) -> None:
    everyday = device(coordinator, case.rpartition("/")[2])
    open_account(register, Role.SAFEGUARDING_LEAD, email="lead@example.org")
    lead = signed_in(register, "lead@example.org")
    page = lead.get(f"{case}/devices/{everyday}")
    assert page.status_code == 200
    assert f"{everyday}/change" not in page.text
    for form in ("socks", "devices/new", f"devices/{everyday}/change", f"devices/{everyday}/sockets/new"):
        assert lead.get(f"{case}/{form}").status_code == 403
    assert lead.get(f"{case}/devices/{everyday + 1}").status_code == 404
