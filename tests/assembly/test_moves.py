"""Parts that go from device to device and keep what they are."""

from __future__ import annotations

import threading
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.assembly.tables import PartRow, PlaceRow
from service.audit.tables import AuditRow
from service.parts.rules import PartKind
from tests.assembly.things import (
    a_device,
    act,
    assemblies,
    design,
    finger,
    motors,
    palm,
    put,
    version,
    withdraw,
    worn,
)
from tests.conftest import Register
from tests.devices.worn import count, device

TODAY = "2026-03-02"
RIGHT = {"limbs": [{"side": "right", "cause": "acquired", "level": "forearm_middle"}]}


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


def fields(answer: Any) -> list[str]:
    body = answer.json()
    return [each["field"] for each in body.get("errors") or body.get("doubts") or []]


def moved(client: TestClient, number: str, place: int, **body: Any) -> dict[str, Any]:
    answer = act(client, number, place, "move", **body)
    assert answer.status_code == 201, answer.text
    found: dict[str, Any] = answer.json()
    return found


def test_a_motor_moved_across_three_devices_is_found_by_its_lot_on_the_right_limb_on_each_day(
    coordinator: TestClient,
) -> None:
    batch = motors(coordinator)
    ines, everyday = a_device(coordinator)
    spare = device(coordinator, ines, purpose="spare")
    bela, working = a_device(coordinator, given_name="Bela", **RIGHT)
    first = put(coordinator, ines, everyday, on="2025-06-01", kind="motor", lots=[batch], serial="M-7")
    second = moved(coordinator, ines, first["place"], device=spare, on="2025-09-10")
    third = moved(coordinator, ines, second["place"], device=working, on="2026-01-20", note="Ines got a new one.")
    assert first["part"] == second["part"] == third["part"]
    assert (third["case_number"], third["device"], third["serial"]) == (bela, working, "M-7")
    assert [each["id"] for each in third["lots"]] == [batch]

    expected = {
        "2025-05-31": [],
        "2025-06-01": [(ines, "left", everyday)],
        "2025-09-09": [(ines, "left", everyday)],
        "2025-09-10": [(ines, "left", spare)],
        "2026-01-19": [(ines, "left", spare)],
        "2026-01-20": [(bela, "right", working)],
        TODAY: [(bela, "right", working)],
    }
    for day, where in expected.items():
        found = worn(coordinator, f"lots/{batch}", on=day)
        assert [(each["case_number"], each["side"], each["device"]) for each in found["items"]] == where, day
        assert (found["on"], found["limbs"], found["elsewhere"]) == (day, len(where), 0)
        for number, devices in ((ines, (everyday, spare)), (bela, (working,))):
            there = assemblies(coordinator, number, day)
            holding = [each for each in devices if [part["lots"][0]["id"] for part in there[each]] == [batch]]
            assert holding == [of for case, _side, of in where if case == number], day
    today = worn(coordinator, f"lots/{batch}", on=TODAY)
    assert worn(coordinator, f"lots/{batch}") == today

    ever = worn(coordinator, f"lots/{batch}", ever=True)
    assert [(each["device"], each["since"], each["until"]) for each in ever["items"]] == [
        (everyday, "2025-06-01", "2025-09-10"),
        (spare, "2025-09-10", "2026-01-20"),
        (working, "2026-01-20", None),
    ]
    assert (ever["on"], ever["limbs"]) == (None, 2)
    history = f"/api/v1/recipients/{bela}/parts-in-place/{third['place']}/whereabouts"
    assert [each["device"] for each in coordinator.get(history).json()["items"]] == [everyday, spare, working]


