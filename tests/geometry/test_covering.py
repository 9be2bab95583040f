"""The bounds by which a body is proved to fit in the small-parts cylinder, or not to, however it is turned."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.spatial.transform import Rotation

from service.geometry import covering as search
from service.geometry.cavity import FLOOR, RADIUS, hold
from service.geometry.covering import Covering, span
from service.geometry.mesh import Mesh
from service.geometry.orientations import Cells, all_of_them, least_of, seen, spins_of, surely_above
from service.geometry.poses import Pose, best_pose, improved
from service.geometry.small_parts import GAP
from tests.geometry.solids import (
    box,
    cone,
)


@pytest.mark.parametrize("count", [2, 3, 5, 40])
def test_the_gauge_is_that_of_a_linear_programme(count: int) -> None:
    rng = np.random.default_rng(count)
    points = rng.normal(0, (9, 4, 2), (count, 3))
    rotations = Rotation.random(12, rng=rng).as_matrix()
    around = np.arange(2000) * 2 * pi / 2000
    ways = np.column_stack([np.cos(around), np.sin(around)])
    for rotation, gauge in zip(rotations, hold(points, rotations).gauge, strict=True):
        x, y, z = (points @ rotation.T).T
        wall = (np.column_stack([x, y]) @ ways.T).max(axis=0)
        drop = z.max() - (x + z).min()
        rows = np.vstack([np.column_stack([np.full(2000, -RADIUS), -ways]), [[-FLOOR, 1, 0]]])
        solved = linprog([1, 0, 0], A_ub=rows, b_ub=np.append(-wall, -drop), bounds=[(None, None)] * 3)
        assert gauge == pytest.approx(solved.fun, rel=3e-6, abs=1e-9)


@given(seed=st.integers(0, 2**32 - 1), count=st.integers(2, 30))
@settings(max_examples=60, deadline=None, derandomize=True)
def test_ties_bound_the_gauge_at_every_rotation(seed: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    points = rng.normal(0, rng.uniform(0.1, 20, 3), (count, 3))
    points[::3] *= (0, 0, 1)  # some in a line, which may be seen end on
    rotations = np.concatenate([np.eye(3)[None], Rotation.random(40, rng=rng).as_matrix()])
    held = hold(points, rotations)
    for ties, gauge in ((held.ties, held.gauge), (held.wall_ties, held.wall)):
        bounds = np.einsum("kij,bij->kb", ties, rotations)
        assert (bounds <= gauge * (1 + 1e-9) + 1e-12).all()
        np.testing.assert_allclose(bounds.diagonal(), gauge, rtol=1e-8, atol=1e-12)


def test_the_cells_leave_no_rotation_out() -> None:
    view = seen(spins_of(all_of_them()))
    ways = np.random.default_rng(6).normal(size=(100, 3))
    reach = (view.turns @ ways.T).max(axis=1)
    back = Rotation.from_matrix(view.rotations).inv()
    for rotation in Rotation.random(300, rng=np.random.default_rng(5)):
        turn = (rotation * back).as_quat()
        flat = turn[:, :3] / np.where(np.abs(turn[:, 3:]) < 1e-12, 1e-12, turn[:, 3:])
        # Within the corners of some cell's turns, as far as a hundred directions tell.
        assert (flat @ ways.T <= reach + 1e-12).all(axis=1).any()


@given(seed=st.integers(0, 2**32 - 1), halvings=st.integers(0, 5))
@settings(max_examples=40, deadline=None, derandomize=True)
def test_what_is_said_of_a_cell_holds_all_over_it(seed: int, halvings: int) -> None:
    rng = np.random.default_rng(seed)
    points = rng.normal(0, rng.uniform(1, 15, 3), (25, 3))
    cells = spins_of(all_of_them())
    cells = cells.of(rng.choice(len(cells), 20, replace=False))
    for _ in range(halvings):
        cells = cells.quartered().spun()
        cells = cells.of(rng.choice(len(cells), 20, replace=False))
    view = seen(cells)
    held = hold(points, view.rotations)
    least, least_by_wall = (
        least_of(held.ties, view.rotations, view.turns),
        least_of(held.wall_ties, view.rotations, view.level),
    )
    above = surely_above(held.ties, view.rotations, view.turns, 0.9 * held.gauge.mean())
    for _ in range(25):
        places = (
            cells.place + cells.size[:, None] * np.sign(shift := rng.uniform(-1, 1, (20, 2))) * np.abs(shift) ** 0.2
        )
        spins = cells.spin + cells.reach * rng.uniform(-1, 1, 20)
        there = hold(points, seen(Cells(cells.face, places, cells.size, spins, cells.reach)).rotations)
        assert (there.gauge >= np.where(view.wide, 0, least) - 1e-12).all()
        assert (there.wall >= least_by_wall - 1e-12).all()
        assert (there.gauge[above & ~view.wide] >= 0.9 * held.gauge.mean() - 1e-12).all()


@given(seed=st.integers(0, 2**32 - 1))
@settings(max_examples=200, deadline=None, derandomize=True)
def test_a_bound_at_the_corners_holds_between_them(seed: int) -> None:
    # Any matrices will do, so that the bound curves up as often as down.
    rng = np.random.default_rng(seed)
    ties = rng.normal(size=(50, 3, 3)) + np.eye(3)
    corners = rng.normal(0, rng.uniform(0.05, 0.6), size=(50, 4, 3))
    rotations = np.repeat(np.eye(3)[None], 50, axis=0)
    least = least_of(ties, rotations, corners)
    above = surely_above(ties, rotations, corners, 0.7)
    for _ in range(20):
        between = np.einsum("bc,bci->bi", rng.dirichlet(np.full(4, 0.6), size=50), corners)
        turns = Rotation.from_quat(np.column_stack([between, np.ones(50)])).as_matrix()
        values = np.einsum("bij,bij->b", ties, turns)
        assert (values[least > 0] >= least[least > 0] - 1e-9).all()
        assert (values[above] >= 0.7 - 1e-9).all()


def test_improving_a_pose_never_makes_it_worse() -> None:
    points = cone(10, 30, 24).vertices
    for rotation in Rotation.random(6, rng=np.random.default_rng(3)).as_matrix():
        assert improved(points, rotation).gauge <= hold(points, rotation[None]).gauge[0]


def test_the_length_of_a_body_is_one_that_lies_in_it() -> None:
    assert span(box(3, 4, 12).vertices) == pytest.approx(13)


@pytest.mark.parametrize("mesh", [box(12, 25, 33), box(70, 12, 2), cone(14, 45, 48)])
def test_the_proof_does_not_believe_a_bad_pose(mesh: Mesh, monkeypatch: pytest.MonkeyPatch) -> None:
    points = mesh.vertices - mesh.vertices.mean(axis=0)
    rotations = Rotation.random(50, rng=np.random.default_rng(1)).as_matrix()
    gauges = hold(points, rotations).gauge
    worst = Pose(rotations[gauges.argmax()], float(gauges.max()))
    true = best_pose(points, points, points).gauge
    assert worst.gauge > 1.2 * true
    monkeypatch.setattr(search, "best_pose", lambda *_: worst)
    covering = Covering(GAP, 6_000_000)
    covering.add(points)
    assert covering.least <= true
    assert covering.gauge <= true * (1 + 1.01 * GAP)
