"""From prior to posterior paths: which tempo, which readings are bad, and what the limb did and will do.

The components of `process.Process` are combined with hypotheses about bad readings (none, one, or two) into one
mixture, weighed by marginal likelihood. A reading under suspicion keeps its value but gains a large error. Adding
variance s to readings S changes a component's precision matrix P only by a rank-|S| downdate (Woodbury), so that all
hypotheses cost little more than one:

    P_S = P - P[:,S] (I/s + P[S,S])^-1 P[S,:]

Paths are drawn from the prior and corrected by what they miss of the readings (Matheron's rule), which is exact and
needs no covariance of the posterior.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from service.growth.model.priors import Priors
from service.growth.model.process import Floats, Process

PATHS = 500
SEED = 20_250_101
BLOCK = 256
MATCHED = 128  # half of the mirrored pairs: more would not leave enough chance
SUSPECTS = 8  # pairs of bad readings are only tried among the likeliest singles
JITTER = 1e-10  # keeps a covariance of points that coincide factorisable


@dataclass(frozen=True, slots=True)
class Observations:
    """Log sizes found at the first n points of a process, with independent error variances.

    `shared` is each one's loading on one further standard normal error common to all.
    """

    log_size: Floats
    variance: Floats
    shared: Floats


@dataclass(frozen=True, slots=True)
class Mixture:
    """K components x H hypotheses: their weights (summing to one), each hypothesis' bad readings, the precisions."""

    weight: Floats
    bad: list[tuple[int, ...]]
    precision: Floats
    log_evidence: float

    def bad_probability(self, reading: int) -> float:
        """The posterior probability that this reading is a gross error."""
        held = [h for h, bad in enumerate(self.bad) if reading in bad]
        return float(self.weight[:, held].sum())


def weigh(process: Process, seen: Observations, priors: Priors) -> Mixture:
    """Weigh every component and hypothesis by its marginal likelihood."""
    n = len(seen.log_size)
    rows = slice(n)
    growth = process.growth[:, rows]
    covariance = process.steady[rows, rows] + process.gains_between(rows, rows) * (
        growth[:, :, None] * growth[:, None, :]
    )
    covariance += np.diag(seen.variance) + np.outer(seen.shared, seen.shared)
    precision = np.asarray(np.linalg.inv(covariance), np.float64)
    residual = seen.log_size - process.mean[:, rows]
    pull = np.einsum("kij,kj->ki", precision, residual)
    fit = process.log_weight + 0.5 * np.linalg.slogdet(precision)[1] - 0.5 * np.einsum("ki,ki->k", residual, pull)
    bad, fits = _suspicions(precision, pull, fit, priors)
    best = fits.max()
    weight = np.exp(fits - best)
    return Mixture(weight / weight.sum(), bad, precision, float(best + np.log(weight.sum())))


def _suspicions(precision: Floats, pull: Floats, fit: Floats, priors: Priors) -> tuple[list[tuple[int, ...]], Floats]:
    """Every hypothesis about bad readings, and its log likelihood for each component, K x H."""
    n = pull.shape[1]
    bad: list[tuple[int, ...]] = [()]
    fits = [fit[:, None]]
    odds = np.log(priors.bad_reading / (1 - priors.bad_reading))
    variance = priors.bad_sd**2
    own = np.einsum("kii->ki", precision)
    single = fit[:, None] + odds - 0.5 * np.log1p(variance * own) + 0.5 * pull**2 / (1 / variance + own)
    bad += [(i,) for i in range(n)]
    fits.append(single)
    if n > 3:
        suspects = np.sort(np.argsort(single.max(axis=0))[-SUSPECTS:])
        first, second = (suspects[index] for index in np.triu_indices(len(suspects), 1))
        a, b, d = 1 / variance + own[:, first], precision[:, first, second], 1 / variance + own[:, second]
        determinant = a * d - b * b
        p, q = pull[:, first], pull[:, second]
        gained = (d * p**2 - 2 * b * p * q + a * q**2) / determinant
        bad += list(zip(first.tolist(), second.tolist(), strict=True))
        fits.append(fit[:, None] + 2 * odds - 0.5 * np.log(determinant * variance**2) + 0.5 * gained)
    return bad, np.concatenate(fits, axis=1)


