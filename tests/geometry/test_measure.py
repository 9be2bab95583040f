"""Closed or not, how many bodies, what volume, and what is wrong with a mesh, in words."""

from __future__ import annotations

from math import cos, pi, sin

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from service.geometry.answers import Axis, Geometry, Inside
from service.geometry.measure import measure
from service.geometry.mesh import Mesh
from service.kit.unfit import Unfit
from tests.geometry.solids import (
    box,
    enlarged,
    finer,
    hollow_sphere,
    inside_out,
    joined,
    moved,
    polygon,
    ring,
    rod,
    socket,
    soup,
    sphere,
    tube,
    turned_at_random,
    wall_of,
    without,
)

CUBE = box(10, 10, 10)


def measured(mesh: Mesh, inside: Inside | None = None) -> Geometry:
    return measure(mesh, Axis(), inside)


def doubts(mesh: Mesh) -> str:
    return " ".join(measured(mesh).doubts)


@pytest.mark.parametrize("in_pieces", [False, True])
def test_a_box_in_figures(in_pieces: bool) -> None:
    brick = moved(box(10, 20, 30), 5, -3, 1)
    said = measured(soup(brick) if in_pieces else brick)
    assert said.watertight
    assert said.bodies == 1
    assert said.triangles == 12
    assert said.bounding_box_mm == pytest.approx((10, 20, 30))
    assert said.volume_mm3 == pytest.approx(6000)
    assert said.area_mm2 == pytest.approx(2200)
    assert said.thinnest_wall_mm == pytest.approx(10)
    assert said.inside_profile == []
    assert said.small_part.fits
    assert said.doubts == []


def test_round_bodies_have_the_volume_and_area_of_their_faces() -> None:
    around = 4 * sin(pi / 64) * cos(pi / 64) * 16  # the area of a polygon of 64 sides on a circle of radius 1
    said = measured(rod(5, 40))
    assert said.volume_mm3 == pytest.approx(around * 25 * 40)
    assert said.area_mm2 == pytest.approx(2 * around * 25 + 2 * pi * polygon(64) * 5 * 40)


@settings(max_examples=5, deadline=None, derandomize=True)
@given(seed=st.integers(0, 2**32 - 1))
def test_figures_do_not_hang_on_how_the_triangles_lie(seed: int) -> None:
    cup = socket(20, 16, 40, 2, sides=32, rows=6)
    rng = np.random.default_rng(seed)
    pieces = soup(turned_at_random(cup, seed))
    shuffled = Mesh(pieces.vertices, np.roll(rng.permutation(pieces.faces), int(rng.integers(3)), axis=1))
    one, other = measured(cup), measured(shuffled)
    assert other.watertight
    assert other.volume_mm3 == pytest.approx(one.volume_mm3)
    assert other.area_mm2 == pytest.approx(one.area_mm2)
    assert other.thinnest_wall_mm == pytest.approx(one.thinnest_wall_mm, rel=0.002)
    assert (other.bodies, other.doubts) == (one.bodies, [])


def test_the_same_mesh_gives_the_same_figures() -> None:
    cup = soup(socket(20, 16, 40, 2, sides=32, rows=6))
    assert measured(cup, Inside()) == measured(cup, Inside())


def test_single_precision_does_not_open_a_surface() -> None:
    ball = turned_at_random(sphere(40, 40), 3)
    said = measured(soup(Mesh(ball.vertices.astype(np.float32).astype(np.float64), ball.faces)))
    assert said.watertight
    assert said.doubts == []


def test_corners_that_all_but_touch_are_one() -> None:
    pieces = soup(finer(CUBE, 2))
    shaken = pieces.vertices + np.random.default_rng(0).uniform(-2e-4, 2e-4, pieces.vertices.shape)
    said = measured(Mesh(shaken, pieces.faces))
    assert said.watertight
    assert said.volume_mm3 == pytest.approx(1000, rel=1e-3)


def test_corners_that_do_not_touch_are_not() -> None:
    pieces = soup(CUBE)
    shaken = pieces.vertices + np.random.default_rng(0).uniform(-0.2, 0.2, pieces.vertices.shape)
    assert not measured(Mesh(shaken, pieces.faces)).watertight


@pytest.mark.parametrize(
    ("mesh", "edges", "holes"),
    [
        (without(CUBE, 3), 3, "1 hole"),
        (without(CUBE, 0, 1), 4, "1 hole"),
        (without(sphere(10), 100, 700), 6, "2 holes"),
        (wall_of([ring(10, 0, 12), ring(10, 30, 12)]), 24, "2 holes"),
    ],
)
def test_an_open_surface_has_no_volume_and_says_where(mesh: Mesh, edges: int, holes: str) -> None:
    said = measured(soup(mesh))
    assert not said.watertight
    assert said.volume_mm3 is None
    assert said.thinnest_wall_mm is None
    assert f"not closed: {edges} open edges around {holes}" in " ".join(said.doubts)


