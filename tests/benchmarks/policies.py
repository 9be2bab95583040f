# ruff: noqa: T201 - a script prints
"""When to start the next socket: policies compared on children who were really followed.

    HANDSPAN_CHECK_DATA=... OPENBLAS_NUM_THREADS=1 python -m tests.benchmarks.policies [PLOT.svg [HURTS]]

Each child of the longitudinal study wears sockets in turn, limited by a girth (the calf's growth from 8, relabelled) or
by a length (stature's from 2). The growth is real; tape errors, lead times and the sockets' rooms are added. A socket
is made to a reading on the day it is started, with the same room under every policy. Whatever the policy, a child whose
limb is HURTS over the size at which the socket is tight is noticed, and the next one is started then: to wait is to
rely on that alone. A day is tight if the limb is as large as the tight-at of the socket worn.

The model's numbers were fitted to these children; `cross_validate.py` shows what that flatters.
"""

from __future__ import annotations

import csv
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from pathlib import Path
from zlib import crc32

import numpy as np
from numpy.typing import NDArray

from service.anthropometry import Dimension, Sex
from service.growth.acting import plan
from service.growth.lead import Lead
from service.growth.model.case import Case, Channel, Limit, Reading
from service.growth.model.passages import passages
from service.growth.model.priors import PRIORS
from tests.benchmarks.cases import data_folder
from tests.benchmarks.policies_plot import drawn

Floats = NDArray[np.float64]
BORN = date(2000, 1, 1)
YEAR = 365.25
ROOM = 0.08  # of the limb's size: what a socket starts with, to be taken up by socks
HURTS = 0.01  # unless given: of the limb's size beyond tight-at: about 2 mm of girth
LEAD = Lead.of(28, 9)
ROUTINE_DAYS = 182  # common practice: a growing limb is measured twice a year
COHORTS: dict[str, tuple[str, float, Dimension, float]] = {
    "girth": ("leg.circ", 6.0, Dimension.RESIDUAL_LIMB_GIRTH, 8.0),
    "length": ("height", 1.1, Dimension.HAND_LENGTH, 2.0),
}
CORES = 2


@dataclass(frozen=True)
class Child:
    """A child: `log_size` day by day, the first of them `first_day` days after birth."""

    name: str
    sex: Sex
    channel: Channel
    first_day: int
    log_size: Floats

    @property
    def tape(self) -> float:
        """The relative error of a tape reading."""
        return next(f.members[d].tape for f in PRIORS.families if (d := self.channel.dimension) in f.members)

    def first(self, since: int, least: float) -> int:
        """The first day from `since` on which the log size is at least so much; the day after the last if never."""
        there = self.log_size[since:] >= least
        return since + int(there.argmax()) if there.any() else len(self.log_size)


@dataclass
class Worn:
    """The socket in place: the day it was fitted, the log size at which it is tight, and the readings so far."""

    fitted: int
    tight_at: float
    readings: list[tuple[int, float]]


@dataclass
class Tally:
    """What became of one child."""

    years: float
    tight_days: int = 0
    sockets: int = 0
    readings: int = 0


Policy = Callable[[Child, Worn, Callable[[int], float]], int]
"""The day on which the next socket would be started if nothing hurt before; may take readings of the days till then."""


def never(_child: Child, _worn: Worn, _read: Callable[[int], float]) -> int:
    """Wait until it hurts."""
    return sys.maxsize


def yearly(_child: Child, worn: Worn, _read: Callable[[int], float]) -> int:
    """So that the next one comes twelve months after this one."""
    return worn.fitted + round(YEAR - LEAD.median)


def by_age(child: Child, worn: Worn, _read: Callable[[int], float]) -> int:
    """Yearly to five, every two years to twelve, then every forty-two months."""
    age = (child.first_day + worn.fitted) / YEAR
    years = 1.0 if age < 5 else 2.0 if age < 12 else 3.5
    return worn.fitted + round(years * YEAR - LEAD.median)


def foreseen(child: Child, worn: Worn, read: Callable[[int], float], *, risk: float, asking: bool) -> int:
    """By the forecast, made again after each reading: twice a year, and (`asking`) when one would help most."""
    today = worn.fitted
    while True:
        limit = Limit(child.channel, float(np.exp(worn.tight_at)))
        taken = tuple(
            Reading(_date(child, day), child.channel, float(np.exp(x)), "tape")
            for day, x in worn.readings
            if day <= today
        )
        paths = passages(Case(BORN, child.sex, _date(child, today), taken, _date(child, worn.fitted), (limit,)))
        assert paths is not None
        found = plan(paths, LEAD, risk)
        start = sys.maxsize if found.start_by is None else today + max(0, found.start_by)
        due = today + ROUTINE_DAYS
        if asking and found.reading is not None:
            due = min(due, today + max(1, found.reading.day))
        if start <= due or due >= len(child.log_size):
            return start
        today = due
        worn.readings.append((today, read(today)))


