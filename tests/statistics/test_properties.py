"""What must hold whatever comes: sides may be swapped, units changed, order shuffled; more evidence never unsettles."""

from __future__ import annotations

from math import isclose

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.statistics import (
    Lives,
    chart,
    garwood,
    goal_attainment,
    hazard_ratio,
    kaplan_meier,
    kit,
    logrank,
    newcombe,
    site_kit,
    wilson,
)
from tests.statistics.registers import drawn, untied

SEEDS = st.integers(0, 2**32 - 1)
REAL = st.floats(0, 1)


@given(REAL, st.floats(1e-6, 1e9))
def test_a_share_lies_in_its_interval_and_the_other_share_in_the_mirrored_one(share, trials):
    successes = share * trials
    found, other = wilson(successes, trials), wilson(trials - successes, trials)
    assert found is not None
    assert other is not None
    assert 0 <= found.low <= successes / trials <= found.high <= 1
    assert (other.high, other.low) == pytest.approx((1 - found.low, 1 - found.high), abs=1e-9)


@given(st.integers(0, 10_000))
def test_a_count_lies_in_its_interval_and_more_is_higher(count):
    found, more = garwood(count), garwood(count + 1)
    assert found.low <= count < found.high
    assert more.low > found.low
    assert more.high > found.high


@given(*[st.tuples(st.integers(0, 60), st.integers(1, 60)).map(lambda pair: (min(pair), max(pair)))] * 2)
def test_a_difference_turned_round(first, second):
    found, turned = newcombe(*first, *second), newcombe(*second, *first)
    assert found is not None
    assert turned is not None
    assert -1 <= found.low <= found.value <= found.high <= 1
    assert turned == pytest.approx((-found.value, -found.high, -found.low), abs=1e-12)


@given(SEEDS, st.integers(1, 30), st.integers(0, 15))
def test_followed_from_the_first_day_to_the_end_a_curve_is_the_plain_share(seed, count, day):
    rng = np.random.default_rng(seed)
    ends = rng.integers(1, 15, count)
    found = kaplan_meier(Lives.of(np.zeros(count), ends, np.ones(count))).at(day)
    assert found is not None
    assert isclose(found.value, (ends > day).mean(), abs_tol=1e-12)


@given(SEEDS, st.integers(1, 30), st.floats(0.01, 100))
def test_neither_order_nor_the_unit_of_time_matters_to_a_curve(seed, count, unit):
    rng = np.random.default_rng(seed)
    lives = drawn(rng, count)
    order = rng.permutation(count)
    shuffled = Lives.of(lives.entry[order] * unit, lives.exit[order] * unit, lives.event[order])
    one, other = kaplan_meier(lives), kaplan_meier(shuffled)
    assert other.survival == pytest.approx(one.survival)
    assert other.low == pytest.approx(one.low)
    assert bool(other.note) == bool(one.note)
    groups = rng.integers(0, 3, count)
    first, second = logrank(lives, groups), logrank(shuffled, 7 - groups[order])
    assert (first is None) == (second is None)
    if first is not None and second is not None:
        assert second.chi_square == pytest.approx(first.chi_square, abs=1e-9)


@given(SEEDS)
def test_observed_and_expected_failures_are_as_many(seed):
    rng = np.random.default_rng(seed)
    lives = drawn(rng, 40)
    found = logrank(lives, rng.integers(0, 4, 40))
    assert found is not None
    assert found.expected.sum() == pytest.approx(found.observed.sum())
    assert found.observed.sum() == lives.event.sum()
    assert 0 <= found.p <= 1


