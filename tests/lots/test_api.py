"""Lots over HTTP: recorded, looked for, put right, and moved from state to state."""

from __future__ import annotations

import threading
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.actor import SYSTEM
from service.access.permissions import Role
from service.access.work import Work
from service.audit.tables import AuditRow
from service.lots.queries import lot_facts
from service.lots.tables import LotRow
from tests.conftest import Register
from tests.devices.worn import count
from tests.lots.shelf import CORD, SPOOL, lot, moved


@pytest.fixture
def api(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def listed(client: TestClient, **wanted: Any) -> list[int]:
    answer = client.get("/api/v1/lots", params=wanted)
    assert answer.status_code == 200, answer.text
    return [each["id"] for each in answer.json()["items"]]


def test_a_lot_is_recorded_as_it_came_in(api: TestClient) -> None:
    made = lot(api)
    assert {name: made[name] for name in SPOOL} == SPOOL
    assert (made["site"], made["received_on"], made["unit"]) == ("harbour", "2026-03-02", "g")
    assert (made["state"], made["state_since"], made["why_not"]) == ("in_use", "2026-03-02", None)
    assert made["latex_free"] is made["skin_contact"] is None
    assert api.get(f"/api/v1/lots/{made['id']}").json() == made
    assert lot(api, CORD)["unit"] == "m"


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"received_on": "2026-03-03"}, "received_on"),
        ({"received_on": "1926-03-02"}, "received_on"),
        ({"unit": "pieces"}, "unit"),
        ({"quantity": 0}, "quantity"),
        ({"batch": " "}, "batch"),
        ({"maker": ""}, "maker"),
        ({"kind": "liquid"}, "kind"),
        ({"site": "island"}, "site"),
        ({"spool": 3}, "spool"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    register: Register, api: TestClient, changes: dict[str, Any], field: str
) -> None:
    answer = api.post("/api/v1/lots", json={**SPOOL, **changes})
    assert answer.status_code == 422
    assert [each["field"] for each in answer.json()["errors"]] == [field]
    assert count(register, LotRow) == 0


def test_a_second_lot_called_alike_is_refused_and_the_first_is_named(register: Register, api: TestClient) -> None:
    first = lot(api)
    for alike in ({}, {"maker": "NORTHERN  REELS"}, {"kind": "hardware", "unit": "g"}):
        answer = api.post("/api/v1/lots", json={**SPOOL, **alike})
        assert answer.status_code == 409
        assert f"lot {first['id']} already" in answer.json()["detail"]
    others: list[dict[str, Any]] = [
        {"colour": "white"},
        {"batch": "24-119"},
        {"maker": "Quay Supplies"},
        {"what": "PETG 2.85 mm"},
    ]
    for different in others:
        lot(api, **different)
    elsewhere = register.api(Role.COORDINATOR, sites=("island",))
    lot(elsewhere)
    assert count(register, LotRow) == 6


def test_of_the_same_lot_sent_twice_at_once_one_is_recorded(register: Register) -> None:
    clients = [register.api(Role.VOLUNTEER) for _ in range(4)]
    answers: list[int] = []
    threads = [
        threading.Thread(target=lambda c=client: answers.append(c.post("/api/v1/lots", json=SPOOL).status_code))
        for client in clients
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) == [201, 409, 409, 409]
    assert count(register, LotRow) == 1


def test_lots_are_found_by_words_state_kind_and_site(register: Register) -> None:
    both = register.api(Role.COORDINATOR, sites=("harbour", "island"))
    black, white = lot(both)["id"], lot(both, colour="Weiß")["id"]
    cord = lot(both, CORD, site="island")["id"]
    assert listed(both) == [cord, white, black]
    assert listed(both, q="reels petg") == [white, black]
    assert listed(both, q="weiss") == [white]
    assert listed(both, q="24-118 BLACK") == [black]
    assert listed(both, q="100%") == []
    assert listed(both, q=f"Lot {white}") == [white]
    assert listed(both, kind="hardware") == [cord]
    assert listed(both, site="harbour") == [white, black]
    assert moved(both, white, "held").status_code == 200
    assert listed(both, state="held") == [white]
    assert listed(both, kind="", state="", site="", q="") == [cord, white, black]
    assert both.get("/api/v1/lots", params={"site": "moon"}).status_code == 422


def test_a_long_list_comes_in_pages_without_gaps(api: TestClient) -> None:
    ids = [lot(api, batch=f"24-{number}")["id"] for number in range(5)]
    seen: list[int] = []
    cursor = None
    while True:
        page = api.get("/api/v1/lots", params={"limit": 2, **({"cursor": cursor} if cursor else {})}).json()
        seen += [each["id"] for each in page["items"]]
        cursor = page["next"]
        if cursor is None:
            break
    assert seen == ids[::-1]
    assert api.get("/api/v1/lots", params={"cursor": "nonsense"}).status_code == 422


