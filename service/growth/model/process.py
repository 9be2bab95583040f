"""The prior: how a child's log sizes at several ages vary together, given the child's tempo and sex.

    y(c, a) = m(a') + level(c) + gain(c) * (m(a') - m(today')) + wander(c, a),    a' = a * exp(tempo)

for a channel c (a dimension, on a side, at a level) and an age a; m is the typical child of `service.anthropometry`.
Given the tempo everything is Gaussian. Tempo takes fifteen values, for each sex that is possible.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from service.anthropometry import Sex
from service.growth.model.case import Channel
from service.growth.model.priors import Family, Priors, Spread

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

TEMPO_NODES = np.linspace(-2.45, 2.45, 15)  # in SDs: seven are too few, more change nothing
GROWN_UP = 17.0


@dataclass(frozen=True, slots=True)
class Points:
    """Where a process is looked at: for each point the index of its channel, and the age in years."""

    channels: list[Channel]
    channel: Integers
    ages: Floats


@dataclass(frozen=True, slots=True)
class Process:
    """The prior at P points for K components (sex x tempo) over C channels.

    `mean` and `growth` (the typical log growth since today) are K x P; `log_weight` is the components' prior, K.
    `steady` is the covariance of level and wander between points, P x P, which no tempo changes; `gains` is that of
    the gains between channels, C x C.
    """

    channel: Integers
    mean: Floats
    growth: Floats
    log_weight: Floats
    steady: Floats
    gains: Floats

    def gains_between(self, rows: slice, columns: slice) -> Floats:
        """The covariance of the gains of two runs of points."""
        return np.asarray(self.gains[self.channel[rows, None], self.channel[columns]])


def matern32(distance: Floats, length: float) -> Floats:
    """The Matern-3/2 correlation: once differentiable, so growth has a rate but the rate may turn."""
    scaled = np.sqrt(3.0) * np.abs(distance) / length
    return np.asarray((1.0 + scaled) * np.exp(-scaled))


def build(points: Points, today: float, sex: Sex, family: Family, priors: Priors) -> Process:
    """The prior at some points; `today` is the age in years at which a forecast is made."""
    order, spreads = list(family.members), list(family.members.values())
    kind = np.array([order.index(channel.dimension) for channel in points.channels])
    mean, growth, log_weight = _courses(points, today, sex, family, priors)
    pace = np.where(points.ages < GROWN_UP, points.ages, GROWN_UP + (points.ages - GROWN_UP) * family.settled_pace)
    levels = _profiles(points.channels, [spreads[k] for k in kind], priors)
    shared = _scaled(family.level_alike, [s.level for s in spreads])[np.ix_(kind, kind)]
    levels += (1.0 - family.early_is_large**2) * shared  # the rest of a level's variance comes with the tempo
    wander = _scaled(family.wander_alike, [s.wander for s in spreads])[np.ix_(kind, kind)]
    correlation = matern32(pace[:, None] - pace, family.wander_years)
    pairs = points.channel[:, None], points.channel
    return Process(
        channel=points.channel,
        mean=mean,
        growth=growth,
        log_weight=log_weight,
        steady=levels[pairs] + wander[pairs] * correlation,
        gains=_scaled(family.gain_alike, [s.gain_sd for s in spreads])[np.ix_(kind, kind)],
    )


def _courses(points: Points, today: float, sex: Sex, family: Family, priors: Priors) -> tuple[Floats, Floats, Floats]:
    """Mean and typical growth since today for every component and point, and the components' log weights."""
    sexes: tuple[Literal["female", "male"], ...] = ("female", "male") if sex == "unspecified" else (sex,)
    stretch = np.exp(family.tempo_sd * TEMPO_NODES)
    mean = np.empty((len(sexes), len(stretch), len(points.ages)))
    growth = np.empty_like(mean)
    dimensions = [channel.dimension for channel in points.channels]
    for dimension in set(dimensions):
        here = np.isin(points.channel, [i for i, d in enumerate(dimensions) if d == dimension])
        for k, one_sex in enumerate(sexes):
            typical = priors.typical(dimension, one_sex)
            now = typical.log_size(stretch * today)[:, None]
            grown = typical.log_size(stretch[:, None] * points.ages[here]) - now
            growth[k][:, here] = grown
            large = family.early_is_large * family.members[dimension].level * TEMPO_NODES[:, None]
            mean[k][:, here] = now + large + family.members[dimension].gain * grown
    components = len(sexes) * len(stretch)
    log_weight = np.tile(-0.5 * TEMPO_NODES**2, len(sexes))
    return mean.reshape(components, -1), growth.reshape(components, -1), log_weight


def _profiles(channels: list[Channel], spreads: list[Spread], priors: Priors) -> Floats:
    """The covariance of the limbs' own profiles: shared along one limb, less the further apart."""
    own = np.zeros((len(channels), len(channels)))
    for i, a in enumerate(channels):
        for j, b in enumerate(channels):
            if a.dimension == b.dimension and a.side == b.side:
                apart = 0.0 if a.level_mm is None or b.level_mm is None else a.level_mm - b.level_mm
                own[i, j] = spreads[i].profile ** 2 * np.exp(-0.5 * (apart / priors.profile_mm) ** 2)
    return own


def _scaled(correlation: Floats, sds: list[float]) -> Floats:
    return correlation * np.outer(sds, sds)