@given(SEEDS)
def test_a_ratio_turned_round_is_one_over_it_and_copies_of_a_part_add_nothing(seed):
    rng = np.random.default_rng(seed)
    lives, group, device = untied(rng, 40), rng.random(40) < 0.5, np.arange(40)
    found, turned = hazard_ratio(lives, group, device), hazard_ratio(lives, ~group, device)
    assert bool(found.reason) == bool(turned.reason)
    if found.estimate is None or turned.estimate is None or found.naive is None:
        return
    value, low, high = found.estimate
    assert low < value < high
    assert turned.estimate == pytest.approx((1 / value, 1 / high, 1 / low))
    # The same part twice in its device, a moment apart so that they do not tie: as sure as before, not surer.
    shift = 1e-7
    twice = hazard_ratio(
        Lives.of(
            np.concatenate([lives.entry, lives.entry]),
            np.concatenate([lives.exit, lives.exit + shift]),
            np.concatenate([lives.event, lives.event]),
        ),
        np.concatenate([group, group]),
        np.concatenate([device, device]),
    )
    assert twice.estimate is not None
    assert twice.naive is not None
    assert twice.estimate.high / twice.estimate.low == pytest.approx(high / low, rel=0.2)
    assert twice.naive.high / twice.naive.low < found.naive.high / found.naive.low


@given(
    st.tuples(st.integers(0, 30), st.floats(1, 1e5)),
    st.integers(0, 8),
    st.floats(0, 900),
    st.floats(0.5, 0.99),
    st.floats(1, 2),
)
def test_more_parts_days_or_safety_never_need_fewer_spares_and_more_days_seen_never_more(
    seen, parts, days, level, more
):
    failures, exposure = seen
    found = kit(failures, exposure, parts, days, level)
    if found is None:
        return
    assert found.chance >= level
    assert not 0 < found.chance < 1 or kit(failures, exposure, parts, days, found.chance) == found
    for asks_more in (
        kit(failures, exposure, parts + 1, days, level),
        kit(failures, exposure, parts, days * more, level),
        kit(failures, exposure, parts, days, 1 - (1 - level) / more),
        kit(failures + 1, exposure, parts, days, level),
    ):
        assert asks_more is None or asks_more.count >= found.count
    better_known = kit(failures, exposure * more, parts, days, level)
    assert better_known is not None
    assert better_known.count <= found.count


@given(st.integers(0, 30), st.floats(500, 1e5), st.lists(st.tuples(st.integers(1, 5), st.integers(1, 300)), max_size=6))
def test_what_a_site_needs_goes_by_the_part_days_of_all_its_recipients(failures, exposure, places):
    together = site_kit(failures, exposure, places, 0.95)
    alone = [kit(failures, exposure, parts, days, 0.95) for parts, days in places]
    assert together is not None
    assert together == kit(failures, exposure, 1, sum(parts * days for parts, days in places), 0.95)
    assert together.expected == pytest.approx(sum(each.expected for each in alone if each is not None))


@given(SEEDS, st.floats(0.01, 100), st.floats(-1000, 1000))
def test_the_unit_of_a_chart_does_not_matter_and_turned_upside_down_up_is_down(seed, scale, shift):
    values = np.random.default_rng(seed).normal(0, 1, 24).round(3)
    plain, other, turned = (chart(each.tolist()) for each in (values, values * scale + shift, -values))
    places = [(each.rule, each.first, each.last, each.up) for each in plain.findings]
    assert [(each.rule, each.first, each.last, each.up) for each in other.findings] == places
    assert {(each.rule, each.first, each.last, not each.up) for each in turned.findings} == set(places)


@given(st.lists(st.tuples(st.integers(-2, 2), st.integers(1, 5)), min_size=1, max_size=8), st.floats(0.1, 10))
def test_goals_turned_round_lie_as_far_below_and_only_shares_of_weight_count(goals, scale):
    scores, weights = [score for score, _ in goals], [float(weight) for _, weight in goals]
    found = goal_attainment(scores, weights)
    assert goal_attainment([-score for score in scores], weights) == pytest.approx(100 - found)
    assert goal_attainment(scores, [weight * scale for weight in weights]) == pytest.approx(found)
    assert goal_attainment([0] * len(scores), weights) == 50
