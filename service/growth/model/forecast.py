"""From a case to its forecast: build the prior, weigh the evidence, draw paths, read the dates off them."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from service.anthropometry import Dimension
from service.growth.model.case import Case, Channel, CurvePoint, Forecast, Limit, SockSize
from service.growth.model.evidence import DAYS_IN_YEAR, Evidence, gather, is_girth, size_and_day
from service.growth.model.passage import first_passage, quantile, share_by
from service.growth.model.posterior import PATHS, draw, weigh
from service.growth.model.priors import PRIORS, Priors
from service.growth.model.process import Floats, Points, build
from service.kit.days import full_day

MODEL = "handspan-growth 1.3"
HORIZON_MONTHS = 36
WITHIN_DAYS = (30, 90, 180, 365)
QUANTILES = (0.1, 0.5, 0.9)
MOST_PAST_POINTS = 36
AHEAD = np.arange(HORIZON_MONTHS + 1) / 12.0


@dataclass(frozen=True, slots=True)
class Futures:
    """The paths of one limited size: PATHS x times of log size, from the first reading on; `ahead` starts today.

    `from_socks` are the sock reports that counted as readings of it.
    """

    channel: Channel
    years_from_today: Floats
    paths: Floats
    from_socks: tuple[SockSize, ...]

    def ahead(self) -> Floats:
        """The part of the paths from today on."""
        return self.paths[:, -len(AHEAD) :]


def forecast(case: Case, priors: Priors = PRIORS) -> Forecast:
    """When the first limit of a case is reached. Deterministic; never raises on a valid case."""
    remarks: list[str] = []
    if case.sex == "unspecified":
        remarks.append("The sex is not given, so girls' and boys' growth were both allowed for.")
    if not case.limits:
        remarks.append("The socket has no size at which it is tight, so there is no date. Please enter its limits.")
    if case.sock_reports and not any(is_girth(limit) for limit in case.limits):
        remarks.append("The sock reports were left out: the socket has no girth at which it is tight.")
    limits = smallest_of_each(case.limits)
    targets = [limit.channel for limit in limits] or _newest_channel(case)
    futures = {f.channel: f for f in draw_futures(case, targets, limits, priors, remarks)}
    passed = np.full((PATHS, max(len(limits), 1)), np.inf)
    for i, limit in enumerate(limits):
        passed[:, i] = first_passage(AHEAD, futures[limit.channel].ahead(), float(np.log(limit.tight_at_mm)))
    first = passed.min(axis=1)
    limiting, probability = first_reached(limits, passed)
    shown = limiting.channel if limiting else next(iter(futures), None)
    p10, p50, p90 = (_date(case, quantile(first, p)) for p in QUANTILES)
    return Forecast(
        p10=p10,
        p50=p50,
        p90=p90,
        already=share_by(first, 0.0),
        within={days: share_by(first, days / DAYS_IN_YEAR) for days in WITHIN_DAYS},
        limiting=limiting,
        limiting_probability=probability,
        curve=_curve(case, futures[shown]) if shown else (),
        from_socks=tuple(size for each in futures.values() for size in each.from_socks),
        warnings=tuple(remarks),
    )


def smallest_of_each(limits: tuple[Limit, ...]) -> list[Limit]:
    """One limit a channel, in the order given: were the order the limits' own, moving one would move the paths."""
    smallest: dict[Channel, Limit] = {}
    for limit in limits:
        smallest[limit.channel] = min(limit, smallest.get(limit.channel, limit), key=lambda each: each.tight_at_mm)
    return list(smallest.values())


def _newest_channel(case: Case) -> list[Channel]:
    """Without limits there is still growth to show: of the residual limb's girth, or whatever was measured last."""
    if not case.readings:
        return []
    newest = max(case.readings, key=lambda r: (r.channel.dimension == Dimension.RESIDUAL_LIMB_GIRTH, r.on))
    return [newest.channel]


