"""The reference curves behave as bodies do. Checks against published values are in `tests/published`."""

import numpy as np
import pytest

from service.anthropometry import Dimension, Sex, largest_believable_growth, reference

SEXES: tuple[Sex, ...] = ("female", "male", "unspecified")
AGES = np.linspace(0, 100, 801)


@pytest.mark.parametrize("sex", SEXES)
@pytest.mark.parametrize("dimension", Dimension)
def test_a_median_never_falls_and_its_spread_stays_positive_at_any_age(dimension: Dimension, sex: Sex) -> None:
    curve = reference(dimension, sex)
    assert np.all(np.diff(curve.median(AGES)) >= 0)
    assert np.all(curve.log_sd(AGES) > 0.02)


def test_z_undoes_the_median_and_the_spread() -> None:
    curve = reference(Dimension.HAND_LENGTH, "female")
    one_sd_up = curve.median(9.0) * np.exp(curve.log_sd(9.0))
    assert curve.z(one_sd_up, 9.0) == pytest.approx(1.0)


def test_an_unspecified_sex_lies_between_the_two_and_is_wider_than_either() -> None:
    female, male, either = (reference(Dimension.HEIGHT, sex) for sex in SEXES)
    assert female.median(17) < either.median(17) < male.median(17)
    assert either.log_sd(17) > max(female.log_sd(17), male.log_sd(17))


def test_a_residual_limb_varies_more_than_a_sound_forearm() -> None:
    residual = reference(Dimension.RESIDUAL_LIMB_GIRTH, "male")
    sound = reference(Dimension.FOREARM_GIRTH, "male")
    assert np.all(residual.log_sd(AGES) > sound.log_sd(AGES))


@pytest.mark.parametrize("dimension", Dimension)
def test_believable_growth_exceeds_the_median_child_and_shrinks_with_age(dimension: Dimension) -> None:
    at_five = largest_believable_growth(dimension, 5.0, 365.25)
    median = np.diff(reference(dimension, "male").log_median([5.0, 6.0]))[0]
    assert at_five > 1.5 * median
    assert (
        largest_believable_growth(dimension, 1.0, 365.25) > at_five > largest_believable_growth(dimension, 40.0, 365.25)
    )
    assert largest_believable_growth(dimension, 5.0, 0) == 0.0
