"""What one worker could be given: every set of jobs that costs little enough at given prices.

A set is grown by one job at a time, in the order in which its jobs are done, and left as soon as it could not become
cheap enough: no job costs less beside others than alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from service.matching.model.problem import Floats, Points, Problem

MOST_AT_ONCE = 2_000_000
"""So many sets are held at a time; beyond, nothing is proved."""


class TooManyError(Exception):
    """There are more sets than can be gone through."""


@dataclass(frozen=True)
class Bundle:
    """Jobs of one worker, ascending, what doing them costs, and how far that is above what their prices pay."""

    who: int
    jobs: tuple[int, ...]
    cost: int
    price: float


def bundles_below(problem: Problem, who: int, pays: Floats, limit: float, most: int | None = None) -> list[Bundle]:
    """Every set of jobs for a worker whose cost, less what its jobs pay (J,), is below a limit; cheapest first.

    `most` looks only among so many jobs that pay best alone: quicker, but a set may be missed. Raises TooManyError.
    """
    single = problem.alone[:, who] + problem.load * int(problem.held[who]) - pays
    gains = np.sort(np.minimum(single, 0.0))[: max(int(problem.seats[who]) - 1, 0)].sum()
    jobs = np.flatnonzero(single + gains < limit)
    if most is not None and len(jobs) > most:
        jobs = np.sort(jobs[np.argsort(single[jobs], kind="stable")[:most]])
    if not len(jobs):
        return []
    found: list[Bundle] = []
    members = np.empty((1, 0), dtype=np.int64)
    cost, hours = np.zeros(1, dtype=np.int64), np.zeros(1)
    best_first = np.sort(np.minimum(single[jobs], 0.0))
    for size in range(1, min(int(problem.seats[who]), len(jobs)) + 1):
        members, cost, hours = _grown(problem, who, jobs, (members, cost, hours))
        price = cost - pays[jobs][members].sum(axis=1)
        hopeful = price + best_first[: int(problem.seats[who]) - size].sum() < limit
        members, cost, hours, price = members[hopeful], cost[hopeful], hours[hopeful], price[hopeful]
        cheap = price < limit
        found += [
            Bundle(who, tuple(jobs[each].tolist()), int(paid), float(above))
            for each, paid, above in zip(members[cheap], cost[cheap], price[cheap], strict=True)
        ]
        if not len(members):
            break
    return sorted(found, key=lambda bundle: (bundle.price, bundle.jobs))


_Sets = tuple[Points, Points, Floats]


def _grown(problem: Problem, who: int, jobs: Points, sets: _Sets) -> _Sets:
    """Every set with one job more, done last; of the orders of one set the one that costs least."""
    members, cost, hours = sets
    if len(members) * len(jobs) > MOST_AT_ONCE:
        raise TooManyError
    size = members.shape[1]
    worked = hours[:, None] + problem.hours[jobs, who]
    done = problem.done_on(who, worked)
    fresh = np.ones((len(members), len(jobs)), dtype=bool)
    np.put_along_axis(fresh, members, values=False, axis=1)
    tardy = problem.late[jobs] * np.maximum(0, done + problem.away[jobs, who] - problem.need[jobs])
    added = problem.cost[jobs, who] + problem.load * (int(problem.held[who]) + size) + tardy
    before, last = np.nonzero(fresh & (done < problem.room.shape[1]))
    grown = np.sort(np.column_stack([members[before], last]), axis=1)
    costs = (cost[:, None] + added)[before, last]
    keys = _keys(grown, len(jobs))
    order = np.lexsort((costs, keys))
    first = order[np.append(True, keys[order][1:] != keys[order][:-1])[: len(order)]]
    return grown[first], costs[first], worked[before, last][first]


def _keys(grown: NDArray[np.int64], jobs: int) -> NDArray[np.int64]:
    """One number for each set."""
    if grown.shape[1] * np.log2(jobs + 1) < 62:
        return np.asarray(grown @ ((jobs + 1) ** np.arange(grown.shape[1], dtype=np.int64)), dtype=np.int64)
    return np.asarray(np.unique(grown, axis=0, return_inverse=True)[1], dtype=np.int64).ravel()
