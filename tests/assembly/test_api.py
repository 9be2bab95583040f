"""Parts put in place, taken off, replaced and struck over HTTP."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.audit.tables import AuditRow
from service.parts.rules import VersionState
from tests.assembly.things import (
    a_device,
    act,
    assemblies,
    finger,
    lot,
    motors,
    palm,
    put,
)
from tests.conftest import Register
from tests.devices.worn import made

TODAY = "2026-03-02"


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def case(coordinator: TestClient) -> tuple[str, int]:
    return a_device(coordinator)


def tried(client: TestClient, case: tuple[str, int], **body: Any) -> Any:
    return client.post(f"/api/v1/recipients/{case[0]}/devices/{case[1]}/parts", json=body)


def fields(answer: Any) -> list[str]:
    body = answer.json()
    return [each["field"] for each in body.get("errors") or body.get("doubts") or []]


def test_a_printed_part_is_put_in_place_with_all_it_is_made_of(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    spool, of = lot(coordinator), finger(register)
    there = put(
        coordinator,
        *case,
        on="2026-02-20",
        version=of,
        scale_across=1.04,
        scale_along=1.06,
        digit="index",
        lots=[spool],
        note="for school",
    )
    assert (there["kind"], there["digit"], there["since"], there["until"]) == ("finger", "index", "2026-02-20", None)
    assert (there["scale_across"], there["scale_along"]) == (1.04, 1.06)
    # The only lot says which material and colour it is.
    assert (there["material"], there["colour"], there["about"]) == ("PETG", "black", "for school")
    assert [each["id"] for each in there["lots"]] == [spool]
    assert (there["version"]["id"], there["version"]["number"]) == (of, 1)
    assert there["attention"] == []
    (shown,) = assemblies(coordinator, case[0])[case[1]]
    assert shown == {name: value for name, value in there.items() if name not in {"case_number", "device", "purpose"}}
    with register.db.reading() as session:
        acts = session.execute(sa.select(AuditRow.act, AuditRow.subject, AuditRow.recipient_id)).all()
    assert ("recorded", "part in place") in {(each.act, each.subject) for each in acts}


def test_a_bought_part_takes_its_words_from_its_lot(coordinator: TestClient, case: tuple[str, int]) -> None:
    batch = motors(coordinator)
    there = put(coordinator, *case, kind="motor", lots=[batch], serial="M-0417")
    assert (there["what"], there["serial"], there["version"], there["scale_across"]) == (
        "geared motor 6 V",
        "M-0417",
        None,
        None,
    )
    assert there["since"] == TODAY


def test_what_comes_off_is_no_longer_in_place_and_past_days_stay_as_they_were(
    coordinator: TestClient, register: Register, case: tuple[str, int]
) -> None:
    number, everyday = case
    there = put(coordinator, *case, on="2026-01-10", version=finger(register), digit="ring")
    ended = act(coordinator, number, there["place"], "end", on="2026-02-10", came_off="broken", note="on the stairs")
    assert ended.status_code == 200
    assert (ended.json()["until"], ended.json()["came_off"], ended.json()["end_note"]) == (
        "2026-02-10",
        "broken",
        "on the stairs",
    )
    on = {
        day: len(assemblies(coordinator, number, day)[everyday])
        for day in ("2026-01-09", "2026-01-10", "2026-02-09", "2026-02-10", TODAY)
    }
    assert on == {"2026-01-09": 0, "2026-01-10": 1, "2026-02-09": 1, "2026-02-10": 0, TODAY: 0}
    again = act(coordinator, number, there["place"], "end", on="2026-02-10", came_off="broken")
    assert again.status_code == 409
    assert "come off already" in again.json()["detail"]


def test_a_part_is_replaced_in_one_act(coordinator: TestClient, register: Register, case: tuple[str, int]) -> None:
    number, everyday = case
    old, new = finger(register), finger(register)
    there = put(coordinator, *case, on="2026-01-10", version=old, digit="ring", colour="green")
    answer = act(coordinator, number, there["place"], "replace", on="2026-02-10", came_off="broken", version=new)
    assert answer.status_code == 201, answer.text
    assert (answer.json()["version"]["id"], answer.json()["digit"], answer.json()["since"]) == (
        new,
        "ring",
        "2026-02-10",
    )
    on = {
        day: [each["version"]["id"] for each in assemblies(coordinator, number, day)[everyday]]
        for day in ("2026-02-09", "2026-02-10")
    }
    assert on == {"2026-02-09": [old], "2026-02-10": [new]}
    twice = act(coordinator, number, there["place"], "replace", on="2026-02-10", came_off="broken", version=new)
    assert twice.status_code == 409
    assert len(assemblies(coordinator, number)[everyday]) == 1


def test_what_a_new_part_is_made_of_follows_from_its_lots_or_from_the_part_before(
    coordinator: TestClient, register: Register, case: tuple[str, int]
) -> None:
    of = finger(register, materials=["PETG", "PLA"])
    green, black = lot(coordinator, colour="green", batch="7"), lot(coordinator, colour="black")
    there = put(coordinator, *case, version=of, digit="ring", lots=[green, black])
    # Two spools of one material and different colours: which colour it is, nobody said.
    assert (there["material"], there["colour"]) == ("PETG", "")
    second = act(coordinator, case[0], there["place"], "replace", came_off="broken", version=of, colour="green").json()
    assert (second["material"], second["colour"], second["lots"]) == ("PETG", "green", [])
    third = act(coordinator, case[0], second["place"], "replace", came_off="broken", version=of, lots=[black]).json()
    assert (third["material"], third["colour"]) == ("PETG", "black")
    unsaid = coordinator.post(
        f"/api/v1/recipients/{case[0]}/devices/{case[1]}/parts", json={"version": of, "digit": "index"}
    )
    assert "printed in PETG or PLA. Say in which" in unsaid.json()["errors"][0]["message"]


def test_a_refused_replacement_leaves_all_as_it_was(
    coordinator: TestClient, register: Register, case: tuple[str, int]
) -> None:
    number, everyday = case
    there = put(coordinator, *case, on="2026-01-10", version=finger(register), digit="ring")
    before = assemblies(coordinator, number)
    bad: tuple[dict[str, Any], ...] = (
        {"version": palm(register)},
        {"version": finger(register, digit="index")},
        {"version": finger(register, state=VersionState.DRAFT)},
        {"version": finger(register), "digit": "little"},
        {"kind": "finger", "what": "bought"},
        {"version": finger(register), "on": "2026-01-09"},
    )
    for each in bad:
        answer = act(coordinator, number, there["place"], "replace", **{"came_off": "broken", **each})
        assert answer.status_code == 422, each
    assert assemblies(coordinator, number) == before
    assert before[everyday][0]["until"] is None


def test_only_one_part_is_where_only_one_can_be(
    coordinator: TestClient, register: Register, case: tuple[str, int]
) -> None:
    of = finger(register)
    put(coordinator, *case, on="2026-01-10", version=of, digit="index")
    put(coordinator, *case, on="2026-01-10", version=of, digit="ring")
    again = tried(coordinator, case, on="2026-02-10", version=of, digit="index")
    assert again.status_code == 409
    assert "10 January 2026" in again.json()["detail"]
    assert "Replace that one" in again.json()["detail"]
    earlier = tried(coordinator, case, on="2026-01-01", version=of, digit="index")
    assert earlier.status_code == 409


def test_of_straps_there_may_be_several_if_somebody_says_so(coordinator: TestClient, case: tuple[str, int]) -> None:
    strap: dict[str, Any] = {"kind": "strap", "what": "hook-and-loop strap 25 mm", "on": "2026-02-01"}
    put(coordinator, *case, **strap)
    twice = tried(coordinator, case, **strap)
    assert twice.status_code == 409
    assert "say so" in twice.json()["detail"]
    put(coordinator, *case, **strap, one_more=True)
    put(coordinator, *case, **{**strap, "on": "2026-02-02"})
    assert len(assemblies(coordinator, case[0])[case[1]]) == 3


def test_a_serial_number_is_in_one_place(coordinator: TestClient, case: tuple[str, int]) -> None:
    motor: dict[str, Any] = {"kind": "motor", "what": "geared motor 6 V", "serial": "M-1"}
    put(coordinator, *case, **motor, on="2026-02-01")
    again = tried(coordinator, case, **motor, on="2026-02-02", one_more=True)
    assert again.status_code == 409
    assert "serial number" in again.json()["detail"]


def test_a_stopped_device_takes_no_part_and_keeps_those_it_has(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    number, everyday = case
    there = put(coordinator, *case, on="2026-01-10", version=palm(register))
    where = f"/api/v1/recipients/{number}/devices/{everyday}"
    stopped = {"use": "stopped", "stopped_reason": "goes without", "stopped_on": "2026-02-01"}
    assert coordinator.patch(where, json=stopped).status_code == 200
    refused = tried(coordinator, case, version=finger(register), digit="index")
    assert refused.status_code == 409
    assert "stopped" in refused.json()["detail"]
    answer = coordinator.get(f"/api/v1/recipients/{number}/parts-in-place").json()["items"][0]
    assert (answer["use"], answer["lies_by"], len(answer["parts"])) == ("stopped", True, 1)
    before = coordinator.get(f"/api/v1/recipients/{number}/parts-in-place?on=2026-01-31").json()["items"][0]
    assert before["lies_by"] is False
    assert act(coordinator, number, there["place"], "end", came_off="preference").status_code == 200


def test_a_mistake_is_struck_through_and_counts_no_more(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    number, everyday = case
    there = put(coordinator, *case, on="2026-01-10", version=finger(register), digit="ring")
    unsaid = act(coordinator, number, there["place"], "strike")
    assert (unsaid.status_code, fields(unsaid)) == (422, ["why"])
    struck = act(coordinator, number, there["place"], "strike", why="It was the little finger.").json()
    assert (struck["came_off"], struck["until"], struck["end_note"]) == (
        "mistake",
        TODAY,
        "It was the little finger.",
    )
    assert assemblies(coordinator, number, "2026-01-20")[everyday] == []
    assert act(coordinator, number, there["place"], "strike", why="again").status_code == 409
    (listed,) = coordinator.get(f"/api/v1/recipients/{number}/devices/{everyday}/parts").json()["items"]
    assert listed["came_off"] == "mistake"
    put(coordinator, *case, on="2026-01-10", version=finger(register), digit="ring")


@pytest.mark.parametrize(("reason", "says"), [("mistake", "strike it through"), ("moved", "move it there")])
def test_what_has_an_act_of_its_own_is_no_reason_to_come_off(
    register: Register, coordinator: TestClient, case: tuple[str, int], reason: str, says: str
) -> None:
    there = put(coordinator, *case, version=finger(register), digit="ring")
    answer = act(coordinator, case[0], there["place"], "end", came_off=reason)
    assert (answer.status_code, fields(answer)) == (422, ["came_off"])
    assert says in answer.json()["errors"][0]["message"]


def test_a_part_that_had_not_come_off_is_back(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    number, everyday = case
    there = put(coordinator, *case, on="2026-01-10", version=finger(register), digit="ring")
    assert act(coordinator, number, there["place"], "put-back", why="no").status_code == 409
    act(coordinator, number, there["place"], "end", on="2026-02-01", came_off="broken")
    back = act(coordinator, number, there["place"], "put-back", why="It was the index finger.")
    assert (back.status_code, back.json()["until"], back.json()["came_off"]) == (200, None, None)
    assert len(assemblies(coordinator, number, "2026-02-20")[everyday]) == 1
    act(coordinator, number, there["place"], "end", on="2026-02-01", came_off="broken")
    put(coordinator, *case, on="2026-02-01", version=finger(register), digit="ring")
    taken = act(coordinator, number, there["place"], "put-back", why="after all")
    assert taken.status_code == 409


def test_other_peoples_parts_are_not_there(register: Register, coordinator: TestClient, case: tuple[str, int]) -> None:
    there = put(coordinator, *case, version=palm(register))
    other = register.api(Role.COORDINATOR, sites=("island",))
    island = a_device(other, given_name="Bela")
    for answer in (
        other.get(f"/api/v1/recipients/{case[0]}/parts-in-place"),
        other.get(f"/api/v1/recipients/{island[0]}/parts-in-place/{there['place']}"),
        act(other, case[0], there["place"], "end", came_off="broken"),
        act(other, island[0], there["place"], "end", came_off="broken"),
        act(other, island[0], there["place"], "strike", why="no"),
        tried(other, (island[0], case[1]), version=finger(register)),
    ):
        assert answer.status_code == 404, answer.text
    trustee = register.api(Role.TRUSTEE)
    assert trustee.get(f"/api/v1/recipients/{case[0]}/parts-in-place").status_code == 403
    lead = register.api(Role.SAFEGUARDING_LEAD)
    assert lead.get(f"/api/v1/recipients/{case[0]}/parts-in-place").status_code == 200
    assert act(lead, case[0], there["place"], "end", came_off="broken").status_code == 403


def test_days_before_birth_and_days_to_come_are_refused_in_words(
    coordinator: TestClient, case: tuple[str, int]
) -> None:
    for day, says in (("2018-05-03", "before the recipient was born"), ("2026-03-03", "has not come yet")):
        answer = coordinator.get(f"/api/v1/recipients/{case[0]}/parts-in-place", params={"on": day})
        assert (answer.status_code, fields(answer)) == (422, ["on"])
        assert says in answer.json()["errors"][0]["message"]


def test_the_days_on_which_something_changed_are_named(
    register: Register, coordinator: TestClient, case: tuple[str, int]
) -> None:
    number = case[0]
    put(coordinator, *case, on="2026-01-10", version=palm(register))
    there = put(coordinator, *case, on="2026-02-01", version=finger(register), digit="ring")
    act(coordinator, number, there["place"], "end", on="2026-02-20", came_off="broken")

    def around(on: str) -> tuple[str | None, str | None]:
        found = coordinator.get(f"/api/v1/recipients/{number}/parts-in-place", params={"on": on}).json()
        return found["before"], found["after"]

    assert around(TODAY) == ("2026-02-20", None)
    assert around("2026-02-20") == ("2026-02-01", None)
    assert around("2026-02-10") == ("2026-02-01", "2026-02-20")
    assert around("2026-01-10") == (None, "2026-02-01")
    made(coordinator, f"recipients/{number}/devices/{case[1]}/sockets", {"fitted_on": "2026-02-25", "limits": [LIMIT]})
    assert around("2026-02-20") == ("2026-02-01", "2026-02-25")


LIMIT = {"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": 190.5}
