"""What is impossible, what is surprising and which slip explains it, in cases worked out by hand.

The child is eight. Two tapes of one limb may differ by 2.5 x sqrt(2) x 1.5 % = 5.3 %, the allowance used below.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.anthropometry import CATALOGUE, SAME_LEVEL_MM, Dimension, largest_believable_growth, reference
from service.measurements.plausibility import ERROR, Judge
from service.measurements.rules import Given, Known, Method, Person, Place
from service.recipients.rules import Level, Sex, Side

TODAY = date(2026, 3, 2)
CHILD = Person(date(2018, 3, 2), Sex.FEMALE, {Side.LEFT: Level.FOREARM_UPPER})
LEFT = Place(Dimension.RESIDUAL_LIMB_GIRTH, Side.LEFT, 60.0)
RIGHT = Place(Dimension.FOREARM_GIRTH, Side.RIGHT, 60.0)
HEIGHT, WEIGHT = Place(Dimension.HEIGHT), Place(Dimension.WEIGHT)


def judge(*known: Known, person: Person = CHILD, method: Method = Method.TAPE) -> Judge:
    return Judge(person, TODAY, method, known)


def known(value: float, days_ago: int = 90, place: Place = LEFT) -> Known:
    return Known(TODAY - timedelta(days=days_ago), place, value, Method.TAPE)


def reading(*typed: float | str, place: Place = LEFT, unit: str | None = None) -> Given:
    return Given(place, tuple(Decimal(str(each)) for each in typed), unit or place.facts.unit)


@pytest.mark.parametrize(
    ("typed", "place", "unit", "meant"),
    [
        ("1810", LEFT, "mm", "did you mean 181.0 mm?"),
        ("17.1", LEFT, "mm", "did you mean 17.1 cm (171.0 mm)?"),
        ("6.75", LEFT, "mm", "did you mean 6.75 in (171.4 mm)?"),
        ("171", LEFT, "cm", "did you mean 171.0 mm?"),
        ("124.2", HEIGHT, "mm", "did you mean 124.2 cm (1242.0 mm)?"),
        ("1.242", HEIGHT, "mm", "did you mean 1.242 m (1242.0 mm)?"),
        ("25400", WEIGHT, "kg", "did you mean 25400 g (25.4 kg)?"),
    ],
)
def test_an_impossible_size_is_refused_with_the_likely_slip(typed, place, unit, meant):
    (problem,) = judge().impossible(reading(typed, place=place, unit=unit))
    assert problem.field == "values.0"
    assert meant in problem.message


def test_only_a_slip_that_would_itself_be_believed_is_proposed():
    # A tenth would fit the age, but is a third less than six weeks ago; nothing else comes near.
    (problem,) = judge(known(270, days_ago=42)).impossible(reading("1810"))
    assert "did you mean" not in problem.message
    assert "number and its unit" in problem.message


def test_the_slip_is_found_in_the_repeat_that_has_it():
    (problem,) = judge().impossible(reading("171", "17.2", "171"))
    assert problem.field == "values.1"


def test_a_limb_that_shrank_six_per_cent_is_doubted_by_any_method():
    for method in Method:
        (doubt,) = judge(known(180), method=method).doubts(reading(169.2))
        assert "6 % smaller" in doubt.message
        assert "180.0 mm" in doubt.message


@pytest.mark.parametrize("value", [172.0, 178.0, 180.0, 184.0])
def test_a_tape_laid_a_little_differently_is_no_surprise(value):
    assert not judge(known(180)).doubts(reading(value))


def test_a_few_millimetres_are_no_news_on_a_short_limb():
    short = Place(Dimension.RESIDUAL_LIMB_LENGTH, Side.LEFT)
    before = known(45, place=short)
    assert not judge(before).doubts(reading(42.2, place=short))  # 6.2 % less, but 2.8 mm
    assert judge(before).doubts(reading(41.8, place=short))  # 3.2 mm


@pytest.mark.parametrize(
    ("place", "before", "ordinary", "surprising"),
    [(HEIGHT, 1250, 1228, 1222), (WEIGHT, 26, 23.6, 23.2)],
)
def test_height_hardly_shrinks_and_weight_may_a_little(place, before, ordinary, surprising):
    assert not judge(known(before, place=place)).doubts(reading(ordinary, place=place))
    assert judge(known(before, place=place)).doubts(reading(surprising, place=place))


def test_growth_is_doubted_just_past_what_is_believable():
    days = 90
    age = CHILD.age_on(TODAY - timedelta(days=days))
    error = 2.5 * math.sqrt(2) * ERROR[Method.TAPE]
    most = largest_believable_growth(LEFT.dimension, age, days) + error
    assert not judge(known(170, days)).doubts(reading(round(170 * math.exp(most - 0.005), 1)))
    (doubt,) = judge(known(170, days)).doubts(reading(round(170 * math.exp(most + 0.005), 1)))
    assert "Hardly anybody grows so much in 90 days" in doubt.message


def test_a_reading_written_down_late_is_judged_against_what_came_after():
    later = Known(TODAY + timedelta(days=30), LEFT, 170.0, Method.TAPE)
    (doubt,) = judge(later).doubts(reading(185))
    assert "9 % larger than the 170.0 mm" in doubt.message
    assert "seldom shrinks" in doubt.message


def test_sides_are_swapped_between_residual_limb_and_sound_arm():
    history = (known(150), known(185, place=RIGHT))
    (left,) = judge(*history).doubts(reading(186))
    (right,) = judge(*history).doubts(reading(150.5, place=RIGHT))
    for doubt in (left, right):
        assert "Are left and right swapped?" in doubt.message
    assert not judge(*history).doubts(reading(151))


@pytest.mark.parametrize(("apart", "is_judged"), [(SAME_LEVEL_MM, True), (SAME_LEVEL_MM + 1, False)])
def test_a_level_that_a_tape_hardly_tells_apart_is_judged_as_the_same(apart, is_judged):
    there = replace(LEFT, level_mm=LEFT.level_mm + apart)
    other_arm = replace(RIGHT, level_mm=RIGHT.level_mm + apart)
    later = Known(TODAY + timedelta(days=30), there, 170.0, Method.TAPE)
    for history, value, said in [
        ([known(180, place=there)], 169.2, "6 % smaller"),
        ([later], 185, "larger"),
        ([known(171, days_ago=0, place=there)], 171, "already recorded for this day"),
        ([known(150), known(185, place=other_arm)], 186, "Are left and right swapped?"),
    ]:
        said_all = " ".join(doubt.message for doubt in judge(*history).doubts(reading(value)))
        assert (said in said_all) is is_judged, said


def test_of_two_levels_nearby_the_nearest_is_compared():
    above = known(190, place=replace(LEFT, level_mm=60.0 - SAME_LEVEL_MM))
    assert not judge(above, known(176)).doubts(reading(176))
    assert not judge(known(176), above).doubts(reading(176))


def test_one_dimension_measured_on_both_sides_can_be_swapped_too():
    sides = [Place(Dimension.HAND_LENGTH, side) for side in Side]
    both = Person(CHILD.birth_date, CHILD.sex, {})
    history = (known(125, place=sides[0]), known(140, place=sides[1]))
    (doubt,) = judge(*history, person=both).doubts(reading(140, place=sides[0]))
    assert "Are left and right swapped?" in doubt.message


def test_a_residual_limb_on_a_side_without_one_is_the_other_side():
    (doubt,) = judge().doubts(reading(170, place=Place(LEFT.dimension, Side.RIGHT, 60.0)))
    assert "Is it the other side?" in doubt.message


def test_a_hand_on_a_limb_that_ends_above_it_is_the_other_side():
    (doubt,) = judge().doubts(reading(135, place=Place(Dimension.HAND_LENGTH, Side.LEFT)))
    assert "Is it the other side?" in doubt.message


def test_far_from_the_reference_is_doubted_and_the_other_unit_proposed():
    (doubt,) = judge().doubts(reading("56", place=WEIGHT))
    assert "at 8 years" in doubt.message
    assert "Did you perhaps mean 56 lb (25.4 kg)?" in doubt.message


def test_the_reference_is_left_at_four_standard_deviations():
    hand = Place(Dimension.HAND_LENGTH, Side.RIGHT)
    curve, age = reference(hand.dimension, "female"), CHILD.age_on(TODAY)
    at = [float(curve.median(age) * math.exp(z * curve.log_sd(age))) for z in (-4.1, -3.9, 3.9, 4.1)]
    assert [bool(judge().doubts(reading(value, place=hand))) for value in at] == [True, False, False, True]


def test_somebody_known_to_be_small_is_not_doubted_each_time():
    assert judge().doubts(reading(880, place=HEIGHT))
    assert not judge(known(875, place=HEIGHT)).doubts(reading(880, place=HEIGHT))


def test_a_forearm_is_thin_at_the_wrist():
    assert not judge().doubts(reading(125, place=Place(Dimension.FOREARM_GIRTH, Side.RIGHT, 180.0)))


def test_repeats_that_disagree_are_doubted():
    (doubt,) = judge().doubts(reading(170, 171, 179))
    assert "9.0 mm apart" in doubt.message
    assert not judge().doubts(reading(170, 171, 175))
    assert judge().doubts(reading(1240, 1262, place=HEIGHT))


def test_the_same_place_on_the_same_day_is_doubted():
    (doubt,) = judge(known(171, days_ago=0)).doubts(reading(171))
    assert "already recorded for this day" in doubt.message


@given(
    age=st.integers(min_value=1, max_value=70),
    sex=st.sampled_from(list(Sex)),
    dimension=st.sampled_from(list(Dimension)),
)
def test_nobody_of_ordinary_size_is_doubted(age, sex, dimension):
    facts = CATALOGUE[dimension]
    place = Place(dimension, Side.LEFT if facts.needs_side else None, 30.0 if facts.needs_level else None)
    person = Person(date(TODAY.year - age, 3, 2), sex, {})
    size = round(float(reference(dimension, sex.value).median(person.age_on(TODAY))), 1)
    ordinary = reading(size, place=place)
    assert not judge(person=person).impossible(ordinary)
    assert not judge(person=person).doubts(ordinary)
