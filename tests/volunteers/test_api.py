"""Volunteers are recorded, keep their own page, and are seen by others only roughly where they are."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest

from service.access.permissions import Role
from tests.casefile.people import opened
from tests.conftest import Register
from tests.volunteers.makers import PRINTER, VOLUNTEERS, town, volunteer


@pytest.fixture
def coordinator(register: Register) -> Any:
    return register.api(Role.COORDINATOR)


def own(register: Register, coordinator: Any) -> tuple[Any, str]:
    """A volunteer's own client, and the address of their record."""
    account = register.account(Role.VOLUNTEER, name="Joost Adeyemi")
    found = volunteer(coordinator, account=account)
    return register.api(account=account), f"{VOLUNTEERS}/{found['id']}"


def test_a_volunteer_is_recorded_with_what_they_have(coordinator: Any) -> None:
    one = volunteer(coordinator, hours_a_week=4, languages=["en", "nl"])
    at = f"{VOLUNTEERS}/{one['id']}"
    assert coordinator.post(f"{at}/printers", json=PRINTER).json()["state"] == "working"
    assert coordinator.post(f"{at}/materials", json={"material": "PETG", "colour": "teal"}).status_code == 201
    assert coordinator.post(f"{at}/trainings", json={"skill": "print", "trained_on": "2026-01-05"}).status_code == 201
    (line,) = coordinator.get(VOLUNTEERS).json()["items"]
    assert (line["printers"], line["materials"], line["skills"]) == (1, ["PETG"], ["print"])
    assert [each["colour"] for each in coordinator.get(f"{at}/materials").json()["items"]] == ["teal"]


def test_a_printer_that_is_out_of_order_or_gone_counts_no_more(coordinator: Any) -> None:
    at = f"{VOLUNTEERS}/{volunteer(coordinator)['id']}"
    printer = coordinator.post(f"{at}/printers", json=PRINTER).json()["id"]
    changed = coordinator.patch(f"{at}/printers/{printer}", json={"state": "out_of_order"}).json()
    assert (changed["printers"], len(changed["printer_list"])) == (0, 1)
    assert coordinator.patch(f"{at}/printers/{printer}", json={"state": "gone"}).json()["printer_list"] == []


def test_stock_takes_its_words_from_its_lot_and_refuses_one_that_is_held(coordinator: Any) -> None:
    at = f"{VOLUNTEERS}/{volunteer(coordinator)['id']}"
    spool = {"kind": "filament", "what": "Spool", "material": "PETG", "colour": "black", "maker": "M", "batch": "1"}
    lot = coordinator.post("/api/v1/lots", json=spool).json()["id"]
    kept = coordinator.post(f"{at}/materials", json={"lot": lot, "grams": 500})
    assert (kept.json()["material"], kept.json()["colour"]) == ("PETG", "black")
    coordinator.post(f"/api/v1/lots/{lot}/state", json={"state": "held", "why": "Brittle."})
    refused = coordinator.post(f"{at}/materials", json={"lot": lot})
    assert refused.status_code == 422
    assert "held" in refused.json()["detail"]
    assert coordinator.post(f"{at}/materials", json={}).status_code == 422


def test_material_that_is_gone_is_not_on_hand(coordinator: Any) -> None:
    at = f"{VOLUNTEERS}/{volunteer(coordinator)['id']}"
    stock = coordinator.post(f"{at}/materials", json={"material": "PETG", "grams": 90}).json()["id"]
    assert coordinator.patch(f"{at}/materials/{stock}", json={"grams": 20}).json()["stock"][0]["grams"] == 20
    assert coordinator.patch(f"{at}/materials/{stock}", json={"gone": True}).json()["stock"] == []


