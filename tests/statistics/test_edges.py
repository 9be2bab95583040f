"""What is said where there is nothing to say: no lives, no failures, holes, too few. What makes no sense is refused."""

from __future__ import annotations

from math import inf, nan

import pytest

from service.statistics import (
    Lives,
    Rule,
    chart,
    garwood,
    goal_attainment,
    hazard_ratio,
    kaplan_meier,
    kit,
    logrank,
    newcombe,
    rate,
    site_kit,
    wilson,
)
from service.statistics.hazard import FEWEST_CLUSTERS


def test_without_a_trial_or_exposure_there_is_no_figure():
    assert wilson(0, 0) is None
    assert newcombe(1, 2, 0, 0) is None
    assert newcombe(0, 0, 1, 2) is None
    assert rate(0, 0) is None
    assert rate(0, 10) == pytest.approx((0, 0, 0.3689), abs=5e-5)


@pytest.mark.parametrize(
    ("call", "said"),
    [
        (lambda: wilson(3, 2), "none and all"),
        (lambda: wilson(-1, 2), "none and all"),
        (lambda: wilson(nan, 2), "none and all"),
        (lambda: wilson(1, inf), "none and all"),
        (lambda: garwood(-1), "whole number"),
        (lambda: rate(3, 0), "exposure above 0"),
        (lambda: rate(3, -1), "exposure above 0"),
        (lambda: Lives.of([0, 1], [1], [True]), "one length"),
        (lambda: Lives.of([3], [3], [True]), "first day as half"),
        (lambda: Lives.of([-1], [3], [True]), "enters at 0"),
        (lambda: Lives.of([0], [nan], [False]), "censored today"),
        (lambda: logrank(Lives.of([0], [1], [True]), ["a", "b"]), "as many groups"),
        (lambda: hazard_ratio(Lives.of([0], [1], [True]), [True], [1, 2]), "as many groups and clusters"),
        (lambda: kit(-1, 10, 1, 10, 0.9), "from 0"),
        (lambda: kit(1, -10, 1, 10, 0.9), "from 0"),
        (lambda: kit(1, 10, -1, 10, 0.9), "from 0"),
        (lambda: kit(1, 10, 1, 10, 1), "between 0 and 1"),
        (lambda: chart([1.0, nan]), "leave out"),
        (lambda: chart([1.0], ["a", "b"]), "as many names"),
        (lambda: goal_attainment([1], [1, 2]), "one of both"),
        (lambda: goal_attainment([3], [1]), "-2, -1, 0, 1 or 2"),
        (lambda: goal_attainment([1], [-1]), "0 or more"),
        (lambda: goal_attainment([], []), "at least one goal"),
    ],
)
def test_what_makes_no_sense_is_refused_in_words(call, said):
    with pytest.raises(ValueError, match=said):
        call()


def test_one_part_that_broke_early_does_not_speak_for_all_that_came_later():
    """The known trap of delayed entry: the product would be 0 from day 9 on, though thirty parts outlast it by far."""
    lives = Lives.of([0] + [30] * 30, [9] + [400] * 30, [True] + [False] * 30)
    curve = kaplan_meier(lives)
    assert curve.at(8) == pytest.approx((1.0, 0.025, 1.0))
    assert curve.at(9) is None
    assert curve.at(100) is None
    assert curve.median().value is None
    assert curve.note == (
        "Nothing that was followed by then was left after day 9, so what comes after is not known. "
        "Others were followed from day 30 on: ask for what becomes of those that lasted until then."
    )
    later = kaplan_meier(lives, since=30)
    assert not later.note
    assert later.at(400) == pytest.approx((1.0, 0.025 ** (1 / 30), 1.0))
    assert later.at(401) is None
    assert (later.numbers(30), later.numbers(31), later.numbers(401)) == (30, 30, 0)


def test_who_enters_on_the_day_the_last_one_fails_was_not_there_yet():
    curve = kaplan_meier(Lives.of([0, 9], [9, 20], [True, True]))
    assert curve.at(8.5) is not None
    assert curve.at(9) is None
    assert "from day 9 on" in curve.note


def test_a_hole_without_a_failure_is_a_hole_too():
    curve = kaplan_meier(Lives.of([0, 12], [9, 20], [False, True]))
    assert curve.at(9) == pytest.approx((1.0, 0.025, 1.0))
    assert curve.at(10) is None
    assert curve.at(20) is None


def test_nobody_from_the_first_day():
    curve = kaplan_meier(Lives.of([5, 7], [9, 20], [True, False]))
    assert curve.at(0) == (1.0, 1.0, 1.0)
    assert curve.at(6) is None
    assert "from day 5 on" in curve.note
    since = kaplan_meier(Lives.of([5, 7], [9, 20], [True, False]), since=5)
    assert since.at(4) is None
    assert [(found := since.at(9)) and found.value, since.numbers(5), since.numbers(9)] == [0.5, 1, 2]


def test_no_lives():
    curve = kaplan_meier(Lives.of([], [], []))
    assert curve.at(1) is None
    assert curve.note == "Nothing was followed past day 0."
    assert logrank(Lives.of([], [], []), []) is None
    assert kaplan_meier(Lives.of([0], [10], [True]), since=10).note == "Nothing was followed past day 10."


def test_when_all_failed_the_share_is_none_and_stays_so():
    curve = kaplan_meier(Lives.of([0, 0, 0], [4, 6, 9], [True] * 3))
    before, after = curve.at(6), curve.at(1000)
    assert before is not None
    assert after == (0, 0, before.high)
    at_once = kaplan_meier(Lives.of([0] * 5, [4] * 5, [True] * 5))
    assert at_once.at(4) == pytest.approx((0, 0, 1 - 0.025 ** (1 / 5)))
    assert at_once.median().value == 4


