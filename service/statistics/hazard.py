"""How many times faster one group fails than another: Cox's partial likelihood with one covariate, 0 or 1.

With theta = exp(beta), and at an event time n0, n1 at risk and d0, d1 failing (d together) in the two groups, Efron's
likelihood for ties takes the d failures in turn, each leaving a share l/d of all of them at risk (l = 0 ... d - 1):

    p_l = theta (n1 - l d1 / d) / (n0 - l d0 / d + theta (n1 - l d1 / d))
    score U(beta) = sum over times of (d1 - sum_l p_l),   information I(beta) = sum of p_l (1 - p_l)

U falls in beta, so Newton's steps, halved when they leave what brackets the root, find the one there is. There is none
(the likelihood climbs for ever) unless somebody of each group fails while somebody of the other is at risk.

Several parts of one device, or several devices of one child, are not so many witnesses: the variance adds up each
cluster's score residuals before squaring them,

    var(beta) = G / (G - 1) * I^-1 (sum over clusters of (sum of W_i)^2) I^-1,   interval exp(beta +- q sqrt(var))

with W_i the share of life i in the score: what it adds when it fails, less theta times what it gathers while at risk.
A sum over few clusters comes out too small, so G (those with a failure) counts as Cameron & Miller advise, and q is the
quantile of Student's t with G - 1 degrees: 1.96 misses (`tests/statistics/test_coverage.py`). With fewer
than `FEWEST_CLUSTERS` no figure is given. That the ratio is one number needs hazards that keep their proportion: look
at the two curves too.

Cox 1972, J. R. Stat. Soc. B 34, 187-220; Efron 1977, J. Am. Stat. Assoc. 72, 557-565; Lin & Wei 1989, J. Am. Stat.
Assoc. 84, 1074-1078 (variance); Lee, Wei & Amato 1992 (clusters); Cameron & Miller 2015, J. Human Resources 50,
317-372 (few clusters).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, sqrt
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from service.statistics.intervals import TAIL, Z95, Estimate
from service.statistics.lives import Flags, Floats, Integers, Lives

FEWEST_CLUSTERS: Final = 10
"""With failures in fewer clusters an interval says little (`tests/statistics/test_coverage.py`)."""


@dataclass(frozen=True, slots=True)
class HazardRatio:
    """The hazard of group 1 as a multiple of group 0's; without an `estimate`, `reason` says why there is none.

    `naive` is the interval that takes every life for a witness of its own, to see what clusters cost.
    """

    estimate: Estimate | None
    naive: Estimate | None
    reason: str


@dataclass(frozen=True, slots=True)
class _Turns:
    """The failures of each time taken in turn: M of them, each with its time, share l/d gone, and who is at risk."""

    time: Floats
    gone: Floats
    risk0: Floats
    risk1: Floats
    events1: int

    def chance(self, theta: float) -> Floats:
        """That the one who fails is of group 1, for each turn."""
        return np.asarray(theta * self.risk1 / (self.risk0 + theta * self.risk1))


def hazard_ratio(
    lives: Lives,
    second: ArrayLike,
    cluster: ArrayLike,
    names: tuple[str, str] = ("the first group", "the second group"),
) -> HazardRatio:
    """Compare N lives: `second` says which belong to group 1, `cluster` (N labels) which hang together.

    `names` is what a reason calls group 0 and group 1.
    """
    group = np.asarray(second, np.bool_)
    _, member = np.unique(np.asarray(cluster), return_inverse=True)
    if not len(group) == len(member) == len(lives):
        raise ValueError(f"{len(lives)} lives need as many groups and clusters, not {len(group)} and {len(member)}")
    reason = _why_not(lives, group, member, names)
    if reason:
        return HazardRatio(None, None, reason)
    turns = _turns(lives, group)
    beta = _root(turns)
    chance = turns.chance(exp(beta))
    information = float((chance * (1 - chance)).sum())
    shares = np.bincount(member, weights=_score_shares(lives, group, turns, exp(beta)))
    clusters = len(np.unique(member[lives.event]))
    error = sqrt(clusters / (clusters - 1) * float((shares**2).sum())) / information
    robust = _around(beta, float(stdtrit(clusters - 1, 1 - TAIL)) * error)
    return HazardRatio(robust, _around(beta, Z95 / sqrt(information)), "")


def _why_not(lives: Lives, group: Flags, member: Integers, names: tuple[str, str]) -> str:
    """Why there is no ratio to be had; nothing if there is one."""
    zero, one = lives.those(~group), lives.those(group)
    for name, each in zip(names, (zero, one), strict=True):
        if not len(each):
            return f"Nothing of {name} was followed, so there is nothing to compare."
        if not each.event.any():
            return f"Nothing of {name} failed yet, so the ratio has no bound. Say how much was followed instead."
    if not zero.at_risk(one.times()).any() or not one.at_risk(zero.times()).any():
        return f"Of {names[0]} or {names[1]} nothing failed while the other was followed, so nothing compares them."
    clusters = len(np.unique(member[lives.event]))
    if clusters < FEWEST_CLUSTERS:
        return f"Failures on {clusters} devices are too few to say how sure a ratio is: {FEWEST_CLUSTERS} are needed."
    return ""


def _turns(lives: Lives, group: Flags) -> _Turns:
    times = lives.times()
    zero, one = lives.those(~group), lives.those(group)
    failed0, failed1 = zero.failed(times), one.failed(times)
    together = failed0 + failed1
    which = np.repeat(np.arange(len(times)), together)
    gone = (np.arange(len(which)) - np.repeat(np.cumsum(together) - together, together)) / together[which]
    risk0 = zero.at_risk(times)[which] - gone * failed0[which]
    risk1 = one.at_risk(times)[which] - gone * failed1[which]
    return _Turns(times[which], gone, risk0, risk1, int(failed1.sum()))


def _root(turns: _Turns) -> float:
    """The beta at which the score is nothing: Newton's step, or half of what is left where that leads out of it."""
    low, high, beta = -700.0, 700.0, 0.0
    for _ in range(200):
        chance = turns.chance(exp(beta))
        score, information = turns.events1 - float(chance.sum()), float((chance * (1 - chance)).sum())
        low, high = (beta, high) if score > 0 else (low, beta)
        step = beta + score / information if information > 0 else float("inf")
        following = step if low < step < high else (low + high) / 2
        if abs(following - beta) < 1e-12 * max(1.0, abs(beta)):
            return following
        beta = following
    return beta


