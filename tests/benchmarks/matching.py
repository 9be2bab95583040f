# ruff: noqa: T201 - a script prints
"""What a plan is worth: in the order asked and to whoever is nearest, against the least plan, in invented worlds.

    python -m tests.benchmarks.matching [WORLDS]

The first worlds are the demo's three sites, made anew (half a minute); the others are drawn by number. Everything is
counted alike: days late in all and weighted by triage, kilometres travelled, colours to be bought, requests left over,
and how unevenly the work lies (the spread of jobs over those who have any room).
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Sequence
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
import sqlalchemy as sa

from service.access.actor import SYSTEM
from service.access.work import Work
from service.accounts.tables import SiteRow
from service.demo import build
from service.kit.db import Database
from service.kit.files import Files
from service.matching.costing import TRIAGE, Weights, problem_of
from service.matching.facts import Job, Piece, Printer, Spot, Volunteer, delivers, km_between
from service.matching.gathering import gather
from service.matching.model.greedy import in_turn
from service.matching.model.problem import LEFT, Points, Problem, turns
from service.matching.model.solve import least_plan
from service.matching.printing import needs_colour
from service.migrate import upgrade
from service.requests.rules import RequestKind
from service.settings import Settings
from service.volunteers.rules import Skill

TODAY = date(2026, 3, 2)
COLOURS = ("red", "blue", "black", "white", "green")
KINDS = (RequestKind.REPLACEMENT, RequestKind.NEXT_SOCKET, RequestKind.FIRST_DEVICE, RequestKind.ADJUSTMENT)


@dataclass(frozen=True)
class World:
    """Volunteers and jobs on a day, the jobs in the order in which they were asked for."""

    name: str
    today: date
    volunteers: tuple[Volunteer, ...]
    jobs: tuple[Job, ...]


@dataclass(frozen=True)
class Outcome:
    """What a way of giving out the work comes to."""

    late: int
    weighted: int
    kilometres: float
    bought: int
    left: int
    spread: float


def drawn(seed: int, jobs: int = 60, volunteers: int = 40) -> World:
    """A world in which people live in a dozen towns, most have a printer, and a third of the requests are pressing."""
    chance = np.random.default_rng(seed)
    towns = [Spot(51 + 2 * chance.random(), -2 + 3 * chance.random()) for _ in range(12)]
    return World(
        f"drawn {seed}",
        TODAY,
        tuple(_volunteer(chance, number, towns) for number in range(volunteers)),
        tuple(_job(chance, number, towns, volunteers) for number in range(jobs)),
    )


def _volunteer(chance: np.random.Generator, number: int, towns: list[Spot]) -> Volunteer:
    room = ((220.0, 220.0, 250.0), (180.0, 180.0, 180.0), (120.0, 120.0, 120.0))[chance.choice(3, p=[0.6, 0.3, 0.1])]
    materials = frozenset({"petg", "pla", "tpu 95a"} if chance.random() < 0.5 else {"petg", "pla"})
    away = int(chance.integers(0, 20))
    return Volunteer(
        id=number,
        name=f"Volunteer {number}",
        site="the harbour",
        home=towns[chance.integers(len(towns))],
        hours_a_week=float(chance.choice([2, 3, 4, 6, 8])),
        jobs_at_once=int(chance.integers(1, 4)),
        travels_km=float(chance.choice([0, 25, 60])),
        skills=frozenset(skill for skill in Skill if chance.random() < 0.7) | {Skill.PRINT},
        printers=(Printer(number, "printer", room, 0.4, materials),),
        stock=frozenset(("petg", colour) for colour in COLOURS if chance.random() < 0.35),
        absences=((TODAY, TODAY + timedelta(days=away)),) if chance.random() < 0.2 else (),
        vetted_until=TODAY + timedelta(days=200) if chance.random() < 0.6 else None,
        in_hand=0,
    )


def _job(chance: np.random.Generator, number: int, towns: list[Spot], volunteers: int) -> Job:
    kind = KINDS[chance.choice(4, p=[0.55, 0.3, 0.05, 0.1])]
    long = float(chance.uniform(40, 240) if kind is RequestKind.NEXT_SOCKET else chance.uniform(20, 110))
    colour = str(chance.choice(COLOURS)) if chance.random() < 0.5 else ""
    piece = Piece("part", (long, long / 2, long / 3), frozenset({"petg"}), 0.4, colour, long / 40)
    printed = kind in {RequestKind.REPLACEMENT, RequestKind.NEXT_SOCKET}
    needs = {RequestKind.FIRST_DEVICE: {Skill.PRINT, Skill.ASSEMBLE, Skill.FIT}, RequestKind.ADJUSTMENT: {Skill.FIT}}
    hands = {RequestKind.FIRST_DEVICE: 10.0, RequestKind.NEXT_SOCKET: 3.0, RequestKind.REPLACEMENT: 1.0}
    rank = int(chance.choice([1, 2, 3, 4], p=[0.05, 0.2, 0.25, 0.5]))
    return Job(
        id=number,
        title=f"Request {number}",
        site="the harbour",
        kind=kind,
        needed_by=TODAY + timedelta(days=int(chance.integers(3, 10 if rank < 3 else 35))),
        rank=rank,
        home=towns[chance.integers(len(towns))],
        pieces=(piece,) if printed else (),
        needs=frozenset(needs.get(kind, {Skill.PRINT})),
        hands_hours=hands.get(kind, 2.0),
        visit=kind in {RequestKind.FIRST_DEVICE, RequestKind.ADJUSTMENT},
        used_to=frozenset({int(chance.integers(volunteers))}) if chance.random() < 0.4 else frozenset(),
    )


def demo() -> list[World]:
    """The demo's sites, as its story leaves them today."""
    now = datetime.now(UTC)
    with tempfile.TemporaryDirectory() as folder:
        settings = Settings(data=Path(folder), database_url=None, files_url=None)
        upgrade(settings.database)
        with closing(Database(settings.database)) as database:
            build(database, lambda: now, Files(settings.files))
            with database.reading() as session:
                found = session.execute(sa.select(SiteRow.id).order_by(SiteRow.id)).all()
                gathered = [gather(Work(session, SYSTEM, now), row.id) for row in found]
    return [World(f"demo, {each.site}", now.date(), each.volunteers, each.jobs) for each in gathered]


