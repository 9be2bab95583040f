"""The inner girth of sockets that have one in closed form, and what is said where there is none."""

from __future__ import annotations

from math import cos, hypot, pi, sin

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.spatial.transform import Rotation

from service.geometry.answers import Axis, Inside
from service.geometry.mesh import Mesh, Points
from service.geometry.profile import Profile, inside_profile
from service.geometry.sections import Loop
from service.geometry.surface import surface
from tests.geometry.solids import (
    bent_tube,
    box,
    box_shell,
    inside_out,
    joined,
    lathe,
    moved,
    polygon,
    ring,
    rod,
    sector,
    socket,
    soup,
    tube,
    turned,
    wall_of,
    without,
)


def profile(mesh: Mesh, axis: Axis | None = None, level_mm: float = 0.0) -> Profile:
    return inside_profile(surface(mesh), axis or Axis(), Inside(level_at_origin_mm=level_mm))


def figures(found: Profile) -> dict[float, float]:
    return {each.level_mm: each.girth_mm for each in found.girths}


def said(found: Profile) -> str:
    return " ".join(found.doubts)


@pytest.mark.parametrize("length", [30, 100, 250])
def test_a_pipe_is_as_wide_everywhere(length: int) -> None:
    found = profile(soup(tube(32, 30, length, 96)))
    assert found.doubts == []
    levels = [each.level_mm for each in found.girths]
    assert min(levels) <= 5
    assert max(levels) >= length - 5
    assert len(levels) >= 20
    assert all(level == int(level) for level in levels)
    assert all(each.girth_mm == pytest.approx(2 * pi * 30, rel=0.005) for each in found.girths)


def test_a_cup_narrows_and_ends_at_its_floor() -> None:
    found = profile(soup(socket(30, 20, 120, 2)))
    assert [each.level_mm for each in found.girths] == [5 * step for step in range(1, 25)]
    for each in found.girths:
        assert each.girth_mm == pytest.approx(2 * pi * (30 - 10 * each.level_mm / 120), rel=0.001)
    assert found.doubts == []


def test_levels_are_counted_from_the_landmark() -> None:
    found = profile(socket(30, 20, 120, 2), Axis(origin_mm=(3, -2, 20)), level_mm=40)
    for each in found.girths:
        assert each.girth_mm == pytest.approx(2 * pi * (30 - 10 * (each.level_mm - 20) / 120), rel=0.001)


def test_an_axis_may_point_the_other_way_and_have_any_length() -> None:
    found = profile(socket(30, 20, 120, 2), Axis(origin_mm=(0, 0, 120), direction=(0, 0, -7)), level_mm=10)
    for each in found.girths:
        assert each.girth_mm == pytest.approx(2 * pi * (20 + 10 * (each.level_mm - 10) / 120), rel=0.001)


@pytest.mark.parametrize("seed", range(3))
def test_an_axis_may_lie_anyhow_in_space(seed: int) -> None:
    rotation = Rotation.random(rng=np.random.default_rng(seed))
    axis = Axis(direction=tuple(rotation.apply([0, 0, 1]).tolist()))
    found, straight = profile(turned(socket(30, 20, 101, 2), rotation), axis), profile(socket(30, 20, 101, 2))
    assert figures(found) == pytest.approx(figures(straight))


def spiric(bend: float, inner: float, level: float) -> float:
    """The length of the line that the inside of a ring of pipe has in a plane so far from the ring's middle.

    Across the pipe at an angle t the ring's surface is at a distance bend + r cos t from the middle of the ring.
    """

    def step(t: float) -> float:
        reach = bend + inner * cos(t)
        along = -inner * sin(t) * reach / (reach**2 - level**2) ** 0.5
        return hypot(along, inner * cos(t))

    return quad(step, 0, 2 * pi)[0]


def test_a_bent_pipe_cut_square_is_as_wide_as_the_pipe_and_wider_where_it_is_cut_slantwise() -> None:
    bend, inner = 200.0, 30.0
    found = profile(bent_tube(bend, 33, inner, 45))
    assert len(found.girths) > 15
    for each in found.girths:
        if each.level_mm < (bend - 33) * sin(pi / 4) - 5:  # all around within the piece
            assert each.girth_mm == pytest.approx(spiric(bend, inner, each.level_mm), rel=0.005)
    assert found.girths[0].girth_mm == pytest.approx(2 * pi * inner, rel=0.005)
    assert spiric(bend, inner, 100) > 1.05 * 2 * pi * inner


@pytest.mark.parametrize("sides", [8, 12, 16, 24])
def test_a_coarse_mesh_has_the_girth_that_is_printed_and_a_word_about_the_round_one(sides: int) -> None:
    found = profile(tube(32, 30, 60, sides, rows=3))
    for each in found.girths:
        assert each.girth_mm == pytest.approx(2 * pi * 30 * polygon(sides))
    off = 1 / polygon(sides) - 1
    assert ("drawn in coarse flat faces" in said(found)) is (off > 0.005)
    if off > 0.005:
        assert f"{2 * pi * 30:.1f} mm instead of" in said(found)


