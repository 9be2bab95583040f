"""Small registers drawn by chance, for tests that compare two ways of working something out."""

from __future__ import annotations

import numpy as np

from service.statistics import Lives


def drawn(
    rng: np.random.Generator, count: int, *, last_day: int = 14, entered: float = 0.5, failed: float = 0.6
) -> Lives:
    """Lives of whole days, so that entries, failures and censorings meet on the same days."""
    entry = np.where(rng.random(count) < entered, rng.integers(0, last_day // 2, count), 0)
    return Lives.of(entry, entry + rng.integers(1, last_day // 2, count), rng.random(count) < failed)


def untied(rng: np.random.Generator, count: int, *, entered: float = 0.5) -> Lives:
    """Lives of 100 days or so, no two of which end at once; somebody is at risk from the first day to the last."""
    entry = np.where(rng.random(count) < entered, rng.uniform(0, 40, count), 0)
    ends = entry + 1 + rng.exponential(60, count)
    entry[0], ends[0], failed = 0, ends.max() + 1, rng.random(count) < 0.7
    failed[0] = False
    return Lives.of(entry, ends, failed)