def _score_shares(lives: Lives, group: Flags, turns: _Turns, theta: float) -> Floats:
    """W_i: each life's share in the score, N; they add up to nothing at the root."""
    covariate, relative = group.astype(np.float64), np.where(group, theta, 1.0)
    chance, total = turns.chance(theta), turns.risk0 + theta * turns.risk1

    def until(days: Floats, weights: Floats) -> Floats:
        """The sum of some weights of the turns up to and with each of some days."""
        sums = np.concatenate([[0.0], np.cumsum(weights)])
        return np.asarray(sums[np.searchsorted(turns.time, days, side="right")])

    def at(days: Floats, weights: Floats) -> Floats:
        """The sum of some weights of the turns at exactly each of some days."""
        sums = np.concatenate([[0.0], np.cumsum(weights)])
        first, last = (np.searchsorted(turns.time, days, side=side) for side in ("left", "right"))
        return np.asarray(sums[last] - sums[first])

    def gathered(hazard: Floats, of_chance: Floats) -> Floats:
        return relative * (covariate * hazard - of_chance)

    per, per_chance = 1 / total, chance / total
    while_at_risk = gathered(
        until(lives.exit, per) - until(lives.entry, per), until(lives.exit, per_chance) - until(lives.entry, per_chance)
    )
    # Who fails at a time is at risk there for what is left of it in each turn, and adds the mean over the turns.
    not_there = gathered(at(lives.exit, turns.gone * per), at(lives.exit, turns.gone * per_chance))
    turns_there = at(lives.exit, np.ones_like(chance))
    added = covariate - at(lives.exit, chance) / np.maximum(turns_there, 1)
    return np.asarray(np.where(lives.event, added + not_there, 0.0) - while_at_risk)


def _around(beta: float, half: float) -> Estimate:
    return Estimate(exp(beta), exp(beta - half), exp(beta + half))
