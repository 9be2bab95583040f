"""Closed lines in which planes square to an axis cut a surface. Lengths are mm.

A plane through a corner is taken to pass just below it, so that it crosses each face in one piece or not at all; the
pieces are joined by the edges they share, never by how near their ends are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import ConvexHull, QhullError

from service.geometry.answers import Axis
from service.geometry.arrays import Bools, Floats, Indices
from service.geometry.surface import Surface


@dataclass(frozen=True, slots=True)
class Frame:
    """An axis with two directions square to it; each of the three is a unit vector, right-handed."""

    origin: Floats
    across: Floats
    aside: Floats
    along: Floats

    @classmethod
    def of(cls, axis: Axis) -> Frame:
        """Across is x as far as it can be; where the axis runs along x, it is y."""
        along = np.asarray(axis.direction, dtype=np.float64)
        along = along / np.linalg.norm(along)
        towards = np.array([1.0, 0.0, 0.0]) if abs(along[0]) < 0.9 else np.array([0.0, 1.0, 0.0])
        across = towards - (towards @ along) * along
        across /= np.linalg.norm(across)
        return cls(np.asarray(axis.origin_mm, dtype=np.float64), across, np.cross(along, across), along)

    def place(self, points: Floats) -> Floats:
        """Points (n, 3) as they lie about the origin: across, aside, along."""
        turn = np.column_stack([self.across, self.aside, self.along])
        return np.asarray((points - self.origin) @ turn)


@dataclass(frozen=True, slots=True)
class Loop:
    """A closed line (n, 2) across and aside from the axis; its last point is joined to its first."""

    points: Floats

    @property
    def length(self) -> float:
        """What a tape reads that follows it."""
        return float(np.linalg.norm(self._steps, axis=1).sum())

    @property
    def area(self) -> float:
        """mm2, whichever way round it goes."""
        (x, y), (u, v) = self.points.T, np.roll(self.points, -1, axis=0).T
        return float(abs(np.sum(x * v - y * u)) / 2)

    @property
    def taut(self) -> float:
        """What a tape reads that is pulled straight over its hollows: the length of its hull."""
        try:
            return Loop(self.points[ConvexHull(self.points).vertices]).length
        except QhullError:  # a line
            return self.length

    @property
    def rounded(self) -> float:
        """Its length if its corners lay on a smooth curve: each chord as long as an arc that turns as the corners do.

        Corners of more than 60 degrees are meant as corners.
        """
        steps = self._steps[np.linalg.norm(self._steps, axis=1) > 1e-9]
        turn = np.arctan2(*_cross_and_dot(np.roll(steps, 1, axis=0), steps))
        bent = np.abs(turn) > 1e-3  # where a face's diagonal was crossed there is no corner
        if bent.sum() < 3:
            return self.length
        first = int(np.flatnonzero(bent)[0])
        steps, bent, turn = (np.roll(each, -first, axis=0) for each in (steps, bent, turn))
        chords = np.linalg.norm(np.add.reduceat(steps, np.flatnonzero(bent), axis=0), axis=1)
        corner = np.abs(turn[bent])
        corner[corner > np.pi / 3] = 0
        half = (corner + np.roll(corner, -1)) / 4
        return float((chords * half / np.sin(np.maximum(half, 1e-12))).sum())

    def holds(self, points: Floats) -> Bools:
        """Which points (k, 2) lie inside: those from which a line crosses this one an odd number of times."""
        (x, y), (u, v) = self.points.T, np.roll(self.points, -1, axis=0).T
        across, aside = points[:, :1], points[:, 1:]
        crosses = (y > aside) != (v > aside)
        with np.errstate(divide="ignore", invalid="ignore"):
            ahead = x + (aside - y) * (u - x) / (v - y) > across
        return np.asarray(np.count_nonzero(crosses & ahead, axis=1) % 2 == 1)

    @property
    def holds_axis(self) -> bool:
        """Whether the axis runs through it."""
        return bool(self.holds(np.zeros((1, 2)))[0])

    @property
    def _steps(self) -> Floats:
        return np.asarray(np.roll(self.points, -1, axis=0) - self.points)


@dataclass(frozen=True, slots=True)
class Section:
    """The loops at a level along the axis, and how many pieces of line there do not close."""

    level: float
    loops: tuple[Loop, ...]
    open_lines: int


class Slicer:
    """Cuts a surface by planes square to an axis."""

    def __init__(self, surface: Surface, frame: Frame) -> None:
        self._places = frame.place(surface.vertices)
        heights = self._places[:, 2][surface.faces]
        self._low, self._high = heights.min(axis=1), heights.max(axis=1)
        self._faces = surface.faces
        self._count = len(surface.vertices)

    @property
    def reach(self) -> tuple[float, float]:
        """The lowest and the highest level of the surface."""
        return float(self._low.min()), float(self._high.max())

    def pieces(self, levels: Sequence[float]) -> int:
        """How many pieces of line there are at some levels."""
        below, above = np.searchsorted(np.sort(self._low), levels), np.searchsorted(np.sort(self._high), levels)
        return int((below - above).sum())

    def cut(self, levels: Sequence[float]) -> list[Section]:
        """The sections at some levels along the axis."""
        return [self._cut(level) for level in levels]

    def _cut(self, level: float) -> Section:
        faces = self._faces[(self._low < level) & (self._high >= level)]
        above = self._places[faces, 2] >= level
        # Going round a face, the surface is left upwards over one side and downwards over another.
        after = np.roll(above, -1, axis=1)
        up, down = (~above & after).argmax(axis=1), (above & ~after).argmax(axis=1)
        every = np.arange(len(faces))
        ends = [self._sides(faces[every, side], faces[every, (side + 1) % 3]) for side in (up, down)]
        sides, index = np.unique(np.concatenate(ends), return_inverse=True)
        low, high = np.divmod(sides, self._count)
        one, two = self._places[low], self._places[high]
        share = (level - one[:, 2]) / (two[:, 2] - one[:, 2])
        points = one[:, :2] + share[:, None] * (two[:, :2] - one[:, :2])
        chains, open_lines = _chains(index[: len(faces)], index[len(faces) :], len(sides))
        return Section(level, tuple(Loop(points[chain]) for chain in chains), open_lines)

    def _sides(self, start: Indices, end: Indices) -> Indices:
        return np.asarray(np.minimum(start, end) * self._count + np.maximum(start, end))


def _chains(start: Indices, end: Indices, count: int) -> tuple[list[list[int]], int]:
    """Rings of points that pieces of line join, each piece from one point to another; and how many do not close.

    Where more than two pieces meet they are followed in any order that closes.
    """
    beside: list[list[int]] = [[] for _ in range(count)]
    pieces = list(zip(start.tolist(), end.tolist(), strict=True))
    for number, (one, two) in enumerate(pieces):
        beside[one].append(number)
        beside[two].append(number)
    used = [False] * len(pieces)
    # Lines that do not close are followed from their ends first.
    order = [number for point in range(count) if len(beside[point]) % 2 for number in beside[point]]
    loops, open_lines = [], 0
    for first in [*order, *range(len(pieces))]:
        if used[first]:
            continue
        odd = next((point for point in pieces[first] if len(beside[point]) % 2), pieces[first][0])
        chain, here, number = [odd], odd, first
        while True:
            used[number] = True
            here = pieces[number][1] if pieces[number][0] == here else pieces[number][0]
            if here == odd:
                loops.append(chain)
                break
            chain.append(here)
            ahead = next((each for each in beside[here] if not used[each]), None)
            if ahead is None:
                open_lines += 1
                break
            number = ahead
    return [loop for loop in loops if len(loop) > 2], open_lines


def _cross_and_dot(one: Floats, two: Floats) -> tuple[Floats, Floats]:
    return one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0], np.einsum("ij,ij->i", one, two)
