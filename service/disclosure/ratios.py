"""How much sooner one group's things fail than another's: told on a ladder, from enough failures in both, or not."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, log
from typing import Literal

from service.disclosure.rules import Rule

RUNG = 1.1
"""Each rung of the ladder is a tenth above the one below; 1 is one of them."""

PClass = Literal["< 0.001", "< 0.01", "< 0.05", ">= 0.05"]
_CLASSES: tuple[tuple[float, PClass], ...] = ((0.001, "< 0.001"), (0.01, "< 0.01"), (0.05, "< 0.05"))
_DUST = 1e-9


@dataclass(frozen=True)
class ToldRatio:
    """A hazard ratio to the nearest rung, its interval to the rungs outside it, and the class of its p."""

    value: float
    low: float
    high: float
    p: PClass


def tell_ratio(
    rule: Rule, ratio: float, interval: tuple[float, float], p: float, events: tuple[int, int]
) -> ToldRatio | None:
    """What may be told of a hazard ratio; None where a group has too few events: not enough data yet."""
    if min(ratio, *interval) <= 0 or not interval[0] <= ratio <= interval[1] or not 0 <= p <= 1:
        raise ValueError("a hazard ratio lies above 0 and in its interval, and its p from 0 to 1")
    if min(events) < rule.threshold:
        return None
    low, value, high = (log(each) / log(RUNG) for each in (interval[0], ratio, interval[1]))
    return ToldRatio(RUNG ** round(value), RUNG ** floor(low + _DUST), RUNG ** ceil(high - _DUST), p_class(p))


def p_class(p: float) -> PClass:
    """How surprising a difference would be were there none, in four classes."""
    return next((name for end, name in _CLASSES if p < end), ">= 0.05")
