"""How sure a ratio of two sums is, where what is summed hangs together by person: days in tight sockets a year worn.

With x_i and y_i of person i, r = sum(x) / sum(y), and by linearisation (Cochran 1977, Sampling Techniques, 3rd ed.,
section 6.4)

    var(r) = n / (n - 1) * sum((x_i - r y_i)^2) / sum(y)^2,   interval r +- t(n - 1) sqrt(var),

never below 0, as x and y are not. People are the witnesses: a child with many tight days counts once. It needs a few
dozen of them; with fewer it is too narrow where most have nothing (`tests/statistics/test_sums.py` measures it).
"""

from __future__ import annotations

from math import sqrt

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import stdtrit

from service.statistics.intervals import TAIL, Estimate


def ratio_of_sums(over: ArrayLike, under: ArrayLike) -> Estimate | None:
    """The ratio of two sums over N people, each 0 or more; None for fewer than two people, or nothing to divide by."""
    x, y = np.asarray(over, np.float64), np.asarray(under, np.float64)
    if x.shape != y.shape or x.ndim != 1:
        raise ValueError("each person has a part in both sums: give two sequences of one length")
    if (x < 0).any() or (y < 0).any():
        raise ValueError("what is summed is 0 or more")
    count, total = len(x), float(y.sum())
    if count < 2 or total == 0:
        return None
    ratio = float(x.sum()) / total
    spread = sqrt(count / (count - 1) * float(((x - ratio * y) ** 2).sum())) / total
    half = float(stdtrit(count - 1, 1 - TAIL)) * spread
    return Estimate(ratio, max(0.0, ratio - half), ratio + half)
