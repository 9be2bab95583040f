"""The typical child: one child's growth, at the level of the reference."""

from __future__ import annotations

import numpy as np
import pytest

from service.anthropometry import Dimension, reference, typical_child

SCHOOL_YEARS = np.linspace(6, 16, 41)


@pytest.mark.parametrize("sex", ["female", "male"])
@pytest.mark.parametrize("dimension", Dimension)
def test_it_grows_until_it_is_grown_and_never_shrinks(dimension: Dimension, sex: str) -> None:
    child = typical_child(dimension, "male" if sex == "male" else "female")
    size = child.log_size(np.linspace(0, 100, 1001))
    assert np.all(np.diff(size) >= 0)
    assert child.log_size(12) > child.log_size(4)
    assert child.log_size(80) == child.log_size(25)


@pytest.mark.parametrize("sex", ["female", "male"])
@pytest.mark.parametrize("dimension", Dimension)
def test_over_the_school_years_it_is_as_large_as_the_reference(dimension: Dimension, sex: str) -> None:
    child = typical_child(dimension, "male" if sex == "male" else "female")
    median = reference(dimension, "male" if sex == "male" else "female").log_median(SCHOOL_YEARS)
    assert abs(np.mean(child.log_size(SCHOOL_YEARS) - median)) < 0.01


def test_its_spurt_is_steeper_than_the_medians_that_blurs_early_and_late() -> None:
    ages = np.arange(10, 17, 0.25)
    alone = np.diff(typical_child(Dimension.HEIGHT, "male").log_size(ages)).max()
    blurred = np.diff(reference(Dimension.HEIGHT, "male").log_median(np.arange(10, 17, 1.0))).max() / 4
    assert alone > blurred
