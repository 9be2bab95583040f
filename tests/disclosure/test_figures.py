"""Figures of told counts: they tell no more than those, and hold as often as they say."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from itertools import product

import numpy as np
import pytest
from scipy.stats import binom, binomtest, poisson

from service.disclosure.amounts import ToldAmount, tell_amount, tell_ends, tell_mean
from service.disclosure.figures import Figure, difference, rate, share, share_ends
from service.disclosure.ratios import RUNG, p_class, tell_ratio
from service.disclosure.rules import NOTHING, SMALL, WITHHELD, Hidden, Rule, Told
from service.statistics.intervals import garwood, newcombe, wilson

RULE, COARSE = Rule(), Rule(12, 10)
MOST = 90


def told_share(part: int, whole: int) -> Figure:
    return share(RULE, RULE.tell(part), RULE.tell(whole))


def may_be(told: Told, rule: Rule = RULE) -> range:
    """Every count of which this is told; for an interval, a small one may be none too."""
    counts = [count for count in range(2 * MOST) if rule.tell(count) == told]
    return range(0 if told == SMALL else counts[0], counts[-1] + 1)


def alike(figure: Callable[[int, int], object]) -> dict[object, list[tuple[int, int]]]:
    """Parts and wholes by what is shown of them: whoever reads it is left with all that show the same."""
    found: dict[object, list[tuple[int, int]]] = defaultdict(list)
    for whole in range(MOST + 1):
        for part in range(whole + 1):
            found[figure(part, whole)].append((part, whole))
    return found


def given_away(behind: dict[object, list[tuple[int, int]]]) -> list[object]:
    """What leaves fewer than three parts, or wholes, that are not nothing. The last wholes have no equals listed."""
    return [
        shown
        for shown, pairs in behind.items()
        if max(whole for _, whole in pairs) < MOST - 5
        for each in zip(*pairs, strict=True)
        if {*each} != {0} and len({*each}) < 3
    ]


def test_no_share_gives_its_counts_away():
    assert given_away(alike(told_share)) == []


@pytest.mark.parametrize(
    "exact", [lambda k, n: k and k / n, lambda k, n: (k, RULE.tell(n)), lambda k, n: (RULE.tell(k), n)]
)
def test_a_share_of_exact_counts_would(exact: Callable[[int, int], object]):
    assert given_away(alike(exact))


@pytest.mark.parametrize("rule", [RULE, COARSE])
def test_the_interval_of_a_share_reaches_over_all_counts_that_are_told_alike(rule: Rule):
    for whole, part in product(range(rule.threshold, MOST, 7), range(MOST)):
        if part > whole:
            continue
        told = rule.tell(part), rule.tell(whole)
        ends = [share_ends(rule, k, n) for k, n in product(may_be(told[0], rule), may_be(told[1], rule)) if k <= n]
        figure = share(rule, *told)
        assert (figure.low, figure.high) == (min(each.low for each in ends), max(each.high for each in ends))
        assert figure.low is not None
        assert figure.high is not None
        assert figure.value is None or figure.low <= figure.value <= figure.high


@pytest.mark.parametrize("counts", [(0, 20, 13, 40), (3, 20, 18, 40), (8, 8, 12, 12), (40, 61, 2, 9), (30, 30, 0, 25)])
def test_the_interval_of_a_difference_reaches_over_all_counts_that_are_told_alike(counts: tuple[int, int, int, int]):
    told = [RULE.tell(count) for count in counts]
    ends = [newcombe(*each) for each in product(*map(may_be, told)) if each[0] <= each[1] and each[2] <= each[3]]
    figure = difference(RULE, (told[0], told[1]), (told[2], told[3]))
    assert figure.low == pytest.approx(min(each.low for each in ends if each), abs=1e-12)
    assert figure.high == pytest.approx(max(each.high for each in ends if each), abs=1e-12)
    assert figure.n == min(told[1].value or 0, told[3].value or 0)
    assert (figure.value is None) == (SMALL in told)


def test_what_is_not_told_gives_no_value():
    hidden_part = share(RULE, SMALL, Told(50))
    assert (hidden_part.value, hidden_part.low, hidden_part.n, hidden_part.suppressed) == (None, 0.0, 50, Hidden.SMALL)
    assert hidden_part.high is not None
    assert share(RULE, SMALL, SMALL) == Figure(None, None, None, None, Hidden.SMALL, "wilson")
    assert share(RULE, WITHHELD, Told(50)) == Figure(None, None, None, 50, Hidden.WITHHELD, "wilson")
    assert share(RULE, SMALL, WITHHELD).suppressed is Hidden.WITHHELD
    assert share(RULE, NOTHING, NOTHING) == Figure(None, None, None, 0, None, "wilson")
    assert difference(RULE, (Told(10), Told(50)), (Told(10), WITHHELD)).low is None
    assert difference(RULE, (NOTHING, NOTHING), (Told(10), Told(20))).value is None
    few = tell_amount(RULE, 12.3, 7)
    assert rate(RULE, Told(10), few) == Figure(None, None, None, None, Hidden.SMALL, "garwood")
    assert rate(RULE, NOTHING, tell_amount(RULE, 0.0, 0)) == Figure(None, None, None, 0, None, "garwood")


def test_the_interval_near_none_and_all_is_the_exact_one_and_in_the_middle_wilsons():
    exact = binomtest(8, 50).proportion_ci(method="exact")
    assert [*share_ends(RULE, 8, 50)] == pytest.approx([exact.low, exact.high])
    assert share_ends(RULE, 25, 50) == wilson(25, 50)
    assert share_ends(RULE, 20, 20).high == 1.0


def test_a_share_holds_95_times_in_100_whatever_it_is():
    """Worked out, not drawn: the least over sizes and shares."""
    shares = np.concatenate([np.linspace(0.0005, 0.1, 220), np.linspace(0.1, 0.9995, 400)])
    held = {}
    for whole in (8, 9, 10, 12, 13, 17, 25, 48, 50, 52, 100, 102, 301, 303):
        figures = [told_share(part, whole) for part in range(whole + 1)]
        lows, highs = (np.array([getattr(each, end) for each in figures]) for end in ("low", "high"))
        chances = binom.pmf(np.arange(whole + 1)[:, None], whole, shares)
        inside = (lows[:, None] <= shares) & (shares <= highs[:, None])
        held[whole] = float((chances * inside).sum(axis=0).min())
    assert min(held.values()) >= 0.95, held
    assert max(held.values()) < 1 - 1e-6, held  # that an interval can miss is what makes this a test


def test_a_rate_holds_95_times_in_100():
    held = {}
    for mean in (0.05, 0.5, 2.0, 5.0, 7.3, 9.0, 14.0, 33.0, 80.0):
        counts = np.arange(200)
        figures = [rate(RULE, RULE.tell(int(count)), tell_amount(RULE, 120.0, 60)) for count in counts]
        inside = [
            each.low is not None and each.high is not None and each.low <= mean / 120 <= each.high for each in figures
        ]
        held[mean] = float(poisson.pmf(counts, mean)[inside].sum())
    assert min(held.values()) >= 0.95, held


def test_a_difference_holds_95_times_in_100():
    held = {}
    for sizes, shares in product([(12, 15), (30, 60), (100, 90)], [(0.02, 0.05), (0.1, 0.3), (0.5, 0.5), (0.8, 0.97)]):
        parts = [np.arange(size + 1) for size in sizes]
        chances = np.multiply.outer(
            *(binom.pmf(each, *of) for each, of in zip(parts, zip(sizes, shares, strict=True), strict=True))
        )
        wholes = [RULE.tell(size) for size in sizes]
        for one, other in product(*parts):
            figure = difference(RULE, (RULE.tell(int(one)), wholes[0]), (RULE.tell(int(other)), wholes[1]))
            assert figure.low is not None
            assert figure.high is not None
            if not figure.low <= shares[0] - shares[1] <= figure.high:
                chances[one, other] = 0
        held[sizes, shares] = float(chances.sum())
    assert min(held.values()) >= 0.95, held


@pytest.mark.parametrize(
    ("mean", "told_mean"),
    [(123.4, 120.0), (125.0, 130.0), (0.0834, 0.083), (99.6, 100.0), (9.96, 10.0), (7.0, 7.0), (10_499, 10_000.0)],
)
def test_an_amount_is_told_as_the_told_number_times_a_mean_of_two_digits(mean: float, told_mean: float):
    told = tell_amount(RULE, 9 * mean, 9)
    assert told.value == pytest.approx(10 * told_mean)
    assert told.low is not None
    assert told.high is not None
    assert told.low <= 9 * mean <= told.high
    assert told.things == Told(10)


@pytest.mark.parametrize("parts", [1.0, 0.5, 2.0, 19.99, 365.25])
def test_an_amount_of_which_each_has_the_same_part_does_not_count_them(parts: float):
    behind: dict[object, set[int]] = defaultdict(set)
    for things in range(RULE.threshold, MOST):
        behind[tell_amount(RULE, parts * things, things)].add(things)
    assert all(len(counts) >= 3 for counts in behind.values() if max(counts) < MOST - 5)


def test_an_amount_of_other_things_than_are_told_is_refused():
    with pytest.raises(ValueError, match="not told of so many"):
        tell_amount(RULE, 55.0, 40, told=Told(10))


def test_an_amount_of_few_is_not_told_nor_is_one_of_a_withheld_number():
    assert tell_amount(RULE, 55.0, 7) == ToldAmount(None, None, None, SMALL)
    assert tell_amount(RULE, 55.0, 70, told=WITHHELD) == ToldAmount(None, None, None, WITHHELD)
    assert tell_mean(RULE, 6.4, 7) == ToldAmount(None, None, None, SMALL)
    assert tell_mean(RULE, 6.4, 0).value is None
    with pytest.raises(ValueError, match="from 0"):
        tell_amount(RULE, -1.0, 9)
    with pytest.raises(ValueError, match="step above 0"):
        tell_mean(RULE, 6.4, 9, step=0)


def test_a_rate_allows_for_the_rounding_of_both():
    figure = rate(RULE, RULE.tell(12), tell_amount(RULE, 123.4, 60))
    assert figure.value == pytest.approx(10 / (60 * 2.1))
    assert figure.low == pytest.approx(garwood(8).low / (62 * 2.15))
    assert figure.high == pytest.approx(garwood(12).high / (58 * 2.05))
    assert figure.n == 60


def test_a_mean_is_told_in_whole_points():
    assert tell_mean(RULE, 6.5, 9) == ToldAmount(7.0, 6.5, 7.5, Told(10))
    assert tell_mean(RULE, 52.2, 40, step=5).value == 50.0


def test_a_ratio_is_told_on_a_ladder_and_only_of_enough():
    told = tell_ratio(RULE, 2.04, (1.3, 3.2), 0.004, (8, 30))
    assert told is not None
    assert told.value == pytest.approx(RUNG**7)
    assert told.low == pytest.approx(RUNG**2)
    assert told.high == pytest.approx(RUNG**13)
    assert told.low <= 1.3
    assert told.high >= 3.2
    assert told.p == "< 0.01"
    on_rungs = tell_ratio(RULE, RUNG**2, (RUNG**-3, RUNG**4), 0.5, (9, 9))
    assert on_rungs is not None
    assert [on_rungs.low, on_rungs.high] == pytest.approx([RUNG**-3, RUNG**4])
    assert tell_ratio(RULE, 2.04, (1.3, 3.2), 0.004, (7, 30)) is None
    with pytest.raises(ValueError, match="in its interval"):
        tell_ratio(RULE, 4.0, (1.3, 3.2), 0.004, (8, 30))


def test_p_is_told_as_a_class():
    assert [p_class(p) for p in (0.0, 0.001, 0.0099, 0.01, 0.049, 0.05, 1.0)] == [
        "< 0.001",
        "< 0.01",
        "< 0.01",
        "< 0.05",
        "< 0.05",
        ">= 0.05",
        ">= 0.05",
    ]


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        (12.34, 15.67, (12.0, 16.0)),
        (0.0, 0.0421, (0.0, 0.043)),
        (100.0, 120.0, (100.0, 120.0)),
        (9.99, 99.1, (9.9, 100.0)),
    ],
)
def test_ends_of_amounts_are_told_outwards(low: float, high: float, said: tuple[float, float]) -> None:
    assert tell_ends(low, high) == pytest.approx(said)
