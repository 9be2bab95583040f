"""The plan when hours couple jobs: a programme that gives each worker one set of jobs, and a proof that no other helps.

Its relaxation is solved over a few sets, then over those that its prices show to be wanting, until none is: that bounds
every plan from below, closely. A set whose price exceeds what separates this bound from a plan in hand is part of no
better plan; so all below are listed, and the programme over them, in whole numbers, gives the least plan of all.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from math import ceil

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array, hstack, identity

from service.matching.model.bundles import Bundle, TooManyError, bundles_below
from service.matching.model.problem import LEFT, NEVER, Floats, Plan, Points, Problem, total_cost

FIRST_EACH, MORE_EACH = 4, 6
"""So many single jobs to begin with for each job, and so many more sets of each worker at a time."""

LOOKS: tuple[int | None, ...] = (12, 30, None)
"""Wanting sets are looked for among so many jobs of each worker, then among more, in the end among all."""

FOR_BOUND = 0.6
"""The share of the time that may go by before the best plan from the sets in hand is looked for."""

MOST_LISTED = 150_000

_TINY, _SLIP = 1e-6, 1e-6
"""By how much a price may be off, in points and as a share."""

Left = Callable[[], float]
"""Seconds that are left."""

Known = dict[tuple[int, tuple[int, ...]], Bundle]


@dataclass(frozen=True)
class Prices:
    """What each job pays (J,), what each worker's time pays (W,), at most nothing, and what the relaxation costs."""

    job: Floats
    seat: Floats
    value: float


def _up(low: float) -> int:
    """A bound in whole points: plans cost no fractions."""
    return ceil(low - _SLIP * max(1.0, abs(low)))


def plan_columns(problem: Problem, start: Points, bound: int, seconds_left: Left) -> Plan:
    """The least plan, or when time runs out the best found; begins from a possible plan and a bound of every plan."""
    best, total = start, _cost(problem, start)
    known = {(each.who, each.jobs): each for each in _first(problem, start)}
    reserve = (1 - FOR_BOUND) * seconds_left()
    low, prices = _priced(problem, known, lambda: seconds_left() - reserve)
    bound = max(bound, low)
    if total > bound:
        best, total, _ = _better(problem, known.values(), (best, total), seconds_left())
    if total > bound and prices is not None and (listed := _listed(problem, prices, total, seconds_left)) is not None:
        best, total, proved = _better(problem, listed, (best, total), seconds_left())
        bound = max(bound, proved)
    return Plan(best, total, min(bound, total))


def _priced(problem: Problem, known: Known, seconds_left: Left) -> tuple[int, Prices | None]:
    """A bound of every plan, and the prices that prove it if no set is wanting at them; `known` grows by the found."""
    bound = -NEVER
    look = 0
    while seconds_left() > 0:
        prices = _relaxed(problem, list(known.values()), seconds_left())
        if prices is None:
            break
        try:
            wanting = _wanting(problem, prices, LOOKS[look], seconds_left)
        except TooManyError:
            break
        if LOOKS[look] is None:
            # Were every worker given the set that is most wanting, no plan could cost less than this.
            most = {each.who: each.price - prices.seat[each.who] for each in reversed(wanting)}
            bound = max(bound, _up(prices.value + sum(most.values())))
            if not wanting:
                return bound, prices
        known |= {(each.who, each.jobs): each for each in wanting}
        look = look if wanting else look + 1
    return bound, None


def _cost(problem: Problem, worker: Points) -> int:
    cost = total_cost(problem, worker)
    if cost is None:
        raise ValueError("a plan to begin with has to be possible")
    return cost


def _first(problem: Problem, start: Points) -> Iterable[Bundle]:
    """The sets of the plan in hand, and for each job those who are cheapest when they do nothing else."""
    for who in np.unique(start[start != LEFT]).tolist():
        jobs = np.flatnonzero(start == who)
        cost = _cost(problem, np.where(start == who, who, LEFT)) - int(problem.left[start != who].sum())
        yield Bundle(who, tuple(jobs.tolist()), cost, 0.0)
    costs = problem.alone + problem.load * problem.held
    few = min(FIRST_EACH, costs.shape[1])
    for job, those in enumerate(np.argpartition(costs, few - 1, axis=1)[:, :few].tolist()):
        for who in those:
            if problem.alone[job, who] < NEVER:
                yield Bundle(who, (job,), int(costs[job, who]), 0.0)


