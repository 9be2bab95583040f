"""Walls whose thickness is known, and rays that could be fooled."""

from __future__ import annotations

from math import atan2, cos, pi

import numpy as np
import pytest

from service.geometry.answers import Axis
from service.geometry.bodies import bodies, nesting
from service.geometry.grid import Grid
from service.geometry.measure import measure
from service.geometry.mesh import Mesh
from service.geometry.surface import surface
from tests.geometry.solids import (
    bent_tube,
    box,
    box_shell,
    cone,
    enlarged,
    finer,
    hollow_sphere,
    inside_out,
    joined,
    lathe,
    moved,
    ring,
    rod,
    socket,
    soup,
    sphere,
    tube,
    turned_at_random,
    wall_of,
)


def wall(mesh: Mesh) -> float | None:
    return measure(mesh, Axis(), None).thinnest_wall_mm


def eccentric(out: float, inner: float, shift: float) -> Mesh:
    hole, up = np.array([shift, 0.0, 0.0]), np.array([0.0, 0.0, 60.0])
    around, within = ring(out, 0, 96), ring(inner, 0, 96) + hole
    rows = [around, around + up, within + up, within]
    return wall_of(rows, ends=True)


@pytest.mark.parametrize("seed", [1, 2])
@pytest.mark.parametrize(
    ("mesh", "thickness"),
    [
        (hollow_sphere(20, 18, 48), 2.0),
        (tube(20, 18.5, 50, 96), 1.5),
        (box_shell(40, 30, 20, 1.2), 1.2),
        (finer(box_shell(40, 30, 20, 1.2), 3), 1.2),
        (box(10, 12, 14), 10.0),
        (rod(20, 2), 2.0),
        (rod(5, 40, 96), 10.0),
        (sphere(10, 48), 20.0),
        (bent_tube(100, 30, 28, 60), 2.0),
        (socket(30, 22, 120, 2), 2 * cos(atan2(8, 120))),
        (eccentric(20, 17, 1.5), 1.5),
        (eccentric(20, 17, 2.7), 0.3),
    ],
)
def test_walls_in_closed_form(mesh: Mesh, thickness: float, seed: int) -> None:
    assert wall(soup(turned_at_random(mesh, seed))) == pytest.approx(thickness, rel=0.005)


@pytest.mark.parametrize(("narrow", "wide", "long"), [(2.0, 6.0, 40.0), (1.0, 3.0, 60.0)])
def test_a_wall_that_tapers_is_as_thin_as_its_thin_end(narrow: float, wide: float, long: float) -> None:
    # The largest ball that touches both sides where the thin end begins.
    outline = [(-narrow / 2, 0.0), (narrow / 2, 0.0), (wide / 2, long), (-wide / 2, long)]
    rows = [np.array([(x, y, z) for x, z in outline]) for y in (0.0, 50.0)]
    wedge = wall_of(rows)
    ends = np.array([(0, 2, 1), (0, 3, 2), (4, 5, 6), (4, 6, 7)])
    solid = Mesh(wedge.vertices, np.vstack([wedge.faces, ends]))
    lean = atan2((wide - narrow) / 2, long)
    assert wall(turned_at_random(solid, 1)) == pytest.approx(narrow / cos(lean), rel=0.02)
    assert (wall(solid) or 0) >= narrow * cos(lean) * 0.999


def test_a_small_thin_place_in_a_large_part_is_found() -> None:
    # Two bores, 3 mm wide, leave a web of 0.8 mm; the rest is many times thicker.
    plate = box(120, 80, 20)
    bores = [inside_out(moved(rod(1.5, 12, 48), x, 40, 4)) for x in (60.0, 63.8)]
    web = 3.8 - 2 * 1.5
    assert wall(joined(plate, *bores)) == pytest.approx(web, rel=0.005)


def test_a_thin_floor_is_found_behind_thick_walls() -> None:
    cup = lathe([(0, 0), (20, 0), (20, 40), (14, 40), (14, 0.9), (0, 0.9)], 64)
    assert wall(cup) == pytest.approx(0.9, rel=1e-6)