def outcome(world: World, problem: Problem, worker: Points) -> Outcome:
    """What a plan comes to, each worker doing their jobs in the best order."""
    late = weighted = bought = 0
    kilometres = 0.0
    for who in np.unique(worker[worker != LEFT]).tolist():
        done = turns(problem, who, np.flatnonzero(worker == who).tolist())
        if done is None:
            raise ValueError("a plan that cannot be done")
        for at, day in zip(done.jobs, done.done, strict=True):
            volunteer, job = world.volunteers[who], world.jobs[at]
            days = max(0, day + int(problem.away[at, who] - problem.need[at]))
            late, weighted = late + days, weighted + days * TRIAGE[job.rank]
            bought += needs_colour(volunteer, job)
            if job.visit or delivers(volunteer, job, world.today):
                kilometres += km_between(volunteer, job) or 0.0
    taken = np.bincount(worker[worker != LEFT], minlength=len(world.volunteers))
    able = problem.possible.any(axis=0)
    spread = float(taken[able].std()) if able.any() else 0.0
    return Outcome(late, weighted, kilometres, bought, int((worker == LEFT).sum()), spread)


def ways(world: World) -> dict[str, Outcome]:
    """The same world given out in three ways; what is possible is the same in each."""
    problem = problem_of(world.volunteers, world.jobs, Weights(), world.today)
    far = np.array([[km_between(who, job) or 0.0 for who in world.volunteers] for job in world.jobs])
    far = far.reshape(problem.cost.shape)
    asked = range(len(world.jobs))
    first = np.broadcast_to(np.arange(len(world.volunteers)), problem.cost.shape)
    plan = least_plan(problem)
    named = {
        "first come": in_turn(problem, asked, first),
        "nearest": in_turn(problem, asked, far),
        "plan" if plan.is_optimal else f"plan (gap {plan.gap})": plan.worker,
    }
    return {name: outcome(world, problem, worker) for name, worker in named.items()}


def main(arguments: Sequence[str]) -> None:
    """Print a line for each world and way, and the means over the drawn ones."""
    worlds = [*demo(), *(drawn(seed) for seed in range(int(arguments[0]) if arguments else 10))]
    print(f"{'world':24}{'way':14}{'days late':>10}{'weighted':>10}{'km':>8}{'bought':>8}{'left':>6}{'spread':>8}")
    sums: dict[str, list[Outcome]] = {}
    for world in worlds:
        for way, found in ways(world).items():
            _line(world.name, way, found)
            if world.name.startswith("drawn"):
                sums.setdefault(way, []).append(found)
    for way, found_all in sums.items():
        _line(f"mean of {len(found_all)} drawn", way, _mean(found_all))


def _line(world: str, way: str, found: Outcome) -> None:
    amounts = f"{found.late:10.0f}{found.weighted:10.0f}{found.kilometres:8.0f}{found.bought:8.0f}{found.left:6.1f}"
    print(f"{world:24}{way:14}{amounts}{found.spread:8.2f}")


def _mean(found: list[Outcome]) -> Outcome:
    names = Outcome.__dataclass_fields__
    return Outcome(**{name: float(np.mean([getattr(each, name) for each in found])) for name in names})  # type: ignore[arg-type]


if __name__ == "__main__":
    main(sys.argv[1:])
