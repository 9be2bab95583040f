"""Ratios of sums: against a closed form, the jackknife, and by simulation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import t

from service.statistics.sums import ratio_of_sums


def test_with_equal_parts_below_it_is_students_interval_of_a_mean() -> None:
    x = np.array([3.0, 5.0, 4.0, 8.0, 0.0, 6.0])
    found = ratio_of_sums(x, np.full(6, 2.0))
    assert found is not None
    half = t.ppf(0.975, 5) * x.std(ddof=1) / np.sqrt(6) / 2
    assert found == pytest.approx((x.mean() / 2, x.mean() / 2 - half, x.mean() / 2 + half))


def test_its_spread_is_near_the_jackknifes() -> None:
    draw = np.random.default_rng(3)
    y = draw.gamma(4, 1, 300)
    x = draw.poisson(2 * y).astype(float)
    found = ratio_of_sums(x, y)
    assert found is not None
    left_out = (x.sum() - x) / (y.sum() - y)
    spread = np.sqrt(299 / 300 * ((left_out - left_out.mean()) ** 2).sum())
    assert (found.high - found.low) / 2 == pytest.approx(t.ppf(0.975, 299) * spread, rel=0.02)


@pytest.mark.parametrize(("people", "share"), [(40, 1.0), (80, 0.5), (200, 0.3)])
def test_its_interval_holds_the_truth_about_95_times_in_100(people: int, share: float) -> None:
    """`share` of the people have any such days at all; each then has some, by chance."""
    draw, held, rounds = np.random.default_rng(11), 0, 2000
    for _ in range(rounds):
        y = draw.gamma(4, 0.5, people)
        x = (draw.random(people) < share) * draw.poisson(6 * y)
        found = ratio_of_sums(x, y)
        assert found is not None
        held += found.low <= 6 * share <= found.high
    assert 0.93 <= held / rounds <= 0.97


def test_nothing_is_said_of_one_person_or_of_nothing() -> None:
    assert ratio_of_sums([1.0], [2.0]) is None
    assert ratio_of_sums([0.0, 0.0], [0.0, 0.0]) is None
    assert ratio_of_sums([0.0, 0.0], [1.0, 2.0]) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(("over", "under"), [([1.0], [1.0, 2.0]), ([-1.0, 1.0], [1.0, 1.0]), ([1.0, 1.0], [1.0, -1.0])])
def test_what_cannot_be_is_refused(over: list[float], under: list[float]) -> None:
    with pytest.raises(ValueError, match="sum"):
        ratio_of_sums(over, under)