def test_an_edge_of_three_faces_is_said() -> None:
    fin = Mesh(np.vstack([CUBE.vertices, [[20, 20, 5]]]), np.vstack([CUBE.faces, [[6, 7, 8]]]))
    assert "1 edge is shared by three triangles" in doubts(fin)
    assert not measured(fin).watertight


@pytest.mark.parametrize("turned", [[0], [3, 4], [0, 1, 2, 3, 4], [0, 1, 2, 3, 4, 5]])
def test_faces_that_look_the_wrong_way_are_turned_and_said(turned: list[int]) -> None:
    faces = CUBE.faces.copy()
    faces[turned] = faces[turned, ::-1]
    said = measured(Mesh(CUBE.vertices, faces))
    assert said.watertight
    assert said.volume_mm3 == pytest.approx(1000)
    assert f"{len(turned)} triangle" in " ".join(said.doubts)
    assert "the other way than those around" in " ".join(said.doubts)


@pytest.mark.parametrize("mesh", [CUBE, hollow_sphere(10, 8)])
def test_what_is_inside_out_is_turned_and_said(mesh: Mesh) -> None:
    right, wrong = measured(mesh), measured(inside_out(mesh))
    assert wrong.volume_mm3 == pytest.approx(right.volume_mm3)
    assert wrong.thinnest_wall_mm == pytest.approx(right.thinnest_wall_mm)
    assert "inside out" in " ".join(wrong.doubts)
    assert right.doubts == []


def test_a_surface_with_one_side_is_said() -> None:
    turn = np.linspace(0, 2 * pi, 41)[:-1]
    band = [
        ((10 + wide * cos(t / 2)) * cos(t), (10 + wide * cos(t / 2)) * sin(t), wide * sin(t / 2))
        for t in turn
        for wide in (-2, 2)
    ]
    faces = []
    for step in range(40):
        a, b = 2 * step, 2 * step + 1
        c, d = (a + 2, b + 2) if step < 39 else (1, 0)
        faces += [(a, c, b), (b, c, d)]
    said = measured(Mesh(np.array(band), np.array(faces)))
    assert not said.watertight
    assert "one side only" in " ".join(said.doubts)


def test_flat_triangles_are_left_out_and_said() -> None:
    flat = Mesh(CUBE.vertices, np.vstack([CUBE.faces, [[0, 0, 1], [2, 3, 3]]]))
    assert "2 triangles have no area" in doubts(flat)
    assert measured(flat).watertight


def test_a_sliver_without_area_keeps_its_neighbours_together() -> None:
    # The middle of an edge is a corner for the faces on one side of it, and bridged by a sliver on the other.
    middle = (CUBE.vertices[0] + CUBE.vertices[1]) / 2
    vertices = np.vstack([CUBE.vertices, middle])
    faces = [tuple(face) for face in CUBE.faces.tolist()]
    cut = next(face for face in faces if {0, 1} <= set(face))
    faces.remove(cut)
    one, two = (k for k in range(3) if cut[k] in {0, 1})
    start, end = (one, two) if (one + 1) % 3 == two else (two, one)
    third = 3 - start - end
    faces += [(cut[start], 8, cut[third]), (8, cut[end], cut[third]), (cut[start], cut[end], 8)]
    said = measured(Mesh(vertices, np.array(faces)))
    assert said.watertight
    assert said.volume_mm3 == pytest.approx(1000)
    assert "1 triangle has no area" in " ".join(said.doubts)


def test_triangles_that_are_there_twice_count_once() -> None:
    said = measured(joined(CUBE, CUBE))
    assert said.watertight
    assert said.volume_mm3 == pytest.approx(1000)
    assert "12 triangles lie exactly on another" in " ".join(said.doubts)


def test_solids_glued_at_a_face_are_one_body() -> None:
    said = measured(joined(CUBE, moved(CUBE, 10)))
    assert (said.watertight, said.bodies) == (True, 1)
    assert said.volume_mm3 == pytest.approx(2000)
    assert said.area_mm2 == pytest.approx(1000)
    assert "back to back" in " ".join(said.doubts)