def test_lots_of_other_sites_look_as_if_they_were_not(register: Register, api: TestClient) -> None:
    theirs = lot(register.api(Role.VOLUNTEER, sites=("island",)))["id"]
    assert listed(api) == []
    assert api.get(f"/api/v1/lots/{theirs}").status_code == 404
    assert moved(api, theirs, "held").status_code == 404
    assert api.patch(f"/api/v1/lots/{theirs}", json={"note": "x"}).status_code == 404
    assert api.get("/api/v1/lots/2147483648").status_code == 422


def test_who_may_see_and_who_may_keep_lots(register: Register, api: TestClient) -> None:
    made = lot(api)["id"]
    clinician = register.api(Role.CLINICIAN)
    assert listed(clinician) == [made]
    assert moved(clinician, made, "held").status_code == 403
    assert clinician.post("/api/v1/lots", json=SPOOL).status_code == 403
    for role in (Role.TRUSTEE, Role.ADMINISTRATOR, Role.SAFEGUARDING_LEAD):
        assert register.api(role).get("/api/v1/lots").status_code == 403
    assert register.browser().get("/api/v1/lots").status_code == 401


def test_a_state_changes_with_a_reason_and_says_since_when(register: Register, api: TestClient) -> None:
    made = lot(api)["id"]
    register.clock.forward(days=3)
    held = moved(api, made, "held", "Brittle when bent.").json()
    assert (held["state"], held["state_why"], held["state_since"]) == ("held", "Brittle when bent.", "2026-03-05")
    assert "somebody has to look" in held["why_not"]
    assert held["next_states"] == ["in_use", "withdrawn"]

    again = moved(api, made, "held")
    assert again.status_code == 409
    assert "already" in again.json()["detail"]
    for why in ("", "  "):
        assert moved(api, made, "in_use", why).status_code == 422
    assert moved(api, made, "used_up").status_code == 409
    assert moved(api, made, "withdrawn").status_code == 200
    assert "hold it first" in moved(api, made, "in_use").json()["detail"]


def test_of_two_who_move_a_lot_at_once_one_is_told(register: Register, api: TestClient) -> None:
    made = lot(api)["id"]
    clients = [register.api(Role.VOLUNTEER) for _ in range(3)]
    answers: list[int] = []
    threads = [
        threading.Thread(target=lambda c=client: answers.append(moved(c, made, "held").status_code))
        for client in clients
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(answers) == [200, 409, 409]


def test_particulars_are_put_right_and_what_it_is_called_by_stays(register: Register, api: TestClient) -> None:
    made = lot(api)["id"]
    change = {"quantity": 400.5, "latex_free": True, "material": "PETG", "note": "Half went to the island."}
    changed = api.patch(f"/api/v1/lots/{made}", json=change).json()
    assert {name: changed[name] for name in change} == change
    assert api.patch(f"/api/v1/lots/{made}", json={"quantity": None, "latex_free": None}).json()["quantity"] is None

    for name, value in {"batch": "24-119", "what": "PLA", "maker": "Else", "colour": "red"}.items():
        refused = api.patch(f"/api/v1/lots/{made}", json={name: value, "note": "lost?"})
        assert refused.status_code == 422
        assert [each["field"] for each in refused.json()["errors"]] == [name]
        assert "never changes" in refused.json()["detail"]
    assert api.patch(f"/api/v1/lots/{made}", json={"batch": SPOOL["batch"]}).status_code == 200
    assert api.patch(f"/api/v1/lots/{made}", json={"received_on": "2027-01-01"}).status_code == 422
    assert api.patch(f"/api/v1/lots/{made}", json={"unit": "pieces"}).status_code == 422
    assert api.get(f"/api/v1/lots/{made}").json()["note"] == "Half went to the island."

    with register.db.reading() as session:
        acts = session.execute(sa.select(AuditRow.act, AuditRow.changes).where(AuditRow.subject == "lot")).all()
    assert [act for act, _ in acts] == ["recorded", "corrected", "corrected"]
    assert acts[1][1]["quantity"] == [750, 400.5]


def test_other_rooms_ask_for_lots_by_id_whatever_their_site(register: Register, api: TestClient) -> None:
    mine = lot(api)["id"]
    theirs = lot(register.api(Role.VOLUNTEER, sites=("island",)), CORD)["id"]
    moved(api, mine, "held")
    with register.db.reading() as session:
        found = lot_facts(Work(session, SYSTEM, register.clock()), [mine, theirs, 999])
        assert lot_facts(Work(session, SYSTEM, register.clock()), []) == {}
    assert set(found) == {mine, theirs}
    assert "look" in (found[mine].why_not or "")
    assert (found[theirs].why_not, found[theirs].latex_free) == (None, False)


def test_a_key_makes_the_same_lot_sent_again_the_same_answer(register: Register, api: TestClient) -> None:
    first, second = (api.post("/api/v1/lots", json=SPOOL, headers={"Idempotency-Key": "shelf-1"}) for _ in range(2))
    assert first.json() == second.json()
    assert count(register, LotRow) == 1
