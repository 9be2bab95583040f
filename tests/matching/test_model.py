"""The plan against every plan there is, and against another solver: what is called least is least."""

from __future__ import annotations

from itertools import combinations, permutations, product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from service.matching.model import columns
from service.matching.model.columns import plan_columns
from service.matching.model.greedy import cheapest_in_turn, in_turn
from service.matching.model.problem import LEFT, Problem, total_cost, turns
from service.matching.model.seats import assigned
from service.matching.model.solve import least_plan


def random_problem(seed: int, jobs: int, workers: int, *, days: int = 12) -> Problem:
    """Jobs that crowd the hours there are, some pairs impossible, small whole costs so that many plans are alike."""
    chance = np.random.default_rng(seed)
    pairs = (jobs, workers)
    room = np.cumsum(chance.integers(0, 4, (workers, days)), axis=1) * 0.5
    return Problem(
        cost=chance.integers(0, 30, pairs),
        allowed=chance.random(pairs) < 0.8,
        left=chance.integers(5, 200, jobs),
        hours=(chance.integers(0, 12, pairs) * 0.5).astype(np.float64),
        away=chance.integers(0, 3, pairs),
        need=chance.integers(0, days, jobs),
        late=chance.choice([0, 1, 5, 20], jobs),
        room=room.astype(np.float64),
        seats=chance.integers(0, 4, workers),
        held=chance.integers(0, 3, workers),
        load=int(chance.choice([0, 2, 7])),
    )


def naive_turns(problem: Problem, who: int, jobs: tuple[int, ...]) -> int | None:
    """Every order tried, day by day."""
    if len(jobs) > problem.seats[who] or not all(problem.allowed[job, who] for job in jobs):
        return None
    costs = []
    for order in permutations(jobs):
        worked, cost = 0.0, 0
        for turn, job in enumerate(order):
            worked += problem.hours[job, who]
            day = next((day for day, free in enumerate(problem.room[who]) if free >= worked - 1e-6), None)
            if day is None:
                break
            late = max(0, day + problem.away[job, who] - problem.need[job])
            cost += problem.cost[job, who] + problem.late[job] * late + problem.load * (problem.held[who] + turn)
        else:
            costs.append(int(cost))
    return min(costs, default=None)


def naive_total(problem: Problem, worker: tuple[int, ...]) -> int | None:
    total = sum(int(problem.left[job]) for job, who in enumerate(worker) if who == LEFT)
    for who in set(worker) - {LEFT}:
        cost = naive_turns(problem, who, tuple(job for job, whom in enumerate(worker) if whom == who))
        if cost is None:
            return None
        total += cost
    return total


def least_of_all(problem: Problem) -> int:
    jobs, workers = problem.cost.shape
    totals = (naive_total(problem, worker) for worker in product(range(-1, workers), repeat=jobs))
    return min(total for total in totals if total is not None)


sizes = {"seed": st.integers(0, 2**32 - 1), "jobs": st.integers(1, 5), "workers": st.integers(1, 3)}


@settings(max_examples=2000, deadline=None)
@given(**sizes)
def test_no_plan_costs_less(seed, jobs, workers):
    problem = random_problem(seed, jobs, workers)
    plan = least_plan(problem)
    assert plan.is_optimal
    assert plan.total == naive_total(problem, tuple(plan.worker.tolist())) == least_of_all(problem)


@settings(max_examples=300, deadline=None)
@given(**sizes)
def test_prices_alone_prove_it_too(seed, jobs, workers):
    """The programme finds the least plan from any start, not only from a good one."""
    problem = random_problem(seed, jobs, workers)
    _, bound = assigned(problem)
    plan = plan_columns(problem, np.full(jobs, LEFT), bound, lambda: 60.0)
    assert plan.is_optimal
    assert plan.total == total_cost(problem, plan.worker) == least_of_all(problem)


@settings(max_examples=500, deadline=None)
@given(**sizes)
def test_what_a_plan_costs_is_counted_alike_by_hand(seed, jobs, workers):
    problem = random_problem(seed, jobs, workers)
    for worker in (tuple(np.random.default_rng(seed).integers(-1, workers, jobs).tolist()), (LEFT,) * jobs):
        assert total_cost(problem, np.array(worker)) == naive_total(problem, worker)


