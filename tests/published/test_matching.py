"""The plan against optima that others have published, with the source beside each."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from service.matching.model.box import turned
from service.matching.model.problem import LEFT, Problem, total_cost
from service.matching.model.solve import least_plan

needs_data = pytest.mark.skipif(
    "HANDSPAN_CHECK_DATA" not in os.environ,
    reason="needs the assignment instances: set HANDSPAN_CHECK_DATA to the folder of check data beside them",
)


def instance(name: str) -> list[int]:
    beside = Path(os.environ["HANDSPAN_CHECK_DATA"])
    folder = next(each for each in (beside / "assignment", beside.parent / "assignment") if each.is_dir())
    return [int(word) for word in (folder / name).read_text().split()]


def table(numbers: Iterator[int], rows: int, columns: int) -> np.ndarray:
    return np.array([[next(numbers) for _ in range(columns)] for _ in range(rows)], dtype=np.int64)


def assignment(costs: np.ndarray) -> Problem:
    """Each worker takes one job at most; every job is wanted more than anything."""
    return capacitated(costs, np.zeros(costs.shape), np.zeros(costs.shape[1]), seats=1)


def capacitated(costs: np.ndarray, hours: np.ndarray, free: np.ndarray, seats: int) -> Problem:
    """Each worker has so many hours, all on one day; (J, W) costs and hours."""
    jobs, workers = costs.shape
    return Problem(
        cost=costs,
        allowed=np.ones(costs.shape, dtype=bool),
        left=np.full(jobs, 10_000, dtype=np.int64),
        hours=hours.astype(float),
        away=np.zeros(costs.shape, dtype=np.int64),
        need=np.zeros(jobs, dtype=np.int64),
        late=np.zeros(jobs, dtype=np.int64),
        room=free.astype(float).reshape(workers, 1),
        seats=np.full(workers, seats, dtype=np.int64),
        held=np.zeros(workers, dtype=np.int64),
    )


WORKED = {
    # Source: scipy's documentation of linear_sum_assignment.
    "scipy": ([[4, 1, 3], [2, 0, 5], [3, 2, 2]], 5),
    # Source: OR-Tools' documentation, "Solving an assignment problem": five workers, four tasks.
    "OR-Tools": (
        [[90, 80, 75, 70], [35, 85, 55, 65], [125, 95, 90, 95], [45, 110, 95, 115], [50, 100, 90, 100]],
        265,
    ),
}


@pytest.mark.parametrize("name", WORKED)
@pytest.mark.parametrize("turned", [False, True])
def test_worked_examples(name, turned):
    costs, least = WORKED[name]
    given = np.array(costs, dtype=np.int64)
    # Where there are more rows than columns a job would be left over, so the rows are the workers.
    plan = least_plan(assignment(given.T if turned or given.shape[0] > given.shape[1] else given))
    assert plan.is_optimal
    assert plan.total == least
    assert LEFT not in plan.worker


@needs_data
@pytest.mark.parametrize(("name", "size", "least"), [("assign100.txt", 100, 305), ("assign500.txt", 500, 991)])
def test_linear_assignment(name, size, least):
    """Source: J. E. Beasley's OR-Library, assignment problem instances and their optima."""
    numbers = instance(name)[-size * size :]  # the size is not in every copy
    plan = least_plan(assignment(table(iter(numbers), size, size)))
    assert plan.is_optimal
    assert plan.total == least


GENERALISED = {
    "gap1.txt": (336, 327, 339, 341, 326),
    "gap2.txt": (434, 436, 420, 419, 428),
    "gap3.txt": (580, 564, 573, 570, 564),
}


@needs_data
@pytest.mark.parametrize("name", GENERALISED)
def test_generalised_assignment(name):
    """Source: J. E. Beasley's OR-Library, generalised assignment: gains to be greatest within capacities."""
    numbers = iter(instance(name))
    found = []
    for _ in range(next(numbers)):
        workers, jobs = next(numbers), next(numbers)
        gains, hours = table(numbers, workers, jobs).T, table(numbers, workers, jobs).T
        free = np.array([next(numbers) for _ in range(workers)])
        problem = capacitated(100 - gains, hours, free, seats=jobs)
        plan = least_plan(problem, seconds=120)
        assert plan.is_optimal
        assert total_cost(problem, plan.worker) == plan.total
        assert LEFT not in plan.worker
        found.append(int(gains[np.arange(jobs), plan.worker].sum()))
    assert tuple(found) == GENERALISED[name]


@pytest.mark.parametrize("seed", range(400))
def test_a_rectangle_turned_on_a_bed(seed):
    """Source: W. B. Carver, "Solution to problem 3036", American Mathematical Monthly 64 (1957).

    A p x q rectangle, p >= q, goes into an a x b one, a >= b, if p <= a and q <= b, or if p > a and
    b >= (2pqa + (p^2-q^2) sqrt(p^2+q^2-a^2)) / (p^2+q^2).
    (The reference is from memory, to verify; that the angle found does it is checked here by turning.)
    """
    chance = np.random.default_rng(seed)
    p, q = sorted(chance.uniform(10, 300, 2), reverse=True)
    a, b = sorted(chance.uniform(50, 260, 2), reverse=True)
    enough = (2 * p * q * a + (p**2 - q**2) * np.sqrt(max(p**2 + q**2 - a**2, 0))) / (p**2 + q**2)
    fits = (p <= a and q <= b) or (p > a and q <= b and b >= enough)
    found = turned(p, q, a, b)
    assert (found is not None) == fits
    if found is not None:
        t = np.radians(found)
        assert p * np.cos(t) + q * np.sin(t) <= a + 1e-6
        assert p * np.sin(t) + q * np.cos(t) <= b + 1e-6
    steps = np.radians(np.arange(0, 90.001, 0.05))
    by_trying = (p * np.cos(steps) + q * np.sin(steps) <= a) & (p * np.sin(steps) + q * np.cos(steps) <= b)
    assert fits or not by_trying.any()
