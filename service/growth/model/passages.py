"""What the dates of a forecast are read off: when each path reaches its first limit, and how large it is until then."""

from dataclasses import dataclass

import numpy as np

from service.growth.model.case import Case, Limit
from service.growth.model.evidence import DAYS_IN_YEAR
from service.growth.model.forecast import AHEAD, draw_futures, first_reached, smallest_of_each
from service.growth.model.passage import first_passage
from service.growth.model.posterior import PATHS
from service.growth.model.priors import PRIORS, Priors
from service.growth.model.process import Floats


@dataclass(frozen=True, slots=True)
class Passages:
    """The equally likely paths behind a forecast; days count from the day of the forecast.

    `due_days` (PATHS) is when the first limit of each is reached, infinity if not within three years; `limit` is the
    one most often reached first. `log_size` (PATHS x T) is the log of its size at `days` (T), and `tape` the standard
    deviation of one careful tape reading of that.
    """

    due_days: Floats
    limit: Limit
    days: Floats
    log_size: Floats
    tape: float


def passages(case: Case, priors: Priors = PRIORS) -> Passages | None:
    """The paths behind `forecast(case)`: the same ones. None when the socket has no limit, and so no date."""
    limits = smallest_of_each(case.limits)
    if not limits:
        return None
    futures = {
        each.channel: each for each in draw_futures(case, [limit.channel for limit in limits], limits, priors, [])
    }
    passed = np.empty((PATHS, len(limits)))
    for i, limit in enumerate(limits):
        passed[:, i] = first_passage(AHEAD, futures[limit.channel].ahead(), float(np.log(limit.tight_at_mm)))
    limiting = first_reached(limits, passed)[0] or limits[0]
    families = priors.of_limb(case.limb).families
    spread = next(family.members[d] for family in families if (d := limiting.channel.dimension) in family.members)
    return Passages(
        due_days=passed.min(axis=1) * DAYS_IN_YEAR,
        limit=limiting,
        days=AHEAD * DAYS_IN_YEAR,
        log_size=futures[limiting.channel].ahead(),
        tape=spread.tape,
    )
