"""What can be worked out: for every number, which counts are possible, given everything that is told.

True counts have no part in it: the audit knows what a reader knows. Ranges only ever widen while more is withheld, and
what was possible stays possible. So counts once seen to be possible are kept, and a number that was seen to be one of
`ENOUGH` is never looked at again.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from service.disclosure.system import Points, System

ENOUGH = 3
"""A number is safe when it may be so many different counts: fewer would be a guess with even odds or better."""

_MOST_LOOKS = 40
NODES = 2_000
"""Branchings allowed to one question: a bound that is no clock, so that the same counts are always told alike."""


def possible(weights: Points, adds: csr_array, low: Points, high: Points) -> Points | None:
    """Whole counts that add up and lie in their windows, with the greatest sum of weights; None if none were found."""
    answer = milp(
        -weights.astype(float),
        integrality=np.ones(len(weights), dtype=np.int64),
        bounds=Bounds(low, high),
        constraints=LinearConstraint(adds, 0, 0),
        options={"node_limit": NODES},
    )
    if answer.x is None:
        return None
    counts = np.rint(answer.x).astype(np.int64)
    return counts if adds_up(adds, counts) and bool(((low <= counts) & (counts <= high)).all()) else None


def adds_up(adds: csr_array, counts: Points) -> bool:
    """Whether whole counts add up exactly: a solver's do within its tolerance."""
    return not (adds @ counts).any()


@dataclass
class Audit:
    """The windows (N,) of a system's numbers, and which counts each was seen to be able to be."""

    system: System
    low: Points
    high: Points
    seen: list[set[int]] = field(init=False)

    def __post_init__(self) -> None:
        self.seen = [set() for _ in self.system.places]

    def note(self, counts: Points) -> None:
        """Remember counts (N,) that are possible all together."""
        for values, count in zip(self.seen, counts.tolist(), strict=True):
            values.add(count)

    def unsure(self) -> Points:
        """The numbers not yet seen to be safe."""
        return np.array([at for at, values in enumerate(self.seen) if len(values) < ENOUGH], dtype=np.int64)

    def look_about(self, chance: np.random.Generator) -> None:
        """See many numbers safe at once: the far ends of what is possible, in directions drawn at random."""
        for _ in range(_MOST_LOOKS):
            before = self.unsure()
            if not len(before):
                return
            weights = np.zeros(len(self.low), dtype=np.int64)
            weights[before] = chance.choice([-1, 1], len(before))
            for each in (weights, -weights):
                self._look(each)
            if 10 * len(self.unsure()) > 9 * len(before):
                return

    def pinned(self, at: int) -> tuple[int, int] | None:
        """The least and the greatest that a number may be if it is not safe, by trying its ends; None if it is safe."""
        if len(self.seen[at]) >= ENOUGH:
            return None
        only = np.zeros(len(self.low), dtype=np.int64)
        for sign in (1, -1):
            only[at] = sign
            self._look(only)
            if len(self.seen[at]) >= ENOUGH:
                return None
        least = min(self.seen[at], default=int(self.low[at]))  # nothing was seen where the solver gave up
        most = max(self.seen[at], default=int(self.high[at]))
        if most - least >= ENOUGH - 1:  # its ends lie apart: is anything between them possible?
            low, high = self.low.copy(), self.high.copy()
            low[at], high[at] = least + 1, most - 1
            between = possible(only, self.system.adds, low, high)
            if between is not None:
                self.note(between)
                return None
        return least, most

    def _look(self, weights: Points) -> None:
        counts = possible(weights, self.system.adds, self.low, self.high)
        if counts is not None:
            self.note(counts)