def test_a_move_is_told_in_both_cases(register: Register, coordinator: TestClient) -> None:
    ines, everyday = a_device(coordinator)
    _bela, working = a_device(coordinator, given_name="Bela", **RIGHT)
    there = put(coordinator, ines, everyday, kind="motor", what="geared motor")
    moved(coordinator, ines, there["place"], device=working)
    with register.db.reading() as session:
        entries = session.execute(
            sa.select(AuditRow.act, AuditRow.recipient_id).where(AuditRow.subject == "part in place")
        ).all()
    assert [tuple(each) for each in entries] == [("recorded", 1), ("ended", 1), ("recorded", 2)]
    (off,) = coordinator.get(f"/api/v1/recipients/{ines}/devices/{everyday}/parts").json()["items"]
    assert (off["came_off"], off["until"]) == ("moved", TODAY)


def test_a_part_goes_only_where_it_may(register: Register, coordinator: TestClient) -> None:
    ines, everyday = a_device(coordinator)
    cycling = device(coordinator, ines, purpose="cycling")
    _bela, working = a_device(coordinator, given_name="Bela", **RIGHT)
    stranger, hidden = a_device(register.api(Role.COORDINATOR, sites=("island",)), given_name="Zoe")
    there = put(coordinator, ines, everyday, on="2026-02-01", version=palm(register), side="left")
    put(coordinator, ines, cycling, on="2026-02-01", version=finger(register), digit="index")

    def refused(**body: Any) -> tuple[int, list[str]]:
        answer = act(coordinator, ines, there["place"], "move", **body)
        return answer.status_code, fields(answer)

    assert refused(device=everyday) == (422, ["device"])
    assert refused(device=working) == (422, ["device"])
    assert refused(device=hidden) == (422, ["device"])
    assert refused(device=9999) == (422, ["device"])
    assert refused(device=cycling, on="2026-01-31") == (422, ["on"])
    assert refused(device=cycling, on="2026-03-03") == (422, ["on"])
    where = f"/api/v1/recipients/{ines}/devices/{cycling}"
    coordinator.patch(where, json={"use": "stopped", "stopped_reason": "sold the bicycle"})
    assert refused(device=cycling)[0] == 409
    coordinator.patch(where, json={"use": "in_use"})
    withdraw(register, there["version"]["id"])
    assert refused(device=cycling) == (422, ["device"])
    assert [len(parts) for parts in assemblies(coordinator, ines).values()] == [1, 1]
    assert stranger != ines


def test_a_part_that_came_off_goes_in_again_and_is_asked_about_if_it_was_broken(coordinator: TestClient) -> None:
    ines, everyday = a_device(coordinator)
    there = put(coordinator, ines, everyday, on="2026-01-10", kind="motor", what="geared motor")
    act(coordinator, ines, there["place"], "end", on="2026-02-01", came_off="broken")
    early = act(coordinator, ines, there["place"], "move", device=everyday, on="2026-01-31", confirmed=True)
    assert (early.status_code, fields(early)) == (422, ["on"])
    asked = act(coordinator, ines, there["place"], "move", device=everyday, on="2026-02-20")
    assert (asked.status_code, fields(asked)) == (422, ["device"])
    again = moved(coordinator, ines, there["place"], device=everyday, on="2026-02-20", confirmed=True)
    assert again["part"] == there["part"]
    on = {day: len(assemblies(coordinator, ines, day)[everyday]) for day in ("2026-01-31", "2026-02-01", "2026-02-20")}
    assert on == {"2026-01-31": 1, "2026-02-01": 0, "2026-02-20": 1}
    assert act(coordinator, ines, there["place"], "move", device=everyday, confirmed=True).status_code == 409


def test_a_move_that_never_was_is_undone_by_striking_it(register: Register, coordinator: TestClient) -> None:
    ines, everyday = a_device(coordinator)
    cycling = device(coordinator, ines, purpose="cycling")
    there = put(coordinator, ines, everyday, on="2026-01-10", version=palm(register))
    wrong = moved(coordinator, ines, there["place"], device=cycling, on="2026-02-01")
    assert act(coordinator, ines, wrong["place"], "strike", why="It stayed where it was.").status_code == 200
    for day in ("2026-01-20", "2026-02-10", TODAY):
        assert {each: len(parts) for each, parts in assemblies(coordinator, ines, day).items()} == {
            everyday: 1,
            cycling: 0,
        }
    wrong = moved(coordinator, ines, there["place"], device=cycling, on="2026-02-01")
    put(coordinator, ines, everyday, on="2026-02-01", version=palm_again(register))
    assert act(coordinator, ines, wrong["place"], "strike", why="no").status_code == 200
    parts = {each: [part["part"] for part in found] for each, found in assemblies(coordinator, ines).items()}
    assert parts[cycling] == []
    assert there["part"] not in parts[everyday]


