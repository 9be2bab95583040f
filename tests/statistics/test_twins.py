"""The same figures by libraries that share no code with ours, and no author."""

from __future__ import annotations

from math import log, sqrt

import numpy as np
import pandas as pd
import pytest
from lifelines import CoxPHFitter, KaplanMeierFitter
from lifelines.statistics import multivariate_logrank_test
from lifelines.utils import median_survival_times
from scipy.stats import nbinom, norm, t
from statsmodels.duration.hazard_regression import PHReg
from statsmodels.duration.survfunc import SurvfuncRight, survdiff
from statsmodels.stats.proportion import confint_proportions_2indep, proportion_confint
from statsmodels.stats.rates import confint_poisson

from service.statistics import (
    Lives,
    garwood,
    hazard_ratio,
    kaplan_meier,
    kit,
    logrank,
    newcombe,
    rate,
    site_kit,
    wilson,
)
from tests.statistics.registers import drawn, untied

SEEDS = range(25)

EXACT = {"precision": 1e-12, "r_precision": 1e-14}
"""How far their Newton goes on; left alone it stops at the fourth digit."""


@pytest.mark.parametrize("trials", [1, 2, 7, 30, 263])
def test_wilson(trials):
    for successes in range(trials + 1):
        assert wilson(successes, trials) == pytest.approx(proportion_confint(successes, trials, method="wilson"))


def test_newcombe():
    rng = np.random.default_rng(1)
    for _ in range(300):
        first, second = rng.integers(1, 60, 2)
        a, b = rng.integers(0, first + 1), rng.integers(0, second + 1)
        found = newcombe(int(a), int(first), int(b), int(second))
        assert found is not None
        expected = confint_proportions_2indep(a, first, b, second, method="newcomb", compare="diff")
        assert found[1:] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("count", [0, 1, 2, 5, 12, 80, 1000])
def test_garwood(count):
    assert garwood(count) == pytest.approx(confint_poisson(count, 1, method="exact-c"))
    found = rate(count, 7.5)
    assert found is not None
    assert found[1:] == pytest.approx(confint_poisson(count, 7.5, method="exact-c"))


@pytest.mark.parametrize("seed", SEEDS)
def test_a_curve_with_delayed_entry_and_its_interval(seed):
    """Of lives whose ends meet on the same days; entries lie between days, where all agree who is at risk."""
    rng = np.random.default_rng(seed)
    lives = untied(rng, 80)
    ends = np.ceil(lives.exit)
    lives = Lives.of(np.floor(lives.entry * 0.9) * 1.0 + np.where(lives.entry > 0, 0.5, 0), ends, lives.event)
    curve = kaplan_meier(lives)
    assert not curve.note
    twin = KaplanMeierFitter().fit(lives.exit, lives.event, entry=lives.entry)
    second = SurvfuncRight(lives.exit, lives.event.astype(int), entry=lives.entry)
    assert curve.survival == pytest.approx(twin.survival_function_.loc[curve.times, "KM_estimate"].to_numpy())
    assert curve.times == pytest.approx(second.surv_times)
    assert curve.survival == pytest.approx(second.surv_prob)
    assert list(curve.at_risk) == list(second.n_risk)
    bounds = twin.confidence_interval_.loc[curve.times].to_numpy()
    assert curve.low == pytest.approx(bounds[:, 0])
    assert curve.high == pytest.approx(bounds[:, 1])
    found, half = curve.median(), median_survival_times(twin.confidence_interval_).iloc[0]
    expected = (twin.median_survival_time_, half.iloc[0], half.iloc[1])
    assert [np.inf if each is None else each for each in (found.value, found.low, found.high)] == list(expected)


@pytest.mark.parametrize("seed", SEEDS)
def test_log_rank_of_several_groups(seed):
    rng = np.random.default_rng(seed)
    lives, group = drawn(rng, 50, entered=0), rng.integers(0, 4, 50)
    found = logrank(lives, group)
    twin = multivariate_logrank_test(lives.exit, group, lives.event)
    assert found is not None
    assert (found.chi_square, found.p, found.degrees) == pytest.approx((twin.test_statistic, twin.p_value, 3))


