"""The plan were nobody's jobs in each other's way: an assignment of jobs to seats.

Somebody who takes k jobs has k seats, each a little dearer than the one before. As they only get dearer, the cheapest
are taken first. No plan costs less than this assignment, for a job is never done sooner by somebody who has others too.
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import linear_sum_assignment

from service.matching.model.problem import LEFT, NEVER, Points, Problem


def assigned(problem: Problem) -> tuple[Points, int]:
    """The least assignment (J,), and its cost if each job were its worker's only one: a bound of every plan."""
    alone = problem.alone
    jobs, _ = alone.shape
    useful = np.minimum(problem.seats, (alone < problem.left[:, None]).sum(axis=0))
    owner = np.repeat(np.arange(len(useful)), useful)
    turn = np.arange(len(owner)) - np.repeat(np.cumsum(useful) - useful, useful)
    seats = np.where(alone < NEVER, alone, float(NEVER))[:, owner] + problem.load * (problem.held[owner] + turn)
    nobody = np.broadcast_to(problem.left.astype(float)[:, None], (jobs, jobs))
    costs = np.hstack([seats, nobody])
    rows, seat = linear_sum_assignment(costs)
    worker = np.append(owner, LEFT)[np.minimum(seat, len(owner))]
    return worker, int(costs[rows, seat].sum())
