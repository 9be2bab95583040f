"""What a plan is made from, in numbers, and what can be said of one without looking for a better one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.int64]
Floats = NDArray[np.float64]
Days = NDArray[np.int64]
Yes = NDArray[np.bool_]

LEFT = -1
"""Stands for nobody: the job is left over."""

A_MOMENT = 1e-6
"""Hours by which sums of hours may be off."""

NEVER = 2**40
"""Points; more than any plan costs."""


@dataclass(frozen=True)
class Problem:
    """J jobs, W workers and D days, day 0 being today.

    `cost` (J, W), in whole points, counts where `allowed` (J, W) holds; `left` (J,) is what leaving a job over costs.
    Job j takes worker w `hours` (J, W) of their own, one job after the other, in whichever order is best; `room` (W, D)
    is how many hours each has free up to the end of each day, never falling, and nothing is begun that would not be
    done on the last of them. Done, a job is on its way for `away` (J, W) days; each day after day `need` (J,) costs
    `late` (J,) points. `seats` (W,) is how many more jobs somebody takes. Each further job of one worker costs `load`
    points more than the one before, beginning at `load` x `held` (W,), what they have in hand already.
    """

    cost: Points
    allowed: Yes
    left: Points
    hours: Floats
    away: Days
    need: Days
    late: Points
    room: Floats
    seats: Points
    held: Points
    load: int = 0

    def __post_init__(self) -> None:
        jobs, workers = self.cost.shape
        shapes: dict[str, tuple[int, ...]] = dict.fromkeys(("allowed", "hours", "away"), (jobs, workers))
        shapes |= dict.fromkeys(("left", "need", "late"), (jobs,)) | dict.fromkeys(("seats", "held"), (workers,))
        for name, shape in shapes.items():
            if getattr(self, name).shape != shape:
                raise ValueError(f"{name} has the shape {getattr(self, name).shape}, not {shape}")
        if self.room.shape[0] != workers or np.any(np.diff(self.room, axis=1) < 0):
            raise ValueError("room needs a row for each worker, none of which falls")
        if self.load < 0 or np.any(self.late < 0) or np.any(self.hours < 0):
            raise ValueError("load, late and hours cannot be below nothing")

    @cached_property
    def alone(self) -> Points:
        """(J, W): what each pair costs, lateness included, when the worker does nothing else; NEVER if they cannot."""
        jobs, workers = self.cost.shape
        days = self.room.shape[1]
        made = np.full((jobs, workers), NEVER, dtype=np.int64)
        for who in np.flatnonzero(self.seats > 0).tolist():
            done = self.done_on(who, self.hours[:, who])
            able = self.allowed[:, who] & (done < days)
            tardy = self.late * np.maximum(0, done + self.away[:, who] - self.need)
            made[able, who] = (self.cost[:, who] + tardy)[able]
        return made

    @property
    def possible(self) -> Yes:
        """(J, W): who may do what, and has the hours for it."""
        return self.alone < NEVER

    def done_on(self, who: int, hours: Floats) -> Days:
        """The day on which a worker has worked so many hours; D for later than the last."""
        return np.searchsorted(self.room[who], hours - A_MOMENT, side="left")

    def part(self, jobs: Points, workers: Points) -> Problem:
        """The problem of some jobs and some workers alone."""
        both = np.ix_(jobs, workers)
        of_pairs = {name: getattr(self, name)[both] for name in ("cost", "allowed", "hours", "away")}
        of_jobs = {name: getattr(self, name)[jobs] for name in ("left", "need", "late")}
        of_workers = {name: getattr(self, name)[workers] for name in ("room", "seats", "held")}
        return Problem(**of_pairs, **of_jobs, **of_workers, load=self.load)


@dataclass(frozen=True)
class Plan:
    """Who does each job, `worker` (J,) with LEFT for nobody; what that costs; and what nothing can cost less than."""

    worker: Points
    total: int
    bound: int

    @property
    def gap(self) -> int:
        """By how many points at most another plan could be better."""
        return self.total - self.bound

    @property
    def is_optimal(self) -> bool:
        """Whether nothing better exists, proved."""
        return self.gap <= 0


@dataclass(frozen=True)
class Turns:
    """The jobs of one worker in the order that costs least, the day each is done on, and what all of it costs."""

    jobs: tuple[int, ...]
    done: tuple[int, ...]
    cost: int


def turns(problem: Problem, who: int, jobs: Sequence[int]) -> Turns | None:
    """In which order a worker does these jobs best; None when they cannot do them all.

    The best way to do some jobs ends with one of them, and the best way to do the others: so the sets are gone through
    from small to large (Held and Karp's scheme). What costs alike is done in the order given.
    """
    if len(jobs) > problem.seats[who] or not all(problem.allowed[job, who] for job in jobs):
        return None
    days = problem.room.shape[1]
    if not np.any(problem.late[list(jobs)]):
        worked = np.cumsum(problem.hours[list(jobs), who])
        done = tuple(int(day) for day in problem.done_on(who, worked))
        return Turns(tuple(jobs), done, _pairs(problem, who, jobs)) if days not in done else None
    best: dict[tuple[int, ...], tuple[int, tuple[int, ...], tuple[int, ...]]] = {(): (0, (), ())}
    for size in range(1, len(jobs) + 1):
        for group in combinations(jobs, size):
            day = int(problem.done_on(who, problem.hours[list(group), who].sum(keepdims=True))[0])
            ways = []
            for last in reversed(group):
                before = best.get(tuple(job for job in group if job != last))
                if before is not None and day < days:
                    tardy = int(problem.late[last]) * max(0, day + int(problem.away[last, who] - problem.need[last]))
                    ways.append((before[0] + tardy, (*before[1], last), (*before[2], day)))
            if ways:
                best[group] = min(ways, key=lambda way: way[0])
    found = best.get(tuple(jobs))
    return Turns(found[1], found[2], found[0] + _pairs(problem, who, jobs)) if found else None


def _pairs(problem: Problem, who: int, jobs: Sequence[int]) -> int:
    taken = len(jobs)
    seats = problem.load * (int(problem.held[who]) * taken + taken * (taken - 1) // 2)
    return int(problem.cost[list(jobs), who].sum()) + seats


def total_cost(problem: Problem, worker: Points) -> int | None:
    """What a plan costs in points; None when it asks of somebody what they cannot do."""
    total = int(problem.left[worker == LEFT].sum())
    for who in np.unique(worker[worker != LEFT]).tolist():
        done = turns(problem, who, np.flatnonzero(worker == who).tolist())
        if done is None:
            return None
        total += done.cost
    return total