def test_days_away(register: Register, coordinator: Any) -> None:
    at = f"{VOLUNTEERS}/{volunteer(coordinator)['id']}"
    away = coordinator.post(f"{at}/absences", json={"since": "2026-03-01", "until": "2026-03-10"}).json()
    assert coordinator.get(VOLUNTEERS).json()["items"][0]["away_until"] == "2026-03-10"
    for since, until in [("2026-03-12", "2026-03-11"), ("2026-02-01", "2026-02-02"), ("2026-03-01", "2036-03-01")]:
        refused = coordinator.post(f"{at}/absences", json={"since": since, "until": until})
        assert refused.status_code == 422, since
        assert refused.json()["errors"][0]["field"] == "until"
    assert coordinator.delete(f"{at}/absences/{away['id']}").json()["absences"] == []
    coordinator.post(f"{at}/absences", json={"since": "2026-03-01", "until": "2026-03-10"})
    register.clock.forward(days=9)
    assert coordinator.get(f"{at}/absences").json()["items"] == []


def test_the_review_of_a_vetting_is_due_by_policy_and_nothing_expires(register: Register, coordinator: Any) -> None:
    at = f"{VOLUNTEERS}/{volunteer(coordinator)['id']}"
    lead = register.api(Role.SAFEGUARDING_LEAD)
    vetting = lead.post(f"{at}/vettings", json={"kind": "home_visits", "checked_on": "2024-02-29"})
    assert vetting.status_code == 201
    assert vetting.json()["review_due_on"] == "2027-03-01"
    assert not vetting.json()["due"]
    register.clock.forward(days=400)
    (now,) = coordinator.get(f"{at}/vettings").json()["items"]
    assert now["due"]
    assert "was due by 1 March 2027 by the charity's policy" in now["words"]
    assert "expire" not in coordinator.get(at).text
    assert coordinator.post(f"{at}/vettings/{now['id']}/end").json()["vetted_until"] is None
    for wrong in ({"checked_on": "2030-01-01"}, {"checked_on": "2026-01-01", "review_due_on": "2025-01-01"}):
        assert lead.post(f"{at}/vettings", json={"kind": "home_visits", **wrong}).status_code == 422


def test_a_child_is_never_visited_without_a_guardian(register: Register, coordinator: Any) -> None:
    at = f"{VOLUNTEERS}/{volunteer(coordinator)['id']}"
    case = opened(coordinator)
    visit = {"case_number": case, "what_for": "Fitted the socket", "visited_on": "2026-03-01"}
    refused = coordinator.post(f"{at}/visits", json=visit)
    assert refused.status_code == 422
    assert "never visited without one" in refused.json()["detail"]
    made = coordinator.post(f"{at}/visits", json={**visit, "guardian_present": "The father"})
    assert made.status_code == 201
    assert [each["case_number"] for each in coordinator.get(f"{at}/visits").json()["items"]] == [case]
    late = {**visit, "guardian_present": "The father", "visited_on": "2026-03-03"}
    assert coordinator.post(f"{at}/visits", json=late).status_code == 422


def test_somebody_keeps_their_own_page_and_nobody_elses(register: Register, coordinator: Any) -> None:
    mine, at = own(register, coordinator)
    other = f"{VOLUNTEERS}/{volunteer(coordinator, 'Mira Lund')['id']}"
    assert mine.patch(at, json={"hours_a_week": 1.5}).json()["hours_a_week"] == 1.5
    assert mine.post(f"{at}/printers", json=PRINTER).status_code == 201
    for refused in (
        mine.patch(other, json={"hours_a_week": 9}),
        mine.post(f"{other}/printers", json=PRINTER),
        mine.patch(at, json={"left_on": "2026-03-01"}),
        mine.post(f"{at}/vettings", json={"kind": "home_visits", "checked_on": "2026-03-01"}),
        mine.post(f"{at}/trainings", json={"skill": "print", "trained_on": "2026-01-05"}),
        mine.post(VOLUNTEERS, json={"name": "Me"}),
    ):
        assert refused.status_code == 403, refused.text
    assert coordinator.get(other).json()["hours_a_week"] == 3


