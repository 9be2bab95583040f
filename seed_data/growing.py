"""Bodies that grow: true sizes of an invented person on any day, and what a tape makes of them.

Each person follows the reference curves at a height of their own (level), early or late (tempo), with a spurt steeper
than the reference's, which averages early and late children; soft dimensions wander slowly besides. Sizes are mm (kg
for weight); days are counted back from the day the demo is made, so a negative number lies in the future.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random

from seed_data.cast import Limb, Person
from service.anthropometry import Dimension, reference

YEAR = 365.25
_SPURT_AT = {"female": 11.7, "male": 13.5, "unspecified": 12.6}
_SPURT_YEARS = 0.35  # how far ahead of the reference the spurt carries, and how far behind one is before it
_SOFT = {Dimension.FOREARM_GIRTH, Dimension.UPPER_ARM_GIRTH, Dimension.WEIGHT}
_WANDER = 0.009  # log amplitude of slow filling out and thinning, soft dimensions

_KEPT = {  # the part of a sound segment that is there, by where the limb ends
    "forearm_upper": 0.42,
    "forearm_middle": 0.6,
    "forearm_lower": 0.85,
    "wrist": 1.0,
    "upper_arm_middle": 0.6,
    "upper_arm_lower": 0.85,
    "elbow": 1.0,
}
_UPPER_ARM_TO_FOREARM = 1.28  # lengths of the two segments
_TAPER = {Dimension.FOREARM_GIRTH: 0.5, Dimension.UPPER_ARM_GIRTH: 0.2}  # share of girth lost along the whole segment
_SETTLING = 0.08  # how much fuller a limb is just after an amputation, and over how many days that goes
_SETTLING_DAYS = 160

_SESSION_SD = {"tape": 0.010, "cast": 0.006, "scan": 0.004, "clinic_letter": 0.013, "family": 0.018}
_BONY_SHARE = 0.4  # lengths and breadths are read that much more surely than girths
_REPEAT_SD = 0.003
_STEP_MM = {"tape": 0.5, "cast": 0.5, "scan": 0.1, "clinic_letter": 1.0, "family": 1.0}


@dataclass(frozen=True)
class Channel:
    """One thing that is measured again and again."""

    dimension: Dimension
    side: str | None = None
    level_mm: int | None = None


class Body:
    """One person's true sizes."""

    def __init__(self, person: Person) -> None:
        self._person = person
        draw = person.draws("body")
        self._tempo = draw.gauss(0, 0.7)
        build = draw.gauss(0, 0.6)
        self._level = {dimension: build + draw.gauss(0, 0.45) for dimension in Dimension}
        self._phase = draw.uniform(0, 2 * math.pi)
        self._period = draw.uniform(5.5, 8.0)
        self._thinner = {side: draw.uniform(0.86, 0.94) for side in ("left", "right")}

    def size(self, channel: Channel, ago: float) -> float:
        """The true size so many days ago."""
        limb = self._person.limb(channel.side)
        match channel.dimension:
            case Dimension.RESIDUAL_LIMB_GIRTH if limb is not None:
                return self._girth(limb, channel, ago)
            case Dimension.FOREARM_GIRTH if channel.level_mm is not None:
                return self._tapered(
                    Dimension.FOREARM_GIRTH, channel.level_mm, self._segment(ago, above_elbow=False), ago
                )
            case Dimension.RESIDUAL_LIMB_LENGTH if limb is not None:
                return _KEPT[limb.level] * self._segment(ago, above_elbow=limb.above_elbow)
            case dimension:
                return self._sound(dimension, ago)

    def _girth(self, limb: Limb, channel: Channel, ago: float) -> float:
        dimension = Dimension.UPPER_ARM_GIRTH if limb.above_elbow else Dimension.FOREARM_GIRTH
        girth = self._tapered(dimension, channel.level_mm or 0, self._segment(ago, above_elbow=limb.above_elbow), ago)
        settling = 0.0
        if "shrinking" in self._person.tags:
            since = max(self._person.years * YEAR - ago, 0)
            settling = _SETTLING * math.exp(-since / _SETTLING_DAYS)
        return girth * self._thinner[limb.side] * (1 + settling)

    def _tapered(self, dimension: Dimension, level_mm: float, segment: float, ago: float) -> float:
        return self._sound(dimension, ago) * (1 - _TAPER[dimension] * level_mm / segment)

    def _segment(self, ago: float, *, above_elbow: bool) -> float:
        forearm = self._sound(Dimension.FOREARM_LENGTH, ago)
        return forearm * _UPPER_ARM_TO_FOREARM if above_elbow else forearm

    def _sound(self, dimension: Dimension, ago: float) -> float:
        age = self._person.age - ago / YEAR
        curve = reference(dimension, self._person.sex)
        grown = self._growth_age(age)
        log = float(curve.log_median(grown)) + self._level[dimension] * float(curve.log_sd(grown))
        if dimension in _SOFT:
            log += _WANDER * math.sin(2 * math.pi * age / self._period + self._phase)
        return math.exp(log)

    def _growth_age(self, age: float) -> float:
        """The age at which the reference is read: shifted by tempo from two years on, and steeper at the spurt."""
        after = age - _SPURT_AT[self._person.sex] - self._tempo
        shift = self._tempo * min(max((age - 2) / 8, 0), 1)
        return age - shift + _SPURT_YEARS * math.tanh(after) * math.exp(-((after / 3) ** 2))


def taken(draw: Random, true: float, channel: Channel, method: str, repeats: int) -> list[float]:
    """What somebody writes down: repeats share the session's error (where the tape lay) and add little of their own."""
    if channel.dimension is Dimension.WEIGHT:
        return [_short(round(true * math.exp(draw.gauss(0, 0.006)), 1))]
    if channel.dimension is Dimension.HEIGHT:
        return [round(true * math.exp(draw.gauss(0, 0.002)))]
    share = 1.0 if channel.dimension.value.endswith("girth") else _BONY_SHARE
    laid = true * math.exp(draw.gauss(0, _SESSION_SD[method] * share))
    step = _STEP_MM[method]
    return [_short(round(laid * math.exp(draw.gauss(0, _REPEAT_SD)) / step) * step) for _ in range(repeats)]


def _short(value: float) -> float:
    """One decimal at most, and none where it would say nothing: the file holds thousands of these."""
    return int(value) if value == int(value) else round(value, 1)
