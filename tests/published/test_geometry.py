"""The small-parts cylinder, things of known size, and sections and solid angles, against figures found outside."""

from __future__ import annotations

from math import cos, pi, sin

import numpy as np
import pytest
from scipy.special import ellipe

from service.geometry.answers import Axis, Inside
from service.geometry.bodies import enclosed
from service.geometry.cavity import BORE_MM, DEEP_MM, SHALLOW_MM
from service.geometry.measure import measure
from service.geometry.mesh import Mesh
from service.geometry.small_parts import small_part
from tests.geometry.solids import box, lathe, rod, sphere, tube, turned_at_random


def test_the_cylinder_is_that_of_the_regulation() -> None:
    # 16 CFR 1501.4: diameter 1.25 in, depth 1.00 in sloping to 2.25 in.
    assert pytest.approx((31.75, 25.4, 57.15)) == (BORE_MM, SHALLOW_MM, DEEP_MM)


@pytest.mark.parametrize(
    ("thing", "fits"),
    [
        (rod(10.5 / 2, 44.5), True),  # a cell of size R03 at its largest (IEC 60086-2; from memory, to verify)
        (rod(14.5 / 2, 50.5), False),  # a cell of size R6 at its largest (IEC 60086-2; from memory, to verify)
        (rod(20 / 2, 3.2), True),  # a button cell 2032 (IEC 60086-3; from memory, to verify)
        (sphere(40 / 2, 32), False),  # a table-tennis ball (laws of the game; from memory, to verify)
        (sphere(42.67 / 2, 32), False),  # a golf ball at its smallest (rules of the game; from memory, to verify)
        (sphere(16 / 2, 32), True),  # a marble (common practice)
        (box(85.6, 54, 0.8), False),  # a bank card, ID-1 (ISO/IEC 7810; from memory, to verify)
    ],
)
def test_things_of_known_size(thing: Mesh, fits: bool) -> None:
    said = small_part([turned_at_random(thing, 1).vertices])
    assert (said.fits, said.sure) == (fits, True)


@pytest.mark.parametrize("degrees", [0, 10, 25, 40])
def test_a_slanting_cut_of_a_pipe_is_an_ellipse(degrees: int) -> None:
    # Textbook: the section has half axes r and r / cos t; its length is 4 a E(e^2), a complete elliptic integral.
    lean = np.radians(degrees)
    axis = Axis(origin_mm=(0, 0, 150), direction=(sin(lean), 0, cos(lean)))
    said = measure(tube(33, 30, 300, 96), axis, Inside())
    long = 30 / cos(lean)
    around = 4 * long * ellipe(1 - (30 / long) ** 2)
    middle = [each for each in said.inside_profile if abs(each.level_mm) < 50]
    assert len(middle) >= 9
    assert all(each.girth_mm == pytest.approx(around, rel=0.002) for each in middle)


def test_a_ring_has_the_volume_that_pappus_gives() -> None:
    # Textbook: area times the way of its centre, 2 pi^2 R r^2; of polygons, both smaller as polygons are.
    circle = [(20 + 5 * cos(t), 5 * sin(t)) for t in np.linspace(0, 2 * pi, 97)[:-1]]
    said = measure(lathe([*circle, circle[0]], 192), Axis(), None)
    assert said.volume_mm3 == pytest.approx(2 * pi**2 * 20 * 25, rel=0.002)
    assert said.area_mm2 == pytest.approx(4 * pi**2 * 20 * 5, rel=0.002)
    assert said.thinnest_wall_mm == pytest.approx(10, rel=0.005)


def test_the_faces_of_a_cube_fill_the_sky_in_equal_parts() -> None:
    # Textbook: seen from the middle each of six faces fills 4 pi / 6; from a corner's outside, nothing in all.
    cube = box(2, 2, 2)
    corners = cube.vertices[cube.faces]
    middle, away = np.array([[1.0, 1, 1]]), np.array([[5.0, 1, 1]])
    assert enclosed(middle, corners)[0] == pytest.approx(1)
    assert enclosed(away, corners)[0] == pytest.approx(0, abs=1e-12)
    for face in range(6):
        assert enclosed(middle, corners[2 * face : 2 * face + 2])[0] == pytest.approx(1 / 6)


def test_the_figures_of_a_pyramid() -> None:
    # Textbook: a third of base times height; slant sides by Pythagoras.
    corners = np.array([(0.0, 0, 0), (6, 0, 0), (6, 6, 0), (0, 6, 0), (3, 3, 4)])
    faces = np.array([(0, 2, 1), (0, 3, 2), (0, 1, 4), (1, 2, 4), (2, 3, 4), (3, 0, 4)])
    said = measure(Mesh(corners, faces), Axis(), None)
    assert said.volume_mm3 == pytest.approx(36 * 4 / 3)
    assert said.area_mm2 == pytest.approx(36 + 4 * 6 * 5 / 2)