@pytest.mark.parametrize("shift", [(10, 10, 0), (10, 10, 10)])
def test_solids_that_touch_along_an_edge_or_at_a_corner_are_two(shift: tuple[int, int, int]) -> None:
    said = measured(joined(CUBE, moved(CUBE, *shift)))
    assert (said.watertight, said.bodies) == (True, 2)
    assert said.volume_mm3 == pytest.approx(2000)
    assert ("touch there along a line" in " ".join(said.doubts)) is (shift[2] == 0)


@pytest.mark.parametrize("shift", [(5, 3, 2), (5, 0, 0), (2, 2, -4)])
def test_solids_that_overlap_are_printed_as_one(shift: tuple[int, int, int]) -> None:
    said = measured(joined(CUBE, moved(CUBE, *shift)))
    assert said.bodies == 1
    assert "2 closed surfaces overlap" in " ".join(said.doubts)


def test_a_hollow_is_no_body_and_a_body_in_it_is() -> None:
    shell, ball = hollow_sphere(10, 8), sphere(3)
    assert measured(shell).bodies == 1
    said = measured(joined(shell, ball))
    assert said.bodies == 2
    assert said.doubts == []
    alone = measured(shell).volume_mm3
    assert alone is not None
    assert said.volume_mm3 == pytest.approx(alone + (measured(ball).volume_mm3 or 0))


def test_a_solid_inside_solid_material_does_not_count() -> None:
    said = measured(joined(sphere(10), sphere(3)))
    alone = measured(sphere(10))
    assert said.bodies == 1
    assert said.volume_mm3 == pytest.approx(alone.volume_mm3)
    assert said.area_mm2 == pytest.approx(alone.area_mm2)
    assert said.thinnest_wall_mm == pytest.approx(alone.thinnest_wall_mm, rel=0.005)
    assert "inside solid material" in " ".join(said.doubts)


def test_many_bodies_are_counted() -> None:
    plate = joined(*(moved(sphere(2, 6), 6.0 * (n % 20), 6.0 * (n // 20)) for n in range(300)))
    assert measured(soup(plate)).bodies == 300


def test_a_surface_that_cuts_through_itself_is_said() -> None:
    eight = [(20 + 5 * sin(t), 10 * sin(2 * t)) for t in np.linspace(0.1, 0.1 + 2 * pi, 23, endpoint=False)]
    rings = [ring(radius, z, 32) for radius, z in eight]
    assert "cuts through itself" in doubts(wall_of(rings, ends=True))
    assert "cuts through itself" not in doubts(tube(20, 15, 10))


@pytest.mark.parametrize(
    "mesh",
    [
        Mesh(CUBE.vertices, np.array([[0, 0, 1], [2, 2, 2]])),
        Mesh(np.array([(0.0, 0, 0), (1, 0, 0), (2, 0, 0)]), np.array([[0, 1, 2]])),
        joined(without(CUBE, *range(1, 12)), inside_out(without(CUBE, *range(1, 12)))),
    ],
)
def test_nothing_of_any_area_is_unfit(mesh: Mesh) -> None:
    with pytest.raises(Unfit, match="Export the part again"):
        measured(mesh)


def test_a_single_triangle_is_measured_and_doubted() -> None:
    said = measured(Mesh(np.array([(0.0, 0, 0), (30, 0, 0), (0, 40, 0)]), np.array([[0, 1, 2]])))
    assert said.area_mm2 == pytest.approx(600)
    assert not said.watertight
    assert said.small_part.fits


def test_figures_follow_a_scale() -> None:
    cup = socket(20, 16, 40, 2, sides=32, rows=6)
    one, other = measured(cup), measured(cup.scaled(Axis(), 1.1, 1.3))
    assert other.volume_mm3 == pytest.approx((one.volume_mm3 or 0) * 1.1**2 * 1.3)
    assert other.bounding_box_mm == pytest.approx((44 * 1.1, 44 * 1.1, 42 * 1.3), rel=0.01)


def test_a_crowd_of_triangles_in_one_place_is_no_trap() -> None:
    crowd = joined(box(900, 900, 900), moved(sphere(0.5, 100), 1000))
    said = measured(crowd)
    assert said.thinnest_wall_mm is None
    assert "crowd so in places" in " ".join(said.doubts)
    assert said.bodies == 2


def test_a_profile_is_made_only_where_it_is_said_how_the_inside_lies() -> None:
    cup = socket(20, 16, 40, 2)
    assert measured(cup).inside_profile == []
    assert len(measured(cup, Inside()).inside_profile) > 10
    said = measured(enlarged(CUBE, 5), Inside())
    assert said.inside_profile == []
    assert "no inside profile" in " ".join(said.doubts)
