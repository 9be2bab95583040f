"""Amounts of which many things have a part: exposures, money, mean scores. Told coarsely, and not of few things."""

from __future__ import annotations

from dataclasses import dataclass
from math import floor, isfinite, log10

from service.disclosure.rules import NOTHING, Rule, Told


@dataclass(frozen=True)
class ToldAmount:
    """An amount as told, the least and the greatest that would be told so, and how many things have a part in it."""

    value: float | None
    low: float | None
    high: float | None
    things: Told


def tell_amount(rule: Rule, amount: float, things: int, *, told: Told | None = None) -> ToldAmount:
    """An exposure (device-years) or money, to two significant digits; hidden where fewer than the threshold share it.

    `told` is what is told of how many they are, where that is a cell of a population: a withheld one stays so.
    """
    if amount < 0 or not isfinite(amount):
        raise ValueError(f"an amount is a number from 0, not {amount}")
    said = rule.tell(things) if told is None else told
    if said.value is None:
        return ToldAmount(None, None, None, said)
    if amount == 0 or said == NOTHING:
        return ToldAmount(0.0, 0.0, 0.0, said)
    step = 10.0 ** (floor(log10(amount)) - 1)
    value = _to(amount, step)
    # 99.6 is told as 100, whose own step is 10: the steps of either side are taken, the wider one.
    step = max(step, 10.0 ** (floor(log10(value)) - 1))
    return ToldAmount(value, value - step / 2, value + step / 2, said)


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
