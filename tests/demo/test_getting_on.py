"""The demo tells how people got on: answered, declined, lost or still to be asked; given up for reasons; goals."""

from __future__ import annotations

from collections import Counter

import pytest

from service.access.permissions import Role
from service.devices.rules import StoppedWhy
from service.outcomes.rules import AskState, Way
from tests.demo.conftest import everything, program


@pytest.fixture(scope="module")
def coordinator(shown):
    return program(shown, Role.COORDINATOR)


@pytest.fixture(scope="module")
def numbers(coordinator):
    return [each["case_number"] for each in everything(coordinator, "/api/v1/recipients")]


@pytest.fixture(scope="module")
def asks(coordinator, numbers):
    return [
        each
        for number in numbers
        for each in coordinator.get(f"/api/v1/recipients/{number}/follow-ups").json()["items"]
    ]


@pytest.fixture(scope="module")
def answers(asks):
    return [each["answer"] for each in asks if each["state"] == "answered"]


def test_asks_stand_everywhere_and_the_lost_are_not_left_out(asks):
    states = Counter(each["state"] for each in asks)
    assert set(states) == set(AskState)
    over = states["answered"] + states["declined"] + states["lost"]
    assert 0.25 < states["lost"] / over < 0.65
    assert any(each["tries"] for each in asks if each["state"] == "lost")


def test_lately_more_answered_than_before_it_was_a_habit(asks):
    lately = [each["state"] == "answered" for each in asks if each["due_on"] >= "2024" and each["state"] != "not_yet"]
    before = [each["state"] == "answered" for each in asks if each["due_on"] < "2022"]
    assert sum(lately) / len(lately) > sum(before) / len(before)


def test_people_answer_in_every_way_and_skip_questions(answers):
    assert {each["way"] for each in answers} == set(Way)
    assert {each["recommend"] for each in answers} == {"yes", "perhaps", "no", None}
    assert len({each["comfort"] for each in answers}) > 5
    assert any(each["pain"] == "a_lot" and each["incident"] for each in answers)


def test_devices_were_given_up_for_reasons_and_one_waits_for_a_coordinator(coordinator, numbers, answers):
    devices = [
        each for number in numbers for each in coordinator.get(f"/api/v1/recipients/{number}/devices").json()["items"]
    ]
    reasons = Counter(each["stopped_why"] for each in devices if each["use"] == "stopped")
    assert len(set(reasons) & set(StoppedWhy)) >= 5
    assert "other" not in reasons
    assert [each["why_not"] for each in answers if each["waits"]] == ["little_use"]


def test_goals_are_scored_in_more_than_one_voice(coordinator, numbers):
    found = [coordinator.get(f"/api/v1/recipients/{number}/goals").json() for number in numbers]
    attained = [each for person in found for each in person["attained"]]
    assert {each["voice"] for each in attained} == {"recipient", "helper"}
    own = [each["now"] for each in attained if each["voice"] == "recipient"]
    assert min(own) < 50 < max(own)
    assert any(goal["scores"] == [] for person in found for goal in person["items"])
