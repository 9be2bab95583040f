"""Why somebody can or cannot make something: a list of reasons, each a sentence with its figures. Pure."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from service.kit.days import full_day
from service.matching.facts import (
    DAYS_AHEAD,
    Job,
    Volunteer,
    days_on_the_way,
    delivers,
    first_day,
    hours_of,
    km_between,
    rounded_km,
)
from service.matching.printing import printing
from service.matching.verdicts import Reason, Topic, Verdict, bars, fits, notes
from service.volunteers.rules import Skill


def reasons(volunteer: Volunteer, job: Job, today: date) -> list[Reason]:
    """Everything that speaks for and against, in the order in which it is looked at; nothing is left out in silence."""
    return [
        _site(volunteer, job, today),
        *printing(volunteer, job),
        *_training(volunteer, job),
        *_time(volunteer, job, today),
        _vetting(volunteer, job, today),
        _distance(volunteer, job, today),
        *_asked(volunteer, job),
        *_check(volunteer),
    ]


def is_eligible(found: list[Reason]) -> bool:
    """Whether nothing stands in the way."""
    return all(reason.verdict is not Verdict.IN_THE_WAY for reason in found)


def _site(volunteer: Volunteer, job: Job, today: date) -> Reason:
    if volunteer.left_on is not None and volunteer.left_on <= today:
        return bars(Topic.SITE, f"They left on {full_day(volunteer.left_on)}.", "Ask whether they are back.")
    if volunteer.site != job.site:
        said = f"They belong to {volunteer.site}, and the request to {job.site}."
        return bars(Topic.SITE, said, "A coordinator of both sites can move the volunteer or the case.")
    return fits(Topic.SITE, f"They belong to {volunteer.site}, as the request does.")


def _training(volunteer: Volunteer, job: Job) -> Iterator[Reason]:
    for skill in sorted(job.needs):
        if skill in volunteer.skills:
            yield fits(Topic.TRAINING, f"They are trained: {skill.label}.")
        else:
            said = f"It takes somebody trained to {_TO[skill]}, and no such training of theirs is on record."
            yield bars(Topic.TRAINING, said, "Train them, or record the training they had.")


_TO = {
    Skill.PRINT: "print",
    Skill.ASSEMBLE: "assemble",
    Skill.ELECTRONICS: "work on electronics",
    Skill.MEASURE: "measure",
    Skill.FIT: "fit",
    Skill.BENCH_CHECK: "check on the bench",
}


def _time(volunteer: Volunteer, job: Job, today: date) -> Iterator[Reason]:
    away = [each for each in volunteer.absences if each[1] >= today and each[0] <= max(job.needed_by, today)]
    for since, until in away:
        now = "are" if since <= today else "will be"
        yield notes(Topic.ABSENCE, f"They {now} away from {full_day(since)} to {full_day(until)}.")
    if volunteer.in_hand >= volunteer.jobs_at_once:
        said = f"They have {volunteer.in_hand} in hand and take {volunteer.jobs_at_once} at once."
        yield bars(Topic.JOBS, said, "They can be asked when one of those is handed over.")
    else:
        yield fits(Topic.JOBS, f"They take {volunteer.jobs_at_once} at once and have {volunteer.in_hand} in hand.")
    hours = hours_of(volunteer, job)
    done = first_day(volunteer, today, hours)
    takes = f"It takes them about {hours:.1f} hours at {volunteer.hours_a_week:g} a week"
    if done is None:
        said = f"{takes}, and within {DAYS_AHEAD} days they have not as many free."
        yield bars(Topic.HOURS, said, "More hours a week would do, or fewer days away.")
        return
    there = date.fromordinal(done.toordinal() + days_on_the_way(volunteer, job, today))
    late = (there - job.needed_by).days
    if late <= 0:
        yield fits(
            Topic.HOURS, f"{takes}: it can be there by {full_day(there)}, in time for {full_day(job.needed_by)}."
        )
    else:
        days = f"{late} day{'s' if late > 1 else ''}"
        yield notes(Topic.HOURS, f"{takes}: it can be there by {full_day(there)}, {days} after it is needed.")


def _vetting(volunteer: Volunteer, job: Job, today: date) -> Reason:
    until = volunteer.vetted_until
    if until is not None and until >= today:
        return fits(
            Topic.VETTING, f"Their vetting for home visits is up to date; its review is due by {full_day(until)}."
        )
    said = "No vetting for home visits is on record"
    if until is not None:
        said = f"The review of their vetting was due by {full_day(until)} by the charity's policy"
    if job.visit:
        return bars(Topic.VETTING, f"{said}, and this takes a visit.", "Have it reviewed, or let somebody else visit.")
    return notes(Topic.VETTING, f"{said}, so they would post it and are not shown where it goes.")


def _distance(volunteer: Volunteer, job: Job, today: date) -> Reason:
    km = km_between(volunteer, job)
    if km is None:
        return notes(Topic.DISTANCE, "How far away they are is not known: a town is missing.")
    said = f"They are about {rounded_km(km)} km away"
    if delivers(volunteer, job, today):
        return fits(Topic.DISTANCE, f"{said} and travel up to {volunteer.travels_km:g}: they would bring it.")
    if job.visit and km > volunteer.travels_km:
        return bars(
            Topic.DISTANCE,
            f"{said}, and this takes a visit; they travel up to {volunteer.travels_km:g}.",
            "Meet at a clinic, or ask whether they would travel for once.",
        )
    return notes(Topic.DISTANCE, f"{said}; it would go by post.")


def _asked(volunteer: Volunteer, job: Job) -> Iterator[Reason]:
    if volunteer.id in job.declined:
        yield bars(
            Topic.ANSWER, "They were asked for this and did not take it.", "Ring them if it is still worth asking."
        )
    if job.standing == volunteer.id:
        yield notes(Topic.ANSWER, "They are being asked and have not answered yet.")
    if volunteer.id in job.used_to:
        yield notes(Topic.ANSWER, "The family knows them: they made something for it before.")


def _check(volunteer: Volunteer) -> Iterator[Reason]:
    if Skill.BENCH_CHECK in volunteer.skills:
        yield notes(Topic.CHECK, "If they make it, somebody else has to sign its check on the bench.")