@pytest.mark.parametrize("fineness", [6, 8, 12])
def test_coarse_faces_make_no_wall_thinner_than_it_is(fineness: int) -> None:
    # Both spheres have the same faces: their distance is the difference of the radii, times the nearest face's height.
    found = wall(turned_at_random(hollow_sphere(20, 18, fineness), fineness))
    assert found is not None
    assert 2 * cos(pi / fineness / 2) ** 2 - 1e-9 <= found <= 2.0


def test_the_side_of_a_box_is_no_wall_to_the_face_beside_it() -> None:
    assert wall(finer(box(10, 10, 10), 4)) == pytest.approx(10)


def test_a_sharp_edge_runs_out_to_nothing_and_a_blunt_one_does_not() -> None:
    sharp, blunt = wall(cone(40, 10)), wall(cone(10, 10))
    assert sharp is not None
    assert sharp < 0.01
    assert blunt is None or blunt > 1


def test_a_body_without_opposite_sides_has_no_wall() -> None:
    corners = np.array([(0.0, 0, 0), (10, 0, 0), (0, 10, 0), (0, 0, 10)])
    said = measure(Mesh(corners, np.array([(0, 2, 1), (0, 1, 3), (0, 3, 2), (1, 2, 3)])), Axis(), None)
    assert said.thinnest_wall_mm is None
    assert "no wall to measure" in " ".join(said.doubts)


def test_the_thinnest_of_several_bodies_counts() -> None:
    assert wall(joined(box(10, 10, 10), moved(box(10, 10, 0.7), 20))) == pytest.approx(0.7)


def test_the_gap_between_bodies_is_no_wall() -> None:
    assert wall(joined(box(10, 10, 10), moved(box(10, 10, 10), 10.2))) == pytest.approx(10)


def test_overlapping_bodies_are_measured_each_by_itself() -> None:
    assert wall(joined(box(10, 10, 10), moved(box(10, 10, 10), 9.7, 1, 1))) == pytest.approx(10)


def test_walls_scale() -> None:
    cup = socket(20, 16, 40, 2)
    one, other = wall(cup), wall(enlarged(cup, 1.5))
    assert other == pytest.approx(1.5 * (one or 0), rel=1e-3)


def test_rays_meet_what_a_plain_search_finds() -> None:
    ordered = surface(turned_at_random(socket(20, 16, 40, 2, sides=24, rows=5), 4))
    grid = Grid(ordered.corners, ordered.normals, ordered.areas)
    rng = np.random.default_rng(2)
    face = rng.integers(0, len(ordered.faces), 400)
    places = ordered.corners[face].mean(axis=1)
    ways = rng.normal(size=(400, 3))
    ways /= np.linalg.norm(ways, axis=1, keepdims=True)
    none = np.zeros(400, dtype=np.int64)
    hits = grid.cast(places, ways, face, none, np.zeros(len(ordered.faces), dtype=np.int64))
    for number in range(400):
        start, way = places[number], ways[number]
        a, b, c = ordered.corners.transpose(1, 0, 2)
        with np.errstate(divide="ignore", invalid="ignore"):
            # Cramer's rule for start + t way = a + u (b - a) + v (c - a).
            p = np.cross(way, c - a)
            det = np.einsum("ij,ij->i", b - a, p)
            u = np.einsum("ij,ij->i", start - a, p) / det
            q = np.cross(start - a, b - a)
            v, t = q @ way / det, np.einsum("ij,ij->i", c - a, q) / det
        t[~((u >= 0) & (v >= 0) & (u + v <= 1) & (t > 1e-9))] = np.inf
        t[face[number]] = np.inf
        assert hits.distance[number] == pytest.approx(t.min(), rel=1e-9) or not np.isfinite(t.min())
        assert np.isfinite(hits.distance[number]) == np.isfinite(t.min())


def test_edges_through_faces_are_what_a_plain_search_finds() -> None:
    ordered = nesting(surface(joined(box(10, 10, 10), turned_at_random(moved(box(8, 8, 8), -4, -4, -4), 3)))).surface
    made = bodies(nesting(ordered), Grid(ordered.corners, ordered.normals, ordered.areas))
    assert made.count == 1
    apart = nesting(surface(joined(box(10, 10, 10), moved(box(8, 8, 8), 20)))).surface
    assert bodies(nesting(apart), Grid(apart.corners, apart.normals, apart.areas)).count == 2
