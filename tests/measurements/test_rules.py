"""What a reading is, apart from whether it can be right."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.anthropometry import CATALOGUE, Dimension
from service.anthropometry.units import UNITS
from service.measurements.rules import Given, Place, place_problem, unit_problem
from service.recipients.rules import Side

GIRTH = Place(Dimension.RESIDUAL_LIMB_GIRTH, Side.LEFT, 60.0)


@pytest.mark.parametrize(
    ("typed", "value", "spread"),
    [
        (["171"], 171.0, 0.0),
        (["171.0", "171.5"], 171.25, 0.5),
        (["175", "171", "172"], 172.0, 4.0),
    ],
)
def test_the_median_counts_and_the_range_is_kept(typed, value, spread):
    reading = Given(GIRTH, tuple(map(Decimal, typed)), "mm")
    assert (reading.value, reading.spread) == (value, spread)


@pytest.mark.parametrize(("unit", "typed"), [("cm", "17.78"), ("in", "7"), ("m", "0.1778"), ("mm", "177.8")])
def test_one_girth_in_four_units(unit, typed):
    assert Given(GIRTH, (Decimal(typed),), unit).value == 177.8


@given(
    st.sampled_from(list(Dimension)).flatmap(
        lambda dimension: st.tuples(st.just(dimension), st.sampled_from(list(UNITS[CATALOGUE[dimension].unit])))
    ),
    st.decimals(min_value="0.001", max_value="99999", places=3),
)
def test_a_unit_and_back_loses_nothing(dimension_and_unit, number):
    dimension, unit = dimension_and_unit
    kept = Given(Place(dimension), (number,), unit).value
    back = Decimal(repr(kept)) / UNITS[CATALOGUE[dimension].unit][unit]
    assert back.quantize(Decimal("0.001")) == number


@pytest.mark.parametrize(
    ("place", "field"),
    [
        (Place(Dimension.RESIDUAL_LIMB_GIRTH, None, 60), "side"),
        (Place(Dimension.RESIDUAL_LIMB_GIRTH, Side.LEFT), "level_mm"),
        (Place(Dimension.HAND_LENGTH, Side.LEFT, 60), "level_mm"),
        (Place(Dimension.HEIGHT, Side.LEFT), "side"),
    ],
)
def test_a_place_says_as_much_as_its_dimension_needs(place, field):
    problem = place_problem(place)
    assert problem is not None
    assert problem.field == field


@pytest.mark.parametrize("place", [GIRTH, Place(Dimension.HAND_LENGTH, Side.RIGHT), Place(Dimension.WEIGHT)])
def test_a_whole_place_is_no_problem(place):
    assert place_problem(place) is None


def test_a_unit_of_another_kind_is_refused_with_those_that_fit():
    problem = unit_problem(GIRTH, "kg")
    assert problem is not None
    assert "mm, cm, m, in" in problem.message
    assert unit_problem(Place(Dimension.WEIGHT), "lb") is None
