"""Cases over HTTP: opened, found, changed, and hidden from whoever has no business with them."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.audit.tables import AuditRow
from tests.conftest import Register

INES: dict[str, Any] = {
    "given_name": "Ines",
    "family_name": "Okafor",
    "birth_date": "2018-05-04",
    "sex": "female",
    "limbs": [{"side": "left", "cause": "congenital", "level": "forearm_upper"}],
}


def opened(client: TestClient, **changes: Any) -> dict[str, Any]:
    answer = client.post("/api/v1/recipients", json={**INES, **changes})
    assert answer.status_code == 201, answer.text
    case: dict[str, Any] = answer.json()
    return case


def test_a_case_is_opened_and_read_back(register: Register) -> None:
    coordinator = register.api(Role.COORDINATOR)
    case = opened(coordinator)
    again = coordinator.get(f"/api/v1/recipients/{case['case_number']}").json()
    assert again == case
    assert again["site"] == "harbour"
    assert again["limbs"][0]["words"] == "left transverse deficiency at the upper third of the forearm"
    assert "a prescriber" in again["missing"]


def test_a_case_number_is_forgiving_about_the_dash(register: Register) -> None:
    coordinator = register.api(Role.COORDINATOR)
    number = opened(coordinator)["case_number"]
    assert coordinator.get(f"/api/v1/recipients/{number.replace('-', '')}").status_code == 200
    slip = number[:-1] + str((int(number[-1]) + 1) % 10)
    refused = coordinator.get(f"/api/v1/recipients/{slip}")
    assert refused.status_code == 404
    assert "slip" in refused.json()["detail"]


def test_only_what_is_given_is_changed(register: Register) -> None:
    coordinator = register.api(Role.COORDINATOR)
    number = opened(coordinator, colour_wishes="green")["case_number"]
    changed = coordinator.patch(f"/api/v1/recipients/{number}", json={"notes": "Likes to be asked first."}).json()
    assert changed["colour_wishes"] == "green"
    assert changed["notes"] == "Likes to be asked first."
    with register.db.reading() as session:
        entry = session.scalars(sa.select(AuditRow).where(AuditRow.act == "changed")).one()
    assert entry.changes == {"notes": ["", "Likes to be asked first."]}


def test_closing_a_case_needs_a_reason(register: Register) -> None:
    coordinator = register.api(Role.COORDINATOR)
    number = opened(coordinator)["case_number"]
    refused = coordinator.patch(f"/api/v1/recipients/{number}", json={"state": "closed"})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["field"] == "state_reason"
    closed = coordinator.patch(f"/api/v1/recipients/{number}", json={"state": "closed", "state_reason": "moved away"})
    assert closed.json()["state"] == "closed"
    emptied = coordinator.patch(f"/api/v1/recipients/{number}", json={"state_reason": ""})
    assert emptied.status_code == 422


def test_people_are_found_by_any_name_or_first_digits(register: Register) -> None:
    coordinator = register.api(Role.COORDINATOR)
    zoe = opened(coordinator, given_name="Zoë", family_name="van der Linden")
    opened(coordinator)

    def found(q: str) -> list[str]:
        return [each["given_name"] for each in coordinator.get("/api/v1/recipients", params={"q": q}).json()["items"]]

    assert found("zoe") == ["Zoë"]
    assert found("Lind ZO") == ["Zoë"]
    assert found(zoe["case_number"][:5]) == ["Zoë"]
    assert found("oë") == []
    assert found("100%_") == []


def test_a_long_list_is_read_page_by_page_without_gap_or_repeat(register: Register) -> None:
    coordinator = register.api(Role.COORDINATOR)
    for index in range(7):
        opened(coordinator, given_name=f"Child {index % 3}")
    seen, cursor = [], None
    while True:
        wanted = {"limit": 3} | ({"cursor": cursor} if cursor else {})
        page = coordinator.get("/api/v1/recipients", params=wanted).json()
        seen += [each["case_number"] for each in page["items"]]
        if (cursor := page["next"]) is None:
            break
    assert len(seen) == len(set(seen)) == 7


def test_another_sites_case_is_not_there(register: Register) -> None:
    number = opened(register.api(Role.COORDINATOR))["case_number"]
    stranger = register.api(Role.COORDINATOR, Role.CLINICIAN, sites=("island",))
    for answer in (
        stranger.get(f"/api/v1/recipients/{number}"),
        stranger.patch(f"/api/v1/recipients/{number}", json={"notes": "x"}),
        stranger.post(f"/api/v1/recipients/{number}/contacts", json={"name": "A", "reach_by": "phone", "phone": "1"}),
    ):
        assert answer.status_code == 404
    assert stranger.get("/api/v1/recipients").json()["items"] == []


def test_a_volunteer_sees_a_case_while_helping_with_it(register: Register) -> None:
    coordinator = register.api(Role.COORDINATOR)
    number = opened(coordinator)["case_number"]
    account = register.account(Role.VOLUNTEER)
    volunteer = register.api(account=account)
    assert volunteer.get(f"/api/v1/recipients/{number}").status_code == 404
    assert coordinator.post(f"/api/v1/recipients/{number}/helpers", json={"account": account}).status_code == 201
    assert volunteer.get(f"/api/v1/recipients/{number}").status_code == 200
    assert volunteer.patch(f"/api/v1/recipients/{number}", json={"notes": "x"}).status_code == 403
    coordinator.post(f"/api/v1/recipients/{number}/helpers/{account}/end")
    assert volunteer.get(f"/api/v1/recipients/{number}").status_code == 404


def test_only_volunteers_of_the_site_can_be_asked_to_help(register: Register) -> None:
    coordinator = register.api(Role.COORDINATOR)
    number = opened(coordinator)["case_number"]
    elsewhere = register.account(Role.VOLUNTEER, sites=("island",))
    refused = coordinator.post(f"/api/v1/recipients/{number}/helpers", json={"account": elsewhere})
    assert refused.status_code == 422


@pytest.mark.parametrize("role", [Role.TRUSTEE, Role.ADMINISTRATOR])
def test_who_needs_no_case_sees_none(register: Register, role: Role) -> None:
    number = opened(register.api(Role.COORDINATOR))["case_number"]
    assert register.api(role).get(f"/api/v1/recipients/{number}").status_code == 403


def test_consents_contacts_suitability_and_reviews_fill_what_was_missing(register: Register) -> None:
    staff = register.api(Role.COORDINATOR, Role.CLINICIAN)
    at = f"/api/v1/recipients/{opened(staff, birth_date='2009-05-04')['case_number']}"
    mother = {"name": "Ada Okafor", "responsibility": "yes", "reach_by": "phone", "phone": "0700 900 123"}
    assert staff.post(f"{at}/contacts", json=mother).status_code == 201
    for kind, purpose in (("consent", "records"), ("consent", "device"), ("assent", "device")):
        consent = {"kind": kind, "purpose": purpose, "given_by": "Ada Okafor", "given_on": "2026-02-01"}
        assert staff.post(f"{at}/consents", json=consent).status_code == 201
    note = {"verdict": "suitable", "noted_by": "Dr Ama Quist", "noted_on": "2026-02-03"}
    assert staff.post(f"{at}/suitability", json=note).status_code == 201
    changed = staff.patch(at, json={"prescriber_name": "Dr Ama Quist", "latex_allergy": False}).json()
    assert changed["missing"] == []
    review = {"age": 16, "held_on": "2025-05-20", "outcome": "decides for himself now"}
    assert staff.post(f"{at}/reviews", json=review).json()["reviews"][0]["held_on"] == "2025-05-20"
    assert staff.post(f"{at}/reviews", json=review).status_code == 409
    consent_id = changed["consents"][1]["id"]
    withdrawn = staff.post(f"{at}/consents/{consent_id}/withdraw").json()
    assert withdrawn["missing"] == ["consent to the device"]


def test_opening_a_case_is_recorded(register: Register) -> None:
    coordinator = register.api(Role.COORDINATOR)
    number = opened(coordinator)["case_number"]
    before = _reads(register)
    coordinator.get(f"/api/v1/recipients/{number}")
    coordinator.get("/api/v1/recipients")
    assert _reads(register) == before + 1


def test_the_same_key_opens_one_case(register: Register) -> None:
    coordinator = register.api(Role.COORDINATOR)
    key = {"Idempotency-Key": "b2f1"}
    first = coordinator.post("/api/v1/recipients", json=INES, headers=key)
    again = coordinator.post("/api/v1/recipients", json=INES, headers=key)
    assert (again.status_code, again.json()) == (201, first.json())
    assert len(coordinator.get("/api/v1/recipients").json()["items"]) == 1
    other = coordinator.post("/api/v1/recipients", json={**INES, "given_name": "Ida"}, headers=key)
    assert other.status_code == 422
    assert "new key" in other.json()["detail"]


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"birth_date": "2027-01-01"}, "birth_date"),
        ({"birth_date": "1850-01-01"}, "birth_date"),
        ({"birth_date": 1525392000}, "birth_date"),
        ({"birth_date": "4 May 2018"}, "birth_date"),
        ({"given_name": "  "}, "given_name"),
        ({"given_name": "A\x00B"}, "given_name"),
        ({"given_name": "A" * 300}, "given_name"),
        ({"sex": "yes"}, "sex"),
        ({"site": "island"}, "site"),
        ({"site": "nowhere"}, "site"),
        ({"limbs": [{"side": "left", "cause": "congenital", "level": "knee"}]}, "limbs.0.level"),
        ({"limbs": INES["limbs"] * 2}, "body"),
        ({"contacts": [{"name": "A", "reach_by": "mail"}]}, "contacts.0"),
        ({"consents": [{"purpose": "device", "given_by": "A", "given_on": "2030-01-01"}]}, "consents.0.given_on"),
        ({"state": "closed"}, "state_reason"),
        ({"surname": "Okafor"}, "surname"),
    ],
)
def test_bad_particulars_are_refused_with_what_to_do(register: Register, changes: dict[str, Any], field: str) -> None:
    coordinator = register.api(Role.COORDINATOR)
    refused = coordinator.post("/api/v1/recipients", json={**INES, **changes})
    assert refused.status_code == 422
    assert refused.headers["content-type"] == "application/problem+json"
    assert field in [each["field"] for each in refused.json()["errors"]]
    assert coordinator.get("/api/v1/recipients").json()["items"] == []


def _reads(register: Register) -> int:
    with register.db.reading() as session:
        count = session.scalar(sa.select(sa.func.count()).select_from(AuditRow).where(AuditRow.act == "read"))
    return count or 0
