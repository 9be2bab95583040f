"""A volunteer keeps their own page on a phone; coordinators see all of their site's."""

from __future__ import annotations

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.casefile.people import opened
from tests.conftest import Register
from tests.volunteers.makers import PRINTER, VOLUNTEERS, volunteer

OWN = "/volunteering"


def test_somebody_keeps_their_own_page(register: Register) -> None:
    account = open_account(register, Role.VOLUNTEER)
    coordinator = register.api(Role.COORDINATOR)
    browser = signed_in(register)
    assert "You are not recorded as a volunteer yet." in browser.get(OWN).text
    at = f"/volunteers/{volunteer(coordinator, account=account)['id']}"
    page = browser.get(OWN).text
    assert "You have no printers working and 3 hours a week, and no days away are known." in page
    printer = {name: str(value) for name, value in PRINTER.items()} | {"materials": "PETG, TPU 95A"}
    assert post(browser, f"{at}/printers", printer, opened=OWN).headers["location"].startswith(OWN)
    assert post(browser, f"{at}/materials", {"material": "PETG", "colour": "teal", "grams": "250,5"}, opened=OWN)
    assert post(browser, f"{at}/absences", {"since": "2026-03-01", "until": "2026-03-05"}, opened=OWN)
    page = browser.get(OWN).text
    assert "prints PETG and TPU 95A" in page
    assert "About 250.5 g" in page
    assert "are away until" in page
    post(browser, f"{at}/printers/1", {"state": "out_of_order"}, opened=OWN)
    post(browser, f"{at}/materials/1", {"gone": "true"}, opened=OWN)
    post(browser, f"{at}/absences/1/end", {}, opened=OWN)
    post(browser, f"{at}/hours", {"hours_a_week": "1,5", "jobs_at_once": "1", "travels_km": "12"}, opened=OWN)
    page = browser.get(OWN).text
    assert "You have no printers working and 1.5 hours a week" in page
    assert "works again" in page
    assert "None is recorded." in page
    assert post(browser, f"{at}/right", {}, opened=OWN).headers["location"].endswith("done=volunteer-right")


def test_what_was_typed_wrongly_is_shown_again(register: Register) -> None:
    account = open_account(register, Role.VOLUNTEER)
    at = f"/volunteers/{volunteer(register.api(Role.COORDINATOR), account=account)['id']}"
    browser = signed_in(register)
    again = post(browser, f"{at}/absences", {"since": "2026-03-09", "until": "2026-03-05"}, opened=OWN)
    assert again.status_code == 422
    assert "The last day away is before the first" in again.text
    assert 'value="2026-03-09"' in again.text
    assert "No days away are recorded" in browser.get(OWN).text


def test_a_coordinator_records_and_finds_volunteers(register: Register) -> None:
    open_account(register, Role.COORDINATOR)
    browser = signed_in(register)
    assert "Nobody is recorded yet" in browser.get("/volunteers").text
    made = post(browser, "/volunteers/new", {"name": "Mira Lund", "hours_a_week": "2,5"})
    at = made.headers["location"].partition("?")[0]
    assert post(browser, f"{at}/trainings", {"skill": "fit", "trained_on": "2026-02-01"}, opened=at).status_code == 303
    vetting = {"kind": "home_visits", "checked_on": "2023-02-01"}
    assert post(browser, f"{at}/vettings", vetting, opened=at).status_code == 303
    page = browser.get(at).text
    assert "The review was due by 1 February 2026 by the charity&#39;s policy" in page
    assert "expire" not in page.lower()
    case = opened(register.api(Role.COORDINATOR))
    refused = post(browser, f"{at}/visits", {"case_number": case, "what_for": "Fitting"}, opened=at)
    assert refused.status_code == 422
    assert "never visited without one" in refused.text
    visit = {"case_number": case, "what_for": "Fitting", "guardian_present": "The mother"}
    assert post(browser, f"{at}/visits", visit, opened=at).status_code == 303
    assert "Present: The mother" in browser.get(at).text
    listed = browser.get("/volunteers").text
    assert "review of the vetting due" in listed
    assert "Fit; no printers working; 2.5 hours a week" in listed


def test_another_volunteer_sees_the_page_without_what_is_private(register: Register) -> None:
    at = VOLUNTEERS.removeprefix("/api/v1")
    one = volunteer(register.api(Role.COORDINATOR), email="joost@example.org", note="Has a dog")
    open_account(register, Role.VOLUNTEER)
    page = signed_in(register).get(f"{at}/{one['id']}").text
    assert "Joost Adeyemi" in page
    assert "Has a dog" not in page
    assert "joost@example.org" not in page
    assert "Vetting" not in page
    assert "Add a printer" not in page


def test_a_coordinator_changes_how_somebody_is_reached_and_ends_a_vetting(register: Register) -> None:
    open_account(register, Role.COORDINATOR)
    browser = signed_in(register)
    made = post(browser, "/volunteers/new", {"name": "Mira Lund", "hours_a_week": "2"})
    at = made.headers["location"].partition("?")[0]
    reached = {"name": "Mira Holm", "email": "mira@example.org", "phone": ""}
    assert post(browser, f"{at}/contact", reached, opened=at).status_code == 303
    page = browser.get(at).text
    assert "Mira Holm" in page
    assert 'value="mira@example.org"' in page
    post(browser, f"{at}/contact", {"name": "Mira Holm", "email": ""}, opened=at)
    assert 'value="mira@example.org"' not in browser.get(at).text
    post(browser, f"{at}/vettings", {"kind": "home_visits", "checked_on": "2026-02-01"}, opened=at)
    assert "It counts no more" in browser.get(at).text
    assert post(browser, f"{at}/vettings/1/end", {}, opened=at).status_code == 303
    assert "it counts no more since" in browser.get(at).text
