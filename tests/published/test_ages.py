"""How much the model expects people of every age to grow, against growth other people published.

Each is somebody of median size with one reading, as in `tests/benchmarks/ages.py`.
"""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from service.anthropometry import Dimension, reference
from service.growth.model.ahead import look_ahead
from service.growth.model.case import CurvePoint
from tests.benchmarks.ages import TODAY, Sexed, case, foreseen


def a_year(dimension: Dimension, sex: Sexed, age: float) -> tuple[CurvePoint, CurvePoint]:
    """The size at an age and a year later."""
    ahead = [point for point in foreseen(dimension, sex, age).curve if point.on >= TODAY]
    return ahead[0], ahead[12]


@pytest.mark.parametrize(
    ("sex", "age", "published"),
    [
        ("male", 5, 5.4),
        ("female", 5, 4.7),
        ("male", 9, 6.5),
        ("female", 9, 6.1),
        ("male", 13, 11.3),
        ("female", 13, 6.0),
    ],
)
def test_girth_grows_in_a_year_about_as_forearms_differ_between_ages(sex: Sexed, age: float, published: float) -> None:
    # Snyder 1977, UM-HSRI-77-17, computed: rise of the mean forearm girth with age, mm a year, each child measured
    # once, so that puberty is smeared. The model's curve is made from calves, measured from eight on, and so runs fast
    # up to nine: a few months too early rather than too late.
    now, later = a_year(Dimension.RESIDUAL_LIMB_GIRTH, sex, age - 0.5)
    assert later.p50 - now.p50 == pytest.approx(published, abs=3)
    if age <= 9:
        assert later.p50 - now.p50 > published


@pytest.mark.parametrize("sex", ["female", "male"])
def test_girth_at_ten_grows_as_much_and_differs_as_much_as_in_the_children_followed(sex: Sexed) -> None:
    # Calf girth of the Berkeley Guidance Study (Tuddenham & Snyder 1954), computed: at ten a year's log increment is
    # 3.5 to 3.7 per cent, with an SD of 2.1 between children; the model has seen one reading of each.
    asked = case(Dimension.RESIDUAL_LIMB_GIRTH, sex, 10)
    girth = asked.limits[0].channel
    sizes = np.log(look_ahead(asked, [girth]).sizes[girth])
    growth = 100 * (sizes[:, 12] - sizes[:, 0])
    assert np.median(growth) == pytest.approx(3.6, abs=0.4)
    assert growth.std() == pytest.approx(2.1, abs=0.3)


@pytest.mark.parametrize(
    ("sex", "age", "velocity"),
    [
        ("male", 2.5, 82),
        ("male", 6.5, 60),
        ("male", 10.5, 51),
        ("female", 2.5, 86),
        ("female", 6.5, 61),
        ("female", 10.5, 67),
    ],
)
def test_hands_grow_in_proportion_to_stature(sex: Sexed, age: float, velocity: float) -> None:
    # Tanner & Davies 1985, J Pediatr 107:317: median height velocity, mm a year. That a hand keeps its share of stature
    # is the model's own assumption, for want of a study that followed hands; the survey's hands bear it out.
    now, later = a_year(Dimension.HAND_LENGTH, sex, age - 0.5)
    of_stature = velocity / float(reference(Dimension.HEIGHT, sex).median(age))
    assert 100 * log(later.p50 / now.p50) == pytest.approx(100 * of_stature, abs=0.6)


@pytest.mark.parametrize(("sex", "peak_at", "velocity"), [("male", 13.5, 95), ("female", 11.5, 84)])
def test_one_reading_does_not_tell_whether_the_spurt_is_early_or_late(
    sex: Sexed, peak_at: float, velocity: float
) -> None:
    # Tanner & Davies 1985: the peak of a child of average tempo. Who has one reading may be before it or past it, so
    # the median grows less than at the peak, though well over half as much.
    now, later = a_year(Dimension.HAND_LENGTH, sex, peak_at - 0.5)
    peak = velocity / float(reference(Dimension.HEIGHT, sex).median(peak_at))
    assert 0.7 * peak < log(later.p50 / now.p50) < peak
