"""Plans as one makes them by hand, one job after the other: to begin with, and to compare with."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from service.matching.model.problem import LEFT, Floats, Points, Problem, turns


def in_turn(problem: Problem, order: Iterable[int], by: Floats | Points) -> Points:
    """Each job in the order given to whoever is least `by` (J, W) of those who can still take it; (J,)."""
    possible = problem.possible
    taken: dict[int, list[int]] = {}
    worker = np.full(len(problem.left), LEFT, dtype=np.int64)
    for job in order:
        candidates = np.flatnonzero(possible[job])
        for who in candidates[np.argsort(by[job, candidates], kind="stable")].tolist():
            if turns(problem, who, [*taken.get(who, ()), job]) is not None:
                taken.setdefault(who, []).append(job)
                worker[job] = who
                break
    return worker


def cheapest_in_turn(problem: Problem, tries: int = 12) -> Points:
    """Each job to whoever adds least to the plan so far, beginning with the jobs that lose most if left; (J,).

    Looks at so many of those who are cheapest alone.
    """
    worker = np.full(len(problem.left), LEFT, dtype=np.int64)
    if not problem.alone.size:
        return worker
    taken: dict[int, list[int]] = {}
    costs: dict[int, int] = {}
    loses = problem.left - np.minimum(problem.alone.min(axis=1), problem.left)
    for job in np.argsort(-loses, kind="stable").tolist():
        least, best = int(problem.left[job]), LEFT
        for who in np.argsort(problem.alone[job], kind="stable")[:tries].tolist():
            if problem.alone[job, who] >= least:
                break
            done = turns(problem, who, [*taken.get(who, ()), job])
            if done is not None and done.cost - costs.get(who, 0) < least:
                least, best = done.cost - costs.get(who, 0), who
        if best != LEFT:
            taken.setdefault(best, []).append(job)
            costs[best] = costs.get(best, 0) + least
            worker[job] = best
    return worker
