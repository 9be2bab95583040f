"""Days, kilometres and colours as points, and so a problem for `model/`. Pure.

Ten points are one day late for what can wait longest; a day counts twice as much with each step up in triage.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Final

import numpy as np

from service.matching.facts import (
    DAYS_AHEAD,
    Job,
    Volunteer,
    days_on_the_way,
    delivers,
    first_day,
    hours_of,
    km_between,
)
from service.matching.model.problem import Points, Problem, turns
from service.matching.printing import needs_colour
from service.matching.reasons import is_eligible, reasons

LEFT_DAYS = 90
"""Leaving a job over counts as being so many days late, so that somebody is found wherever somebody can be."""

TRIAGE: Final[Mapping[int, int]] = MappingProxyType({1: 8, 2: 4, 3: 2, 4: 1})
"""By how much a day late counts more, by rank."""


@dataclass(frozen=True)
class Weights:
    """Points: for a day late, for ten kilometres travelled, for a parcel, for a colour to be bought, for another person
    than the family is used to, for each further job of one person, and for asking another than is being asked.
    """

    late: int = 10
    distance: int = 4
    post: int = 15
    colour: int = 15
    change: int = 20
    load: int = 10
    moved: int = 25


@dataclass(frozen=True)
class Cost:
    """What a pair costs in points, and by what; `late` is as if it were the volunteer's only job."""

    late: int
    distance: int
    colour: int
    change: int
    load: int

    @property
    def total(self) -> int:
        """All of it."""
        return self.late + self.distance + self.colour + self.change + self.load


def cost_of(volunteer: Volunteer, job: Job, weights: Weights, today: date) -> Cost | None:
    """What giving a job to a volunteer costs; None when they have not the hours for it."""
    done = first_day(volunteer, today, hours_of(volunteer, job))
    if done is None:
        return None
    days = (done - today).days + days_on_the_way(volunteer, job, today) - (job.needed_by - today).days
    return Cost(
        late=_a_day(job, weights) * max(0, days),
        distance=_distance(volunteer, job, weights, today),
        colour=weights.colour if needs_colour(volunteer, job) else 0,
        change=_change(volunteer, job, weights),
        load=weights.load * volunteer.in_hand,
    )


def problem_of(volunteers: Sequence[Volunteer], jobs: Sequence[Job], weights: Weights, today: date) -> Problem:
    """The problem in numbers; job j and volunteer w in the order given."""
    shape = (len(jobs), len(volunteers))
    cost, away = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
    hours, allowed = np.zeros(shape), np.zeros(shape, dtype=bool)
    for j, job in enumerate(jobs):
        for w, volunteer in enumerate(volunteers):
            allowed[j, w] = is_eligible(reasons(volunteer, job, today))
            if allowed[j, w]:
                hours[j, w] = hours_of(volunteer, job)
                away[j, w] = days_on_the_way(volunteer, job, today)
                cost[j, w] = (
                    _distance(volunteer, job, weights, today)
                    + (weights.colour if needs_colour(volunteer, job) else 0)
                    + _change(volunteer, job, weights)
                )
    a_day = np.array([_a_day(job, weights) for job in jobs], dtype=np.int64)
    # Even when lateness weighs nothing, somebody is better than nobody.
    dearest = int(cost.max(initial=0)) + weights.load * (sum(each.jobs_at_once for each in volunteers) + 1)
    return Problem(
        cost=cost,
        allowed=allowed,
        left=a_day * LEFT_DAYS + dearest + 1,
        hours=hours,
        away=away,
        need=np.array([(job.needed_by - today).days for job in jobs], dtype=np.int64),
        late=a_day,
        room=np.array([each.free_hours(today, DAYS_AHEAD) for each in volunteers]).reshape(-1, DAYS_AHEAD),
        seats=np.array([max(0, each.jobs_at_once - each.in_hand) for each in volunteers], dtype=np.int64),
        held=np.array([each.in_hand for each in volunteers], dtype=np.int64),
        load=weights.load,
    )


def next_best(problem: Problem, worker: Points, job: int) -> tuple[int, int] | None:
    """Who else would take a job for least while the rest of a plan stays, and how much dearer that is; None for nobody.

    `worker` (J,) is the plan, in which somebody does the job.
    """
    now = int(worker[job])
    saved = _does(problem, now, worker, without=job, beside=None, since=None)
    if saved is None:
        return None
    best: tuple[int, int] | None = None
    for who in np.argsort(problem.alone[job], kind="stable").tolist():
        at_least = int(problem.alone[job, who]) + problem.load * int(problem.held[who]) + saved
        if not problem.possible[job, who] or (best is not None and at_least >= best[1]):
            break  # nobody from here on costs less
        if who == now:
            continue
        added = _does(problem, who, worker, without=None, beside=job, since=saved)
        if added is not None and (best is None or added < best[1]):
            best = (who, added)
    return best


def _does(
    problem: Problem, who: int, worker: Points, *, without: int | None, beside: int | None, since: int | None
) -> int | None:
    """By how much what somebody does grows dearer without one job or beside another, on top of `since`."""
    jobs = np.flatnonzero(worker == who).tolist()
    before = turns(problem, who, jobs)
    after = turns(problem, who, [*(each for each in jobs if each != without), *([] if beside is None else [beside])])
    if before is None or after is None:
        return None
    return after.cost - before.cost + (since or 0)


def _a_day(job: Job, weights: Weights) -> int:
    return weights.late * TRIAGE[job.rank]


def _distance(volunteer: Volunteer, job: Job, weights: Weights, today: date) -> int:
    km = km_between(volunteer, job)
    if km is None or not (job.visit or delivers(volunteer, job, today)):
        return weights.post
    return round(weights.distance * km / 10)


def _change(volunteer: Volunteer, job: Job, weights: Weights) -> int:
    change = weights.change if job.used_to and volunteer.id not in job.used_to else 0
    return change + (weights.moved if job.standing not in {None, volunteer.id} else 0)