@pytest.mark.parametrize("half", [12, 23, 58])
def test_a_half_that_rounding_misses_is_a_half(half):
    curve = kaplan_meier(Lives.of([0] * (2 * half), range(1, 2 * half + 1), [True] * (2 * half)))
    assert curve.survival[half - 1] > 0.5
    assert curve.median().value == half


def test_a_failure_on_the_day_another_is_censored_has_both_at_risk():
    assert kaplan_meier(Lives.of([0, 0], [4, 4], [True, False])).survival == pytest.approx([0.5])


def test_groups_that_were_never_there_together_are_not_compared():
    apart = Lives.of([0, 0, 50, 50], [10, 20, 60, 70], [True] * 4)
    assert logrank(apart, ["early", "early", "late", "late"]) is None
    assert logrank(apart, ["one"] * 4) is None
    assert logrank(Lives.of([0, 0], [1, 2], [False, False]), [0, 1]) is None
    three = logrank(Lives.of([0, 0, 0, 90], [10, 20, 30, 99], [True] * 4), ["a", "b", "a", "late"])
    assert three is not None
    assert three.degrees == 1


def test_why_there_is_no_ratio():
    def why(lives: Lives, second: list[bool]) -> str:
        found = hazard_ratio(lives, second, range(len(lives)), ("PLA", "PETG"))
        assert found.estimate is None
        assert found.naive is None
        return found.reason

    lives = Lives.of([0] * 4, [1, 2, 3, 4], [True, True, False, False])
    assert why(lives, [True] * 4) == "Nothing of PLA was followed, so there is nothing to compare."
    assert why(lives, [False, False, True, True]) == (
        "Nothing of PETG failed yet, so the ratio has no bound. Say how much was followed instead."
    )
    assert why(Lives.of([0] * 4, [1, 2, 3, 4], [True] * 4), [True, True, False, False]) == (
        "Of PLA or PETG nothing failed while the other was followed, so nothing compares them."
    )
    few = Lives.of([0] * 4, [1, 2, 3, 4], [True] * 4)
    assert why(few, [True, False, True, False]) == (
        f"Failures on 4 devices are too few to say how sure a ratio is: {FEWEST_CLUSTERS} are needed."
    )


def test_nothing_seen_of_a_part_says_nothing_of_how_many_to_send():
    assert kit(0, 0, 2, 90, 0.95) is None
    assert kit(5, 0.001, 2, 90, 0.95) is None  # hundreds of thousands: another question
    assert kit(3, 1000, 0, 90, 0.95) == (nothing := site_kit(3, 1000, [], 0.95))
    assert nothing is not None
    assert (nothing.count, nothing.chance, nothing.expected) == (0, 1.0, 0.0)


def test_a_few_months_have_no_limits():
    assert chart([]).note == "What is usual can be told from 12 values on. There are none yet."
    assert chart([3]).note == "What is usual can be told from 12 values on. There is one so far."
    found = chart([3, 5] * 5 + [3])
    assert found.note == "What is usual can be told from 12 values on. There are 11 so far."
    assert (found.limits, found.findings) == (None, [])
    assert found.ranges == [2] * 10


@pytest.mark.parametrize("value", [0, 0.1, 1 / 3, 1e9 / 7])
def test_months_all_alike_show_nothing(value):
    found = chart([value] * 24)
    assert found.limits is not None
    assert found.limits.low == pytest.approx(value)
    assert found.findings == []


QUIET = [10.0, 13, 11, 12, 9, 12, 10, 13, 10, 12, 11, 13, 9, 12]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        (QUIET, []),
        ([*QUIET, 30], ["Month 15 is above what is usual (3.0 to 22.0)."]),
        ([*QUIET, -9], ["Month 15 is below what is usual (-0.2 to 19.9)."]),
        ([1000 * each for each in [*QUIET, 30]], ["Month 15 is above what is usual (2,967 to 21,967)."]),
        ([each / 100 for each in [*QUIET, 30]], ["Month 15 is above what is usual (0.030 to 0.220)."]),
        (
            [7, 8, 9, 7, 9, 8, 7, 9, 11, 13, 11, 11, 13, 11, 12, 11, 12],
            [
                "8 in a row are below the mean (9.94), from month 1 to month 8.",
                "9 in a row are above the mean (9.94), from month 9 to month 17.",
            ],
        ),
        (
            [10, 13, 9, 12, 9, 10, 10.5, 11.5, 12, 13, 10, 12],
            ["6 in a row, each higher than the one before, from month 5 to month 10."],
        ),
        (
            [-each for each in [10, 13, 9, 12, 9, 10, 10.5, 11.5, 12, 13, 10, 12]],
            ["6 in a row, each lower than the one before, from month 5 to month 10."],
        ),
        (
            [10, 11, 10, 11, 10, 12, 13.5, 12, 13.5, 11, 10, 11, 10, 11, 10, 11],
            ["At least two of three in a row are close to the upper limit, from month 7 to month 9."],
        ),
    ],
)
def test_findings_in_words(values, words):
    found = chart(values, [f"month {place + 1}" for place in range(len(values))])
    assert [each.words for each in found.findings] == words


def test_seven_on_one_side_and_five_rising_are_not_enough():
    assert chart([8, 9, 7, 9, 8, 7, 9, 11, 13, 11, 11, 13, 11, 11]).findings == []
    assert chart([10, 13, 9, 12, 10, 10, 10.5, 11.5, 12, 13, 10, 12]).findings == []
    assert [each.rule for each in chart([8, 9, 7, 9, 8, 7, 9, 8, 13, 11, 11, 13, 11, 11]).findings] == [Rule.SIDE]


def test_points_without_names_are_counted():
    assert chart([*QUIET, 30]).findings[0].words.startswith("Point 15 is above")
