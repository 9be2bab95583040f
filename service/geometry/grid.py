"""Triangles in a grid of cells: which of them a ray meets first, and where a surface cuts through itself.

A ray walks from cell to cell, all rays at once, and is tested against the triangles listed in the cell it is in.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from service.geometry.arrays import Floats, Indices, dot, runs
from service.geometry.mesh import Points

_PER_CELL = 3.0  # triangles in a cell that has any, about
_MOST_CELLS = 4_000_000
_MOST_STEPS = 600  # of a ray, along one side of the grid
_MOST_LISTED, _LISTED = 40, 8  # entries for each triangle, on average, at most; in a mesh of so many that memory counts
_LISTED_ANYHOW = 3_000_000
_CROWD = 500  # triangles beside the usual one, when a grid is of no help
_AT_ONCE = 400_000  # tests at a time: some 100 MB
_EDGE = 1e-9  # by which a ray may miss a triangle, in its own coordinates, so that none slips between two


@dataclass(frozen=True, slots=True)
class Hits:
    """What each ray meets first: how far it is (infinite if nothing) and which triangle (-1 if none)."""

    distance: Floats
    triangle: Indices


@dataclass(frozen=True, slots=True)
class Crossings:
    """Edges that go through a triangle: the corners (k, 2) of each and the triangle's number (k)."""

    edges: Indices
    triangle: Indices


