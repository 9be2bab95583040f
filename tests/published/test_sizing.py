"""Sizes, socks, tapes and plastic against figures found outside the project."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import studentized_range

from service.geometry.printing import Feature, Solid, comes_out, filament_g_per_m, passes
from service.sizing.model.fit import ROUND
from service.sizing.model.shape import RANGE_AT_5_PERCENT, TAPE_SD, likeness
from service.sizing.model.socks import thickness_mm


@pytest.mark.parametrize(("ply", "thickness"), [(1, 0.7), (3, 1.2), (5, 1.5)])
def test_socks_are_as_thick_as_they_were_measured_under_load(ply: int, thickness: float) -> None:
    assert thickness_mm([ply]) == thickness  # Sanders 2012, single material


def test_a_ply_is_a_label_and_no_thickness() -> None:
    assert thickness_mm([3]) < thickness_mm([1, 1, 1])
    assert ROUND * thickness_mm([3]) == pytest.approx(7.5, abs=0.05)  # what taking a 3-ply sock off frees: 2 pi 1.2 mm


def test_the_tape_is_as_sure_as_one_observer_was_found_to_be() -> None:
    # Reproducibility is 2.77 SD of one reading: 3.3 % for one observer (te Slaa 2011).
    assert pytest.approx(0.033, abs=0.0005) == 2.77 * TAPE_SD


@pytest.mark.parametrize(("levels", "exceeded"), RANGE_AT_5_PERCENT.items())
def test_the_range_of_several_readings_is_the_studentised_range(levels: int, exceeded: float) -> None:
    assert exceeded == pytest.approx(studentized_range.ppf(0.95, levels, np.inf), abs=0.006)


@pytest.mark.parametrize("levels", [2, 3, 6])
def test_a_limb_that_kept_its_shape_is_called_changed_one_time_in_twenty(levels: int) -> None:
    inside = np.linspace(190, 150, levels)
    tape = np.exp(np.random.default_rng(3).normal(0, TAPE_SD, (4000, levels)))
    found = [likeness(list(1.04 * inside * error), list(inside)) for error in tape]
    changed = np.mean([each is not None and not each.is_a_copy for each in found])
    assert changed == pytest.approx(0.05, abs=3 * (0.05 * 0.95 / 4000) ** 0.5)


@pytest.mark.parametrize(("scale", "times"), [(0.8, 0.558), (1.25, 1.809)])
def test_a_walled_part_does_not_weigh_by_the_cube(scale: float, times: float) -> None:
    box = Solid(100 * 40 * 30, 2 * (100 * 40 + 100 * 30 + 40 * 30), (40, 30, 100))  # 1.2 mm wall, 20 % filled
    base = box.printed(1.2, 0.2).plastic_mm3
    assert box.scaled(scale, scale).printed(1.2, 0.2).plastic_mm3 / base == pytest.approx(times, abs=0.0006)


@pytest.mark.parametrize(("density", "g_per_m"), [(1.24, 2.9825), (1.27, 3.0547), (1.21, 2.9104)])
def test_filament_weighs_what_its_density_says(density: float, g_per_m: float) -> None:
    assert filament_g_per_m(density) == pytest.approx(g_per_m, abs=0.0001)  # PLA, PETG, TPU


def test_a_hole_shrinks_with_the_part_and_what_goes_in_does_not() -> None:
    hole = Feature("pin_bore", nominal_mm=3.0, holds_mm=2.9, clearance_mm=0.1)
    assert comes_out(hole, 0.8) == pytest.approx(2.4)
    assert not passes(hole, 0.8)