def _wanting(problem: Problem, prices: Prices, most: int | None, seconds_left: Left) -> list[Bundle]:
    """Sets that cost less than their jobs and their worker's seat pay, the few of each worker that are most wanting."""
    single = problem.alone + problem.load * problem.held - prices.job[:, None]
    hopeful = np.flatnonzero(np.minimum(single, 0.0).sum(axis=0) < prices.seat - _TINY)
    found = []
    for who in hopeful.tolist():
        if seconds_left() <= 0:
            raise TooManyError
        found += bundles_below(problem, who, prices.job, float(prices.seat[who]) - _TINY, most)[:MORE_EACH]
    return found


def _listed(problem: Problem, prices: Prices, total: int, seconds_left: Left) -> list[Bundle] | None:
    """Every set that a plan better by a point could hold; None when there are too many."""
    apart = total - 1 - prices.value
    found: list[Bundle] = []
    for who in range(problem.cost.shape[1]):
        try:
            found += bundles_below(problem, who, prices.job, float(prices.seat[who]) + apart + _SLIP * max(1.0, apart))
        except TooManyError:
            return None
        if len(found) > MOST_LISTED or seconds_left() <= 0:
            return None
    return found


def _programme(problem: Problem, bundles: list[Bundle]) -> tuple[Floats, csr_array, csr_array]:
    """Costs of the sets and of jobs left over; which jobs each covers; which worker each takes."""
    jobs, workers = problem.cost.shape
    row = np.array([job for each in bundles for job in each.jobs], dtype=np.int64)
    column = np.repeat(np.arange(len(bundles)), [len(each.jobs) for each in bundles])
    covers = csr_array((np.ones(len(row)), (row, column)), shape=(jobs, len(bundles)))
    who = np.array([each.who for each in bundles], dtype=np.int64)
    takes = csr_array((np.ones(len(bundles)), (who, np.arange(len(bundles)))), shape=(workers, len(bundles) + jobs))
    costs = np.concatenate([[each.cost for each in bundles], problem.left]).astype(float)
    return costs, csr_array(hstack([covers, identity(jobs)])), takes


def _relaxed(problem: Problem, bundles: list[Bundle], seconds: float) -> Prices | None:
    """The least cost were sets given out in shares, and its prices; None when time ran out."""
    costs, covers, takes = _programme(problem, bundles)
    answer = linprog(  # type: ignore[call-overload]  # its stubs know no sparse matrix
        costs,
        A_eq=covers,
        b_eq=np.ones(covers.shape[0]),
        A_ub=takes,
        b_ub=np.ones(takes.shape[0]),
        method="highs",
        options={"time_limit": max(seconds, 0.01)},
    )
    if answer.status != 0:
        return None
    return Prices(np.asarray(answer.eqlin.marginals), np.asarray(answer.ineqlin.marginals), float(answer.fun))


def _better(
    problem: Problem, bundles: Iterable[Bundle], held: tuple[Points, int], seconds: float
) -> tuple[Points, int, int]:
    """The least plan over some sets, or the one held if none is better; its cost; what all of them cost at least."""
    listed = list(bundles)
    lowest = -NEVER
    if not listed or seconds <= 0:
        return *held, held[1] if not listed else lowest
    costs, covers, takes = _programme(problem, listed)
    answer = milp(
        costs,
        integrality=np.concatenate([np.ones(len(listed)), np.zeros(covers.shape[0])]),
        bounds=Bounds(0, 1),
        constraints=[LinearConstraint(covers, 1, 1), LinearConstraint(takes, -np.inf, 1)],
        options={"time_limit": seconds, "mip_rel_gap": 0.0},
    )
    low = answer.mip_dual_bound
    if answer.status == 2:  # nothing better is among them
        return *held, held[1]
    proved = _up(low) if low is not None and np.isfinite(low) else lowest
    if answer.x is None:
        return *held, proved
    worker = np.full(len(problem.left), LEFT, dtype=np.int64)
    for at in np.flatnonzero(answer.x[: len(listed)] > 0.5):
        worker[list(listed[at].jobs)] = listed[at].who
    cost = total_cost(problem, worker)
    return (worker, cost, proved) if cost is not None and cost < held[1] else (*held, proved)
