# ruff: noqa: T201 - a script prints
"""How long a plan takes, and whether it is proved: `python -m tests.benchmarks.matching_speed [JOBS WORKERS [TIMES]]`.

Wanted on two cores: 100 jobs and 200 workers within half a second, 1,000 and 2,000 within ten. Processor time is what
counts; the wall clock beside it says how busy the machine was, so each is given as long as it needs up to `LONGEST`.
Prices are those of `costing`; a pair is possible six times in ten.
"""

from __future__ import annotations

import sys
from time import perf_counter, process_time

import numpy as np

from service.matching.model.greedy import cheapest_in_turn
from service.matching.model.problem import Problem, total_cost
from service.matching.model.solve import least_plan

LONGEST = 240.0


def problem(jobs: int, workers: int, seed: int) -> Problem:
    """Jobs and workers in a square of 200 km, jobs of about five hours, workers of two to eight hours a week."""
    chance = np.random.default_rng(seed)
    here, there = chance.random((jobs, 2)) * 200, chance.random((workers, 2)) * 200
    km = np.hypot(*(here[:, None] - there[None]).transpose(2, 0, 1))
    hours = np.round(chance.gamma(3, 1.5, jobs) * 4) / 4 + 0.25
    weekly = chance.choice([2, 3, 4, 5, 8], workers)
    need = chance.integers(2, 28, jobs)
    away = np.where(chance.random(workers) < 0.2, chance.integers(3, 20, workers), 0)
    room = np.maximum(0, np.arange(120)[None] - away[:, None]) * weekly[:, None] / 7
    rank = chance.choice([8, 4, 2, 1], jobs, p=[0.05, 0.15, 0.3, 0.5])
    cost = np.round(km * 0.4).astype(np.int64) + 15 * (chance.random((jobs, workers)) < 0.5)
    return Problem(
        cost=cost,
        allowed=chance.random((jobs, workers)) < 0.6,
        left=(rank * 900 + 200).astype(np.int64),
        hours=np.broadcast_to(hours[:, None], (jobs, workers)),
        away=np.where(km < 40, 1, 3),
        need=need,
        late=rank * 10,
        room=room,
        seats=chance.integers(1, 4, workers),
        held=chance.integers(0, 2, workers),
        load=10,
    )


def main(arguments: list[str]) -> None:
    """Print what each takes."""
    sizes = [(int(arguments[0]), int(arguments[1]))] if len(arguments) > 1 else [(100, 200), (200, 100), (1000, 2000)]
    for jobs, workers in sizes:
        for seed in range(int(arguments[2]) if len(arguments) > 2 else 3):
            made = problem(jobs, workers, seed)
            began, cpu = perf_counter(), process_time()
            plan = least_plan(made, LONGEST)
            took, worked = perf_counter() - began, process_time() - cpu
            said = "proved" if plan.is_optimal else f"gap {plan.gap} of {plan.total}"
            greedy = total_cost(made, cheapest_in_turn(made))
            print(
                f"{jobs} jobs, {workers} workers, {seed}: {took:.2f} s, {worked:.2f} s of processor; "
                f"{plan.total} points, {said}; by hand {greedy}"
            )


if __name__ == "__main__":
    main(sys.argv[1:])