def draw_futures(
    case: Case, targets: list[Channel], limits: list[Limit], priors: Priors, remarks: list[str]
) -> Iterator[Futures]:
    """Paths of each target, drawn family by family; `remarks` gathers what a person should know of the evidence."""
    priors = priors.of_limb(case.limb)
    for family in priors.families:
        mine = [target for target in targets if target.dimension in family.members]
        if not mine:
            continue
        on_mine = [limit for limit in limits if limit.channel in mine]
        evidence = gather(case, mine, on_mine, family, priors)
        remarks += evidence.remarks
        today = _age(case, case.as_of)
        years = np.concatenate([_past(evidence, case), AHEAD])
        channel = np.concatenate([evidence.row_channels(), np.repeat(np.arange(len(mine)), len(years))])
        ages = np.concatenate([[_age(case, row.on) for row in evidence.rows], np.tile(today + years, len(mine))])
        process = build(Points(evidence.channels, channel, ages), today, case.sex, family, priors)
        seen = evidence.observations()
        mixture = weigh(process, seen, priors)
        remarks += _doubted(evidence, [mixture.bad_probability(i) for i in range(len(evidence.rows))])
        paths = draw(process, seen, mixture, priors).reshape(PATHS, len(mine), len(years))
        for i, target in enumerate(mine):
            yield Futures(target, years, paths[:, i], tuple(_from_socks(evidence, target)))


def _from_socks(evidence: Evidence, of: Channel) -> Iterator[SockSize]:
    for row in evidence.rows:
        if row.reading is None and row.channel == of:
            size = float(np.exp(row.log_size))
            yield SockSize(row.on, of, size, size * float(row.variance) ** 0.5)


def _past(evidence: Evidence, case: Case) -> Floats:
    """Monthly steps back from today to the first reading, wider apart when that is long ago; years, below zero."""
    if not evidence.rows:
        return np.array([])
    years = (case.as_of - evidence.rows[0].on).days / DAYS_IN_YEAR
    step = max(1, -(-int(12 * years) // MOST_PAST_POINTS))
    back = np.arange(step, int(np.ceil(12 * years)) + step, step) / 12.0
    return -np.minimum(back, years)[::-1] if years > 0 else np.array([])


def _doubted(evidence: Evidence, bad: list[float]) -> Iterator[str]:
    for row, probability in zip(evidence.rows, bad, strict=True):
        if probability > 0.5:
            what = size_and_day(row.reading) if row.reading else f"sock report of {full_day(row.on)}"
            others = "the others" if len(evidence.rows) > 1 else "what is usual at this age"
            again = "measure" if row.reading else "ask"
            yield f"The {what} does not fit {others} and counts little: {again} again."


def first_reached(limits: list[Limit], passed: Floats) -> tuple[Limit | None, float]:
    """The limit most often reached first, and its share of the futures in which one is; if none is, the first limit."""
    reached = np.isfinite(passed).any(axis=1)
    if not limits:
        return None, 0.0
    if not reached.any():
        return limits[0], 0.0
    counts = np.bincount(passed[reached].argmin(axis=1), minlength=len(limits))
    return limits[int(counts.argmax())], float(counts.max() / reached.sum())


def _curve(case: Case, futures: Futures) -> tuple[CurvePoint, ...]:
    ordered = np.sort(futures.paths.T, axis=1)
    p10, p50, p90 = (np.exp(ordered[:, int(p * PATHS)]).tolist() for p in QUANTILES)
    days = np.round(futures.years_from_today * DAYS_IN_YEAR).astype(int).tolist()
    return tuple(
        CurvePoint(case.as_of + timedelta(days=day), low, middle, high)
        for day, low, middle, high in zip(days, p10, p50, p90, strict=True)
    )


def _age(case: Case, on: date) -> float:
    return (on - case.birth_date).days / DAYS_IN_YEAR


def _date(case: Case, years: float) -> date | None:
    return case.as_of + timedelta(days=round(years * DAYS_IN_YEAR)) if np.isfinite(years) else None
