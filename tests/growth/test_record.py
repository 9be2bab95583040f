"""A record's figures against published intervals, an exact test, an independent estimator, and a simulated register."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from scipy.stats import binom, norm

from service.growth.record import THREE_YEARS, Judged, Tally, _inner_rank
from service.statistics import wilson

AS_OF = date(2026, 1, 1)
SOUND = (300 + 100 * float(norm.ppf(0.1)), 300.0, 300 + 100 * float(norm.ppf(0.9)))
"""The quantiles of a normal with mean 300 and SD 100."""


def on(days: float) -> date:
    return AS_OF + timedelta(days=round(days))


def judged(ended: float, *, outgrown: bool = True, quantiles: tuple[float, float, float] = (100, 200, 300)) -> Judged:
    p10, p50, p90 = map(on, quantiles)
    return Judged(AS_OF, p10, p50, p90, on(ended), outgrown)


def tally(*ends: Judged) -> Tally:
    found = Tally()
    for each in ends:
        found.add(each)
    return found


def test_without_censoring_coverage_is_the_plain_share_with_wilsons_interval() -> None:
    ends = [50.0] * 3 + [100.0, 150.0, 200.0, 250.0, 300.0] + [150.0] * 12 + [301.0] * 5
    found = tally(*map(judged, ends)).coverage()
    assert found is not None
    assert found.value == pytest.approx(17 / 25)
    assert found[1:] == pytest.approx(wilson(17, 25))


@pytest.mark.parametrize(("end", "share"), [(150, 1.0), (350, 0.0), (20, 0.0)])
def test_when_all_or_none_came_true_there_is_still_doubt(end: float, share: float) -> None:
    found = tally(*[judged(end)] * 10).coverage()
    assert found is not None
    assert found.value == share
    assert found[1:] == pytest.approx(wilson(10 * share, 10))


def test_a_sockets_end_for_another_reason_within_the_range_tells_nothing_of_whether_it_came_true() -> None:
    found = tally(*[judged(150)] * 8, *[judged(150, outgrown=False)] * 4, judged(400, outgrown=False))
    assert (found.judged, found.outgrown, found.known) == (13, 8, 9)
    assert tally(judged(150, outgrown=False)).coverage() is None


def test_coverage_is_right_where_leaving_out_the_censored_is_not() -> None:
    """Sound forecasts, of sockets of which many break first: the share among those outgrown alone would mislead."""
    generator = np.random.default_rng(3)
    found, naive = Tally(), []
    for _ in range(4000):
        due, breaks = max(0.0, 300 + 100 * generator.standard_normal()), generator.exponential(250)
        each = judged(min(due, breaks), outgrown=due <= breaks, quantiles=SOUND)
        found.add(each)
        if each.outgrown or each.ended_on > on(SOUND[2]):
            naive.append(SOUND[0] <= min(due, breaks) <= SOUND[2])
    coverage = found.coverage()
    assert coverage is not None
    assert coverage.value == pytest.approx(0.8, abs=0.03)
    assert coverage.low < 0.8 < coverage.high
    assert np.mean(naive) < 0.77


def test_the_interval_of_a_censored_coverage_holds_the_truth_as_often_as_it_says() -> None:
    generator = np.random.default_rng(4)
    held = []
    for _ in range(400):
        due, breaks = np.maximum(0, 300 + 100 * generator.standard_normal(60)), generator.exponential(500, 60)
        found = tally(*(judged(min(d, b), outgrown=d <= b, quantiles=SOUND) for d, b in zip(due, breaks, strict=True)))
        coverage = found.coverage()
        assert coverage is not None
        held.append(coverage.low <= 0.8 <= coverage.high)
    assert np.mean(held) == pytest.approx(0.95, abs=0.03)


@pytest.mark.parametrize("count", [6, 7, 20, 101])
def test_the_ranks_about_the_median_are_those_of_the_exact_sign_test(count: int) -> None:
    rank = _inner_rank(count)
    assert binom.cdf(rank - 1, count, 0.5) <= 0.025 < binom.cdf(rank, count, 0.5)


@pytest.mark.parametrize("count", [0, 1, 5])
def test_few_errors_bound_no_median(count: int) -> None:
    assert _inner_rank(count) == 0
    assert tally(*[judged(150)] * count).bias() is None


def test_bias_is_the_median_error_between_its_order_statistics() -> None:
    errors = list(range(-90, 110, 10))
    found = tally(*(judged(200 - error) for error in errors)).bias()
    rank = _inner_rank(len(errors))
    assert found == (np.median(errors), errors[rank - 1], errors[-rank])


def test_a_forecast_that_said_late_has_a_bias_above_zero() -> None:
    found = tally(*[judged(150)] * 10).bias()
    assert found == (50, 50, 50)


def test_pinball_is_the_mean_quantile_loss_of_those_found_outgrown() -> None:
    found = tally(judged(150), judged(350), judged(10, outgrown=False))
    first = (0.1 * 50 + 0.5 * 50 + 0.1 * 150) / 3
    second = (0.1 * 250 + 0.5 * 150 + 0.9 * 50) / 3
    assert found.pinball() == pytest.approx((first + second) / 2)
    assert Tally().pinball() is None


def test_not_within_three_years_counts_as_three_years() -> None:
    never = Judged(AS_OF, None, None, None, on(400), outgrown=True)
    found = tally(*[never] * 6)
    assert found.ends[0:10].count(6) == 1
    assert found.bias() == (THREE_YEARS - 400,) * 3