@pytest.mark.parametrize("seed", SEEDS)
def test_log_rank_with_delayed_entry(seed):
    rng = np.random.default_rng(seed)
    lives, group = untied(rng, 50), rng.integers(0, 3, 50)
    found = logrank(lives, group)
    assert found is not None
    expected = survdiff(lives.exit, lives.event.astype(int), group, entry=lives.entry)
    assert (found.chi_square, found.p) == pytest.approx(expected)


@pytest.mark.parametrize("seed", SEEDS)
def test_a_hazard_ratio_with_ties_and_delayed_entry(seed):
    """Efron's likelihood; entries lie between days, where all agree who is at risk."""
    rng = np.random.default_rng(seed)
    lives = drawn(rng, 60, last_day=30)
    lives = Lives.of(lives.entry + np.where(lives.entry > 0, 0.5, 0), lives.exit + 1, lives.event)
    group = rng.random(60) < 0.4
    found = hazard_ratio(lives, group, np.arange(60))
    table = pd.DataFrame({"entry": lives.entry, "exit": lives.exit, "event": lives.event, "x": group.astype(float)})
    twin = CoxPHFitter().fit(table, "exit", "event", entry_col="entry", fit_options=EXACT).summary.loc["x"]
    expected = np.exp([twin["coef"], twin["coef lower 95%"], twin["coef upper 95%"]])
    assert found.naive == pytest.approx(tuple(expected), rel=2e-6)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_variance_of_clusters(seed):
    """Theirs knows neither ties nor delayed entry, nor few clusters; `test_brute_force.py` has the first two."""
    rng = np.random.default_rng(seed)
    lives, group, device = untied(rng, 90, entered=0), rng.random(90) < 0.4, rng.integers(0, 25, 90)
    found = hazard_ratio(lives, group, device)
    table = pd.DataFrame({"exit": lives.exit, "event": lives.event, "x": group.astype(float), "device": device})
    twin = CoxPHFitter().fit(table, "exit", "event", cluster_col="device", fit_options=EXACT).summary.loc["x"]
    assert found.estimate is not None
    assert log(found.estimate.value) == pytest.approx(twin["coef"], abs=2e-6)
    failing = len(np.unique(device[lives.event]))
    quantile = t.ppf(0.975, failing - 1) * sqrt(failing / (failing - 1))
    assert log(found.estimate.high / found.estimate.value) == pytest.approx(quantile * twin["se(coef)"], rel=2e-6)
    assert norm.ppf(0.975) < quantile < 1.1 * norm.ppf(0.975)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_variance_of_clusters_with_delayed_entry(seed):
    """Theirs has no score for lives during which nothing failed; ours is 0, so they are left out for it."""
    rng = np.random.default_rng(seed)
    lives, group, device = untied(rng, 90), rng.random(90) < 0.4, rng.integers(0, 25, 90)
    found = hazard_ratio(lives, group, device)
    times = lives.times()
    met = np.searchsorted(times, lives.exit, "right") > np.searchsorted(times, lives.entry, "right")
    lives, group, device = lives.those(met), group[met], device[met]
    model = PHReg(lives.exit, group[:, None].astype(float), lives.event.astype(int), entry=lives.entry, ties="efron")
    twin = model.fit(groups=device)
    assert found.estimate is not None
    assert log(found.estimate.value) == pytest.approx(twin.params[0], abs=2e-6)
    failing = len(np.unique(device[lives.event]))
    quantile = t.ppf(0.975, failing - 1) * sqrt(failing / (failing - 1))
    assert log(found.estimate.high / found.estimate.value) == pytest.approx(quantile * twin.bse[0], rel=2e-6)


def test_a_kit_is_the_quantile_of_a_negative_binomial():
    rng = np.random.default_rng(2)
    for _ in range(500):
        failures, exposure = int(rng.integers(0, 30)), float(rng.uniform(10, 20_000))
        parts, days, level = int(rng.integers(1, 6)), float(rng.uniform(1, 700)), float(rng.uniform(0.5, 0.995))
        twin = nbinom(failures + 0.5, exposure / (exposure + parts * days))
        found = kit(failures, exposure, parts, days, level)
        assert found is not None
        assert found.count == twin.ppf(level)
        assert (found.chance, found.expected) == pytest.approx((twin.cdf(found.count), twin.mean()))
        both = site_kit(failures, exposure, [(parts, days), (2, 30)], level)
        assert both is not None
        assert both.count == nbinom(failures + 0.5, exposure / (exposure + parts * days + 60)).ppf(level)
