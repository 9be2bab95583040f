"""A plan in words: the least assignment of what was gathered, why each proposal, what the next best costs. Pure."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from service.kit.days import full_day
from service.matching.costing import Cost, Weights, cost_of, next_best, problem_of
from service.matching.facts import (
    Job,
    Volunteer,
    days_on_the_way,
    delivers,
    first_day,
    hours_of,
    km_between,
    rounded_km,
)
from service.matching.model.problem import LEFT, Points, Problem, turns
from service.matching.model.solve import LONGEST_SECONDS, least_plan
from service.matching.printing import needs_colour
from service.matching.reasons import is_eligible, reasons
from service.matching.schemas import (
    CandidateView,
    CostView,
    LeftView,
    PlanResult,
    ProposalView,
    ReasonView,
    SecondChoice,
)
from service.matching.verdicts import Reason, Verdict


@dataclass(frozen=True)
class Planned:
    """A plan in numbers, beside what it was made from."""

    volunteers: tuple[Volunteer, ...]
    jobs: tuple[Job, ...]
    problem: Problem
    worker: Points


def plan(
    volunteers: tuple[Volunteer, ...],
    jobs: tuple[Job, ...],
    weights: Weights,
    today: date,
    seconds: float = LONGEST_SECONDS,
) -> PlanResult:
    """The least plan for some jobs, each proposal with its reasons."""
    problem = problem_of(volunteers, jobs, weights, today)
    found = least_plan(problem, seconds)
    planned = Planned(volunteers, jobs, problem, found.worker)
    there = _there_by(planned, today)
    order = sorted(range(len(jobs)), key=lambda at: (jobs[at].rank, jobs[at].needed_by, jobs[at].id))
    return PlanResult(
        assignments=[_proposal(planned, at, weights, today, there) for at in order if found.worker[at] != LEFT],
        unassigned=[_left(volunteers, jobs[at], today) for at in order if found.worker[at] == LEFT],
        total_cost=found.total,
        optimal=found.is_optimal,
        gap=max(0, found.gap),
        volunteers=len(volunteers),
    )


def candidates(volunteers: tuple[Volunteer, ...], job: Job, weights: Weights, today: date) -> list[CandidateView]:
    """Everybody beside one job: who can take it first, the cheapest before the others, and why the rest cannot."""
    found = []
    for volunteer in volunteers:
        given = reasons(volunteer, job, today)
        km, cost = km_between(volunteer, job), cost_of(volunteer, job, weights, today)
        done = first_day(volunteer, today, hours_of(volunteer, job))
        found.append(
            CandidateView(
                volunteer=volunteer.id,
                name=volunteer.name,
                eligible=is_eligible(given),
                reasons=[_reason(each) for each in given],
                cost=_cost(cost) if cost is not None else None,
                km=rounded_km(km) if km is not None else None,
                there_by=done and done + timedelta(days=days_on_the_way(volunteer, job, today)),
            )
        )
    return sorted(found, key=lambda each: (not each.eligible, each.cost.total if each.cost else 0, each.name))


def days_late(result: PlanResult) -> int:
    """Days late in all that a plan proposes."""
    return sum(max(0, (each.there_by - each.needed_by).days) for each in result.assignments)


def kilometres(volunteers: tuple[Volunteer, ...], jobs: tuple[Job, ...], result: PlanResult) -> int:
    """Kilometres travelled in all, there and not back."""
    known, wanted = {each.id: each for each in volunteers}, {each.id: each for each in jobs}
    brought = [(known[each.volunteer], wanted[each.request]) for each in result.assignments if each.delivers]
    return round(sum(km_between(*pair) or 0.0 for pair in brought))


def _there_by(planned: Planned, today: date) -> dict[int, date]:
    """When each job is there, after those that its volunteer does before it."""
    found = {}
    for who in np.unique(planned.worker[planned.worker != LEFT]).tolist():
        done = turns(planned.problem, who, np.flatnonzero(planned.worker == who).tolist())
        if done is not None:
            for job, day in zip(done.jobs, done.done, strict=True):
                found[job] = today + timedelta(days=day + int(planned.problem.away[job, who]))
    return found


def _proposal(planned: Planned, at: int, weights: Weights, today: date, there: dict[int, date]) -> ProposalView:
    job, who = planned.jobs[at], int(planned.worker[at])
    volunteer = planned.volunteers[who]
    second = _second(planned, at, today)
    alone = cost_of(volunteer, job, weights, today)
    if alone is None:
        raise ValueError("a plan gives nobody what they have no hours for")
    late = max(0, (there[at] - job.needed_by).days) * int(planned.problem.late[at])
    cost = Cost(late, alone.distance, alone.colour, alone.change, alone.load)
    return ProposalView(
        request=job.id,
        title=job.title,
        volunteer=volunteer.id,
        name=volunteer.name,
        because=because(volunteer, job, there[at], today),
        why=f"{because(volunteer, job, there[at], today)} {_second_sentence(second)}",
        cost=_cost(cost),
        there_by=there[at],
        needed_by=job.needed_by,
        hours=round(hours_of(volunteer, job), 2),
        delivers=job.visit or delivers(volunteer, job, today),
        rank=job.rank,
        second=second,
        is_standing=job.standing == volunteer.id,
    )


def because(volunteer: Volunteer, job: Job, there: date, today: date) -> str:
    """Why somebody is asked, in a sentence that they may read too."""
    late = (there - job.needed_by).days
    when = "in time" if late <= 0 else f"{_days(late)} late"
    said = [f"{volunteer.name} can have it there by {full_day(there)}, {when}"]
    km = km_between(volunteer, job)
    if km is not None:
        how = "bringing it" if job.visit or delivers(volunteer, job, today) else "by post"
        said.append(f"{how} from about {rounded_km(km)} km away")
    if any(piece.colour for piece in job.pieces):
        said.append("buying the colour" if needs_colour(volunteer, job) else "with the colour on hand")
    if volunteer.id in job.used_to:
        said.append("and the family knows them")
    return f"{', '.join(said)}."


def _second_sentence(second: SecondChoice | None) -> str:
    if second is None:
        return "Nobody else could take it as things stand."
    if second.dearer <= 0:
        return f"With the rest of the plan as it is, {second.name} would do as well: {second.why}."
    held = "with the rest of the plan as it is"
    return f"The next best, {held}, would be {second.name}, {second.dearer} points dearer: {second.why}."


def _second(planned: Planned, at: int, today: date) -> SecondChoice | None:
    """Who would be cheapest instead, were the rest of the plan left as it is."""
    best = next_best(planned.problem, planned.worker, at)
    if best is None:
        return None
    who, dearer = best
    other, job = planned.volunteers[who], planned.jobs[at]
    done = turns(planned.problem, who, [*np.flatnonzero(planned.worker == who).tolist(), at])
    if done is None:
        raise ValueError("who takes a job next best can do it beside the others")
    day = done.done[done.jobs.index(at)]
    there = today + timedelta(days=day + int(planned.problem.away[at, who]))
    km = km_between(other, job)
    said = [f"there by {full_day(there)}"]
    if km is not None:
        said.append(f"about {rounded_km(km)} km away")
    if needs_colour(other, job):
        said.append("with the colour to be bought")
    return SecondChoice(volunteer=other.id, name=other.name, dearer=dearer, why=", ".join(said))


def _left(volunteers: tuple[Volunteer, ...], job: Job, today: date) -> LeftView:
    """What stands in the way, the commonest first; that somebody could, but for what the plan gives them, if so."""
    in_the_way: Counter[str] = Counter()
    able = 0
    for volunteer in volunteers:
        found = [each for each in reasons(volunteer, job, today) if each.verdict is Verdict.IN_THE_WAY]
        able += not found
        in_the_way.update({each.topic.value for each in found})
    said = []
    if not volunteers:
        said.append("The site has no volunteers yet: add the first.")
    if able:
        could = f"{able} could take it" if able < len(volunteers) or able == 1 else f"All {able} could take it"
        said.append(f"{could}, but their time goes to what is more pressing.")
    of = len(volunteers)
    said += [f"{_IN_THE_WAY[topic]}: {count} of {of}." for topic, count in in_the_way.most_common()]
    return LeftView(request=job.id, title=job.title, needed_by=job.needed_by, reasons=said)


_IN_THE_WAY = {
    "site": "Left, or of another site",
    "printer": "No printer that takes it",
    "material": "No printer for its material",
    "nozzle": "Nozzle too wide",
    "training": "Not trained for it",
    "hours": "Too few hours free",
    "jobs": "Enough in hand already",
    "vetting": "Vetting not up to date, and it takes a visit",
    "distance": "Too far for a visit",
    "answer": "Asked before and did not take it",
}


def _days(count: int) -> str:
    return "a day" if count == 1 else f"{count} days"


def _cost(cost: Cost) -> CostView:
    return CostView(
        total=cost.total,
        late=cost.late,
        distance=cost.distance,
        colour=cost.colour,
        change=cost.change,
        load=cost.load,
    )


def _reason(given: Reason) -> ReasonView:
    return ReasonView(topic=given.topic, verdict=given.verdict, words=given.words, remedy=given.remedy)
