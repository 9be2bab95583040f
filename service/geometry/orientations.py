"""Every way to hold a body, in cells, and what is surely so in a whole cell.

A rotation Q is told by the direction w of the body that it takes to z (the third row of Q) and by a spin f about z:

    Q = Z(f) T(w),        T(w) = B A(w),

where A(w) is the shortest rotation from w to the axis of the cube face that w goes through, and B takes that axis to z.
A *cell* is a square of such a face and a stretch of spins; all faces with all spins are all rotations.

Seen from the middle Q of a cell, another rotation in it is E Q with E = Z(s) E', where E' is the shortest rotation from
the turned w to z, about a level axis. As a vector y = axis * tan(angle / 2), E' lies in half the square that is seen
from the middle (central projection is tan(angle), and tan(a / 2) <= tan(a) / 2), and E in the hull of its corners taken
to both ends of s: y is affine in each. s is the spin's distance and the twist of T across the square, which is the area
of the triangle between the face's axis and the two directions.

For M from `cavity.py`, N = M Q^T, S its symmetric part and v the axis of its other part,

    tr(M^T E Q) = (tr N (1 - |y|^2) + 2 y.v + 2 y.S y) / (1 + |y|^2),

which is at least b if  (tr N - b) - (tr N + b) |y|^2 + 2 y.v + 2 y.S y >= 0. With no eigenvalue of S above
(tr N + b) / 2 (larger ones are lowered to it, which lowers the left side) that is concave in y, so that it holds in the
cell if it holds at the corners.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from itertools import product
from math import pi

import numpy as np

from service.geometry.arrays import Bools, Floats, Indices

_CORNERS = np.array([(-1.0, -1.0), (-1.0, 1.0), (1.0, 1.0), (1.0, -1.0)])
_QUARTERS = (np.arange(4) + 0.5) / 2 - 1
_SPINS = 8  # stretches that a whole turn is first cut into
_WIDEST = 2.5  # rad; a wider stretch of spins says too little to be worth asking
# The rotations B, by face: two directions along the face, then its axis.
_FACES = np.array([np.roll(np.eye(3), -k, axis=0) for k in (1, 2, 3)])
_FACES = np.concatenate([_FACES, _FACES * np.array([1, -1, -1])[:, None]])


@dataclass(frozen=True, slots=True)
class Cells:
    """Squares of cube faces with stretches of spins: arrays of the same length b.

    `face` (b), `place` (b, 2) and `size` (b) are the square's face, middle and half a side; `spin` and `reach` (b) the
    middle of the spins and half their stretch, which is pi for all of them.
    """

    face: Indices
    place: Floats
    size: Floats
    spin: Floats
    reach: Floats

    def __len__(self) -> int:
        return len(self.face)

    def of(self, which: Indices | Bools) -> Cells:
        """Some of them."""
        return Cells(*(getattr(self, one.name)[which] for one in fields(self)))

    @classmethod
    def together(cls, parts: list[Cells]) -> Cells:
        """All of several."""
        return cls(*(np.concatenate([getattr(part, one.name) for part in parts]) for one in fields(cls)))

    def quartered(self) -> Cells:
        """Each square in four."""
        place = (self.place[:, None] + (self.size / 2)[:, None, None] * _CORNERS).reshape(-1, 2)
        size = np.repeat(self.size / 2, 4)
        return Cells(np.repeat(self.face, 4), place, size, np.repeat(self.spin, 4), np.repeat(self.reach, 4))

    def spun(self) -> Cells:
        """Each stretch of spins in two."""
        shift = self.reach[:, None] / 2 * np.array([-1.0, 1.0])
        spin, reach = (self.spin[:, None] + shift).ravel(), np.repeat(self.reach / 2, 2)
        return replace(self.of(np.repeat(np.arange(len(self)), 2)), spin=spin, reach=reach)


def all_of_them() -> Cells:
    """Cells that together are all rotations, each with all spins."""
    squares = np.array(list(product(_QUARTERS, _QUARTERS)))
    face = np.repeat(np.arange(6), len(squares))
    every = np.ones(len(face))
    return Cells(face, np.tile(squares, (6, 1)), every / 4, every * 0, every * pi)


def spins_of(cells: Cells) -> Cells:
    """The same squares, with all spins cut into the first stretches."""
    while len(cells) and cells.reach[0] > pi / _SPINS:
        cells = cells.spun()
    return cells


@dataclass(frozen=True, slots=True)
class Seen:
    """Cells seen from their middles: its rotations (b, 3, 3), the corners of `level` turns (b, 4, 3) and of all.

    `turns` (b, 8, 3) are not to be asked where `wide`: `reach` is how far the spins and the twist go, in rad.
    """

    rotations: Floats
    level: Floats
    turns: Floats
    reach: Floats

    @property
    def wide(self) -> Bools:
        """Where spins reach too far for anything to be said of all of them at once."""
        return self.reach > _WIDEST

    def of(self, which: Indices | Bools) -> Seen:
        """Some of them."""
        return Seen(self.rotations[which], self.level[which], self.turns[which], self.reach[which])


def seen(cells: Cells) -> Seen:
    """What the middles of cells see of them."""
    base = _FACES[cells.face]
    towards = _directions(base, cells.place[:, None])[:, 0]
    corners = _directions(base, cells.place[:, None] + cells.size[:, None, None] * _CORNERS)
    axis = base[:, 2]
    unit = towards / np.linalg.norm(towards, axis=1, keepdims=True)
    rotations = about_z(cells.spin) @ base @ _shortest(unit, axis)
    turned = np.einsum("bij,bcj->bci", rotations, corners)
    level = np.zeros((len(cells), 4, 3))
    level[..., 0] = turned[..., 1] / turned[..., 2] / 2
    level[..., 1] = -turned[..., 0] / turned[..., 2] / 2
    reach = cells.reach + _twist(axis, unit, corners)
    ends = np.tan(np.minimum(reach, _WIDEST) / 2)
    turns = np.concatenate([_spun(level, sign * ends) for sign in (-1, 1)], axis=1)
    return Seen(rotations, level, turns, reach)


def _directions(base: Floats, place: Floats) -> Floats:
    return base[:, None, 2] + place[..., :1] * base[:, None, 0] + place[..., 1:] * base[:, None, 1]


def _shortest(start: Floats, end: Floats) -> Floats:
    """The shortest rotations (b, 3, 3) that take unit vectors (b, 3) to others less than half a turn away."""
    cross = np.cross(start, end)
    skew = np.zeros((len(cross), 3, 3))
    skew[:, 2, 1], skew[:, 0, 2], skew[:, 1, 0] = cross.T
    skew -= skew.transpose(0, 2, 1)
    nearness = 1 + np.einsum("bi,bi->b", start, end)
    return np.asarray(np.eye(3) + skew + skew @ skew / nearness[:, None, None])


def about_z(angles: Floats) -> Floats:
    """Rotations (b, 3, 3) about z."""
    turns = np.zeros((len(angles), 3, 3))
    turns[:, 0, 0] = turns[:, 1, 1] = np.cos(angles)
    turns[:, 1, 0] = np.sin(angles)
    turns[:, 0, 1] = -turns[:, 1, 0]
    turns[:, 2, 2] = 1
    return turns


def _twist(axis: Floats, unit: Floats, corners: Floats) -> Floats:
    """The largest area of a triangle between a face's axis, a cell's middle and another of its directions.

    tan(area / 2) = axis . (a x b) / (1 + axis . a + a . b + b . axis), bounded from its parts: |corners| >= 1.
    """
    across = np.abs(np.einsum("bcj,bj->bc", corners, np.cross(axis, unit))).max(axis=1)
    rays = corners / np.linalg.norm(corners, axis=2, keepdims=True)
    near_unit, near_axis = (np.einsum("bcj,bj->bc", rays, each).min(axis=1) for each in (unit, axis))
    return np.asarray(2 * np.arctan2(across, 1 + np.einsum("bj,bj->b", axis, unit) + near_unit + near_axis))


def _spun(level: Floats, ends: Floats) -> Floats:
    """The turns at the corners of `level`, followed by a spin of tan(angle / 2) = `ends`."""
    t = ends[:, None]
    x, y = level[..., 0], level[..., 1]
    return np.stack([x - t * y, y + t * x, np.broadcast_to(t, x.shape)], axis=-1)


def surely_above(ties: Floats, rotations: Floats, turns: Floats, least: float) -> Bools:
    """Whether ties (b, 3, 3) hold the gauge at `least` or above for all turns between some corners (b, c, 3)."""
    whole, lever, values, axes = _parts(ties, rotations)
    values = np.minimum(values, (whole[:, None] + least) / 2)
    bent = np.einsum("bk,bck->bc", values, (turns @ axes) ** 2)
    square, leaned = (turns**2).sum(axis=-1), np.einsum("bck,bk->bc", turns, lever)
    left = (whole - least)[:, None] - (whole + least)[:, None] * square + 2 * leaned + 2 * bent
    return np.asarray((left >= 0).all(axis=1))


def least_of(ties: Floats, rotations: Floats, turns: Floats) -> Floats:
    """A number that the gauge is not below for all of some turns of rotations, from 0; see `surely_above`."""
    whole, lever, values, axes = _parts(ties, rotations)
    values = np.minimum(values, whole[:, None] / 2)  # low enough for every b from 0
    bent = np.einsum("bk,bck->bc", values, (turns @ axes) ** 2)
    square, leaned = (turns**2).sum(axis=-1), np.einsum("bck,bk->bc", turns, lever)
    left = (whole[:, None] * (1 - square) + 2 * leaned + 2 * bent) / (1 + square)
    return np.asarray(np.maximum(left.min(axis=1), 0.0))


def _parts(ties: Floats, rotations: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """What `tr N` is (b), v (b, 3), and the eigenvalues (b, 3) and eigenvectors (b, 3, 3) of S."""
    turned = ties @ rotations.transpose(0, 2, 1)
    values, axes = np.linalg.eigh((turned + turned.transpose(0, 2, 1)) / 2)
    return np.trace(turned, axis1=1, axis2=2), levers(turned), values, axes


def levers(turned: Floats) -> Floats:
    """How a bound leans, the v (b, 3) of N (b, 3, 3), that is how the bound leans when the body is turned a little."""
    other = turned.transpose(0, 2, 1) - turned
    return np.stack([other[:, 1, 2], other[:, 2, 0], other[:, 0, 1]], axis=-1)


def balanced(some: Floats, others: Floats, rotations: Floats) -> Floats:
    """Of the mixtures of two ties, which hold as they do, the one that leans least."""
    back = rotations.transpose(0, 2, 1)
    one, two = levers(some @ back), levers(others @ back)
    apart = one - two
    share = -(apart * two).sum(axis=1) / np.maximum((apart**2).sum(axis=1), 1e-300)
    share = np.clip(share, 0, 1)[:, None, None]
    return np.asarray(share * some + (1 - share) * others)