def test_others_see_where_somebody_is_only_to_five_kilometres(register: Register, coordinator: Any) -> None:
    town(register, "Quayside", 52.0, 4.0, of_site="harbour")
    near = town(register, "Dunes", 52.0, 4.1)  # 6.8 km east
    one = volunteer(coordinator, town=near, email="joost@example.org", phone="01 234", note="Has a dog")
    at = f"{VOLUNTEERS}/{one['id']}"
    assert coordinator.get(at).json()["town_name"] == "Dunes"
    for role in (Role.VOLUNTEER, Role.CLINICIAN, Role.SAFEGUARDING_LEAD):
        seen = register.api(role).get(at).json()
        assert seen["km_from_site"] == 5
        hidden = ("email", "phone", "town", "town_name", "travels_km", "note", "account")
        assert [seen[name] for name in hidden] == [None] * len(hidden), role
    assert register.api(Role.CLINICIAN).get(at).json()["vettings"] is None


@pytest.mark.parametrize("role", [Role.TRUSTEE, Role.ADMINISTRATOR])
def test_who_does_not_work_on_cases_sees_no_volunteers(register: Register, role: Role) -> None:
    assert register.api(role).get(VOLUNTEERS).status_code == 403


def test_another_sites_volunteers_are_not_there(register: Register, coordinator: Any) -> None:
    at = f"{VOLUNTEERS}/{volunteer(coordinator)['id']}"
    stranger = register.api(Role.COORDINATOR, sites=("island",))
    assert stranger.get(VOLUNTEERS).json()["items"] == []
    assert stranger.get(at).status_code == 404
    assert stranger.patch(at, json={"note": "x"}).status_code == 404
    assert stranger.post(f"{at}/printers", json=PRINTER).status_code == 404


def test_an_account_is_one_volunteers_alone(register: Register, coordinator: Any) -> None:
    account = register.account(Role.VOLUNTEER)
    elsewhere = register.account(Role.VOLUNTEER, sites=("island",))
    clinician = register.account(Role.CLINICIAN)
    clients = [register.api(Role.COORDINATOR) for _ in range(2)]
    with ThreadPoolExecutor() as pool:
        asked = [pool.submit(c.post, VOLUNTEERS, json={"name": "Joost", "account": account}) for c in clients]
    assert sorted(each.result().status_code for each in asked) == [201, 409]
    for wrong in (elsewhere, clinician, 4711):
        assert coordinator.post(VOLUNTEERS, json={"name": "Mira", "account": wrong}).status_code == 422


@pytest.mark.parametrize(
    "wrong",
    [
        {"name": ""},
        {"hours_a_week": -1},
        {"hours_a_week": 200},
        {"languages": ["klingon"]},
        {"town": 99},
        {"site": "island"},
        {"nickname": "J"},
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_recorded(coordinator: Any, wrong: dict[str, Any]) -> None:
    assert coordinator.post(VOLUNTEERS, json={"name": "Joost", **wrong}).status_code == 422
    assert coordinator.get(VOLUNTEERS).json()["items"] == []


def test_pages_follow_each_other_by_name(coordinator: Any) -> None:
    for name in ("Cato", "Ada", "Bo"):
        volunteer(coordinator, name)
    first = coordinator.get(VOLUNTEERS, params={"limit": 2}).json()
    rest = coordinator.get(VOLUNTEERS, params={"limit": 2, "cursor": first["next"]}).json()
    assert [each["name"] for each in first["items"] + rest["items"]] == ["Ada", "Bo", "Cato"]
    assert [each["name"] for each in coordinator.get(VOLUNTEERS, params={"q": "ADA"}).json()["items"]] == ["Ada"]


def test_who_left_is_listed_apart(coordinator: Any) -> None:
    one = volunteer(coordinator)
    coordinator.patch(f"{VOLUNTEERS}/{one['id']}", json={"left_on": "2026-03-01"})
    assert coordinator.get(VOLUNTEERS).json()["items"] == []
    assert len(coordinator.get(VOLUNTEERS, params={"left": True}).json()["items"]) == 1
