"""Measurements over HTTP: recorded, doubted, corrected, listed, and hidden from whoever has no business with them."""

from __future__ import annotations

import math
from concurrent.futures import ThreadPoolExecutor
from decimal import Decimal
from typing import Any

import pytest
import sqlalchemy as sa
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from service.access.permissions import Role
from service.anthropometry.units import UNITS
from service.audit.tables import AuditRow
from service.kit.jobs import JobRow
from service.measurements.tables import MeasurementRow, ReadingRow
from tests.conftest import Register
from tests.devices.worn import opened
from tests.measurements.taken import girth, listed, post, session, taken

HEIGHT: dict[str, Any] = {"dimension": "height", "values": [124.2], "unit": "cm"}
HAND: dict[str, Any] = {"dimension": "hand_length", "side": "right", "values": [133], "unit": "mm"}


def rows(register: Register, table: Any) -> int:
    with register.db.reading() as db:
        return int(db.scalar(sa.select(sa.func.count()).select_from(table)) or 0)


def test_a_session_is_recorded_and_read_back(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    weight = {"dimension": "weight", "values": [55, 55.5], "unit": "lb"}
    made = taken(client, number, girth(171.0, 172.5, 171.5), HEIGHT, weight, taken_by="Noor", note="Fidgety.")
    assert client.get(f"/api/v1/recipients/{number}/measurements/{made['id']}").json() == made
    assert (made["taken_by"], made["note"], made["recorded_by"]) == ("Noor", "Fidgety.", "coordinator")
    girths, height, weighed = made["readings"]
    assert (girths["value_mm"], girths["spread_mm"], girths["repeats"]) == (171.5, 1.5, [171.0, 172.5, 171.5])
    assert (girths["doubts"], girths["struck"], girths["corrects"]) == ([], None, None)
    assert (height["value_mm"], height["side"], height["level_mm"]) == (1242.0, None, None)
    assert weighed["value_kg"] == pytest.approx(55.25 * float(UNITS["kg"]["lb"]), abs=1e-9)
    assert (weighed["value_mm"], girths["value_kg"]) == (None, None)


def test_recording_is_audited_and_asks_for_a_forecast(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    made = taken(client, number, girth(171))
    with register.db.reading() as db:
        entry = db.scalars(sa.select(AuditRow).where(AuditRow.subject == "measurement")).one()
        job = db.scalars(sa.select(JobRow).where(JobRow.kind == "forecast.refresh")).one()
    assert (entry.act, entry.subject_id, entry.recipient_id) == ("recorded", made["id"], job.subject_id)


def test_looking_at_measurements_is_recorded(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    with register.db.reading() as db:
        before = db.scalar(sa.select(sa.func.count()).where(AuditRow.act == "read"))
    listed(client, number)
    with register.db.reading() as db:
        assert db.scalar(sa.select(sa.func.count()).where(AuditRow.act == "read")) == (before or 0) + 1


def test_a_shrunken_limb_is_doubted_and_stored_only_when_confirmed(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    taken(client, number, girth(180), taken_on="2025-12-01")
    body = session(HEIGHT, girth(169.2))
    refused = post(client, number, body)
    assert refused.status_code == 422
    (doubt,) = refused.json()["doubts"]
    assert doubt["field"] == "readings.1.values"
    assert "6 % smaller than the 180.0 mm of 1 December 2025" in doubt["message"]
    assert len(listed(client, number)["items"]) == 1, "nothing of a doubted session is stored"

    stored = post(client, number, {**body, "confirmed": True})
    assert stored.status_code == 201
    assert [reading["doubts"] for reading in stored.json()["readings"]] == [[], [doubt["message"]]]


def test_confirming_does_not_make_the_impossible_possible(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    refused = post(client, number, session(girth(1810), HEIGHT, confirmed=True))
    assert refused.status_code == 422
    (problem,) = refused.json()["errors"]
    assert problem["field"] == "readings.0.values.0"
    assert "did you mean 181.0" in problem["message"]
    assert "doubts" not in refused.json()


def test_left_and_right_swapped_is_asked_about(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    sound = {"dimension": "forearm_girth", "side": "right", "level_mm": 60, "unit": "mm"}
    taken(client, number, girth(155), {**sound, "values": [188]}, taken_on="2025-12-01")
    refused = post(client, number, session(girth(189), {**sound, "values": [155.5]}))
    assert [each["field"] for each in refused.json()["doubts"]] == ["readings.0.values", "readings.1.values"]
    assert all("left and right swapped" in each["message"] for each in refused.json()["doubts"])


def test_the_same_session_twice_is_doubted_and_with_a_key_answered_again(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    first, again = (post(client, number, session(girth(171)), **{"Idempotency-Key": "visit-1"}) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 201)
    assert first.json() == again.json()
    third = post(client, number, session(girth(171)))
    assert "already recorded for this day" in third.json()["doubts"][0]["message"]
    assert rows(register, MeasurementRow) == 1


def test_the_same_session_sent_four_times_at_once_is_stored_once(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    senders = [register.api(Role.COORDINATOR) for _ in range(4)]
    with ThreadPoolExecutor(len(senders)) as pool:
        answers = list(pool.map(lambda sender: post(sender, number, session(girth(171))), senders))
    assert sorted(answer.status_code for answer in answers) == [201, 422, 422, 422]
    assert rows(register, ReadingRow) == 1


BAD: list[tuple[str, dict[str, Any], str]] = [
    ("no readings", session(), "readings"),
    ("too many readings", session(*(girth(171, level_mm=level) for level in range(61))), "readings"),
    ("in the future", session(girth(171), taken_on="2026-03-03"), "taken_on"),
    ("before birth", session(girth(171), taken_on="2018-05-03"), "taken_on"),
    ("no such day", session(girth(171), taken_on="2026-02-30"), "taken_on"),
    ("a day as a number", {**session(girth(171)), "taken_on": 20260302}, "taken_on"),
    ("unknown method", {**session(girth(171)), "method": "by eye"}, "method"),
    ("no method", {"taken_on": "2026-03-02", "readings": [girth(171)]}, "method"),
    ("misspelt field", {**session(girth(171)), "confirm": True}, "confirm"),
    ("unknown dimension", session(girth(171, dimension="head_girth")), "readings.0.dimension"),
    ("no side", session(girth(171, side=None)), "readings.0.side"),
    ("a side that is none", session(girth(171, side="middle")), "readings.0.side"),
    ("a side of the whole body", session({**HEIGHT, "side": "left"}), "readings.0.side"),
    ("no level", session(girth(171, level_mm=None)), "readings.0.level_mm"),
    ("a level above the landmark", session(girth(171, level_mm=-5)), "readings.0.level_mm"),
    ("a level beyond any arm", session(girth(171, level_mm=601)), "readings.0.level_mm"),
    ("a level where there is none", session({**HAND, "level_mm": 60}), "readings.0.level_mm"),
    ("no values", session(girth()), "readings.0.values"),
    ("four repeats", session(girth(171, 171, 171, 171)), "readings.0.values"),
    ("nothing", session(girth(0)), "readings.0.values.0"),
    ("less than nothing", session(girth(-171)), "readings.0.values.0"),
    ("a word", session(girth("big")), "readings.0.values.0"),
    ("true", session(girth(True)), "readings.0.values.0"),
    ("not a number", session(girth("NaN")), "readings.0.values.0"),
    ("infinite", session(girth("Infinity")), "readings.0.values.0"),
    ("astronomical", session(girth("1e400")), "readings.0.values.0"),
    ("vanishing", session(girth("1e-999999999")), "readings.0.values.0"),
    ("endless digits", session(girth("171." + "1" * 5000)), "readings.0.values.0"),
    ("ten times too large", session(girth(1810)), "readings.0.values.0"),
    ("ten times too small, in one repeat", session(girth(171, 17.1)), "readings.0.values.1"),
    ("no unit", session(girth(171, unit=None)), "readings.0.unit"),
    ("unknown unit", session(girth(171, unit="ell")), "readings.0.unit"),
    ("weight of a girth", session(girth(171, unit="kg")), "readings.0.unit"),
    ("length of a weight", session({"dimension": "weight", "values": [25], "unit": "cm"}), "readings.0.unit"),
    ("one place twice", session(girth(171), girth(172)), "readings.1.dimension"),
    ("a NUL", session(girth(171), note="sore\x00"), "note"),
    ("a NUL in a landmark", session(girth(171, landmark="wrist\x00")), "readings.0.landmark"),
    ("a novel for a name", session(girth(171), taken_by="n" * 201), "taken_by"),
]


@pytest.mark.parametrize(("body", "field"), [case[1:] for case in BAD], ids=[case[0] for case in BAD])
def test_bad_input_is_refused_by_field_and_nothing_is_stored(register: Register, body: Any, field: str) -> None:
    client = register.api(Role.COORDINATOR)
    refused = post(client, opened(client), body)
    assert refused.status_code == 422, refused.text
    assert field in {each["field"] for each in refused.json()["errors"]}
    assert all(each["message"] for each in refused.json()["errors"])
    assert (rows(register, MeasurementRow), rows(register, ReadingRow)) == (0, 0)


def test_one_bad_reading_keeps_the_good_ones_out(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    assert post(client, number, session(HEIGHT, girth(171), girth(1720, level_mm=30))).status_code == 422
    assert rows(register, ReadingRow) == 0


def test_sessions_are_listed_newest_first_a_page_at_a_time(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    number = opened(client)
    for day, value in (("2025-12-01", 170), ("2026-02-01", 172), ("2025-10-01", 169), ("2026-02-01", 173)):
        taken(client, number, girth(value, level_mm=30 if value == 173 else 60), taken_on=day)
    first = listed(client, number, limit=3)
    rest = listed(client, number, limit=3, cursor=first["next"])
    found = [each["readings"][0]["value_mm"] for page in (first, rest) for each in page["items"]]
    assert found == [173, 172, 170, 169]
    assert rest["next"] is None


@pytest.mark.parametrize("cursor", ["nonsense", "WzFd" * 100, "Wzk5OTk5OTk5OTk5OTk5OTk5OTk5OTld", "WyJhIl0"])
def test_a_made_up_cursor_is_refused_or_leads_nowhere(register: Register, cursor: str) -> None:
    client = register.api(Role.COORDINATOR)
    answer = client.get(f"/api/v1/recipients/{opened(client)}/measurements", params={"cursor": cursor})
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == "cursor"


def test_another_sites_case_is_not_there(register: Register) -> None:
    here, there = register.api(Role.COORDINATOR), register.api(Role.COORDINATOR, sites=("island",))
    number = opened(here)
    made = taken(here, number, girth(171))
    at = f"/api/v1/recipients/{number}/measurements"
    correction = {"reading": made["readings"][0]["id"], "why": "Not mine."}
    assert post(there, number, session(girth(171))).status_code == 404
    assert there.get(at).status_code == 404
    assert there.get(f"{at}/{made['id']}").status_code == 404
    assert there.post(f"{at}/{made['id']}/corrections", json=correction).status_code == 404


def test_another_cases_session_is_not_in_this_one(register: Register) -> None:
    client = register.api(Role.COORDINATOR)
    mine, other = opened(client), opened(client, given_name="Bruno")
    made = taken(client, mine, girth(171))
    at = f"/api/v1/recipients/{other}/measurements/{made['id']}"
    assert client.get(at).status_code == 404
    body = {"reading": made["readings"][0]["id"], "why": "A slip."}
    assert client.post(f"{at}/corrections", json=body).status_code == 404


def test_a_volunteer_measures_only_those_they_help(register: Register) -> None:
    coordinator, account = register.api(Role.COORDINATOR), register.account(Role.VOLUNTEER)
    volunteer = register.api(account=account)
    number = opened(coordinator)
    assert post(volunteer, number, session(girth(171))).status_code == 404
    coordinator.post(f"/api/v1/recipients/{number}/helpers", json={"account": account})
    assert post(volunteer, number, session(girth(171))).status_code == 201


@pytest.mark.parametrize("role", [Role.TRUSTEE, Role.ADMINISTRATOR, Role.SAFEGUARDING_LEAD])
def test_some_roles_record_no_measurements(register: Register, role: Role) -> None:
    number = opened(register.api(Role.COORDINATOR))
    refused = post(register.api(role), number, session(girth(171)))
    assert refused.status_code == 403
    assert "record and correct measurements" in refused.json()["detail"]


def test_nobody_without_a_token_gets_in(register: Register) -> None:
    number = opened(register.api(Role.COORDINATOR))
    assert post(register.browser(), number, session(girth(171))).status_code == 401


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    millimetres=st.decimals(min_value=150, max_value=190, places=2),
    unit=st.sampled_from(list(UNITS["mm"])),
)
def test_a_believable_reading_comes_back_as_it_was_given(register: Register, millimetres: Decimal, unit: str) -> None:
    client = register.api(Role.COORDINATOR)
    written = (millimetres / UNITS["mm"][unit]).quantize(Decimal("0.0001"))
    made = taken(client, opened(client), girth(str(written), unit=unit))
    (reading,) = made["readings"]
    assert reading["value_mm"] == float(written * UNITS["mm"][unit])
    assert math.isclose(reading["value_mm"] / float(UNITS["mm"][unit]), float(written), rel_tol=1e-12)
