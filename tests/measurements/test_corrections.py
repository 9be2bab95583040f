"""Corrections over HTTP: the old value stays, struck through, and counts no more."""

from __future__ import annotations

from typing import Any

import pytest
import sqlalchemy as sa

from service.access.permissions import Role
from service.audit.tables import AuditRow
from tests.conftest import Register
from tests.devices.worn import opened
from tests.measurements.taken import girth, listed, post, session, taken


def test_a_correction_strikes_the_old_value_and_keeps_it(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    made = taken(client, number, girth(171))
    old = made["readings"][0]["id"]
    at = f"/api/v1/recipients/{number}/measurements/{made['id']}/corrections"
    answer = client.post(at, json={"reading": old, "values": [17.4, 17.6], "unit": "cm", "why": "Read upside down."})
    assert answer.status_code == 201, answer.text
    struck, right = answer.json()["readings"]
    assert (struck["id"], struck["value_mm"]) == (old, 171.0)
    assert (struck["struck"]["by"], struck["struck"]["why"]) == ("coordinator", "Read upside down.")
    assert (right["value_mm"], right["corrects"], right["struck"]) == (175.0, old, None)
    assert (right["side"], right["level_mm"]) == ("left", 60)

    again = client.post(at, json={"reading": old, "values": [176], "unit": "mm", "why": "Once more."})
    assert again.status_code == 409
    with register.db.reading() as db:
        entry = db.scalars(sa.select(AuditRow).where(AuditRow.act == "corrected")).one()
    assert entry.changes == {"value": [171.0, 175.0], "why": [None, "Read upside down."]}


def test_a_correction_can_itself_be_corrected(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    made = taken(client, number, girth(171))
    at = f"/api/v1/recipients/{number}/measurements/{made['id']}/corrections"
    reading = made["readings"][0]["id"]
    for value in (173, 175):
        body = {"reading": reading, "values": [value], "unit": "mm", "why": "Looked again."}
        reading = client.post(at, json=body).json()["readings"][-1]["id"]
    readings = listed(client, number)["items"][0]["readings"]
    assert [each["value_mm"] for each in readings] == [171, 173, 175]
    assert [each["struck"] is None for each in readings] == [False, False, True]
    assert [each["corrects"] for each in readings] == [None, readings[0]["id"], readings[1]["id"]]


def test_a_struck_reading_counts_no_more(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    made = taken(client, number, girth(195), taken_on="2026-02-20")
    assert post(client, number, session(girth(171))).json()["doubts"]
    at = f"/api/v1/recipients/{number}/measurements/{made['id']}/corrections"
    only_struck = client.post(at, json={"reading": made["readings"][0]["id"], "why": "Over a sleeve."})
    assert [each["struck"] is None for each in only_struck.json()["readings"]] == [False]
    taken(client, number, girth(171))


def test_a_correction_is_judged_like_a_reading_but_not_against_what_it_corrects(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    taken(client, number, girth(170), taken_on="2026-01-20")
    made = taken(client, number, girth(190), confirmed=True)
    at = f"/api/v1/recipients/{number}/measurements/{made['id']}/corrections"
    slip = {"reading": made["readings"][0]["id"], "unit": "mm", "why": "A slip."}
    impossible = client.post(at, json={**slip, "values": [1700]})
    assert impossible.json()["errors"][0]["field"] == "values.0"
    doubted = client.post(at, json={**slip, "values": [150]})
    assert doubted.json()["doubts"][0]["field"] == "values"
    assert listed(client, number)["items"][0]["readings"][0]["struck"] is None
    assert client.post(at, json={**slip, "values": [171]}).status_code == 201


@pytest.mark.parametrize(
    ("change", "status", "field"),
    [
        ({"why": " "}, 422, "why"),
        ({"unit": None}, 422, "unit"),
        ({"unit": "kg"}, 422, "unit"),
        ({"values": [171, 171, 171, 171]}, 422, "values"),
        ({"values": ["?"]}, 422, "values.0"),
        ({"reading": 2**31}, 422, "reading"),
        ({"reading": 999}, 404, None),
    ],
)
def test_a_bad_correction_leaves_the_reading(register: Register, change: Any, status: int, field: str | None) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    made = taken(client, number, girth(171))
    body = {"reading": made["readings"][0]["id"], "values": [173], "unit": "mm", "why": "A slip.", **change}
    refused = client.post(f"/api/v1/recipients/{number}/measurements/{made['id']}/corrections", json=body)
    assert refused.status_code == status, refused.text
    if field:
        assert field in {each["field"] for each in refused.json()["errors"]}
    assert listed(client, number)["items"] == [made]
