"""The work list over HTTP: what is on it, in which order, for whom."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.access.permissions import Role
from service.kit.jobs import JobRow, JobState
from tests.casefile.people import COMPLETE, fitted, foreseen, measured, opened
from tests.conftest import START, Register

TODAY = START.date()


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def clinician(register: Register) -> TestClient:
    return register.api(Role.CLINICIAN)


def listed(client: TestClient, **wanted: Any) -> list[dict[str, Any]]:
    answer = client.get("/api/v1/work-list", params=wanted)
    assert answer.status_code == 200, answer.text
    found: list[dict[str, Any]] = answer.json()["items"]
    return found


def test_an_empty_register_has_nothing_to_do(coordinator: TestClient) -> None:
    assert coordinator.get("/api/v1/work-list").json() == {"items": [], "next": None}


def test_a_socket_says_when_it_is_due_and_by_when_to_start(
    register: Register, coordinator: TestClient, clinician: TestClient
) -> None:
    number = opened(coordinator, clinician)
    measured(coordinator, number, "2026-02-20", 171)
    socket = fitted(coordinator, number)
    p10, p50, p90 = date(2026, 5, 1), date(2026, 7, 1), date(2026, 10, 1)
    foreseen(register, socket, p10=p10, p50=p50, p90=p90, already=0.02, start_by=date(2026, 4, 3))

    (item,) = listed(coordinator)
    assert item["kind"] == "socket_due"
    assert item["case_number"] == number
    assert (item["given_name"], item["site"], item["side"], item["purpose"]) == ("Ines", "harbour", "left", "everyday")
    assert item["due"] == {"p10": "2026-05-01", "p50": "2026-07-01", "p90": "2026-10-01"}
    assert item["act_by"] == item["start_by"] == "2026-04-03"
    assert item["lead_days"] == 28
    assert item["limiting"] == {"dimension": "residual_limb_girth", "level_mm": 60, "probability": 0.8}
    assert item["within"]["365"] == 0.9
    assert item["state"] == "current"
    assert item["why"] == "Making takes about 28 days."
    assert (item["measure_by"], item["measure_why"]) == (None, "")


def test_a_forecast_that_a_change_has_overtaken_is_marked(
    register: Register, coordinator: TestClient, clinician: TestClient
) -> None:
    number = opened(coordinator, clinician)
    measured(coordinator, number, "2026-02-20", 171)
    socket = fitted(coordinator, number)
    (first,) = listed(coordinator, kind="socket_due")
    assert (first["state"], first["due"], first["act_by"]) == ("being worked out", None, None)

    foreseen(register, socket, p10=date(2026, 5, 1), start_by=date(2026, 4, 3))
    assert listed(coordinator, kind="socket_due")[0]["state"] == "current"
    measured(coordinator, number, "2026-03-01", 175)
    (overtaken,) = listed(coordinator, kind="socket_due")
    assert (overtaken["state"], overtaken["start_by"]) == ("being worked out", "2026-04-03")

    with register.db.writing() as session:
        session.execute(sa.update(JobRow).values(state=JobState.FAILED))
    (failed,) = listed(coordinator, kind="socket_due")
    assert failed["state"] == "failed"
    assert "could not be worked out" in failed["why"]


def test_probably_tight_comes_first_then_the_day_to_act_by(
    register: Register, coordinator: TestClient, clinician: TestClient
) -> None:
    far, near, tight = (opened(coordinator, clinician, given_name=name) for name in ("Far", "Near", "Tight"))
    for number, start_by, already in ((far, 200, 0.0), (near, -60, 0.2), (tight, -28, 0.7)):
        measured(coordinator, number, "2026-02-20", 171)
        start = TODAY + timedelta(days=start_by)
        socket = fitted(coordinator, number)
        foreseen(register, socket, p10=start + timedelta(days=28), already=already, start_by=start)
    never = opened(coordinator, clinician, given_name="Never")
    measured(coordinator, never, "2026-02-20", 171)
    foreseen(register, fitted(coordinator, never), p10=None)
    lacking = opened(coordinator, given_name="Lacking")
    measured(coordinator, lacking, "2026-02-20", 171)

    names = [item["given_name"] for item in listed(coordinator)]
    assert names[:3] == ["Tight", "Near", "Far"]
    assert set(names[3:]) == {"Never", "Lacking"}
    assert "tight already" in listed(coordinator)[0]["why"]

    paged, cursor = [], None
    while True:
        page = coordinator.get(
            "/api/v1/work-list", params={"limit": 1, **({"cursor": cursor} if cursor else {})}
        ).json()
        paged += [item["given_name"] for item in page["items"]]
        cursor = page["next"]
        if cursor is None:
            break
    assert paged == names


@pytest.mark.parametrize(
    ("birth_date", "measured_days_ago", "overdue"),
    [
        ("2018-05-04", 182, False),
        ("2018-05-04", 183, True),
        ("1980-05-04", 365, False),
        ("1980-05-04", 366, True),
        ("2008-03-02", 183, False),  # 18 today
        ("2008-03-03", 183, True),  # 18 tomorrow
    ],
)
def test_children_are_measured_twice_a_year_and_adults_once(
    coordinator: TestClient, *, birth_date: str, measured_days_ago: int, overdue: bool
) -> None:
    number = opened(coordinator, birth_date=birth_date)
    taken_on = TODAY - timedelta(days=measured_days_ago)
    measured(coordinator, number, taken_on.isoformat(), 171)
    found = listed(coordinator, kind="measurement_overdue")
    assert [item["case_number"] for item in found] == ([number] if overdue else [])
    if overdue:
        assert found[0]["act_by"] == (TODAY - timedelta(days=1)).isoformat()


def test_a_struck_reading_does_not_count_as_measured(coordinator: TestClient) -> None:
    number = opened(coordinator)
    (never,) = listed(coordinator, kind="measurement_overdue")
    assert never["act_by"] == TODAY.isoformat()
    assert "No measurement" in never["why"]
    session = measured(coordinator, number, "2026-02-20", 171)
    assert listed(coordinator, kind="measurement_overdue") == []
    struck = {"reading": session["readings"][0]["id"], "why": "It was the other child."}
    answer = coordinator.post(f"/api/v1/recipients/{number}/measurements/{session['id']}/corrections", json=struck)
    assert answer.status_code == 201, answer.text
    assert [item["case_number"] for item in listed(coordinator, kind="measurement_overdue")] == [number]


LACKS: list[tuple[dict[str, Any], str]] = [
    ({"limbs": []}, "a description of the limb"),
    ({"contacts": []}, "a contact with parental responsibility"),
    (
        {"contacts": [{**COMPLETE["contacts"][0], "responsibility": "unknown"}]},
        "a contact with parental responsibility",
    ),
    ({"consents": COMPLETE["consents"][1:]}, "consent to keeping records"),
    ({"consents": COMPLETE["consents"][::2]}, "consent to the device"),
    ({"consents": COMPLETE["consents"][:2]}, "the child's own assent"),
    ({"prescriber_name": ""}, "a prescriber"),
    ({"latex_allergy": None}, "an answer about latex allergy"),
]


@pytest.mark.parametrize(("changes", "lacking"), LACKS)
def test_what_one_case_lacks_is_on_the_list(
    coordinator: TestClient, clinician: TestClient, changes: dict[str, Any], lacking: str
) -> None:
    number = opened(coordinator, clinician, **changes)
    (item,) = listed(coordinator, kind="missing")
    assert item["missing"] == [lacking] == coordinator.get(f"/api/v1/recipients/{number}").json()["missing"]
    assert item["act_by"] is None
    assert lacking in item["why"]


def test_a_case_that_lacks_nothing_is_not_on_the_list(coordinator: TestClient, clinician: TestClient) -> None:
    number = opened(coordinator, clinician)
    opened(coordinator, clinician, birth_date="1980-05-04", contacts=[], consents=COMPLETE["consents"][:2])
    assert listed(coordinator, kind="missing") == []
    note = {"verdict": "not_yet", "noted_by": "Dr Tamsin Vale", "noted_on": "2026-02-06"}
    clinician.post(f"/api/v1/recipients/{number}/suitability", json=note)
    (item,) = listed(coordinator, kind="missing")
    assert item["missing"] == ["a clinician's note that a device is suitable"]


@pytest.mark.parametrize(
    ("birth_date", "act_by"),
    [
        ("2010-05-31", "2026-05-31"),  # 16 in ninety days
        ("2010-06-01", None),  # in ninety-one
        ("2009-09-01", "2025-09-01"),  # 16 before the case was opened
        ("2008-05-31", "2026-05-31"),  # 18 in ninety days: takes over from 16
        ("2007-03-02", "2025-03-02"),  # 18 a year before the case was opened
        ("2007-02-28", None),  # longer ago
    ],
)
def test_reviews_come_up_before_the_birthday_and_stay_until_held(
    coordinator: TestClient, birth_date: str, act_by: str | None
) -> None:
    number = opened(coordinator, birth_date=birth_date)
    found = listed(coordinator, kind="review")
    assert [item["act_by"] for item in found] == ([act_by] if act_by else [])
    if act_by is None:
        return
    age = int(act_by[:4]) - int(birth_date[:4])
    assert f"{age} on" in found[0]["why"]
    held = {"age": age, "held_on": "2026-03-01", "outcome": "Decides about photographs now."}
    assert coordinator.post(f"/api/v1/recipients/{number}/reviews", json=held).status_code == 201
    assert listed(coordinator, kind="review") == []


def test_somebody_born_on_29_february_is_reviewed_on_1_march(coordinator: TestClient) -> None:
    opened(coordinator, birth_date="2008-02-29")
    (item,) = listed(coordinator, kind="review")
    assert item["act_by"] == "2026-03-01"


def test_the_list_is_narrowed_by_site_side_state_kind_and_name(register: Register) -> None:
    both = register.api(Role.COORDINATOR, sites=("harbour", "island"))
    right = [{"side": "right", "cause": "acquired", "level": "wrist"}]
    harbour = opened(both, site="harbour", given_name="Zoë")
    island = opened(both, site="island", given_name="Bram", limbs=right, state="enquiry")
    fitted(both, harbour)

    def cases(**wanted: str) -> set[str]:
        return {item["case_number"] for item in listed(both, **wanted)}

    assert cases() == {harbour, island}
    assert cases(site="island") == {island}
    assert cases(side="left") == {harbour}
    assert cases(side="right") == {island}
    assert cases(side="right", kind="socket_due") == set()
    assert cases(state="enquiry") == {island}
    assert cases(kind="socket_due") == {harbour}
    assert cases(q="zoe") == {harbour}
    assert cases(q=island[:5]) == {island}
    assert cases(q="nobody") == set()
    assert cases(site="", side="", state="", kind="", q="") == {harbour, island}


def test_a_socket_is_listed_until_its_case_is_closed_but_started_only_while_it_is_not_paused(
    register: Register, coordinator: TestClient
) -> None:
    start_by = TODAY + timedelta(days=5)
    for state in ("enquiry", "active", "paused", "closed"):
        number = opened(coordinator, state=state, state_reason="has moved away", given_name=state)
        foreseen(register, fitted(coordinator, number), p10=TODAY, already=0.2, start_by=start_by)
    found = {item["case_state"]: item["act_by"] for item in listed(coordinator, kind="socket_due")}
    assert found == {"enquiry": start_by.isoformat(), "active": start_by.isoformat(), "paused": None}


def test_a_paused_case_asks_for_nothing_else_but_a_review_and_a_closed_one_for_nothing(coordinator: TestClient) -> None:
    for state in ("paused", "closed"):
        number = opened(coordinator, state=state, state_reason="has moved away", birth_date="2010-03-10")
        fitted(coordinator, number)
    assert {item["kind"] for item in listed(coordinator)} == {"review", "socket_due"}
    assert {item["case_state"] for item in listed(coordinator)} == {"paused"}


def test_everybody_sees_the_work_for_their_own_cases_only(register: Register, coordinator: TestClient) -> None:
    number = opened(coordinator)
    volunteer_account = register.account(Role.VOLUNTEER)
    volunteer = register.api(account=volunteer_account)
    assert listed(register.api(Role.COORDINATOR, sites=("island",))) == []
    assert listed(volunteer) == []
    coordinator.post(f"/api/v1/recipients/{number}/helpers", json={"account": volunteer_account})
    assert {item["case_number"] for item in listed(volunteer)} == {number}
    assert register.api(Role.TRUSTEE).get("/api/v1/work-list").status_code == 403
    assert register.browser().get("/api/v1/work-list").status_code == 401


@pytest.mark.parametrize(
    "wanted",
    [
        {"kind": "sockets"},
        {"side": "middle"},
        {"cursor": "x"},
        {"cursor": "WzAsIngiLDAsMV0"},
        {"limit": 0},
    ],
)
def test_a_wrong_question_is_answered_with_what_is_wrong(coordinator: TestClient, wanted: dict[str, Any]) -> None:
    answer = coordinator.get("/api/v1/work-list", params=wanted)
    assert answer.status_code == 422
    assert answer.json()["errors"][0]["field"] == next(iter(wanted))


@pytest.mark.parametrize("field", ["q", "site"])
def test_a_character_that_cannot_be_looked_for_is_refused(coordinator: TestClient, field: str) -> None:
    answer = coordinator.get("/api/v1/work-list", params={field: "a\x00b"})
    assert answer.status_code == 400
    assert "NUL" in answer.json()["detail"]


def test_a_long_list_costs_as_many_statements_as_a_short_one(register: Register, coordinator: TestClient) -> None:
    statements: list[str] = []
    sa.event.listen(
        register.db.engine, "before_cursor_execute", lambda _c, _cur, statement, *_: statements.append(statement)
    )

    def cost() -> int:
        statements.clear()
        assert listed(coordinator, limit=200)
        return len(statements)

    def one_of_each() -> None:
        number = opened(coordinator, birth_date="2010-03-10")
        fitted(coordinator, number)

    one_of_each()
    few = cost()
    for _ in range(4):
        one_of_each()
    assert len(listed(coordinator, limit=200)) == 20
    assert cost() == few
