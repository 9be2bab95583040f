"""Pages for those who see the cases: spare parts to send along, and the exact figures of their own sites."""

from __future__ import annotations

from datetime import date, timedelta

from service.access.permissions import Role
from service.devices.rules import EndReason
from tests.accounts.people import open_account, signed_in
from tests.conftest import Register
from tests.figures.rows import Writer

SINCE = date(2025, 1, 1)


def worn(register: Register) -> int:
    """A device with two fingers of a version of which many broke; returns its id."""
    with register.db.writing() as session:
        write = Writer(session, register.sites["harbour"])
        version = write.version("Finger", 1)
        device = write.device(write.person(), SINCE)
        for _ in range(2):
            write.stay(write.part(version), device, SINCE)
        for _ in range(12):
            off = SINCE + timedelta(days=80)
            write.stay(write.part(version), write.device(write.person(), SINCE), SINCE, off, EndReason.BROKEN)
        return device


def test_the_kit_of_a_device_says_how_many_and_why(register: Register) -> None:
    device = worn(register)
    open_account(register, Role.VOLUNTEER)
    open_account(register, Role.COORDINATOR, email="c@example.org")
    coordinator = signed_in(register, "c@example.org")
    page = coordinator.get(f"/outcomes/spares?device={device}").text
    assert "Finger, version 1" in page
    assert "12 of this version broke in" in page
    assert "<strong>6 months</strong>" in page
    longer = coordinator.get(f"/outcomes/spares?device={device}&months=12&service_level=0.99").text
    assert "<strong>12 months</strong>" in longer
    assert "<strong>99 in 100</strong>" in longer
    assert "Merrow" not in page
    volunteer = signed_in(register)  # of the same site, and asked to help with none of its cases
    assert volunteer.get(f"/outcomes/spares?device={device}").status_code == 404
    assert "No printed part is in place" in volunteer.get("/outcomes/spares").text
    assert "Finger, version 1: " in coordinator.get("/outcomes/spares").text
    assert coordinator.get("/outcomes/spares?months=999").status_code == 422


def test_a_site_without_printed_parts_is_told_so(register: Register) -> None:
    open_account(register, Role.COORDINATOR)
    assert "No printed part is in place" in signed_in(register).get("/outcomes/spares").text


def test_exact_figures_say_that_they_are_not_to_be_passed_on(register: Register) -> None:
    worn(register)
    open_account(register, Role.COORDINATOR)
    page = signed_in(register).get("/outcomes/exact").text
    assert "not to be passed on" in page
    assert '<th scope="row">all</th><td class="n">13</td>' in page
    open_account(register, Role.TRUSTEE, email="t@example.org")
    assert signed_in(register, "t@example.org").get("/outcomes/exact").status_code == 403
