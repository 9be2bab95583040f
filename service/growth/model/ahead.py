"""The limb from today on at any place, limited or not: what the next socket is sized by.

The evidence is that of the case as it stands: its sock reports speak of the socket in place, whatever is asked.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from service.growth.model.case import Case, Channel
from service.growth.model.forecast import AHEAD, draw_futures, smallest_of_each
from service.growth.model.priors import PRIORS, Priors
from service.growth.model.process import Floats


@dataclass(frozen=True, slots=True)
class Ahead:
    """`years` from today (T, beginning with 0); `sizes` in the dimension's unit, PATHS x T for each channel.

    A path is one future of the whole body: row n of one channel goes with row n of every other.
    """

    years: Floats
    sizes: dict[Channel, Floats]
    remarks: tuple[str, ...]


def look_ahead(case: Case, channels: Sequence[Channel], priors: Priors = PRIORS) -> Ahead:
    """Posterior paths of some channels over three years. Deterministic; the same ones whatever a socket's size."""
    limits = smallest_of_each(case.limits)
    targets = list(dict.fromkeys([*(limit.channel for limit in limits), *channels]))
    remarks: list[str] = []
    found = {each.channel: each.ahead() for each in draw_futures(case, targets, limits, priors, remarks)}
    return Ahead(AHEAD, {channel: np.exp(found[channel]) for channel in channels}, tuple(remarks))
