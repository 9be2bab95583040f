"""A thousand small registers, worked out a second time by something too simple to be wrong (`naive.py`)."""

from __future__ import annotations

from fractions import Fraction
from math import log, sqrt

import numpy as np
import pytest
from scipy.stats import t

from service.statistics import Rule, chart, goal_attainment, hazard_ratio, kaplan_meier, logrank, site_kit
from service.statistics import hazard as hazard_module
from service.statistics.intervals import Z95
from tests.statistics import naive
from tests.statistics.registers import drawn

REGISTERS = 1000


def test_a_curve_with_delayed_entry_day_by_day():
    rng = np.random.default_rng(11)
    seen = {"unknown": 0, "noted": 0, "ended": 0, "one": 0, "tied": 0}
    for _ in range(REGISTERS):
        lives = drawn(rng, int(rng.integers(1, 12)))
        since = int(rng.integers(0, 3))
        curve, expected = kaplan_meier(lives, since), naive.curve(lives, since, 16)
        for day, truth in enumerate(expected, since):
            found = curve.at(day)
            assert (found is None) == (truth is None), (lives, since, day)
            if found is None or truth is None:
                seen["unknown"] += 1
                continue
            assert found.value == pytest.approx(float(truth.share), abs=1e-12)
            assert curve.numbers(day) == truth.at_risk
            assert found.low <= found.value <= found.high
            if truth.greenwood:
                assert found[1:] == pytest.approx(naive.log_log(truth.share, truth.greenwood, Z95), abs=1e-9)
            seen["one"] += truth.share == 1
            seen["ended"] += truth.share == 0
        halved = [day for day, truth in enumerate(expected, since) if truth and truth.share <= Fraction(1, 2)]
        assert curve.median().value == (halved[0] if halved else None)
        seen["noted"] += bool(curve.note)
        seen["tied"] += bool((curve.failed > 1).any())
    assert min(seen.values()) > 50, seen


def test_log_rank_with_delayed_entry():
    rng = np.random.default_rng(12)
    degrees = []
    for _ in range(REGISTERS):
        count = int(rng.integers(2, 14))
        lives, group = drawn(rng, count), rng.integers(0, 3, count).tolist()
        found, (truth, rank) = logrank(lives, group), naive.chi_square(lives, group)
        assert (0 if found is None else found.degrees) == rank
        if found is not None:
            assert found.chi_square == pytest.approx(float(truth), abs=1e-9)
        degrees.append(rank)
    assert min(degrees.count(each) for each in (0, 1, 2)) > 30


def test_a_hazard_ratio_with_ties_delayed_entry_and_clusters(monkeypatch):
    monkeypatch.setattr(hazard_module, "FEWEST_CLUSTERS", 2)
    rng = np.random.default_rng(13)
    estimated = 0
    for _ in range(REGISTERS // 4):
        count = int(rng.integers(4, 16))
        lives, group = drawn(rng, count), (rng.random(count) < 0.5).tolist()
        cluster = rng.integers(0, 6, count).tolist()
        found = hazard_ratio(lives, group, cluster)
        assert (found.estimate is None) == bool(found.reason) == (found.naive is None)
        if found.estimate is None or found.naive is None:
            continue
        estimated += 1
        beta, variance, squares = naive.ratio(lives, group, cluster)
        assert log(found.estimate.value) == pytest.approx(beta, abs=1e-7)
        assert log(found.naive.high / found.naive.value) == pytest.approx(Z95 * sqrt(variance), rel=1e-6)
        failing = len({own for own, event in zip(cluster, lives.event, strict=True) if event})
        width = t.ppf(0.975, failing - 1) * sqrt(failing / (failing - 1) * squares) * variance
        assert log(found.estimate.high / found.estimate.value) == pytest.approx(width, rel=1e-5, abs=1e-6)
    assert estimated > 100


def test_where_no_ratio_is_given_the_likelihood_climbs_for_ever(monkeypatch):
    monkeypatch.setattr(hazard_module, "FEWEST_CLUSTERS", 1)
    rng = np.random.default_rng(14)
    refused = 0
    for _ in range(REGISTERS // 4):
        count = int(rng.integers(3, 9))
        lives, group = drawn(rng, count), (rng.random(count) < 0.5).tolist()
        found = hazard_ratio(lives, group, range(count))
        if lives.event.any():
            beta, variance, _ = naive.ratio(lives, group, range(count))
            assert (found.estimate is None) == (abs(beta) > 19 or variance > 1e6), (lives, group)
            refused += found.estimate is None
    assert 30 < refused < REGISTERS // 4 - 30


def test_kits():
    rng = np.random.default_rng(15)
    for _ in range(REGISTERS):
        failures, exposure = int(rng.integers(0, 12)), int(rng.integers(1, 5000))
        places = [(int(rng.integers(0, 5)), int(rng.integers(0, 200))) for _ in range(int(rng.integers(1, 4)))]
        if exposure * 20 < sum(parts * days for parts, days in places):
            continue
        level = str(rng.choice(["0.5", "0.8", "0.9", "0.95", "0.99"]))
        number, chance = naive.kit(failures, exposure, sum(parts * days for parts, days in places), level)
        found = site_kit(failures, exposure, places, float(level))
        assert found is not None
        assert found.count == number
        assert found.chance == pytest.approx(float(chance), abs=1e-12)


def test_charts_of_months():
    """Values of few kinds, so that they meet the mean and each other; a step or a slope now and then."""
    rng = np.random.default_rng(16)
    seen = dict.fromkeys(Rule, 0)
    for _ in range(REGISTERS):
        count = int(rng.integers(12, 30))
        values = rng.integers(0, int(rng.integers(2, 12)), count) + (np.arange(count) > count // 2) * rng.integers(0, 9)
        values = values + np.arange(count) * int(rng.integers(-1, 2)) * int(rng.random() < 0.4)
        scale = int(rng.choice([1, 3, 10, 1000]))
        found = chart([int(value) / scale for value in values])
        expected = naive.findings([Fraction(int(value)) for value in values])
        assert {(each.rule.value, each.first, each.last, each.up) for each in found.findings} == expected, values
        for each in found.findings:
            seen[each.rule] += 1
    assert min(seen.values()) > 50, seen


def test_goals():
    rng = np.random.default_rng(17)
    for _ in range(REGISTERS):
        count = int(rng.integers(1, 7))
        scores, weights = rng.integers(-2, 3, count).tolist(), rng.integers(0, 5, count).tolist()
        if not any(weights):
            continue
        # (T - 50)^2 is a fraction: 100 (sum w x)^2 / (sum over pairs of w_i w_j r_ij), r being 1 or 0.3.
        spread = sum(
            Fraction(weights[i] * weights[j]) * (1 if i == j else Fraction(3, 10))
            for i in range(count)
            for j in range(count)
        )
        reached = sum(w * x for w, x in zip(weights, scores, strict=True))
        excess = goal_attainment(scores, weights) - 50
        assert excess**2 == pytest.approx(float(100 * reached**2 / spread))
        assert (excess > 0) == (reached > 0)
