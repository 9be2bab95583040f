"""Towns are entered once, by a coordinator or an administrator, and chosen for families and sites."""

from __future__ import annotations

import pytest

from service.access.permissions import Role
from tests.accounts.people import open_account, post, signed_in
from tests.casefile.people import opened
from tests.conftest import Register

TOWNS = "/api/v1/towns"
QUAYSIDE = {"name": "Quayside", "latitude": 52.1, "longitude": 4.3}


def test_a_town_is_recorded_once_and_seen_by_everybody(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    assert client.post(TOWNS, json=QUAYSIDE).status_code == 201
    again = client.post(TOWNS, json={**QUAYSIDE, "latitude": 50})
    assert again.status_code == 409
    assert [each["name"] for each in register.api(Role.VOLUNTEER).get(TOWNS).json()["items"]] == ["Quayside"]
    assert register.api(Role.VOLUNTEER).post(TOWNS, json={**QUAYSIDE, "name": "X"}).status_code == 403
    moved = client.patch(f"{TOWNS}/1", json={"latitude": 52.2}).json()
    assert (moved["latitude"], moved["longitude"]) == (52.2, 4.3)


@pytest.mark.parametrize("wrong", [{"latitude": 91}, {"longitude": -181}, {"name": " "}, {"latitude": "north"}])
def test_what_cannot_be_is_refused(register: Register, wrong: dict[str, object]) -> None:
    client = register.api(Role.ADMINISTRATOR)
    assert client.post(TOWNS, json={**QUAYSIDE, **wrong}).status_code == 422
    assert client.get(TOWNS).json()["items"] == []


def test_a_family_and_a_site_lie_in_a_town(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    town = client.post(TOWNS, json=QUAYSIDE).json()["id"]
    case = f"/api/v1/recipients/{opened(client, town=town)}"
    assert client.get(case).json()["town_name"] == "Quayside"
    assert client.patch(case, json={"town": None}).json()["town"] is None
    assert client.patch(case, json={"town": 99}).status_code == 422
    administrator = register.api(Role.ADMINISTRATOR)
    site = administrator.patch("/api/v1/sites/harbour", json={"town": town, "replacement_days": 5}).json()
    assert (site["town"], site["replacement_days"]) == (town, 5)
    assert administrator.patch("/api/v1/sites/harbour", json={"town": 99}).status_code == 422


def test_the_pages(register: Register) -> None:
    open_account(register, Role.COORDINATOR)
    browser = signed_in(register)
    assert "No town is recorded yet" in browser.get("/towns").text
    wrong = post(browser, "/towns", {"name": "Quayside", "latitude": "95", "longitude": "4,3"})
    assert wrong.status_code == 422
    assert 'value="4,3"' in wrong.text
    assert post(browser, "/towns", {"name": "Quayside", "latitude": "52,1", "longitude": "4,3"}).status_code == 303
    assert "52.100° north" in browser.get("/towns").text
    assert post(browser, "/towns/1", {"name": "Old Quay", "latitude": "52.1", "longitude": "-4.3"}).status_code == 303
    assert "4.300° west" in browser.get("/towns").text


def test_the_particulars_form_keeps_and_clears_a_town(register: Register) -> None:
    open_account(register, Role.COORDINATOR)
    client = register.api(Role.COORDINATOR)
    client.post(TOWNS, json=QUAYSIDE)
    case = opened(client)
    browser = signed_in(register)
    fields = {"given_name": "Ines", "family_name": "Okafor", "birth_date": "2018-05-04", "sex": "female"}
    was = {f"was-{name}": value for name, value in fields.items()}
    kept = post(browser, f"/recipients/{case}/change", {**fields, **was, "town": "1"})
    assert kept.status_code == 303, kept.text
    assert "<dd>Quayside</dd>" in browser.get(f"/recipients/{case}/particulars").text
    assert '<option value="1" selected>' in browser.get(f"/recipients/{case}/change").text
    assert post(browser, f"/recipients/{case}/change", {**fields, **was, "was-town": "1"}).status_code == 303
    assert "Quayside" not in browser.get(f"/recipients/{case}/particulars").text