@pytest.mark.parametrize("sides", [8, 12, 24, 60])
def test_rounding_gives_the_circle_back(sides: int) -> None:
    corners = ring(30, 0, sides)[:, :2]
    assert Loop(corners).length == pytest.approx(2 * pi * 30 * polygon(sides))
    assert Loop(corners).rounded == pytest.approx(2 * pi * 30)
    between = (corners + np.roll(corners, -1, axis=0)) / 2  # where a face's diagonal is cut
    both = np.stack([corners, between], axis=1).reshape(-1, 2)
    assert Loop(both).rounded == pytest.approx(2 * pi * 30)


def test_a_square_inside_is_no_coarse_circle() -> None:
    found = profile(open_box())
    assert found.doubts == []
    assert found.girths[0].girth_mm == pytest.approx(4 * 36)


def open_box() -> Mesh:
    square = np.array([(1.0, 1), (-1, 1), (-1, -1), (1, -1)])
    rows = [np.column_stack([half * square, np.full(4, z)]) for half, z in ((20, 0), (20, 80), (18, 80), (18, 0))]
    return wall_of(rows, ends=True)


def wavy(waves: int, high: float) -> list[Points]:
    return [ring(30, z, 240, lambda angle: 1 + high * cos(waves * angle)) for z in (0.0, 80.0)]


def test_hollows_are_said_with_what_a_taut_tape_reads() -> None:
    out, inner = [ring(40, z, 240) for z in (0.0, 80.0)], wavy(5, 0.1)
    found = profile(wall_of([*out, *inner[::-1]], ends=True))
    around = quad(lambda t: hypot(30 * (1 + 0.1 * cos(5 * t)), 30 * 0.5 * sin(5 * t)), 0, 2 * pi, limit=200)[0]
    assert found.girths[0].girth_mm == pytest.approx(around, rel=0.001)
    assert "hollows or ridges" in said(found)
    assert "hollows" not in said(profile(tube(40, 30, 80)))


def test_a_channel_in_the_wall_and_one_beyond_the_floor_are_not_the_inside() -> None:
    # A cup with a tendon's channel along its wall and a bolt's bore through its thick floor.
    cup = lathe([(3, 80), (30, 80), (30, 0), (40, 0), (40, 120), (3, 120), (3, 80)], 96)
    channel = inside_out(moved(rod(1, 90, 16), 35, 0, 10))
    found = profile(joined(cup, channel))
    assert [each.level_mm for each in found.girths] == [2 * step for step in range(1, 41)]
    assert all(each.girth_mm == pytest.approx(2 * pi * 30, rel=0.001) for each in found.girths)
    assert "between 82 and 118 mm the opening is not one with the inside (it is 18.8 mm around" in said(found)


def test_levels_that_are_not_closed_around_are_left_out_and_said() -> None:
    end = tube(40, 36, 39)
    found = profile(joined(end, moved(sector(40, 36, 22, 300), 0, 0, 39), moved(end, 0, 0, 61)))
    levels = [each.level_mm for each in found.girths]
    assert levels == [*range(2, 40, 2), *range(62, 100, 2)]
    assert "is not closed around at 11 levels between 40 and 60 mm" in said(found)


def test_a_single_surface_is_taken_for_the_inside_and_doubted() -> None:
    found = profile(soup(wall_of([ring(30 - z / 6, z, 96) for z in np.linspace(0, 60, 13)])))
    for each in found.girths:
        assert each.girth_mm == pytest.approx(2 * pi * (30 - each.level_mm / 6), rel=0.001)
    assert "was taken for the inside" in said(found)


def test_a_socket_with_a_hole_keeps_its_inside() -> None:
    cup = socket(30, 20, 120, 2)
    found = profile(without(cup, len(cup.faces) - 1))
    assert figures(found) == pytest.approx(figures(profile(cup)))


def test_an_axis_beside_the_inside_is_said() -> None:
    found = profile(moved(socket(30, 20, 100, 2), 60))
    assert figures(found) == pytest.approx(figures(profile(socket(30, 20, 100, 2))))
    assert "The axis does not run through the inside" in said(found)


@pytest.mark.parametrize("mesh", [box(30, 30, 90), rod(30, 90)])
def test_a_solid_has_no_inside(mesh: Mesh) -> None:
    found = profile(mesh)
    assert found.girths == []
    assert "no inside profile" in said(found)


def test_an_axis_across_the_socket_is_noticed() -> None:
    # Across a cup, planes cut its wall and floor in one line, all around only where they miss both ends.
    assert "lengthwise" in said(profile(socket(30, 20, 120, 2), Axis(direction=(1, 0, 0))))


def test_a_closed_hollow_is_an_inside_too() -> None:
    found = profile(moved(box_shell(40, 40, 60, 2), -20, -20))
    assert found.girths[0].girth_mm == pytest.approx(4 * 36)


def test_the_innermost_of_two_shells_is_the_inside() -> None:
    found = profile(joined(tube(40, 38, 60), tube(34, 32, 60)))
    assert all(each.girth_mm == pytest.approx(2 * pi * 32, rel=0.001) for each in found.girths)


def test_a_plane_through_corners_cuts_once() -> None:
    found = profile(tube(32, 30, 40, 48, rows=8))  # a row of corners at every 5 mm
    assert all(each.girth_mm == pytest.approx(2 * pi * 30 * polygon(48)) for each in found.girths)
