"""The growth model's algebra against other people's code and closed forms."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from service.anthropometry import Dimension
from service.growth.model.case import Channel
from service.growth.model.passage import first_passage, share_by
from service.growth.model.posterior import Observations, draw, weigh
from service.growth.model.priors import PRIORS, SOFT
from service.growth.model.process import Points, build

PLAIN = Channel(Dimension.RESIDUAL_LIMB_GIRTH)


def test_one_tempo_without_gross_errors_is_scikit_learns_gaussian_process() -> None:
    gaussian_process = pytest.importorskip("sklearn.gaussian_process", reason="scikit-learn is not installed")
    kernels = gaussian_process.kernels
    # An adult: no growth, so level and wander are the whole covariance and the mean is flat. The pace of wandering
    # after seventeen stretches the length scale.
    ages = np.array([30.0, 31.5, 32.0, 36.0, 33.0, 34.5, 40.0])
    process = build(Points([PLAIN], np.zeros(7, dtype=np.int64), ages), 33.0, "female", SOFT, PRIORS)
    one = replace(process, mean=process.mean[7:8], growth=process.growth[7:8], log_weight=process.log_weight[7:8])
    log_size = np.log([228.0, 231.0, 236.0, 233.0])
    seen = Observations(log_size, np.full(4, 1.2e-4), np.zeros(4))
    trusting = replace(PRIORS, bad_reading=1e-12)
    mixture = weigh(one, seen, trusting)
    paths = draw(one, seen, mixture, trusting)

    wander = SOFT.members[PLAIN.dimension].wander
    level = one.steady[0, 0] - wander**2
    kernel = kernels.ConstantKernel(level, "fixed") + kernels.ConstantKernel(wander**2, "fixed") * kernels.Matern(
        SOFT.wander_years / SOFT.settled_pace, "fixed", nu=1.5
    )
    theirs = gaussian_process.GaussianProcessRegressor(kernel, alpha=1.2e-4, optimizer=None)
    theirs.fit(ages[:4, None], log_size - one.mean[0, 0])
    mean, covariance = theirs.predict(ages[4:, None], return_cov=True)
    mean = mean + one.mean[0, 0]
    sd = np.sqrt(np.diag(covariance))

    likelihood = mixture.log_evidence - one.log_weight[0] - 0.5 * len(log_size) * np.log(2 * np.pi)
    assert likelihood == pytest.approx(theirs.log_marginal_likelihood_value_, abs=1e-6)
    # Mirrored paths, of matched variance: neither their mean nor their spread has luck in it.
    np.testing.assert_allclose(paths.mean(axis=0), mean, atol=1e-6)
    np.testing.assert_allclose(paths.std(axis=0), sd, rtol=1e-5)


def test_first_passage_of_a_drifting_brownian_motion_is_inverse_gaussian() -> None:
    # With drift v, volatility s and distance a, T is inverse Gaussian with mean a / v and shape (a / s)^2
    # (Schroedinger 1915; Folks & Chhikara 1978).
    stats = pytest.importorskip("scipy.stats", reason="scipy is not installed")
    drift, volatility, distance, steps, paths = 0.04, 0.02, 0.06, 3000, 4000
    times = np.linspace(0.0, 6.0, steps + 1)
    step = times[1]
    noise = np.random.default_rng(5).standard_normal((paths, steps)) * volatility * np.sqrt(step)
    walks = np.concatenate([np.zeros((paths, 1)), np.cumsum(drift * step + noise, axis=1)], axis=1)
    # Seen at steps only, a walk misses peaks between: the barrier seems 0.5826 s sqrt(step) higher (Siegmund 1979).
    barrier = distance - 0.5826 * volatility * np.sqrt(step)
    passed = first_passage(times, walks, barrier)
    mean, shape = distance / drift, (distance / volatility) ** 2
    published = stats.invgauss(mean / shape, scale=shape)
    for when in (0.75, 1.0, 1.5, 2.0, 3.0):
        assert share_by(passed, when) == pytest.approx(published.cdf(when), abs=3 * 0.5 / np.sqrt(paths))