def draw(process: Process, seen: Observations, mixture: Mixture, priors: Priors) -> Floats:
    """Posterior paths of log size at the points after the observed ones: PATHS x (P - n). The same every time."""
    n, points, channels = len(seen.log_size), process.mean.shape[1], len(process.gains)
    seen_points, asked = slice(n), slice(n, None)
    widths = np.cumsum([channels, points, n, n])
    normals = iter(np.split(_normals(int(widths[-1]) + 1), widths, axis=1))
    component, hypothesis = _allot(mixture.weight)
    gains = next(normals) @ _root(process.gains).T
    growth = process.growth[component]
    path = process.mean[component] + next(normals) @ _root(process.steady).T + gains[:, process.channel] * growth
    error = next(normals) * np.sqrt(seen.variance)
    gross = next(normals) * priors.bad_sd
    error += next(normals) * seen.shared
    missed = seen.log_size - path[:, seen_points] - error
    pull = np.empty_like(missed)
    for run in _runs(component, hypothesis):
        k, h = component[run.start], hypothesis[run.start]
        pull[run] = _pull(missed[run], gross[run], mixture.precision[k], list(mixture.bad[h]), priors)
    steady = pull @ process.steady[seen_points, asked]
    gained = (pull * growth[:, seen_points]) @ process.gains_between(seen_points, asked)
    return np.asarray(path[:, asked] + steady + growth[:, asked] * gained)


def _pull(missed: Floats, gross: Floats, precision: Floats, bad: list[int], priors: Priors) -> Floats:
    if not bad:
        return missed @ precision
    missed = missed.copy()
    missed[:, bad] -= gross[:, bad]
    pull = missed @ precision
    inner = np.linalg.inv(np.eye(len(bad)) / priors.bad_sd**2 + precision[np.ix_(bad, bad)])
    return np.asarray(pull - pull[:, bad] @ inner @ precision[bad], np.float64)


def _allot(weight: Floats) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Share the paths out among components and hypotheses by weight, in pairs, in order, without chance."""
    steps = (np.arange(PATHS // 2) + 0.5) / (PATHS // 2)
    chosen = np.minimum(np.searchsorted(np.cumsum(weight), steps), weight.size - 1)
    component, hypothesis = np.divmod(np.repeat(chosen, 2), weight.shape[1])
    return component, hypothesis


def _runs(component: NDArray[np.int64], hypothesis: NDArray[np.int64]) -> Iterator[slice]:
    """The runs of neighbouring paths that share a component and a hypothesis."""
    turns = np.flatnonzero(np.diff(component) | np.diff(hypothesis)) + 1
    for start, stop in pairwise([0, *turns.tolist(), PATHS]):
        yield slice(start, stop)


def _root(covariance: Floats) -> Floats:
    return np.asarray(np.linalg.cholesky(covariance + JITTER * np.eye(len(covariance))), np.float64)


def _normals(width: int) -> Floats:
    """PATHS x width standard normals: the same ones whatever the width, so a longer history moves no path by chance."""
    return _block(-(-width // BLOCK) * BLOCK)[:, :width]


@cache
def _block(width: int) -> Floats:
    """Each row is followed by its mirror image, so that means are exact.

    The first MATCHED columns, which most cases need no more than, are also made to have unit variance and no
    correlation, as normals have on average: five hundred paths left to luck miss a spread by several per cent.
    """
    half = np.random.default_rng(SEED).standard_normal((width, PATHS // 2)).T
    turned, scale = np.linalg.qr(half[:, :MATCHED])
    half[:, :MATCHED] = turned * np.sign(np.diag(scale)) * np.sqrt(PATHS // 2)
    both = np.empty((PATHS, width))
    both[0::2], both[1::2] = half, -half
    return both