def _date(child: Child, day: int) -> date:
    return BORN + timedelta(days=child.first_day + day)


def lived(child: Child, policy: Policy, hurts: float = HURTS) -> Tally:
    """A childhood under a policy. Errors and lead times are the child's own, so policies meet the same luck."""
    generator = np.random.default_rng(crc32(f"{child.name} {child.channel.dimension}".encode()))
    end = len(child.log_size)
    errors = child.tape * generator.standard_normal(end)
    leads = [LEAD.quantile(p) for p in generator.uniform(0.001, 0.999, 200)]
    tally = Tally(end / YEAR)

    def read(day: int) -> float:
        tally.readings += 1
        return float(child.log_size[day] + errors[day])

    first = float(child.log_size[0] + errors[0])
    worn = Worn(0, first + np.log1p(ROOM), [(0, first)])
    while worn.fitted < end:
        start = min(policy(child, worn, read), child.first(worn.fitted, worn.tight_at + hurts))
        if start >= end:
            tally.tight_days += int((child.log_size[worn.fitted :] >= worn.tight_at).sum())
            break
        readings = [(day, x) for day, x in worn.readings if day < start]
        made_to = read(start)
        arrives = min(end, start + max(1, round(leads[tally.sockets])))
        tally.tight_days += int((child.log_size[worn.fitted : arrives] >= worn.tight_at).sum())
        tally.sockets += 1
        worn = Worn(arrives, made_to + np.log1p(ROOM), [*readings, (start, made_to)])
    return tally


def children(cohort: str) -> Iterator[Child]:
    """The children of the study, as one of the cohorts."""
    column, scale, dimension, from_age = COHORTS[cohort]
    with (data_folder() / "growth" / "longitudinal_dev.csv").open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if row[column] not in {"", "NA"} and row["age"] not in {"", "NA"}]
    for name in sorted({row["id"] for row in rows}):
        own = [row for row in rows if row["id"] == name and float(row["age"]) >= from_age]
        days = YEAR * np.array([float(row["age"]) for row in own])
        sizes = np.log([scale * float(row[column]) for row in own])
        every = np.arange(int(days[0]), int(days[-1]))
        sex: Sex = "female" if own[0]["sex"] == "F" else "male"
        yield Child(name, sex, Channel(dimension), int(days[0]), np.interp(every, days, sizes))


POLICIES: dict[str, Policy] = {
    "wait until it hurts": never,
    "every twelve months": yearly,
    "a rule by age": by_age,
    "this, risk 20 %": partial(foreseen, risk=0.2, asking=True),
    "this, risk 10 %": partial(foreseen, risk=0.1, asking=True),
    "this, risk 5 %": partial(foreseen, risk=0.05, asking=True),
    "this, 10 %, half-yearly readings only": partial(foreseen, risk=0.1, asking=False),
}


def outcome(cohort: str, policy: str, hurts: float) -> list[Tally]:
    """Every child of a cohort under a policy."""
    return [lived(child, POLICIES[policy], hurts) for child in children(cohort)]


def rate(tallies: list[Tally], what: str) -> tuple[float, float]:
    """Events a child-year, and half the width of its 95 per cent interval: children, not days, are independent."""
    years = np.array([tally.years for tally in tallies])
    events = np.array([getattr(tally, what) for tally in tallies])
    each = events.sum() / years.sum()
    error = np.sqrt(((events - each * years) ** 2).sum()) / years.sum()
    return float(each), float(1.96 * error)


def main(plot: str | None, hurts: float) -> None:
    points: dict[str, dict[str, tuple[float, float]]] = {}
    with ProcessPoolExecutor(CORES) as pool:
        asked = {
            (cohort, policy): pool.submit(outcome, cohort, policy, hurts) for cohort in COHORTS for policy in POLICIES
        }
        for cohort in COHORTS:
            many = sum(tally.years for tally in asked[cohort, "wait until it hurts"].result())
            print(f"\n{cohort}: {many:.0f} child-years      tight days      sockets     readings   (a child-year)")
            points[cohort] = {}
            for policy in POLICIES:
                tallies = asked[cohort, policy].result()
                tight, sockets, readings = (rate(tallies, what) for what in ("tight_days", "sockets", "readings"))
                print(
                    f"{policy:38}{tight[0]:6.1f} ±{tight[1]:4.1f}{sockets[0]:8.2f} ±{sockets[1]:.2f}{readings[0]:10.1f}"
                )
                points[cohort][policy] = (sockets[0], tight[0])
    if plot:
        Path(plot).write_text(drawn(points))


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else None, float(sys.argv[2]) if len(sys.argv) > 2 else HURTS)
