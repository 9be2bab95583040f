"""Makers of meshes whose figures are known in closed form. Lengths are mm; surfaces are closed, facing outward."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise, product
from math import cos, pi, sin

import numpy as np
from scipy.spatial.transform import Rotation

from service.geometry.mesh import Mesh, Points, Triangles


def joined(*meshes: Mesh) -> Mesh:
    """Several surfaces in one mesh."""
    starts = np.cumsum([0, *(len(mesh.vertices) for mesh in meshes)])
    faces = [mesh.faces + start for mesh, start in zip(meshes, starts, strict=False)]
    return Mesh(np.concatenate([mesh.vertices for mesh in meshes]), np.concatenate(faces))


def inside_out(mesh: Mesh) -> Mesh:
    """The same surface, facing the other way."""
    return Mesh(mesh.vertices, mesh.faces[:, ::-1])


def moved(mesh: Mesh, x: float = 0.0, y: float = 0.0, z: float = 0.0) -> Mesh:
    return Mesh(mesh.vertices + np.array([x, y, z]), mesh.faces)


def enlarged(mesh: Mesh, x: float, y: float | None = None, z: float | None = None) -> Mesh:
    """Stretched along x, y and z; evenly when only one factor is given."""
    return Mesh(mesh.vertices * (x, x if y is None else y, x if z is None else z), mesh.faces)


def turned(mesh: Mesh, rotation: Rotation) -> Mesh:
    return Mesh(rotation.apply(mesh.vertices), mesh.faces)


def turned_at_random(mesh: Mesh, seed: int) -> Mesh:
    return turned(mesh, Rotation.random(rng=np.random.default_rng(seed)))


def soup(mesh: Mesh) -> Mesh:
    """As an STL has it: each triangle with three vertices of its own."""
    return Mesh(mesh.vertices[mesh.faces].reshape(-1, 3), np.arange(3 * len(mesh.faces)).reshape(-1, 3))


def without(mesh: Mesh, *faces: int) -> Mesh:
    return Mesh(mesh.vertices, np.delete(mesh.faces, faces, axis=0))


def wall_of(rows: Sequence[Points], *, around: bool = True, ends: bool = False) -> Mesh:
    """A surface through rows of points, each row a ring; `ends` joins the last row to the first, as a torus does."""
    count, size = len(rows), len(rows[0])
    faces = []
    for row in range(count if ends else count - 1):
        low, high = row * size, (row + 1) % count * size
        for step in range(size if around else size - 1):
            after = (step + 1) % size
            faces += [(low + step, low + after, high + after), (low + step, high + after, high + step)]
    return Mesh(np.concatenate(rows), np.array(faces, dtype=np.int64).reshape(-1, 3))


def ring(radius: float, z: float, sides: int, wave: Callable[[float], float] | None = None) -> Points:
    """Points on a circle about the z axis; `wave` multiplies the radius by angle."""
    angles = np.arange(sides) * 2 * pi / sides
    radii = radius * np.array([wave(angle) for angle in angles]) if wave else np.full(sides, radius)
    return np.column_stack([radii * np.cos(angles), radii * np.sin(angles), np.full(sides, z)])


def lathe(outline: Sequence[tuple[float, float]], sides: int = 64) -> Mesh:
    """The outline (radius, z), turned about the z axis; counter-clockwise in the plane of radius and z faces outward.

    A closed outline (its last point is its first) makes a ring; an open one starts and ends on the axis.
    """
    rings = outline[:-1] if outline[0] == outline[-1] else outline[1:-1]
    shell = wall_of([ring(radius, z, sides) for radius, z in rings], ends=outline[0] == outline[-1])
    if outline[0] == outline[-1]:
        return shell
    first, last, end = len(shell.vertices), len(shell.vertices) + 1, (len(rings) - 1) * sides
    around = [(step, (step + 1) % sides) for step in range(sides)]
    caps = [(first, after, step) for step, after in around] + [
        (last, end + step, end + after) for step, after in around
    ]
    tips = np.array([(0.0, 0.0, outline[0][1]), (0.0, 0.0, outline[-1][1])])
    return Mesh(np.concatenate([shell.vertices, tips]), np.concatenate([shell.faces, np.array(caps, dtype=np.int64)]))


def sphere(radius: float, fineness: int = 24) -> Mesh:
    """A globe with twice as many meridians as bands; its vertices lie on the sphere."""
    bands = [-pi / 2 + pi * step / fineness for step in range(1, fineness)]
    outline = [(0.0, -radius), *((radius * cos(each), radius * sin(each)) for each in bands), (0.0, radius)]
    return lathe(outline, 2 * fineness)


def rod(radius: float, length: float, sides: int = 64) -> Mesh:
    """A right cylinder about z, from 0; a disc when it is short."""
    return lathe([(0, 0), (radius, 0), (radius, length), (0, length)], sides)


def cone(radius: float, length: float, sides: int = 64) -> Mesh:
    """Its base at 0, its tip at `length`."""
    return lathe([(0, 0), (radius, 0), (0, length)], sides)


def tube(outer: float, inner: float, length: float, sides: int = 64, rows: int = 1) -> Mesh:
    """A pipe about z, from 0."""
    levels = [length * row / rows for row in range(rows + 1)]
    out, back = [(outer, z) for z in levels], [(inner, z) for z in reversed(levels)]
    return lathe([*out, *back, out[0]], sides)


def hollow_sphere(outer: float, inner: float, fineness: int = 24) -> Mesh:
    return joined(sphere(outer, fineness), inside_out(sphere(inner, fineness)))


def socket(wide: float, narrow: float, length: float, wall: float, *, sides: int = 96, rows: int = 24) -> Mesh:
    """A cup about z, open at 0, its inner radius from `wide` there to `narrow` at its flat floor at `length`.

    Its wall is `wall` thick square to the axis, and so is its floor along it.
    """
    levels = [length * row / rows for row in range(rows + 1)]
    inner = [(wide + (narrow - wide) * z / length, z) for z in levels]
    outer = [(radius + wall, z) for radius, z in inner[:-1]] + [(narrow + wall, length), (narrow + wall, length + wall)]
    return lathe([(0, length), *reversed(inner), *outer, (0, length + wall)], sides)


def box(x: float, y: float, z: float) -> Mesh:
    """From the origin to (x, y, z)."""
    corners = np.array(list(product((0.0, x), (0.0, y), (0.0, z))))
    sides = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    faces = [triangle for a, b, c, d in sides for triangle in ((a, b, c), (a, c, d))]
    return Mesh(corners, np.array(faces, dtype=np.int64))


def box_shell(x: float, y: float, z: float, wall: float) -> Mesh:
    """A closed box with a closed hollow."""
    hollow = box(x - 2 * wall, y - 2 * wall, z - 2 * wall)
    return joined(box(x, y, z), inside_out(moved(hollow, wall, wall, wall)))


def sector(outer: float, inner: float, length: float, degrees: float, pieces: int = 40) -> Mesh:
    """A pipe about z that does not go all around."""
    across = np.array([(outer, 0.0), (outer, length), (inner, length), (inner, 0.0)])
    turns = np.radians(np.linspace(0, degrees, pieces + 1))
    rows = [np.column_stack([across[:, 0] * cos(turn), across[:, 0] * sin(turn), across[:, 1]]) for turn in turns]
    shell, last = wall_of(rows), 4 * pieces
    ends = [(0, 2, 1), (0, 3, 2), (last, last + 1, last + 2), (last, last + 2, last + 3)]
    made = Mesh(shell.vertices, np.concatenate([shell.faces, np.array(ends)]))
    return made if volume(made) > 0 else inside_out(made)


def bent_tube(bend: float, outer: float, inner: float, degrees: float, *, sides: int = 64, rows: int = 48) -> Mesh:
    """A piece of a hollow torus: from the origin along z, bending towards x about (bend, 0, 0), cut square."""
    turn = np.radians(np.linspace(0, degrees, rows + 1))
    out = [_bent(ring(outer, 0, sides), bend, angle) for angle in turn]
    back = [_bent(ring(inner, 0, sides), bend, angle) for angle in turn[::-1]]
    return wall_of([*out, *back], ends=True)


def _bent(circle: Points, bend: float, angle: float) -> Points:
    reach = bend - circle[:, 0]
    return np.column_stack([bend - reach * cos(angle), circle[:, 1], reach * sin(angle)])


def finer(mesh: Mesh, times: int = 1) -> Mesh:
    """Each triangle in four of the same plane, so often."""
    for _ in range(times):
        corners = mesh.vertices[mesh.faces]
        middles = (corners + np.roll(corners, -1, axis=1)) / 2
        (a, b, c), (d, e, f) = corners.transpose(1, 0, 2), middles.transpose(1, 0, 2)
        parts: Points = np.stack([a, d, f, d, b, e, f, e, c, d, e, f], axis=1).reshape(-1, 3)
        vertices, where = np.unique(parts, axis=0, return_inverse=True)
        faces: Triangles = where.reshape(-1, 3).astype(np.int64)
        mesh = Mesh(vertices, faces)
    return mesh


def volume(mesh: Mesh) -> float:
    """What the surface encloses, mm3."""
    a, b, c = mesh.vertices[mesh.faces].transpose(1, 0, 2)
    return float(np.sum(a * np.cross(b, c)) / 6)


def polygon(sides: int) -> float:
    """How much shorter a regular polygon is than the circle its corners lie on."""
    return sides / pi * sin(pi / sides)


def outline_length(points: Sequence[tuple[float, float]]) -> float:
    return sum(float(np.hypot(b[0] - a[0], b[1] - a[1])) for a, b in pairwise(points))
