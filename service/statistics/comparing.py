"""Whether groups fail at different speeds: the log-rank test, of any number of groups, with delayed entry.

At each event time t of the pooled lives, with n at risk, d failing and n_g, d_g of them in group g,

    expected e_g = d n_g / n,   covariance V_gh = d (n - d) / (n - 1) * n_g / n * (1[g = h] - n_h / n)   (0 where n = 1)

and with sums over all times, chi-square = (O - E)' V^- (O - E), V^- being a generalised inverse. Its degrees of freedom
are the rank of V: groups less one, or fewer when some were never at risk together with others, so that nothing compares
them. Who is at risk: `lives.py`.

Mantel 1966, Cancer Chemotherapy Reports 50, 163-170; Peto & Peto 1972, J. R. Stat. Soc. A 135, 185-207.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import gammaincc

from service.statistics.lives import Floats, Integers, Lives


@dataclass(frozen=True, slots=True)
class LogRank:
    """What was found; `observed` and `expected` failures of each of K groups, in the order of `groups`."""

    chi_square: float
    degrees: int
    p: float
    groups: list[str]
    observed: Integers
    expected: Floats


def logrank(lives: Lives, group: ArrayLike) -> LogRank | None:
    """Compare N lives by their group (N labels); None when nothing compares them: one group, nothing in common."""
    names, member = np.unique(np.asarray(group).astype(str), return_inverse=True)
    if len(member) != len(lives):
        raise ValueError(f"{len(lives)} lives need as many groups, not {len(member)}")
    times = lives.times()
    risk = np.array([lives.those(member == each).at_risk(times) for each in range(len(names))], np.float64)
    failed = np.array([lives.those(member == each).failed(times) for each in range(len(names))])
    if not len(times):
        return None
    n, d = risk.sum(axis=0), failed.sum(axis=0)
    share = risk / n
    observed, expected = failed.sum(axis=1), (share * d).sum(axis=1)
    weight = d * (n - d) / np.maximum(n - 1, 1)
    variance = np.diag((share * weight).sum(axis=1)) - (share * weight) @ share.T
    degrees = int(np.linalg.matrix_rank(variance, hermitian=True, tol=1e-9 * max(1.0, np.trace(variance))))
    if degrees == 0:
        return None
    excess = observed - expected
    chi_square = float(excess @ np.linalg.pinv(variance, rcond=1e-9, hermitian=True) @ excess)
    p = float(gammaincc(degrees / 2, max(0.0, chi_square) / 2))
    return LogRank(chi_square, degrees, p, [str(name) for name in names], observed, expected)
