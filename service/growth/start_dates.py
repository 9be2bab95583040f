"""By when to start the next socket and to measure again: the question, and its answer from the question alone."""

from __future__ import annotations

from datetime import date, timedelta
from math import ceil
from typing import Annotated, Any, NamedTuple, Self

from pydantic import ConfigDict, Field, model_validator

from service.anthropometry import CATALOGUE
from service.growth.acting import Plan, plan
from service.growth.lead import Lead, learned
from service.growth.model.passages import Passages, passages
from service.growth.schemas import ForecastCase
from service.growth.stateless import to_case
from service.kit.days import full_day
from service.kit.schema import Command, View

USUAL_LEAD_DAYS = 28

Days = Annotated[float, Field(ge=1, le=365, strict=True)]
WaitedDays = Annotated[float, Field(gt=0, le=3650, strict=True)]
Risk = Annotated[
    float,
    Field(ge=0.01, le=0.5, strict=True, description="The chance, 0.01 to 0.5, of a tight socket before the next one."),
]


class ObservedLead(Command):
    """A past request: the days from asked to handed over, or waited so far if `censored`."""

    days: WaitedDays
    censored: bool = False


class LeadIn(Command):
    """How long making and delivering takes: the median in `days`, and the standard deviation (`spread`, days).

    Past requests (`observed`) take their place once ten have been handed over.
    """

    days: Days = USUAL_LEAD_DAYS
    spread: Annotated[float | None, Field(default=None, ge=0, le=365, strict=True)] = None
    observed: list[ObservedLead] = Field(default=[], max_length=10_000)

    @model_validator(mode="after")
    def _is_a_spread(self) -> Self:
        if self.spread is not None and self.spread > 2 * self.days:
            raise ValueError(f"A spread of {self.spread:g} days is over twice the median of {self.days:g}: check both")
        return self


_EXAMPLE: Any = {
    "case": {
        "case_id": "A-17",
        "birth_date": "2016-04-02",
        "sex": "female",
        "as_of": "2026-03-12",
        "readings": [
            {"on": "2025-09-01", "dimension": "residual_limb_girth", "level_mm": 60, "value_mm": 171.5},
            {"on": "2026-03-02", "dimension": "residual_limb_girth", "level_mm": 60, "value_mm": 174.0},
        ],
        "device": {"limits": [{"dimension": "residual_limb_girth", "level_mm": 60, "tight_at_mm": 189.0}]},
    },
    "lead": {"days": 28, "spread": 9},
    "risk": 0.1,
}


class AskStartDate(Command):
    """A case as a forecast takes it, how long making takes, and the chance of a tight socket that is accepted."""

    model_config = ConfigDict(json_schema_extra={"examples": [_EXAMPLE]})

    case: ForecastCase
    lead: LeadIn = LeadIn()
    risk: Risk = 0.1


class LeadView(View):
    """The lead time reckoned with, in whole days: 1 in 10 arrive within `p10`, half within `p50`, 9 in 10 by `p90`.

    `learned_from` counts the requests it was learned from, 0 when it is the one given.
    """

    p10: int
    p50: int
    p90: int
    learned_from: int


class StartDate(View):
    """When to act.

    `start_by` is the last day to start at the accepted risk: one before `as_of` means that it is late, null that it is
    not within three years. `measure_by` is the day on which another tape reading would help that decision most, null
    if none would help much; `cut` is the share of the expected loss from starting too late or too early that it takes
    away. `why` says it in sentences.
    """

    case_id: str
    start_by: date | None
    measure_by: date | None
    cut: float | None
    lead: LeadView
    why: str


class Acting(NamedTuple):
    """When to act on a socket: dates, and a sentence each; see `StartDate`."""

    start_by: date | None
    start_why: str
    measure_by: date | None
    measure_why: str
    cut: float | None


def start_date(asked: AskStartDate) -> StartDate:
    """When to start and to measure: the same answer to the same question, every time."""
    lead = lead_of(asked.lead)
    found = acting(asked.case, lead, asked.risk)
    return StartDate(
        case_id=asked.case.case_id,
        start_by=found.start_by,
        measure_by=found.measure_by,
        cut=found.cut,
        lead=lead_view(lead),
        why=f"{found.start_why} {found.measure_why}".strip(),
    )


def lead_of(given: LeadIn) -> Lead:
    """The lead time to reckon with: the past requests' if there are enough, else the one given."""
    observed = [(each.days, each.censored) for each in given.observed]
    return learned(observed, otherwise=Lead.of(given.days, given.spread))


def acting(case: ForecastCase, lead: Lead, risk: float) -> Acting:
    """When to start the next socket after that of a case, and when to measure before."""
    paths = passages(to_case(case))
    if paths is None:
        return Acting(
            None, "The size at which the socket is tight has not been entered, so there is no date.", None, "", None
        )
    found = plan(paths, lead, risk)
    return Acting(
        start_by=_day(case.as_of, found.start_by),
        start_why=_why_start(case.as_of, found, lead, risk),
        measure_by=_day(case.as_of, found.reading and found.reading.day),
        measure_why=_why_measure(case.as_of, found, paths),
        cut=round(found.cut, 2) if found.reading else None,
    )


def _day(as_of: date, days: int | None) -> date | None:
    return None if days is None else as_of + timedelta(days=days)


def _why_start(as_of: date, found: Plan, lead: Lead, risk: float) -> str:
    chance = f"{risk:.0%}"
    if found.start_by is None:
        return f"The chance that the socket is tight stays under {chance} for three years."
    low, high = round(lead.quantile(0.1)), ceil(lead.quantile(0.9))
    making = f"Making takes about {lead.median:.0f} days, 8 times in 10 between {low} and {high}"
    if found.start_by <= 0:
        return f"{making}, and the chance that the socket is tight before then is {chance} or more."
    on = full_day(as_of + timedelta(days=found.start_by))
    return f"{making}; started after {on}, the next one would come too late with a chance of over {chance}."


def _why_measure(as_of: date, found: Plan, paths: Passages) -> str:
    if found.reading is None:
        return ""
    label = CATALOGUE[paths.limit.channel.dimension].label
    on = "today" if found.reading.day == 0 else f"by {full_day(as_of + timedelta(days=found.reading.day))}"
    return f"A tape reading of the {label} {on} would {_cut(found.cut)} the uncertainty about when to start."


def _cut(share: float) -> str:
    """An expected cut in words."""
    return next(words for least, words in _CUTS if share >= least)


_CUTS = (
    (0.7, "take away about three quarters of"),
    (0.6, "take away well over half of"),
    (0.48, "halve"),
    (0.31, "take away about a third of"),
    (0.23, "take away about a quarter of"),
    (0.18, "take away about a fifth of"),
    (0.0, "take away about a sixth of"),
)


def lead_view(lead: Lead) -> LeadView:
    """A lead time in whole days."""
    p10, p50, p90 = (max(1, round(lead.quantile(p))) for p in (0.1, 0.5, 0.9))
    return LeadView(p10=p10, p50=p50, p90=p90, learned_from=lead.learned_from)
