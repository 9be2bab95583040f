"""The recipient's own goals: agreed in words, scored in more than one voice, ended and not altered."""

from __future__ import annotations

import math
from typing import Any

import pytest
from fastapi.testclient import TestClient

from service.access.permissions import Role
from tests.conftest import Register
from tests.devices.worn import made, opened
from tests.outcomes.things import GOAL, LEVELS, goal


@pytest.fixture
def coordinator(register: Register) -> TestClient:
    return register.api(Role.COORDINATOR)


@pytest.fixture
def number(coordinator: TestClient) -> str:
    return opened(coordinator)


def goals(client: TestClient, number: str) -> dict[str, Any]:
    found: dict[str, Any] = client.get(f"/api/v1/recipients/{number}/goals").json()
    return found


def score(client: TestClient, number: str, of_goal: int, level: int, **more: Any) -> Any:
    return client.post(f"/api/v1/recipients/{number}/goals/{of_goal}/scores", json={"level": level, **more})


def test_a_goal_is_kept_as_it_was_agreed_and_once(coordinator: TestClient, number: str) -> None:
    first = goal(coordinator, number)
    assert goal(coordinator, number) == first
    (kept,) = goals(coordinator, number)["items"]
    assert {name: kept[name] for name in GOAL} == GOAL
    assert (kept["voice"], kept["agreed_on"], kept["recorded_by"]) == ("recipient", "2026-03-02", "coordinator")
    differs = coordinator.post(f"/api/v1/recipients/{number}/goals", json={**GOAL, "weight": 1})
    assert differs.status_code == 409


def test_both_voices_are_heard_and_the_childs_comes_first(coordinator: TestClient, number: str) -> None:
    mine = goal(coordinator, number)
    assert score(coordinator, number, mine, 0, voice="helper").status_code == 201
    answer = score(coordinator, number, mine, 2, words="Even with gloves!")
    assert [(each["voice"], each["level"]) for each in answer.json()["scores"]] == [("recipient", 2), ("helper", 0)]
    assert [(each["voice"], each["baseline"], each["now"]) for each in goals(coordinator, number)["attained"]] == [
        ("recipient", pytest.approx(30), pytest.approx(70)),
        ("helper", pytest.approx(30), pytest.approx(50)),
    ]


def test_goals_are_weighed_and_those_that_ended_count_no_more(
    register: Register, coordinator: TestClient, number: str
) -> None:
    heavy = goal(coordinator, number)
    light = goal(coordinator, number, words="Hold the cornet.", weight=1, baseline=-1)
    goal(coordinator, number, words="Not scored yet.")
    score(coordinator, number, heavy, -2)
    register.clock.forward(days=1)
    score(coordinator, number, heavy, 1)
    score(coordinator, number, light, 1)
    (own,) = goals(coordinator, number)["attained"]
    assert own["goals"] == 2
    assert own["now"] == pytest.approx(50 + 40 / math.sqrt(11.8))  # by hand: 10 x 4 over the root of 7 + 4.8
    assert own["baseline"] == pytest.approx(50 - 70 / math.sqrt(11.8))
    ended = coordinator.post(f"/api/v1/recipients/{number}/goals/{light}/end", json={"why": "Plays the drum now."})
    assert ended.status_code == 201, ended.text
    (own,) = goals(coordinator, number)["attained"]
    assert (own["goals"], own["now"]) == (1, pytest.approx(60))


def test_a_scored_goal_is_not_altered_but_ended_and_written_anew(
    register: Register, coordinator: TestClient, number: str
) -> None:
    mine = goal(coordinator, number)
    where = f"/api/v1/recipients/{number}/goals/{mine}"
    assert coordinator.patch(where, json={"weight": 2}).json()["weight"] == 2
    assert coordinator.patch(where, json={"levels": {"0": "alone"}}).status_code == 422
    score(coordinator, number, mine, 1)
    refused = coordinator.patch(where, json={"weight": 3})
    assert refused.status_code == 409
    assert "write it anew" in refused.json()["detail"]
    early = coordinator.post(f"/api/v1/recipients/{number}/goals", json={**GOAL, "words": "New.", "instead_of": mine})
    assert early.status_code == 422
    assert coordinator.post(f"{where}/end", json={"why": "Too easy."}).status_code == 201
    assert coordinator.post(f"{where}/end", json={"why": "Too easy."}).status_code == 409
    assert coordinator.patch(where, json={"weight": 3}).status_code == 409
    new = goal(coordinator, number, words="New.", instead_of=mine)
    register.clock.forward(days=1)
    late = score(coordinator, number, mine, 2)
    assert late.status_code == 409
    assert "Too easy." in late.json()["detail"]
    assert score(coordinator, number, new, 2).status_code == 201
    assert [each["id"] for each in goals(coordinator, number)["items"]] == [new, mine]


