"""Whatever belongs to somebody else is not there: each actor tries each thing of another's, by every address it has."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.accounts.people import open_account, signed_in
from tests.conftest import Register
from tests.devices.worn import made, opened
from tests.family.people import let_in, link
from tests.pictures.taken import encoded, scene
from tests.requests.asking import ask

VETTED = {"kind": "home_visits", "checked_on": "2026-01-01"}
Tried = tuple[str, str, dict[str, Any] | None]
API: dict[str, Tried] = {
    "a case": ("GET", "/api/v1/recipients/{number}", None),
    "its measurements": ("GET", "/api/v1/recipients/{number}/measurements", None),
    "its devices": ("GET", "/api/v1/recipients/{number}/devices", None),
    "its forecasts": ("GET", "/api/v1/recipients/{number}/forecasts", None),
    "a request": ("GET", "/api/v1/requests/{request}", None),
    "its history": ("GET", "/api/v1/requests/{request}/history", None),
    "its photograph": ("GET", "/api/v1/requests/{request}/photos/{photo}", None),
    "a question about it": ("POST", "/api/v1/requests/{request}/questions", {"question": "Where does it hurt?"}),
    "an incident": ("GET", "/api/v1/incidents/{incident}", None),
    "a review": ("GET", "/api/v1/reviews/{review}", None),
    "an offer": ("GET", "/api/v1/offers/{offer}", None),
    "a yes to it": ("POST", "/api/v1/offers/{offer}/accept", {}),
}
KEPT_BY_COORDINATORS: dict[str, Tried] = {
    "a place in triage": ("POST", "/api/v1/requests/{request}/triage", {"rank": 1, "why": "Because."}),
    "its candidates": ("GET", "/api/v1/requests/{request}/candidates", None),
    "a link for the family": ("POST", "/api/v1/recipients/{number}/family-links", {}),
    "a plan": ("GET", "/api/v1/plans/{plan}", None),
    "a yes to the plan": ("POST", "/api/v1/plans/{plan}/accept", {}),
    "a volunteer": ("GET", "/api/v1/volunteers/{volunteer}", None),
    "their vetting": (
        "POST",
        "/api/v1/volunteers/{volunteer}/vettings",
        {"kind": "home_visits", "checked_on": "2026-01-01"},
    ),
}


ALL: dict[str, Tried] = {**API, **KEPT_BY_COORDINATORS}


@pytest.fixture
def theirs(register: Register) -> dict[str, Any]:
    """A case at the harbour with something of everything, and the browser of its family."""
    coordinator = register.api(Role.COORDINATOR)
    number = opened(coordinator)
    device = made(coordinator, f"recipients/{number}/devices", {"purpose": "everyday", "side": "left"})["id"]
    request = ask(coordinator, number, device=device, usable=False)["id"]
    photo = {"photo": ("photo.jpg", encoded(scene(), "JPEG"), "image/jpeg")}
    kept = coordinator.post(f"/api/v1/requests/{request}/photos", files=photo).json()["photos"][0]["id"]
    maker = made(coordinator, "volunteers", {"name": "Mira Lund", "email": "mira@example.org"})["id"]
    for skill in ("print", "assemble", "fit"):
        training = {"skill": skill, "trained_on": "2026-01-01"}
        assert coordinator.post(f"/api/v1/volunteers/{maker}/trainings", json=training).status_code == 201
    printer = {"name": "One", "width_mm": 220, "depth_mm": 220, "height_mm": 220, "materials": ["PETG"]}
    assert coordinator.post(f"/api/v1/volunteers/{maker}/printers", json=printer).status_code == 201
    plan = made(coordinator, "plans", {"site": "harbour"})
    (offer,) = coordinator.post(f"/api/v1/plans/{plan['id']}/accept", json={}).json()["offers"]
    skin = made(coordinator, f"recipients/{number}/skin-reports", {"signs": ["red_stays"], "words": "At the elbow."})
    assert skin["review_due_on"]
    incident = made(coordinator, f"recipients/{number}/incidents", {"kind": "near_harm", "words": "It came apart."})
    (review,) = coordinator.get("/api/v1/reviews").json()["items"]
    names = {"number": number, "request": request, "photo": kept, "plan": plan["id"], "offer": offer["id"]}
    more = {"volunteer": maker, "incident": incident["id"], "review": review["id"]}
    return {**names, **more, "home": link(coordinator, number)}


def tried(client: TestClient, what: Tried, names: dict[str, Any]) -> int:
    method, path, body = what
    return client.request(method, path.format(**names), json=body).status_code


def test_to_its_own_coordinator_all_of_it_is_there(register, theirs):
    client = register.api(Role.COORDINATOR)
    for name, what in ALL.items():
        if what[0] == "GET":
            assert tried(client, what, theirs) == 200, name


@pytest.mark.parametrize("name", ALL)
def test_to_a_coordinator_of_another_site_nothing_is_there(register, theirs, name):
    client = register.api(Role.COORDINATOR, sites=("island",))
    assert tried(client, ALL[name], theirs) == 404


@pytest.mark.parametrize("name", API)
@pytest.mark.parametrize("sites", [("harbour",), ("island",)], ids=["of the site", "of another"])
def test_to_a_volunteer_who_was_not_asked_nothing_is_there(register, theirs, name, sites):
    assert tried(register.api(Role.VOLUNTEER, sites=sites), API[name], theirs) == 404


@pytest.mark.parametrize("name", ALL)
def test_to_a_trustee_it_is_refused_and_a_stranger_is_asked_who_they_are(register, theirs, name):
    what = ALL[name]
    assert tried(register.api(Role.TRUSTEE), what, theirs) == 403
    assert tried(register.browser(), what, theirs) == 401


FAMILY_PAGES = ("", "/skin", "/broken", "/socks", "/requests", "/say", "/stop", "/worry", "/requests/{request}/photos")


@pytest.fixture
def strangers(register: Register) -> dict[str, Callable[[], TestClient]]:
    """Browsers that have not shown that this family is theirs."""
    coordinator = register.api(Role.COORDINATOR)

    def another_family() -> TestClient:
        return let_in(register, link(coordinator, opened(coordinator, given_name="Tam")))

    def signed_in_as(role: Role) -> TestClient:
        open_account(register, role)
        return signed_in(register)

    return {
        "nobody": register.browser,
        "another family": another_family,
        "a volunteer": lambda: signed_in_as(Role.VOLUNTEER),
        "a coordinator": lambda: signed_in_as(Role.COORDINATOR),
    }


@pytest.mark.parametrize("who", ["nobody", "another family", "a volunteer", "a coordinator"])
def test_who_found_a_familys_link_is_asked_for_a_month_of_birth_on_every_page(theirs, strangers, who):
    browser = strangers[who]()
    for page in FAMILY_PAGES:
        shown = browser.get(theirs["home"] + page.format(**theirs))
        assert "When were you born?" in shown.text, page
        assert "Ines" not in shown.text, page
    picture = browser.get(f"{theirs['home']}/requests/{theirs['request']}/photos/{theirs['photo']}")
    assert picture.headers["content-type"].startswith("text/html")


def test_another_familys_request_is_answered_as_one_that_is_not_there(register, theirs):
    coordinator = register.api(Role.COORDINATOR)
    home = link(coordinator, opened(coordinator, given_name="Tam"))
    browser = let_in(register, home)
    for request in (theirs["request"], 4_711):
        assert browser.get(f"{home}/requests/{request}/photos").status_code == 404
        assert browser.get(f"{home}/requests/{request}/photos/{theirs['photo']}").status_code == 404


def test_a_guessed_link_to_an_offer_is_not_there(register, theirs):
    for key in ("guess", "x" * 400, str(theirs["offer"])):
        assert register.browser().get(f"/offers/{key}").status_code == 404
