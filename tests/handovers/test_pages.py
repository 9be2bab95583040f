"""A build's pages as a maker, a checker and a coordinator use them, from the first tap to the limb."""

from __future__ import annotations

import re

import pytest

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.assembly.things import assemblies
from tests.gate.things import PRESCRIPTION, workshop


@pytest.fixture
def shop(register):
    return workshop(register)


@pytest.fixture
def coordinator(register):
    open_account(register, Role.COORDINATOR, email="coordinator@example.org")
    return signed_in(register, "coordinator@example.org")


@pytest.fixture
def checker(register):
    open_account(register, Role.VOLUNTEER, email="checker@example.org")
    return signed_in(register, "checker@example.org")


def ticked(page):
    """Every finding of a form, in order."""
    return dict.fromkeys(re.findall(r'name="(result-[a-z_]+)"', page), "pass")


def test_from_the_request_to_the_limb_on_the_pages(shop, coordinator, checker):
    build = shop.opened()
    asked = shop.build(build)["request"]
    again = post(coordinator, "/builds", {"request": str(asked)}, opened=f"/requests/{asked}")
    assert again.headers["location"].startswith(f"/builds/{build}")
    assert coordinator.get(f"/builds?request={asked}").headers["location"] == f"/builds/{build}"
    page = f"/builds/{build}"
    assert "Begin it" in coordinator.get(page).text
    assert post(coordinator, f"{page}/moves", {"to": "making"}, opened=page).status_code == 303
    item = shop.build(build)["items"][0]["id"]
    form = coordinator.get(f"{page}/print").text
    (press,) = re.findall(r'name="press" value="([^"]+)"', form)
    failed = {"item": str(item), "went": "failed"}
    assert "Say why it failed" in post(coordinator, f"{page}/print", failed).text
    assert post(coordinator, f"{page}/print", {**failed, "failed": "strings"}).status_code == 303
    assert "strings or blobs" in coordinator.get(page).text
    body = {"item": str(item), "lot": str(shop.spool), "went": "out", "hours": "0,5", "quantity": "1", "press": press}
    for _twice in range(2):
        assert post(coordinator, f"{page}/print", body).status_code == 303
    assert len(shop.build(build)["prints"]) == 2
    assert post(coordinator, f"{page}/moves", {"to": "made"}, opened=page).status_code == 303
    assert "ask somebody of your site" in coordinator.get(f"{page}/check/bench").text
    own = post(coordinator, f"{page}/check/bench", {"result-label": "pass"})
    assert own.status_code == 422
    assert "somebody else signs" in own.text
    checks = f"{page}/check/bench"
    assert "Sign its bench check" in checker.get(page).text
    missing = post(checker, checks, {"result-sharp_edges": "pass"})
    assert missing.status_code == 422
    assert "Look at these as well" in missing.text
    signed = post(checker, checks, ticked(checker.get(checks).text)).headers["location"]
    assert signed.endswith("check-passed")
    assert "The check is signed" in checker.get(signed).text
    assert "Record the delivery" in coordinator.get(page).text
    assert post(coordinator, f"{page}/delivered", {"to": "the mother", "by_post": "false"}).status_code == 303
    assert post(coordinator, f"{page}/put-on", {}, opened=page).status_code == 303
    fitted = f"{page}/fitted"
    form = coordinator.get(fitted).text
    assert "look at the skin at 09:20" in form
    (part,) = re.findall(r'name="(off_part-\d+)"', form)
    answers = {**ticked(form), part: "broken", "cautions_acknowledged_by": "the mother", "on": "2026-03-02"}
    early = post(coordinator, fitted, answers)
    assert early.status_code == 422
    assert "not before" in early.text
    shop.register.clock.forward(minutes=20)
    done = post(coordinator, fitted, answers)
    assert done.headers["location"].endswith("build-fitted")
    (worn,) = assemblies(shop.coordinator, shop.number)[shop.device]
    assert worn["place"] != shop.place
    assert "The first days of wearing go on" in coordinator.get(page).text


def test_what_stands_in_the_way_is_said_with_what_lifts_it(register, coordinator):
    shop = workshop(register, **{name: None if name == "prescribed_on" else "" for name in PRESCRIPTION})
    build = shop.opened()
    page = coordinator.get(f"/builds/{build}").text
    assert "What stands in the way" in page
    assert "prescription" in page
    assert "recorded legal basis with the trustee" in page
    refused = post(coordinator, f"/builds/{build}/moves", {"to": "making"}, opened=f"/builds/{build}")
    assert refused.status_code == 422
    assert "It cannot be begun yet" in refused.text


def test_a_clinician_and_a_checker_are_offered_what_they_may_do(register, shop, checker):
    open_account(register, Role.CLINICIAN, email="clinician@example.org")
    clinician = signed_in(register, "clinician@example.org")
    build = shop.opened()
    assert "Begin it" not in clinician.get(f"/builds/{build}").text
    shop.made(build)
    for browser in (clinician, checker):
        assert "Sign its bench check" in browser.get(f"/builds/{build}").text
        assert "Send it back" not in browser.get(f"/builds/{build}").text
    shop.checked(build, by=shop.coordinator)
    assert "Record the delivery" in clinician.get(f"/builds/{build}").text


def test_the_lists_are_grouped_by_what_is_to_be_done(shop, coordinator, checker):
    assert "Nothing is being made" in coordinator.get("/builds").text
    build = shop.opened()
    assert "To begin" in coordinator.get("/builds").text
    assert f"/builds/{build}" not in checker.get("/builds").text
    shop.made(build)
    assert f"/builds/{build}" in checker.get("/builds").text
    assert shop.number not in checker.get(f"/builds/{build}").text
    assert "for Ines" not in checker.get(f"/builds/{build}").text
    assert "for Ines" in coordinator.get(f"/builds/{build}").text


def test_what_is_with_a_family_and_blocked_is_said_to_come_back(shop, coordinator):
    build = shop.delivered(shop.opened())
    page = f"/builds/{build}"
    assert "It is put on now" in coordinator.get(page).text
    assert "Something stands in its way." not in coordinator.get("/builds").text
    shop.coordinator.post(f"/api/v1/lots/{shop.spool}/state", json={"state": "held", "why": "Brittle."})
    shown = coordinator.get(page).text
    assert "Do not put this on. Ring the family, and have it back" in shown
    assert "It is put on now" not in shown
    assert "Something stands in its way." in coordinator.get("/builds").text


def test_a_sent_back_build_says_why(shop, coordinator):
    build = shop.made(shop.opened())
    page = f"/builds/{build}"
    without = post(coordinator, f"{page}/moves", {"to": "sent_back"}, opened=page)
    assert without.status_code == 422
    assert (
        post(coordinator, f"{page}/moves", {"to": "sent_back", "why": "a sharp edge"}, opened=page).status_code == 303
    )
    assert "a sharp edge" in coordinator.get(page).text


def test_trustees_record_what_they_decided(register):
    open_account(register, Role.TRUSTEE, email="trustee@example.org")
    trustee = signed_in(register, "trustee@example.org")
    assert "No decision of trustees stands" in trustee.get("/site-rules").text
    body = {
        "site": "harbour",
        "rule": "legal_basis",
        "words": "Grown-ups ask for themselves.",
        "trustee": "Ada Vos",
        "decided_on": "2026-03-01",
    }
    assert post(trustee, "/site-rules", body).status_code == 303
    shown = trustee.get("/site-rules").text
    assert "Ada Vos" in shown
    assert "End this decision" in shown
    assert trustee.get("/gate").status_code == 200
    assert trustee.get("/builds").status_code == 403
