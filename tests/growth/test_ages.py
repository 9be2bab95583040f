"""What the model says at every age of somebody it has one reading of: whether it makes sense, and stands as written."""

from __future__ import annotations

import re
from datetime import timedelta
from itertools import pairwise
from math import inf, log
from typing import get_args

import pytest

from service.anthropometry import Dimension, reference
from service.growth.model import forecast
from service.growth.model.case import Case, Channel, Forecast, Limit, Method, Reading
from tests.architecture.sources import ROOT
from tests.benchmarks.ages import AGES, DIMENSIONS, LATER, SEXES, TODAY, Sexed, foreseen, months, table

GROWN = [age for age in AGES if age >= 20]
BOTH = [(dimension, sex) for dimension in DIMENSIONS for sex in SEXES]
each_dimension = pytest.mark.parametrize(("dimension", "sex"), BOTH)

# Five hundred paths give a spread give or take three per cent of it.
DRAWN = 0.97


def spread_ahead(found: Forecast) -> list[float]:
    """How wide the middle 80 per cent of log sizes are today and every half year ahead."""
    ahead = [point for point in found.curve if point.on >= TODAY]
    return [log(point.p90 / point.p10) for point in ahead[::6]]


def measured(
    dimension: Dimension, sex: Sexed, age: float, years_ago: float | None, method: Method = "tape"
) -> Forecast:
    """Somebody measured once, so long ago (None is never), of the median size that they had then."""
    channel, born = Channel(dimension, "left"), TODAY - timedelta(days=round(age * 365.25))
    curve = reference(dimension, sex)
    readings: tuple[Reading, ...] = ()
    if years_ago is not None:
        on = TODAY - timedelta(days=round(years_ago * 365.25))
        readings = (Reading(on, channel, float(curve.median(age - years_ago)), method),)
    limit = Limit(channel, 1.08 * float(curve.median(age)))
    return forecast(Case(born, sex, TODAY, readings, None, (limit,)))


@each_dimension
@pytest.mark.parametrize("age", AGES)
def test_the_farther_ahead_the_less_is_known(dimension: Dimension, sex: Sexed, age: float) -> None:
    spread = spread_ahead(foreseen(dimension, sex, age))
    assert len(spread) == 7
    for sooner, later in pairwise(spread):
        assert later >= DRAWN * sooner
    if age < 14:
        assert spread[-1] > 1.4 * spread[0], "a child may take more than one course"


@each_dimension
@pytest.mark.parametrize("age", [age for age in AGES if age >= 3])
def test_the_longer_ago_the_reading_the_less_is_known(dimension: Dimension, sex: Sexed, age: float) -> None:
    today, *older = (spread_ahead(measured(dimension, sex, age, years))[0] for years in (0, 0.5, 1, 2, None))
    for newer, each in pairwise([today, *older]):
        assert each >= DRAWN * newer
    assert older[-1] > 2 * today, "without a reading only age and sex are known"


@each_dimension
def test_a_rougher_way_of_measuring_leaves_more_open(dimension: Dimension, sex: Sexed) -> None:
    spread = {method: spread_ahead(measured(dimension, sex, 8, 0, method))[0] for method in get_args(Method)}
    assert spread["scan"] < spread["tape"] < spread["family"]


@each_dimension
@pytest.mark.parametrize("age", [0.25, 0.5, *AGES])
def test_dates_are_in_order_and_later_with_more_room(dimension: Dimension, sex: Sexed, age: float) -> None:
    before = (0.0, 0.0, 0.0)
    for room in (0.02, 0.04, 0.08, 0.12):
        found = foreseen(dimension, sex, age, room)
        due = (months(found.p10), months(found.p50), months(found.p90))
        assert due == tuple(sorted(due))
        assert all(later >= sooner for sooner, later in zip(before, due, strict=True))
        before = due
    assert foreseen(dimension, sex, age).already < 0.02, "eight per cent of room is not used up by the tape's error"


@each_dimension
@pytest.mark.parametrize("age", [*GROWN, 85])
def test_who_is_grown_up_is_not_due_within_three_years(dimension: Dimension, sex: Sexed, age: float) -> None:
    found = foreseen(dimension, sex, age)
    assert (found.p10, found.p50, found.p90) == (None, None, None)
    assert max(found.within.values()) < 0.02


@each_dimension
def test_an_infant_is_due_within_months_and_a_hand_a_little_later_every_year(dimension: Dimension, sex: Sexed) -> None:
    assert months(foreseen(dimension, sex, 0.25).p90) < 4
    assert months(foreseen(dimension, sex, 0.5).p50) < 6
    ages = (0.25, 0.5, 1, 2, 3, 5, 8) if dimension is Dimension.HAND_LENGTH else (0.25, 0.5, 1)
    middle = [months(foreseen(dimension, sex, age).p50) for age in ages]
    assert middle == sorted(middle)
    assert len(set(middle)) == len(middle)


def test_girls_stop_before_boys() -> None:
    for dimension in DIMENSIONS:
        assert months(foreseen(dimension, "female", 14).p10) > months(foreseen(dimension, "male", 14).p10)
        girls, boys = (growth(foreseen(dimension, sex, 14)) for sex in SEXES)
        assert girls < boys


def growth(found: Forecast) -> float:
    """Log growth of the median over the coming year."""
    ahead = [point for point in found.curve if point.on >= TODAY]
    return log(ahead[12].p50 / ahead[0].p50)


def figures(text: str) -> list[list[float]]:
    """The rows of the table in a text: the age, then each cell's months, infinite for not within three years."""
    rows = re.findall(r"^\| (\d+ \|.*) \|$", text, re.MULTILINE)
    return [
        [inf if each == LATER else float(each) for cell in row.split(" | ") for each in _months(cell)] for row in rows
    ]


def _months(cell: str) -> list[str]:
    return [LATER] * 3 if cell == LATER else re.findall(rf"{LATER}|\d+", cell)


def test_the_table_of_ages_is_written_down_as_the_model_has_it() -> None:
    written = (ROOT / "DEVELOPERS.md").read_text().partition("**At every age.**")[2].partition("\n\n**")[0]
    said, found = figures(written), figures(table())
    assert [row[0] for row in said] == list(AGES)
    for row, now in zip(said, found, strict=True):
        # Another machine's arithmetic may turn a month; more than that is another model.
        message = f"age {now[0]:.0f}: put into DEVELOPERS.md what `python -m tests.benchmarks.ages` prints"
        assert row == pytest.approx(now, abs=1), message
