"""Amounts of which many things have a part: exposures, money, mean scores. Told coarsely, and not of few things.

A sum told to two digits by itself would tell how many things there are wherever each has the same part in it: what 43
devices were worn in a year in which none came or went is 43 years. So a sum is told as the told number of things times
what each has on average, which is told to two digits.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, floor, isfinite, log10

from service.disclosure.rules import NOTHING, Rule, Told

_DUST = 1e-9


@dataclass(frozen=True)
class ToldAmount:
    """An amount as told, the least and the greatest that would be told so, and how many things have a part in it."""

    value: float | None
    low: float | None
    high: float | None
    things: Told


def tell_amount(rule: Rule, amount: float, things: int, *, told: Told | None = None) -> ToldAmount:
    """An exposure (device-years) or money of so many things; hidden where fewer than the threshold have a part in it.

    `told` is what is told of how many they are, where that is a cell of a population: a withheld one stays so.
    """
    if amount < 0 or not isfinite(amount):
        raise ValueError(f"an amount is a number from 0, not {amount}")
    said = rule.tell(things) if told is None else told
    window = rule.window(said)
    if things < window.low or (window.high is not None and things > window.high):
        raise ValueError("what is told is not told of so many things")
    if said.value is None or window.high is None:
        return ToldAmount(None, None, None, said)
    if amount == 0 or said == NOTHING:
        return ToldAmount(0.0, 0.0, 0.0, said)
    each = amount / things
    step = _second_digit(each)
    mean = _to(each, step)
    # 99.6 is told as 100, whose own step is 10: the steps of either side are taken, the wider one.
    step = max(step, _second_digit(mean))
    ends = window.low * (mean - step / 2), window.high * (mean + step / 2)
    return ToldAmount(round(said.value * mean, 12), *ends, said)


def tell_ends(low: float, high: float) -> tuple[float, float]:
    """The ends of an interval of amounts, outwards to two significant digits; they rest on sums of many, not counts."""
    if not 0 <= low <= high or not isfinite(high):
        raise ValueError("an interval of amounts lies above 0, its low end first")
    down = _second_digit(low) * floor(low / _second_digit(low) + _DUST) if low else 0.0
    up = _second_digit(high) * ceil(high / _second_digit(high) - _DUST) if high else 0.0
    return round(down, 12), round(up, 12)


def _second_digit(amount: float) -> float:
    """What one more in the second of an amount's digits is worth."""
    return float(10.0 ** (floor(log10(amount)) - 1))


def tell_mean(rule: Rule, mean: float, things: int, *, step: float = 1.0, told: Told | None = None) -> ToldAmount:
    """A mean score to the nearest step (whole points); hidden where fewer than the threshold were scored."""
    if step <= 0 or not isfinite(mean):
        raise ValueError("a mean is a number, told to a step above 0")
    said = rule.tell(things) if told is None else told
    if not said.value:
        return ToldAmount(None, None, None, said)
    value = _to(mean, step)
    return ToldAmount(value, value - step / 2, value + step / 2, said)


def _to(amount: float, step: float) -> float:
    """The nearest multiple of a step, the upper one midway, without the dust of floating point."""
    return round(step * floor(amount / step + 0.5), 12)