def palm_again(register: Register) -> int:
    return version(register, design_id=design(register, "Other palm", PartKind.PALM))


def test_a_mistaken_stop_on_the_way_is_taken_out_of_the_middle(coordinator: TestClient) -> None:
    ines, everyday = a_device(coordinator)
    cycling, music = device(coordinator, ines, purpose="cycling"), device(coordinator, ines, purpose="music")
    there = put(coordinator, ines, everyday, on="2026-01-10", kind="motor", what="geared motor")
    between = moved(coordinator, ines, there["place"], device=cycling, on="2026-01-20")
    moved(coordinator, ines, between["place"], device=music, on="2026-02-10")
    assert act(coordinator, ines, between["place"], "strike", why="It never was there.").status_code == 200
    for day, where in (("2026-01-15", everyday), ("2026-02-09", everyday), ("2026-02-10", music), (TODAY, music)):
        holding = [each for each, parts in assemblies(coordinator, ines, day).items() if parts]
        assert holding == [where], day


def test_of_two_moves_at_once_one_is_done(register: Register, coordinator: TestClient) -> None:
    ines, everyday = a_device(coordinator)
    takers = [device(coordinator, ines, purpose=purpose) for purpose in ("cycling", "music")]
    there = put(coordinator, ines, everyday, on="2026-01-10", kind="motor", what="geared motor", serial="M-1")
    clients = [register.api(Role.COORDINATOR) for _ in takers]
    answers = at_once(
        [
            lambda client=client, to=to: act(client, ines, there["place"], "move", device=to)
            for client, to in zip(clients, takers, strict=True)
        ]
    )
    assert sorted(each.status_code for each in answers) == [201, 409]
    assert sum(len(parts) for parts in assemblies(coordinator, ines).values()) == 1


def test_moves_that_cross_each_other_are_both_done(register: Register, coordinator: TestClient) -> None:
    ines, one = a_device(coordinator)
    other = device(coordinator, ines, purpose="cycling")
    places = [
        put(coordinator, ines, each, on="2026-01-10", kind="motor", what="motor")["place"] for each in (one, other)
    ]
    clients = [register.api(Role.COORDINATOR) for _ in places]
    answers = at_once(
        [
            lambda client=client, place=place, to=to: act(client, ines, place, "move", device=to)
            for client, place, to in zip(clients, places, (other, one), strict=True)
        ]
    )
    assert [each.status_code for each in answers] == [201, 201]


def test_of_one_part_sent_twice_at_once_one_is_recorded(register: Register, coordinator: TestClient) -> None:
    ines, everyday = a_device(coordinator)
    of = finger(register)
    body = {"version": of, "digit": "index", "on": "2026-02-01"}
    where = f"/api/v1/recipients/{ines}/devices/{everyday}/parts"
    clients = [register.api(Role.COORDINATOR) for _ in range(3)]
    answers = at_once([lambda client=client: client.post(where, json=body) for client in clients])
    assert sorted(each.status_code for each in answers) == [201, 409, 409]
    assert count(register, PartRow) == count(register, PlaceRow) == 1


def at_once(calls: list[Any]) -> list[Any]:
    """Make several calls at the same time; their answers in the same order."""
    answers: list[Any] = [None] * len(calls)

    def run(number: int) -> None:
        answers[number] = calls[number]()

    threads = [threading.Thread(target=run, args=(number,)) for number in range(len(calls))]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return answers
