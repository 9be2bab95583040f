"""When it is asked, where an ask stands, and how far goals were attained, without a database."""

from __future__ import annotations

import math
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.outcomes.goal_rules import LEVELS, attainment, levels_problem
from service.outcomes.rules import OPEN_FOR, AskState, Outcome, ask_on, ask_words, asks, one_conversation, state_of

FITTED = date(2024, 2, 29)
DAY = timedelta(days=1)


def test_it_is_asked_four_times_in_the_first_year_and_then_yearly() -> None:
    known = asks(FITTED, date(2027, 3, 1))
    assert [(each.name, each.due_on.isoformat()) for each in known] == [
        ("two_weeks", "2024-03-14"),
        ("three_months", "2024-05-30"),
        ("six_months", "2024-08-29"),
        ("year_1", "2025-03-01"),  # there is no 29 February
        ("year_2", "2026-03-01"),
        ("year_3", "2027-03-01"),
        ("year_4", "2028-02-29"),
    ]
    assert [ask_words(each) for each in ("two_weeks", "year_1", "year_4")] == [
        "after two weeks",
        "after a year",
        "after 4 years",
    ]


@given(fitted=st.dates(date(2000, 1, 1), date(2040, 1, 1)), ahead=st.integers(0, 9000), at=st.integers(0, 9000))
def test_from_the_first_that_counts_each_day_belongs_to_one_ask(fitted: date, ahead: int, at: int) -> None:
    known = asks(fitted, fitted + timedelta(days=ahead))
    day = fitted + timedelta(days=at)
    claimed = [each for each in known if each.counts_from <= day <= each.counts_until]
    assert len(claimed) == (known[0].counts_from <= day <= known[-1].counts_until)
    assert ask_on(known, day) == (claimed[0] if claimed else None)
    for each in known:
        assert each.counts_from <= each.due_on <= each.closes_on <= each.counts_until


def test_where_an_ask_stands_follows_from_the_day() -> None:
    ask = asks(FITTED, FITTED)[0]
    assert state_of(ask, None, ask.due_on - DAY) is AskState.NOT_YET
    assert state_of(ask, None, ask.due_on) is AskState.OPEN
    assert state_of(ask, None, ask.due_on + OPEN_FOR) is AskState.OPEN
    assert state_of(ask, None, ask.due_on + OPEN_FOR + DAY) is AskState.LOST
    assert state_of(ask, Outcome.NOT_REACHED, ask.due_on + OPEN_FOR + DAY) is AskState.LOST
    assert state_of(ask, Outcome.DECLINED, ask.due_on + OPEN_FOR + DAY) is AskState.DECLINED
    assert state_of(ask, Outcome.ANSWERED, ask.due_on + OPEN_FOR + DAY) is AskState.ANSWERED


def test_nothing_is_asked_before_the_device_was_known_nor_after_it_was_stopped() -> None:
    today = date(2026, 6, 1)
    names = [each.name for each in asks(FITTED, today, asked_from=date(2025, 4, 30), asked_until=date(2026, 3, 1))]
    assert names == ["year_1", "year_2"]
    assert [each.name for each in asks(FITTED, today, asked_from=date(2025, 5, 1))] == ["year_2", "year_3"]
    assert asks(FITTED, today, asked_until=date(2024, 3, 13)) == []


def test_a_check_near_an_ask_is_the_same_conversation() -> None:
    ask = asks(FITTED, FITTED)[0]
    assert one_conversation(ask, ask.due_on - timedelta(days=7))
    assert not one_conversation(ask, ask.due_on - timedelta(days=8))
    assert one_conversation(ask, ask.closes_on)
    assert not one_conversation(ask, ask.closes_on + DAY)


@pytest.mark.parametrize("level", LEVELS)
@pytest.mark.parametrize("weight", [1, 2, 3])
def test_one_goal_alone_is_ten_points_a_level_whatever_its_weight(level: int, weight: int) -> None:
    assert attainment([(weight, level)]) == pytest.approx(50 + 10 * level)


def test_goals_together() -> None:
    assert attainment([]) is None
    assert attainment([(1, 0), (3, 0)]) == 50
    # By hand: 10 x (3 + 1) / sqrt(0.7 x (9 + 1) + 0.3 x 16) over 50.
    assert attainment([(3, 1), (1, 1)]) == pytest.approx(50 + 40 / math.sqrt(11.8))
    assert attainment([(1, 2), (1, -2)]) == 50


def test_each_level_needs_words_of_its_own() -> None:
    whole = {level: f"level {level}" for level in LEVELS}
    assert levels_problem(whole) is None
    assert levels_problem({**whole, 1: " "}) == ("levels.1", "Say in words what this level is: more than hoped.")
    problem = levels_problem({**whole, 2: "Level  1"})
    assert problem is not None
    assert problem[0] == "levels.2"
