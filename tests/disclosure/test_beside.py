"""Shares of pieces and differences from all others: their ends are those over every count that would be told so."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy.stats import binom

from service.disclosure import Rule, Told
from service.disclosure.beside import difference_from_others, share_beside
from service.disclosure.figures import share_ends
from service.disclosure.rules import NOTHING, SMALL, WITHHELD
from service.statistics.intervals import newcombe

RULE = Rule()


def counts(told: Told) -> range:
    window = RULE.window(told)
    assert window.high is not None
    return range(0 if told.hidden else window.low, window.high + 1)


@pytest.mark.parametrize(
    ("part", "others"),
    [
        (Told(10), [Told(15)]),
        (Told(40), [SMALL]),
        (SMALL, [Told(20)]),
        (NOTHING, [Told(10), Told(25)]),
        (Told(30), [NOTHING]),
        (Told(20), [Told(10), SMALL]),
    ],
)
def test_the_ends_of_a_share_are_the_farthest_of_all_that_is_told_so(part: Told, others: list[Told]) -> None:
    found = share_beside(RULE, part, *others)
    pairs = [(k, k + sum(rest)) for k, *rest in product(counts(part), *map(counts, others))]
    ends = [share_ends(RULE, k, n) for k, n in pairs if n]
    assert found.low == pytest.approx(min(each.low for each in ends))
    assert found.high == pytest.approx(max(each.high for each in ends))
    known = [each.value for each in (part, *others)]
    assert found.value == (None if None in known else pytest.approx((part.value or 0) / sum(n or 0 for n in known)))
    assert (found.suppressed is None) is (None not in known)


def test_nothing_is_said_where_a_piece_is_withheld_or_nothing_is_there() -> None:
    assert share_beside(RULE, Told(10), WITHHELD).low is None
    assert share_beside(RULE, WITHHELD, Told(10)).value is None
    nobody = share_beside(RULE, NOTHING, NOTHING)
    assert (nobody.value, nobody.low, nobody.suppressed) == (None, None, None)


@pytest.mark.parametrize(
    ("group", "everybody"),
    [
        ([Told(10), Told(15)], [Told(40), Told(30)]),
        ([SMALL, Told(20)], [Told(25), Told(45)]),
        ([Told(30), NOTHING], [Told(45), Told(10)]),
    ],
)
def test_the_ends_of_a_difference_are_the_farthest(group: list[Told], everybody: list[Told]) -> None:
    found = difference_from_others(RULE, group, everybody)
    if found.n is None:
        assert found.low is None
        return
    ends = []
    for k, m, every_k, every_m in product(*map(counts, (*group, *everybody))):
        if every_k >= k and every_m >= m:
            between = newcombe(k, k + m, every_k - k, every_k - k + every_m - m)
            ends += [between] if between is not None else []
    assert found.low == pytest.approx(min(each.low for each in ends))
    assert found.high == pytest.approx(max(each.high for each in ends))
    assert found.value is not None
    assert found.low is not None
    assert found.high is not None
    assert found.low <= found.value <= found.high


@pytest.mark.parametrize("trials", [12, 20, 35, 60, 120])
@pytest.mark.parametrize("true", [0.02, 0.1, 0.3, 0.5, 0.8, 0.97])
def test_an_interval_of_pieces_holds_the_truth_as_often_as_it_says(trials: int, true: float) -> None:
    """Exact, over every outcome of so many trials: mostly above 95 in 100, because it allows for the rounding of both
    pieces; Wilson's own, which it is at its narrowest, falls a little below at single shares.
    """
    held = 0.0
    for count in range(trials + 1):
        found = share_beside(RULE, RULE.tell(count), RULE.tell(trials - count))
        assert found.low is not None
        assert found.high is not None
        held += float(binom.pmf(count, trials, true)) * (found.low <= true <= found.high)
    assert held >= 0.945


@pytest.mark.parametrize(("first", "second"), [(0.5, 0.5), (0.2, 0.4), (0.7, 0.3), (0.9, 0.85)])
def test_an_interval_of_a_difference_holds_the_truth_95_times_in_100(first: float, second: float) -> None:
    """By simulation, where both groups are large enough to be told of."""
    draw, held, told = np.random.default_rng(7), 0, 0
    for _ in range(1500):
        part, other = int(draw.binomial(60, first)), int(draw.binomial(90, second))
        group = [RULE.tell(part), RULE.tell(60 - part)]
        found = difference_from_others(RULE, group, [RULE.tell(part + other), RULE.tell(150 - part - other)])
        if found.low is not None and found.high is not None:
            told += 1
            held += found.low <= first - second <= found.high
    assert told > 200
    assert held / told >= 0.95
