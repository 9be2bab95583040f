"""The least plan: what has nobody in common apart, and each part as what couples its jobs asks."""

from __future__ import annotations

from time import monotonic

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from service.matching.model.columns import plan_columns
from service.matching.model.greedy import cheapest_in_turn
from service.matching.model.problem import LEFT, Plan, Points, Problem, total_cost
from service.matching.model.seats import assigned

LONGEST_SECONDS = 8.0
"""How long a plan is looked for; what is found by then is given, with the gap that is left."""


def least_plan(problem: Problem, seconds: float = LONGEST_SECONDS) -> Plan:
    """The plan of least cost, or when `seconds` run out the best found, with the bound that was proved."""
    ends = monotonic() + seconds
    worker = np.full(len(problem.left), LEFT, dtype=np.int64)
    total, bound = 0, 0
    for jobs, workers in _parts(problem):
        if len(workers):
            found = _one_part(problem.part(jobs, workers), ends)
            worker[jobs] = np.append(workers, LEFT)[found.worker]
            total, bound = total + found.total, bound + found.bound
        else:
            over = int(problem.left[jobs].sum())
            total, bound = total + over, bound + over
    return Plan(worker, total, bound)


def _one_part(part: Problem, ends: float) -> Plan:
    worker, bound = assigned(part)
    total = total_cost(part, worker)
    if total == bound:
        return Plan(worker, total, bound)
    by_hand = cheapest_in_turn(part)
    start = min((each for each in (worker, by_hand)), key=lambda each: _or_never(total_cost(part, each)))
    return plan_columns(part, start, bound, lambda: ends - monotonic())


def _or_never(cost: int | None) -> float:
    return float("inf") if cost is None else cost


def _parts(problem: Problem) -> list[tuple[Points, Points]]:
    """Jobs and workers that are joined by a pair worth its cost, apart from those that are not."""
    jobs, workers = problem.cost.shape
    job, who = np.nonzero(problem.alone < problem.left[:, None])
    size = jobs + workers
    joined = coo_array((np.ones(len(job), dtype=bool), (job, jobs + who)), shape=(size, size))
    _, label = connected_components(joined, directed=False)
    order = np.argsort(label, kind="stable")
    groups = np.split(order, np.flatnonzero(np.diff(label[order])) + 1)
    return [(each[each < jobs], each[each >= jobs] - jobs) for each in groups if np.any(each < jobs)]
