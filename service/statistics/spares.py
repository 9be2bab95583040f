"""How many of a part to send along, or to keep, so that what breaks until the next parcel can be put right.

Failures come one by one at a rate per part and day that does not change with a part's age, and a part that fails is
replaced, so `parts` stay in place: N failures over `parts * days` part-days are Poisson. The rate is known from
`failures` in `exposure` part-days; by Jeffreys' prior it is Gamma(failures + 1/2, exposure). Not knowing it better is
paid for in parts: N is negative binomial,

    P(N = k) = C(k + r - 1, k) p^r (1 - p)^k,   r = failures + 1/2,   p = exposure / (exposure + parts * days)

and the number to send is the least k with P(N <= k) >= the service level. Several recipients at a site share one
unknown rate, so what they need together is the same with their part-days added up: as a rule fewer than each would need
alone, since not all have bad luck at once, but more than if the rate were known, since it may be bad for all.

Jeffreys 1946, Proc. R. Soc. A 186, 453-461; Gelman et al., Bayesian Data Analysis (3rd ed. 2013), section 2.6.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from scipy.special import betainc

MOST = 10_000
"""No kit is bigger: who would need more of one part has another question."""


@dataclass(frozen=True, slots=True)
class Kit:
    """How many of a part to send; the chance (0-1) that they are enough, and how many are expected to fail."""

    count: int
    chance: float
    expected: float


def kit(failures: int, exposure: float, parts: int, days: float, level: float) -> Kit | None:
    """For one recipient with so many of a part in place for so many days, enough at a service level (0-1).

    None when nothing was seen of the part yet (no exposure), or no kit of reasonable size is enough.
    """
    return site_kit(failures, exposure, [(parts, days)], level)


def site_kit(failures: int, exposure: float, places: Iterable[tuple[int, float]], level: float) -> Kit | None:
    """For a site's stock: `places` are each recipient's parts in place and days until the next delivery."""
    if failures < 0 or not 0 <= exposure < float("inf"):
        raise ValueError(f"{failures} failures in {exposure} part-days: both are from 0")
    if not 0 < level < 1:
        raise ValueError(f"a service level is a chance between 0 and 1, not {level}")
    ahead = 0.0
    for parts, days in places:
        if parts < 0 or not 0 <= days < float("inf"):
            raise ValueError(f"{parts} parts for {days} days: both are from 0")
        ahead += parts * days
    if ahead == 0:
        return Kit(0, 1.0, 0.0)
    if exposure == 0:
        return None
    shape, known = failures + 0.5, exposure / (exposure + ahead)

    def enough(count: int) -> float:
        return float(betainc(shape, count + 1, known))

    least, most = -1, MOST
    if enough(most) < level:
        return None
    while most - least > 1:
        middle = (least + most) // 2
        least, most = (least, middle) if enough(middle) >= level else (middle, most)
    return Kit(most, enough(most), shape * ahead / exposure)
