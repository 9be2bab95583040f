"""The algebra against its dense, naive twin, and the parts against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from service.anthropometry import Dimension
from service.growth.model.case import Channel
from service.growth.model.passage import first_passage, quantile, share_by
from service.growth.model.posterior import PATHS, Observations, draw, weigh
from service.growth.model.priors import PRIORS, SOFT, Family
from service.growth.model.process import Floats, Points, Process, build, matern32

GIRTH = Channel(Dimension.RESIDUAL_LIMB_GIRTH, None, 60.0)
WEIGHT = Channel(Dimension.WEIGHT)


@pytest.fixture
def seen() -> Observations:
    size = np.log([171.0, 173.5, 29.5, 181.0, 176.0])
    return Observations(size, np.array([2e-4, 1e-4, 4e-5, 1e-4, 3e-4]), np.array([0.0, 0.0, 0.0, 0.01, 0.02]))


@pytest.fixture
def process() -> Process:
    ages = np.array([8.0, 8.4, 8.4, 8.9, 9.2, 9.5, 10.0, 11.0, 12.5])
    channel = np.array([0, 0, 1, 0, 0, 0, 0, 0, 0])
    return build(Points([GIRTH, WEIGHT], channel, ages), 9.5, "unspecified", SOFT, PRIORS)


def dense(process: Process, seen: Observations) -> tuple[Floats, Floats, Floats, Floats]:
    """Weights, and the mixture's means and covariances at the asked points, by conditioning each Gaussian outright."""
    n = len(seen.log_size)
    hypotheses = [(), *((i,) for i in range(n)), *((i, j) for i in range(n) for j in range(i + 1, n))]
    log_odds = np.log(PRIORS.bad_reading) - np.log1p(-PRIORS.bad_reading)
    gains = process.gains[np.ix_(process.channel, process.channel)]
    weights, means, covariances = [], [], []
    for k in range(len(process.mean)):
        joint = process.steady + gains * np.outer(process.growth[k], process.growth[k])
        for bad in hypotheses:
            error = np.diag(seen.variance) + np.outer(seen.shared, seen.shared)
            error[bad, bad] += PRIORS.bad_sd**2
            found = joint[:n, :n] + error
            residual = seen.log_size - process.mean[k, :n]
            fit = -0.5 * np.linalg.slogdet(found)[1] - 0.5 * residual @ np.linalg.solve(found, residual)
            weights.append(process.log_weight[k] + len(bad) * log_odds + fit)
            means.append(process.mean[k, n:] + joint[n:, :n] @ np.linalg.solve(found, residual))
            covariances.append(joint[n:, n:] - joint[n:, :n] @ np.linalg.solve(found, joint[:n, n:]))
    weight = np.exp(np.array(weights) - max(weights))
    return weight / weight.sum(), np.array(means), np.array(covariances), np.array(weights)


def test_the_weights_are_those_of_conditioning_every_gaussian_outright(process: Process, seen: Observations) -> None:
    mixture = weigh(process, seen, PRIORS)
    weight, _, _, fits = dense(process, seen)
    np.testing.assert_allclose(mixture.weight.ravel(), weight, atol=1e-9)
    assert mixture.log_evidence == pytest.approx(np.logaddexp.reduce(fits), abs=1e-8)


def test_the_paths_have_the_mean_and_spread_of_the_dense_mixture(process: Process, seen: Observations) -> None:
    paths = draw(process, seen, weigh(process, seen, PRIORS), PRIORS)
    weight, means, covariances, _ = dense(process, seen)
    mean = weight @ means
    spread = np.einsum("h,hij->ij", weight, covariances + np.einsum("hi,hj->hij", means - mean, means - mean))
    sd = np.sqrt(np.diag(spread))
    np.testing.assert_allclose(paths.mean(axis=0), mean, atol=4 * sd.max() / np.sqrt(PATHS))
    np.testing.assert_allclose(paths.std(axis=0), sd, rtol=0.15)
    np.testing.assert_allclose(np.corrcoef(paths.T), spread / np.outer(sd, sd), atol=0.12)


def test_a_gross_error_is_found_out(process: Process, seen: Observations) -> None:
    wild = seen.log_size.copy()
    wild[1] += 0.2
    mixture = weigh(process, Observations(wild, seen.variance, seen.shared), PRIORS)
    assert mixture.bad_probability(1) > 0.95
    assert max(mixture.bad_probability(i) for i in (0, 2, 3, 4)) < 0.2


@pytest.mark.parametrize("family", PRIORS.families, ids=["soft", "bony"])
@pytest.mark.parametrize("what", ["level_alike", "gain_alike", "wander_alike"])
def test_the_assumed_correlations_can_all_hold_at_once(family: Family, what: str) -> None:
    matrix = getattr(family, what)
    assert len(matrix) == len(family.members)
    np.testing.assert_array_equal(matrix, matrix.T)
    assert np.linalg.eigvalsh(matrix).min() > 0.01


def test_matern_three_halves_at_its_length_scale() -> None:
    at_zero, at_length = matern32(np.array([0.0, 3.0]), 3.0)
    assert at_zero == 1.0
    assert at_length == pytest.approx((1 + np.sqrt(3)) * np.exp(-np.sqrt(3)))


def test_straight_paths_pass_where_geometry_says() -> None:
    times = np.arange(5.0)
    paths = np.array([times, 2 * times, np.full(5, 1.5), 0.5 * times])
    np.testing.assert_allclose(first_passage(times, paths, 1.5), [1.5, 0.75, 0.0, 3.0])
    assert np.isinf(first_passage(times, paths, 9.0)).all()


def test_a_path_that_falls_back_has_passed_all_the_same() -> None:
    times = np.arange(4.0)
    assert first_passage(times, np.array([[0.0, 2.0, 0.0, 0.0]]), 1.0) == pytest.approx(0.5)


def test_quantiles_of_times_keep_infinity() -> None:
    times = np.array([3.0, np.inf, 1.0, 2.0, np.inf, np.inf, np.inf, np.inf, np.inf, np.inf])
    assert quantile(times, 0.1) == 2.0
    assert np.isinf(quantile(times, 0.5))
    assert share_by(times, 2.0) == 0.2
