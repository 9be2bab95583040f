"""What belongs on the work list and what comes next, without a database."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.casefile.events import Event
from service.casefile.rules import Standing, Step, latest_birth, next_step, review_due, why_missing
from service.casefile.telling import until
from service.kit.clock import age_on
from service.recipients.rules import CaseState

TODAY = date(2026, 3, 2)
QUIET = Standing(
    state=CaseState.ACTIVE,
    device_in_use=True,
    socket_in_place=True,
    measure_by=TODAY,
    tight=False,
    already=0.1,
    start_by=TODAY + timedelta(days=1),
    forecast_failed=False,
    lacking=False,
    review_due=False,
)


@given(st.dates(date(1900, 1, 1), date(2026, 1, 1)), st.dates(date(2020, 1, 1), date(2040, 1, 1)), st.integers(1, 90))
def test_the_latest_birth_of_an_age_is_that_of_those_who_have_reached_it(birth: date, day: date, age: int) -> None:
    assert (birth <= latest_birth(age, day)) == (age_on(birth, day) >= age)


@pytest.mark.parametrize(
    ("changes", "step"),
    [
        ({}, Step.WAIT),
        ({"start_by": None}, Step.WAIT),
        ({"start_by": TODAY}, Step.START_SOCKET),
        ({"start_by": TODAY, "already": 0.5}, Step.ASK_AND_MEASURE),
        ({"measure_by": TODAY - timedelta(days=1)}, Step.MEASURE_AGAIN),
        ({"measure_by": None}, Step.MEASURE_FIRST),
        ({"measure_by": None, "lacking": True, "device_in_use": False}, Step.MEASURE_FIRST),
        ({"forecast_failed": True}, Step.LOOK_AT_FORECAST),
        ({"lacking": True, "device_in_use": False}, Step.COMPLETE_CASE),
        ({"device_in_use": False, "socket_in_place": False}, Step.RECORD_DEVICE),
        ({"socket_in_place": False}, Step.RECORD_SOCKET),
        ({"review_due": True}, Step.HOLD_REVIEW),
        ({"state": CaseState.PAUSED, "start_by": TODAY, "measure_by": None}, Step.NOTHING),
        ({"tight": True, "already": 0.9, "start_by": TODAY}, Step.ASK_TODAY),
        ({"state": CaseState.PAUSED, "tight": True}, Step.ASK_TODAY),
        ({"state": CaseState.CLOSED, "tight": True}, Step.NOTHING),
        ({"state": CaseState.PAUSED, "already": 0.9}, Step.ASK_AND_MEASURE),
        ({"state": CaseState.CLOSED, "already": 0.9}, Step.NOTHING),
    ],
)
def test_what_can_hurt_comes_before_what_is_late_and_that_before_what_is_missing(
    changes: dict[str, object], step: Step
) -> None:
    assert next_step(replace(QUIET, **changes), TODAY) is step  # type: ignore[arg-type]


def test_a_review_is_due_from_three_months_before_until_it_is_held() -> None:
    born = date(2010, 5, 31)
    opened_on = date(2024, 1, 1)
    assert review_due(born, [], opened_on, TODAY)
    assert not review_due(born, [], opened_on, TODAY - timedelta(days=1))
    assert not review_due(born, [16], opened_on, TODAY)
    assert not review_due(date(1990, 5, 31), [], opened_on, TODAY)


def test_what_is_missing_is_said_as_a_list() -> None:
    assert why_missing(["a prescriber"]) == "Still needed before a device is made: a prescriber."
    assert why_missing(["one", "two", "three"]).endswith("one, two and three.")


@given(st.lists(st.integers(0, 30), max_size=40), st.integers(1, 10))
def test_pages_of_a_history_show_every_event_once(days: list[int], most: int) -> None:
    events = [Event(TODAY - timedelta(days=day), "full", str(n)) for n, day in enumerate(sorted(days))]
    shown: list[Event] = []
    before = None
    while True:
        page, before = until(events, before, most)
        shown += page
        if before is None:
            break
    assert shown == events
