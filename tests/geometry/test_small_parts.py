"""Bodies whose largest size in the small-parts cylinder is known in closed form, and the proof that finds it."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from math import cos, hypot, pi, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq
from scipy.spatial.transform import Rotation

from service.geometry.cavity import BORE_MM, DEEP_MM, FLOOR, RADIUS, SHALLOW_MM, hold
from service.geometry.covering import Covering
from service.geometry.mesh import Mesh
from service.geometry.poses import best_pose
from service.geometry.small_parts import FINE_GAP, GAP, small_part
from tests.geometry.solids import (
    box,
    cone,
    enlarged,
    hollow_sphere,
    moved,
    rod,
    socket,
    sphere,
    turned_at_random,
)

SIDES = 64
# A round mesh lies between the round body and that body made smaller by this.
SMALLER = cos(pi / SIDES)


def verdict(*meshes: Mesh):
    return small_part([mesh.vertices for mesh in meshes])


def longest_rod(thick: float) -> float:
    """The longest rod so thick that goes in, with its foot in the deep corner, leaning from there by t or upright.

    Between rim and floor it has room for L cos t + d (sin t + cos t) up to the full depth, and between the walls for
    L sin t + d cos t up to the bore. The first is most for t = 0, then falls, and rises again until the second holds.
    """

    def by_depth(lean: float) -> float:
        return (DEEP_MM - thick * (sin(lean) + cos(lean))) / cos(lean)

    def by_walls(lean: float) -> float:
        return (BORE_MM - thick * cos(lean)) / sin(lean)

    leaning = by_depth(brentq(lambda lean: by_walls(lean) - by_depth(lean), 1e-6, 1.2))
    return max(leaning, DEEP_MM - thick)


def longest_in_a_rod(radius: float, length: float) -> float:
    """The scale at which a rod of this shape is as long as may be."""
    return brentq(lambda scale: longest_rod(2 * radius * scale) - length * scale, 0.01, 0.95 * RADIUS / radius)


@pytest.mark.parametrize("radius", [3.0, 10.0, 15.0, 40.0])
def test_a_ball_fits_up_to_the_bore_and_the_floor_never_stops_it(radius: float) -> None:
    # Beside the wall on the deep side a ball touches wall, rim and floor at (R + H) / (2 + sqrt(2)) = 16.74 mm.
    assert (RADIUS + FLOOR) / (2 + sqrt(2)) > RADIUS
    said = verdict(turned_at_random(sphere(radius, 48), 1))
    largest = RADIUS / radius
    assert said.fits_up_to_scale <= largest / cos(pi / 48) ** 2
    assert said.fits_up_to_scale >= largest * (1 - GAP)
    assert said.not_from_scale >= largest
    assert said.not_from_scale <= said.fits_up_to_scale * (1 + 1.01 * GAP)


@pytest.mark.parametrize(("times", "fits"), [(0.99, True), (0.998, True), (1.004, False), (1.01, False)])
def test_a_ball_a_hair_under_the_bore_fits_and_one_over_does_not(times: float, fits: bool) -> None:
    said = verdict(turned_at_random(sphere(times * RADIUS, 64), 2))
    assert (said.fits, said.sure) == (fits, True)
    assert ("fits entirely in" in said.why) is fits
    assert ("does not fit in" in said.why) is not fits


def test_a_ball_of_the_bore_is_too_near_to_say_and_taken_to_fit() -> None:
    said = verdict(turned_at_random(sphere(1.0004 * RADIUS, 90), 3))
    assert said.fits
    assert not said.sure
    assert said.fits_up_to_scale < 1 < said.not_from_scale < said.fits_up_to_scale * (1 + 1.01 * FINE_GAP)
    assert "too near to say, so take it to fit" in said.why


def test_the_longest_line_that_fits_runs_from_rim_to_deepest_point() -> None:
    assert longest_rod(1e-9) == pytest.approx(hypot(BORE_MM, DEEP_MM), rel=1e-6)
    said = verdict(turned_at_random(rod(0.01, 50, 8), 4))
    assert said.fits_up_to_scale <= hypot(BORE_MM, DEEP_MM) / 50 <= said.not_from_scale * 1.0005
    assert said.fits_up_to_scale >= hypot(BORE_MM, DEEP_MM) / 50 * (1 - 2 * GAP)


@pytest.mark.parametrize(
    ("radius", "length"), [(1.0, 60.0), (3.0, 60.0), (5.0, 50.0), (7.0, 60.0), (10.0, 40.0), (14.0, 30.0)]
)
def test_rods_fit_up_to_the_longest(radius: float, length: float) -> None:
    said = verdict(turned_at_random(rod(radius, length, SIDES), 5))
    largest = longest_in_a_rod(radius, length)
    assert said.fits_up_to_scale >= largest * (1 - GAP)
    assert said.fits_up_to_scale <= largest / SMALLER
    assert said.not_from_scale >= largest


@pytest.mark.parametrize(("times", "fits"), [(0.993, True), (1.007, False)])
@pytest.mark.parametrize("radius", [2.0, 6.0])
def test_rods_just_under_and_over_the_longest(radius: float, times: float, fits: bool) -> None:
    said = verdict(turned_at_random(rod(radius, times * longest_rod(2 * radius), SIDES), 6))
    assert (said.fits, said.sure) == (fits, True)


@pytest.mark.parametrize("thick", [0.2, 3.0, 12.0])
def test_discs_fit_up_to_the_bore(thick: float) -> None:
    # However it is turned, some diameter of a disc is level.
    said = verdict(turned_at_random(rod(15, thick, SIDES), 7))
    assert RADIUS / 15 * (1 - GAP) <= said.fits_up_to_scale <= RADIUS / 15 / SMALLER
    assert said.not_from_scale >= RADIUS / 15
    assert verdict(turned_at_random(rod(0.996 * RADIUS, thick, SIDES), 8)).fits
    assert not verdict(turned_at_random(rod(1.008 * RADIUS, thick, SIDES), 9)).fits


def test_a_cube_fits_with_its_diagonal_across_the_bore() -> None:
    said = verdict(turned_at_random(box(10, 10, 10), 10))
    largest = BORE_MM / sqrt(2) / 10
    assert said.fits_up_to_scale == pytest.approx(largest, rel=1e-6)
    assert said.not_from_scale == pytest.approx(largest, rel=1.01 * GAP)
    assert said.not_from_scale > largest


def test_a_square_plate_stands_upright_as_deep_as_the_bore_is_wide() -> None:
    # Upright across the slope, a thin square of side a reaches from wall to wall, and the floor is deep enough beside.
    said = verdict(turned_at_random(box(20, 20, 0.001), 11))
    assert said.fits_up_to_scale >= sqrt(2) * RADIUS / 20 * (1 - GAP)


def test_a_slanting_box_goes_in_deeper_than_an_upright_one() -> None:
    # 10 x 10 x 40: upright, its shallow edge would need 40 mm where there are 41.275 - 5 at most.
    assert FLOOR - 5 < 40
    said = verdict(turned_at_random(box(10, 10, 40), 12))
    assert said.fits
    assert said.sure


@pytest.mark.parametrize("seed", range(2))
def test_only_the_hull_counts(seed: int) -> None:
    one, other = verdict(turned_at_random(sphere(18), seed)), verdict(turned_at_random(hollow_sphere(18, 16), seed))
    assert one == other


def test_a_part_fits_when_any_of_its_bodies_does() -> None:
    large, small, smaller = box(60, 60, 60), box(20, 20, 20), sphere(8)
    assert not verdict(large).fits
    said = verdict(large, moved(small, 100), moved(smaller, -100))
    assert said.fits
    assert said.sure
    assert "One of its 3 bodies, 16.0 mm long, fits" in said.why
    alone = verdict(smaller)
    assert said.fits_up_to_scale == pytest.approx(alone.fits_up_to_scale, rel=GAP)
    several = verdict(large, moved(large, 200))
    assert not several.fits
    assert "None of its 2 bodies fits" in several.why


def test_a_plate_of_copies_is_no_more_work_than_one() -> None:
    copies = [moved(cone(12, 30), 40.0 * number).vertices for number in range(200)]
    said = small_part(copies)
    assert said.fits_up_to_scale == pytest.approx(verdict(cone(12, 30)).fits_up_to_scale)


def test_flat_and_straight_bodies_are_judged_too() -> None:
    sheet = np.array([(0.0, 0.0, 0.0), (30, 0, 0), (0, 20, 0), (30, 20, 0), (15, 10, 0)])
    assert small_part([sheet]).fits
    assert not small_part([3 * sheet]).fits
    line = np.linspace((0.0, 0.0, 0.0), (40.0, 40.0, 20.0), 9)
    assert small_part([line]).fits_up_to_scale == pytest.approx(hypot(BORE_MM, DEEP_MM) / 60, rel=GAP)
    with pytest.raises(ValueError, match="body"):
        small_part([])


SHAPES: dict[str, Callable[[], Mesh]] = {
    "a box": lambda: box(12, 25, 33),
    "a strap": lambda: box(70, 12, 2),
    "a cone": lambda: cone(14, 45, 48),
    "an egg": lambda: enlarged(sphere(12, 16), 1, 1.1, 1.3),
    "a cup": lambda: socket(14, 10, 30, 2, sides=32, rows=4),
    "a cloud": lambda: Mesh(np.random.default_rng(1).normal(0, 9, (60, 3)), np.zeros((1, 3), dtype=np.int64)),
}


@pytest.mark.parametrize("name", SHAPES)
@settings(max_examples=3, deadline=None, derandomize=True)
@given(seed=st.integers(0, 2**32 - 1))
def test_turning_a_body_changes_nothing(name: str, seed: int) -> None:
    shape = SHAPES[name]()
    straight, turned_ = verdict(shape), verdict(turned_at_random(shape, seed))
    assert (straight.fits, straight.sure) == (turned_.fits, turned_.sure)
    # Both enclose the same scale, so neither may lie beyond the other's limit.
    assert straight.fits_up_to_scale <= turned_.not_from_scale
    assert turned_.fits_up_to_scale <= straight.not_from_scale
    assert straight.not_from_scale <= straight.fits_up_to_scale * (1 + 1.01 * GAP)


@pytest.mark.parametrize("name", SHAPES)
def test_no_random_pose_beats_what_was_proved(name: str) -> None:
    points = SHAPES[name]().vertices
    said = small_part([points])
    tried = hold(points, Rotation.random(20_000, rng=np.random.default_rng(0)).as_matrix())
    assert 1 / tried.gauge.min() < said.not_from_scale
    covering = Covering(GAP, 2_000_000)
    covering.add(points - points.mean(axis=0))
    near = best_pose(points, points, points)
    assert 1 / near.gauge <= 1 / covering.least


@pytest.mark.parametrize("name", SHAPES)
def test_the_pose_that_was_found_lies_in_the_cylinder_of_the_regulation(name: str) -> None:
    points = SHAPES[name]().vertices
    pose = best_pose(points, points, points)
    held = hold(points, pose.rotation[None])
    x, y, z = (points @ pose.rotation.T / pose.gauge).T
    x, y = x - held.middle[0, 0] / pose.gauge, y - held.middle[0, 1] / pose.gauge
    z = z - z.max()
    slope = (DEEP_MM - SHALLOW_MM) / BORE_MM
    depth = (SHALLOW_MM + DEEP_MM) / 2 + slope * x
    assert np.hypot(x, y).max() <= BORE_MM / 2 + 1e-6
    assert (-z <= depth + 1e-6).all()


@pytest.mark.parametrize("times", [0.5, 2.0])
def test_a_larger_body_fits_up_to_a_smaller_scale(times: float) -> None:
    one, other = verdict(cone(10, 30)), verdict(enlarged(cone(10, 30), times))
    assert other.fits_up_to_scale * times == pytest.approx(one.fits_up_to_scale, rel=1e-4)


def test_a_search_that_gives_up_still_says_nothing_wrong() -> None:
    points = turned_at_random(rod(5, 50), 1).vertices
    points = points - points.mean(axis=0)
    limits = []
    for effort in (1, 120_000, 3_000_000):
        covering = Covering(FINE_GAP, effort)
        covering.add(points)
        limits.append((covering.gauge, covering.least))
    true = 1 / longest_in_a_rod(5, 50)
    assert all(least <= true < gauge * 1.002 for gauge, least in limits)
    assert all(before <= after for (_, before), (_, after) in pairwise(limits))
    assert limits[-1][1] == pytest.approx(limits[-1][0], rel=1.01 * FINE_GAP)
    assert limits[0][1] < 0.99 * limits[0][0]  # what was not shown is not claimed