class Grid:
    """A grid over triangles (m, 3, 3), with their unit normals (m, 3); those of no area are never met."""

    def __init__(self, corners: Floats, normals: Floats, areas: Floats) -> None:
        self._normals = normals
        self._planes = _planes(corners, normals, areas)
        self._low = corners.min(axis=(0, 1)) - 1e-6
        extent = corners.max(axis=(0, 1)) + 1e-6 - self._low
        low, high = corners.min(axis=1) - self._low, corners.max(axis=1) - self._low
        real = np.flatnonzero(areas > 0)
        # Fine enough for triangles that are alike, and for most where a few are much larger.
        usual = 1.2 * float(np.median((high - low)[real].max(axis=1)))
        size = min(float(np.sqrt(_PER_CELL * areas.sum() / len(real))), usual)
        size = max(size, float(np.cbrt(extent.prod() / _MOST_CELLS)), float(extent.max()) / _MOST_STEPS)
        while True:
            first, last = (low[real] / size).astype(np.int64), (high[real] / size).astype(np.int64)
            listed = (last - first + 1).prod(axis=1)
            if listed.sum() <= min(_MOST_LISTED * len(real), max(_LISTED_ANYHOW, _LISTED * len(real))):
                break
            size *= 1.5
        self.size = float(size)
        self._shape = (extent / size).astype(np.int64) + 1
        self._centres = corners.mean(axis=1)
        triangle, cell = self._list(real, first, last, listed, corners)
        order = cell.argsort(kind="stable")
        self._listed = triangle[order]
        self._start = np.searchsorted(cell[order], np.arange(self._shape.prod() + 1))

    @property
    def crowded(self) -> bool:
        """Whether so many triangles lie in one cell that looking through them takes longer than anybody waits."""
        count = np.diff(self._start).astype(np.float64)
        return bool((count**2).sum() > _CROWD * count.sum())

    def _list(
        self, real: Indices, first: Indices, last: Indices, listed: Indices, corners: Floats
    ) -> tuple[Indices, Indices]:
        """Which triangle is in which cell: those whose box reaches it, if their plane does."""
        owner, place = _boxes(first, last, listed)
        triangle = real[owner]
        middle = (place + 0.5) * self.size + self._low
        away = np.einsum("ij,ij->i", self._normals[triangle], middle - corners[triangle, 0])
        near = np.abs(away) <= 0.5001 * self.size * np.abs(self._normals[triangle]).sum(axis=1)
        return triangle[near], self._number(place[near])

    def _number(self, place: Indices) -> Indices:
        return np.asarray((place[:, 0] * self._shape[1] + place[:, 1]) * self._shape[2] + place[:, 2])

    def cast(self, origins: Points, ways: Floats, own: Indices, group: Indices, groups: Indices) -> Hits:
        """What rays from inside the grid meet first, along unit vectors, apart from the triangle `own` they start on.

        Only triangles of the ray's `group` count; `groups` has that of each triangle.
        """
        distance, triangle = np.full(len(origins), np.inf), np.full(len(origins), -1)
        for start in range(0, len(origins), 20_000):
            part = slice(start, start + 20_000)
            self._walk(_Rays(origins[part], ways[part], own[part], group[part], distance[part], triangle[part]), groups)
        return Hits(distance, triangle)

    def _walk(self, rays: _Rays, groups: Indices) -> None:
        place = np.clip(((rays.origins - self._low) / self.size).astype(np.int64), 0, self._shape - 1)
        ways = np.where(np.abs(rays.ways) < 1e-12, 1e-12, rays.ways)
        step = np.sign(ways).astype(np.int64)
        across = self.size / np.abs(ways)
        border = ((place + (step > 0)) * self.size + self._low - rays.origins) / ways
        left = np.arange(len(place))
        while len(left):
            cell = self._number(place[left])
            start, count = self._start[cell], self._start[cell + 1] - self._start[cell]
            self._test(rays, left, start, count, groups)
            axis = border[left].argmin(axis=1)
            reached = border[left, axis]
            place[left, axis] += step[left, axis]
            inside = (place[left, axis] >= 0) & (place[left, axis] < self._shape[axis])
            border[left, axis] += across[left, axis]
            left = left[inside & (rays.distance[left] > reached)]

    def _test(self, rays: _Rays, left: Indices, start: Indices, count: Indices, groups: Indices) -> None:
        """Test rays against the triangles in their cells, and keep what is nearer than what they have."""
        total = np.cumsum(count)
        for part in np.split(
            np.arange(len(left)), np.searchsorted(total, np.arange(_AT_ONCE, int(total[-1]), _AT_ONCE))
        ):
            owner, position = runs(start[part], count[part])
            ray, triangle = left[part][owner], self._listed[position]
            counts = (triangle != rays.own[ray]) & (groups[triangle] == rays.group[ray])
            ray, triangle = ray[counts], triangle[counts]
            distance = _distances(self._planes[triangle], rays.origins[ray], rays.ways[ray])
            nearer = distance < rays.distance[ray]
            ray, triangle, distance = ray[nearer], triangle[nearer], distance[nearer]
            order = np.lexsort((triangle, distance, ray))
            ray = ray[order]
            first = np.flatnonzero(np.diff(ray, prepend=-1))
            ray, best = ray[first], order[first]
            rays.distance[ray], rays.triangle[ray] = distance[best], triangle[best]

    def crossings(self, vertices: Points, faces: Indices, edges: Indices, hair: float) -> Crossings:
        """Edges (k, 2) that go through a triangle they have no corner of, by more than `hair` mm on either side."""
        one, two = vertices[edges[:, 0]], vertices[edges[:, 1]]
        low, high = np.minimum(one, two), np.maximum(one, two)
        first = np.clip(((low - self._low) / self.size).astype(np.int64), 0, self._shape - 1)
        last = np.clip(((high - self._low) / self.size).astype(np.int64), 0, self._shape - 1)
        listed = (last - first + 1).prod(axis=1)
        found: list[tuple[Indices, Indices]] = []
        for part in _shares(listed, _AT_ONCE // 4):
            owner, place = _boxes(first[part], last[part], listed[part])
            cell = self._number(place)
            which, position = runs(self._start[cell], self._start[cell + 1] - self._start[cell])
            edge, triangle = part[owner[which]], self._listed[position]
            through = self._through(vertices, faces[triangle], edges[edge], triangle, hair)
            found.append((edge[through], triangle[through]))
        edge, triangle = (np.concatenate([each[k] for each in found]) for k in (0, 1))
        pairs = np.unique(np.column_stack([edge, triangle]), axis=0)
        return Crossings(edges[pairs[:, 0]], pairs[:, 1])

    def _through(self, vertices: Points, faces: Indices, edges: Indices, triangle: Indices, hair: float) -> Indices:
        """Which edges (k, 2) go through the triangle that each is paired with, whose corners are `faces` (k, 3)."""
        planes = self._planes[triangle, :4]
        one, two = (dot(planes[:, :3], vertices[edges[:, end]]) + planes[:, 3] for end in (0, 1))
        left = np.flatnonzero((np.minimum(one, two) < -hair) & (np.maximum(one, two) > hair))
        left = left[(faces[left][:, :, None] != edges[left][:, None]).all(axis=(1, 2))]
        start = vertices[edges[left, 0]]
        share = _distances(self._planes[triangle[left]], start, vertices[edges[left, 1]] - start, -_EDGE)
        return np.asarray(left[(share > 0) & (share < 1)])


@dataclass(frozen=True, slots=True)
class _Rays:
    origins: Points
    ways: Floats
    own: Indices
    group: Indices
    distance: Floats
    triangle: Indices


def _planes(corners: Floats, normals: Floats, areas: Floats) -> Floats:
    """For each triangle (m, 12) its plane, and the two linear forms that give a point's coordinates in it."""
    start, along, aside = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    twice = np.where(areas > 0, 2 * areas, 1)[:, None]
    first, second = np.cross(aside, normals) / twice, np.cross(normals, along) / twice
    rows = [np.column_stack([form, -np.einsum("ij,ij->i", form, start)]) for form in (normals, first, second)]
    return np.ascontiguousarray(np.hstack(rows))


def _distances(planes: Floats, origins: Floats, ways: Floats, slack: float = _EDGE) -> Floats:
    """How far along its way each ray meets its triangle; infinite where it does not, or behind it."""
    rise = np.einsum("ij,ij->i", planes[:, :3], ways)
    with np.errstate(divide="ignore", invalid="ignore"):
        distance = -(np.einsum("ij,ij->i", planes[:, :3], origins) + planes[:, 3]) / rise
        point = origins + distance[:, None] * ways
        first = np.einsum("ij,ij->i", planes[:, 4:7], point) + planes[:, 7]
        second = np.einsum("ij,ij->i", planes[:, 8:11], point) + planes[:, 11]
        meets = (first >= -slack) & (second >= -slack) & (first + second <= 1 + slack) & (distance > _EDGE)
    return np.where(meets, distance, np.inf)


def _boxes(first: Indices, last: Indices, listed: Indices) -> tuple[Indices, Indices]:
    """All cells (k, 3) of boxes of cells, and the number of the box of each."""
    owner, offset = runs(np.zeros(len(listed), dtype=np.int64), listed)
    wide = (last - first + 1)[owner]
    across, z = np.divmod(offset, wide[:, 2])
    x, y = np.divmod(across, wide[:, 1])
    return owner, first[owner] + np.column_stack([x, y, z])


def _shares(sizes: Indices, most: int) -> list[Indices]:
    """Numbers 0, 1, … in parts whose sizes sum to about `most`."""
    total = np.cumsum(sizes)
    return np.split(np.arange(len(sizes)), np.unique(np.searchsorted(total, np.arange(most, int(total[-1]), most))))
