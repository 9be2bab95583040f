"""Lives: who was followed from when to when, and how it ended. The ground of curves, comparisons and hazard ratios.

A life is at risk at time t when entry < t <= exit: what enters on a day cannot fail at that very moment, and what is
censored at t was still there when others failed at t (events come before censorings). Delayed entry (left truncation)
is a device that was already worn when it came to the register: it could not have been seen to fail before, so it is
not at risk before. To count it from its beginning would make everything look more lasting than it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Lives:
    """N lives: `entry` and `exit` in days since each one's own beginning, and `event`, whether it ended by failing."""

    entry: Floats
    exit: Floats
    event: Flags

    @classmethod
    def of(cls, entry: ArrayLike, exit_: ArrayLike, event: ArrayLike) -> Self:
        """Read three sequences of one length. Raises ValueError unless 0 <= entry < exit, all finite.

        What failed on its first day was there for a part of it: give it half a day, or it never counts.
        """
        entries, exits = np.asarray(entry, np.float64), np.asarray(exit_, np.float64)
        events = np.asarray(event, np.bool_)
        if not entries.ndim == exits.ndim == events.ndim == 1 or not len(entries) == len(exits) == len(events):
            raise ValueError("entry, exit and event are three sequences of one length")
        if not (np.isfinite(entries).all() and np.isfinite(exits).all()):
            raise ValueError("entries and exits are numbers of days; what is not over yet is censored today")
        if (entries < 0).any() or (exits <= entries).any():
            raise ValueError("each life enters at 0 or later and ends after it enters: count a first day as half")
        return cls(entries, exits, events)

    def __len__(self) -> int:
        return len(self.entry)

    def those(self, which: Flags) -> Lives:
        """Some of the lives."""
        return Lives(self.entry[which], self.exit[which], self.event[which])

    def after(self, day: float) -> Lives:
        """The lives as followed from a day on: for figures of those that lasted until then."""
        left = self.those(self.exit > day)
        return Lives(np.maximum(left.entry, day), left.exit, left.event)

    def times(self) -> Floats:
        """The T distinct times of events, in order."""
        return np.unique(self.exit[self.event])

    def at_risk(self, times: ArrayLike) -> Integers:
        """How many are at risk at each of some times (entry < t <= exit)."""
        at = np.asarray(times, np.float64)
        began = np.searchsorted(np.sort(self.entry), at, side="left")
        over = np.searchsorted(np.sort(self.exit), at, side="left")
        return np.asarray(began - over, np.int64)

    def failed(self, times: ArrayLike) -> Integers:
        """How many fail at exactly each of some times."""
        at, ends = np.asarray(times, np.float64), np.sort(self.exit[self.event])
        return np.asarray(np.searchsorted(ends, at, "right") - np.searchsorted(ends, at, "left"), np.int64)
