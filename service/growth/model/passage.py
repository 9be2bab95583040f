"""When a path first reaches a limit, and what the times of many paths say."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def first_passage(times: Floats, paths: Floats, limit: float) -> Floats:
    """The time each path first reaches `limit`; infinity if it does not by the last of `times`.

    `times` (T) rise; `paths` are N x T. A path already there at the first time passes then. Between times a path is
    taken to be straight. A larger limit is never passed earlier.
    """
    there = paths >= limit
    after = there.argmax(axis=1)
    before = np.maximum(after - 1, 0)
    row = np.arange(len(paths))
    low, high = paths[row, before], paths[row, after]
    rise = np.where(high > low, high - low, 1.0)
    crossing = times[before] + (times[after] - times[before]) * np.clip((limit - low) / rise, 0.0, 1.0)
    return np.where(there.any(axis=1), np.where(after == 0, times[0], crossing), np.inf)


def quantile(times: Floats, probability: float) -> float:
    """The time by which this share of the paths has passed: one of the times, so infinity stays infinity."""
    return float(np.sort(times)[min(int(probability * len(times)), len(times) - 1)])


def share_by(times: Floats, when: float) -> float:
    """The share of paths that have passed by a time."""
    return float(np.mean(times <= when))