def test_a_score_stays(register: Register, coordinator: TestClient, number: str) -> None:
    mine = goal(coordinator, number)
    assert score(coordinator, number, mine, 1).status_code == 201
    assert len(score(coordinator, number, mine, 1).json()["scores"]) == 1
    assert score(coordinator, number, mine, 2).status_code == 409
    register.clock.forward(days=1)
    assert len(score(coordinator, number, mine, 2).json()["scores"]) == 2


@pytest.mark.parametrize(
    ("body", "field"),
    [
        ({"levels": {key: words for key, words in LEVELS.items() if key != "1"}}, "levels.1"),
        ({"levels": {**LEVELS, "3": "beyond"}}, "levels.3.[key]"),
        ({"levels": {**LEVELS, "2": LEVELS["1"]}}, "levels.2"),
        ({"weight": 4}, "weight"),
        ({"weight": 0}, "weight"),
        ({"baseline": 3}, "baseline"),
        ({"words": " "}, "words"),
        ({"agreed_on": "2026-03-03"}, "agreed_on"),
        ({"agreed_on": "2017-01-01"}, "agreed_on"),
        ({"device": 99}, "device"),
        ({"instead_of": 99}, "instead_of"),
    ],
)
def test_a_goal_that_cannot_be_is_refused(
    coordinator: TestClient, number: str, body: dict[str, Any], field: str
) -> None:
    refused = coordinator.post(f"/api/v1/recipients/{number}/goals", json={**GOAL, **body})
    assert refused.status_code == 422, refused.text
    assert field in [each["field"] for each in refused.json()["errors"]]
    assert goals(coordinator, number)["items"] == []


@pytest.mark.parametrize("body", [{"level": 3}, {"on": "2026-03-03"}, {"on": "2026-03-01"}, {"voice": "neighbour"}])
def test_a_score_that_cannot_be_is_refused(coordinator: TestClient, number: str, body: dict[str, Any]) -> None:
    mine = goal(coordinator, number)
    assert score(coordinator, number, mine, **{"level": 1, **body}).status_code == 422
    assert goals(coordinator, number)["items"][0]["scores"] == []


def test_another_cases_goal_is_not_there(register: Register, coordinator: TestClient, number: str) -> None:
    mine = goal(coordinator, number)
    other = opened(coordinator, given_name="Ola")
    assert score(coordinator, other, mine, 1).status_code == 404
    elsewhere = register.api(Role.COORDINATOR, sites=("island",))
    assert score(elsewhere, number, mine, 1).status_code == 404
    volunteer = register.api(Role.VOLUNTEER)
    assert volunteer.get(f"/api/v1/recipients/{number}/goals").status_code == 404
    refused = volunteer.post(f"/api/v1/recipients/{other}/goals", json={**GOAL, "instead_of": mine})
    assert refused.status_code == 404


def test_an_idempotency_key_answers_the_same(coordinator: TestClient, number: str) -> None:
    mine = goal(coordinator, number)
    key = {"Idempotency-Key": "goal-1"}
    where = f"/api/v1/recipients/{number}/goals/{mine}/scores"
    first = coordinator.post(where, json={"level": 1}, headers=key)
    again = coordinator.post(where, json={"level": 1}, headers=key)
    assert again.headers["Idempotency-Replayed"] == "true"
    assert again.json() == first.json()
    assert made(coordinator, f"recipients/{number}/goals", GOAL)["id"] == mine