@settings(max_examples=300, deadline=None)
@given(**sizes)
def test_the_order_of_a_workers_jobs_keeps_to_what_it_says(seed, jobs, workers):
    problem = random_problem(seed, jobs, workers)
    for who, size in product(range(workers), range(1, 4)):
        for some in combinations(range(jobs), size):
            found = turns(problem, who, some)
            assert (found and found.cost) == naive_turns(problem, who, some)
            if found is not None:
                worked = np.cumsum([problem.hours[job, who] for job in found.jobs])
                assert list(found.done) == [int(np.argmax(problem.room[who] >= each - 1e-6)) for each in worked]


@settings(max_examples=200, deadline=None)
@given(**sizes)
def test_plans_made_by_hand_are_possible_and_never_better(seed, jobs, workers):
    problem = random_problem(seed, jobs, workers)
    least = least_plan(problem).total
    for worker in (cheapest_in_turn(problem), in_turn(problem, range(jobs), problem.cost)):
        cost = total_cost(problem, worker)
        assert cost is not None
        assert cost >= least


@pytest.mark.parametrize("seed", range(8))
def test_another_solver_finds_no_less(seed):
    """OR-Tools' CP-SAT over every set of jobs that each worker could be given, where a plan is too big to try all."""
    problem = random_problem(seed, 12, 6)
    model = cp_model.CpModel()
    left = [model.new_bool_var(f"left {job}") for job in range(12)]
    given_to: list[list[Any]] = [[each] for each in left]
    costs = [int(paid) * each for paid, each in zip(problem.left, left, strict=True)]
    for who in range(6):
        sets = []
        for size in range(1, int(problem.seats[who]) + 1):
            for some in combinations(range(12), size):
                cost = naive_turns(problem, who, some)
                if cost is not None:
                    sets.append(model.new_bool_var(f"{who} does {some}"))
                    costs.append(cost * sets[-1])
                    for job in some:
                        given_to[job].append(sets[-1])
        model.add_at_most_one(sets)
    for each in given_to:
        model.add_exactly_one(each)
    model.minimize(sum(costs))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    plan = least_plan(problem)
    assert plan.is_optimal
    assert plan.total == round(solver.objective_value)


def test_the_same_problem_has_the_same_plan():
    problem = random_problem(5, 20, 8)
    assert least_plan(problem).worker.tolist() == least_plan(problem).worker.tolist()


@pytest.mark.parametrize("seconds", [0.0, 0.02])
def test_cut_short_it_gives_a_possible_plan_and_says_how_far_it_may_be_from_the_least(seconds):
    problem = random_problem(3, 60, 20, days=40)
    short, whole = least_plan(problem, seconds), least_plan(problem, 60)
    assert short.total == total_cost(problem, short.worker)
    assert short.bound <= whole.total <= short.total
    assert whole.is_optimal
    assert short.is_optimal == (short.gap <= 0)
    if seconds == 0:
        assert not short.is_optimal, "this problem is too hard to be settled by the assignment alone"


@pytest.mark.parametrize("jobs", [0, 3])
@pytest.mark.parametrize("workers", [0, 2])
def test_nothing_to_do_and_nobody_to_do_it(jobs, workers):
    problem = random_problem(1, jobs, workers)
    plan = least_plan(problem)
    assert plan.is_optimal
    assert len(plan.worker) == jobs
    if not workers:
        assert plan.total == problem.left.sum()


def test_when_sets_are_too_many_no_proof_is_claimed(monkeypatch):
    problem = random_problem(3, 30, 8, days=40)
    monkeypatch.setattr(columns, "MOST_LISTED", 0)
    plan, whole = least_plan(problem), least_plan(problem, 60)
    assert plan.total == total_cost(problem, plan.worker)
    assert plan.bound <= whole.total


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        ("left", np.zeros(3, dtype=np.int64)),
        ("room", np.array([[2.0, 1.0], [0.0, 1.0]])),
        ("late", np.array([-1, 0], dtype=np.int64)),
    ],
)
def test_what_cannot_be_a_problem_is_refused(field, wrong):
    problem = random_problem(1, 2, 2, days=2)
    with pytest.raises(ValueError, match=r"shape|falls|below"):
        Problem(**{**{name: getattr(problem, name) for name in problem.__dataclass_fields__}, field: wrong})
