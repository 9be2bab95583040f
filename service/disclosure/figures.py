"""Shares, rates and differences from told counts: their intervals allow for what the rounding left open.

Every figure takes told counts and nothing else, so it tells nothing that they do not. Its value is that of the told
numbers; its interval reaches from the least lower end to the greatest upper end over all counts that would be told so.
Those ends lie at corners: Wilson's and Newcombe's move one way with each count (`tests/disclosure/test_figures.py`
compares with every count). For an interval a small count may be none, and near none and near all a share's is the
exact one: Wilson's alone misses a share just beside its ends 7 to 16 times in 100 there. Nothing is rounded here: that
is for whoever shows it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from scipy.special import betaincinv

from service.disclosure.amounts import ToldAmount
from service.disclosure.rules import Hidden, Rule, Told
from service.statistics.intervals import TAIL, Interval, garwood, newcombe, wilson

Method = Literal["wilson", "garwood", "newcombe"]


@dataclass(frozen=True)
class Figure:
    """A figure with its 95 per cent interval. `n` is how many it is of, as told; None for what is not told.

    `suppressed` says why there is no value; where it is None and the value too, there was nothing to count.
    """

    value: float | None
    low: float | None
    high: float | None
    n: int | None
    suppressed: Hidden | None
    method: Method


def share(rule: Rule, part: Told, whole: Told) -> Figure:
    """What part of a told number a told number is, from 0 to 1, by Wilson's interval. The part is of the whole."""
    why = reason(part, whole)
    parts, wholes = may_be(rule, part), may_be(rule, whole)
    if not whole.value or parts is None or wholes is None:
        return Figure(None, None, None, whole.value, why, "wilson")
    low, high = share_ends(rule, parts[0], wholes[1]).low, share_ends(rule, min(parts[1], wholes[0]), wholes[0]).high
    value = None if part.value is None else part.value / whole.value
    return Figure(value, low, high, whole.value, why, "wilson")


def share_ends(rule: Rule, part: int, whole: int) -> Interval:
    """Wilson's interval; where the part or what is left of the whole is few, Clopper and Pearson's exact one if wider.

    Clopper and Pearson 1934, Biometrika 26, 404-413: quantiles of Beta(k, n - k + 1) and Beta(k + 1, n - k).
    """
    ends, rest = wilson(part, whole), whole - part
    if ends is None:
        raise AssertionError("nothing of the whole is told as nothing")
    if min(part, rest) >= 2 * rule.threshold:
        return ends
    low = float(betaincinv(part, rest + 1, TAIL)) if part else 0.0
    high = float(betaincinv(part + 1, rest, 1 - TAIL)) if rest else 1.0
    return Interval(min(low, ends.low), max(high, ends.high))


def rate(rule: Rule, events: Told, exposure: ToldAmount) -> Figure:
    """Told events per unit of a told exposure (a device-year, say), by Garwood's interval; `n` is who was exposed."""
    why = reason(events, exposure.things)
    span = may_be(rule, events)
    if exposure.value is None or exposure.low is None or exposure.high is None or span is None or exposure.low <= 0:
        return Figure(None, None, None, exposure.things.value, why, "garwood")
    value = None if events.value is None else events.value / exposure.value
    low, high = garwood(span[0]).low / exposure.high, garwood(span[1]).high / exposure.low
    return Figure(value, low, high, exposure.things.value, why, "garwood")


def difference(rule: Rule, first: tuple[Told, Told], second: tuple[Told, Told]) -> Figure:
    """The first share less the second, each a part and its whole, of different people: -1 to 1, by Newcombe's interval.

    `n` is the smaller of the two wholes.
    """
    told = [each for pair in (first, second) for each in pair]
    why = reason(*told)
    wholes = [pair[1].value for pair in (first, second)]
    n = None if None in wholes else min(each for each in wholes if each is not None)
    spans = [may_be(rule, each) for each in told]
    if not n or None in spans:
        return Figure(None, None, None, n, why, "newcombe")
    part, whole, other, others = [each for each in spans if each is not None]
    low = newcombe(part[0], whole[1], min(other[1], others[0]), others[0])
    high = newcombe(min(part[1], whole[0]), whole[0], other[0], others[1])
    shares = [share(rule, *pair).value for pair in (first, second)]
    if low is None or high is None:
        raise AssertionError("nothing of the whole is told as nothing")
    value = None if shares[0] is None or shares[1] is None else shares[0] - shares[1]
    return Figure(value, low.low, high.high, n, why, "newcombe")


def may_be(rule: Rule, told: Told) -> tuple[int, int] | None:
    """The least and the greatest a count may be; a small one may as well be none. None when it is withheld."""
    window = rule.window(told)
    return None if window.high is None else (0 if told.hidden else window.low, window.high)


def reason(*told: Told) -> Hidden | None:
    """Why a figure of these cannot be told; withheld is said first, as it says less."""
    reasons = {each.hidden for each in told}
    return next((each for each in (Hidden.WITHHELD, Hidden.SMALL) if each in reasons), None)
