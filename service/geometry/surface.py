"""A surface put in order: corners merged, faces turned one way, split into shells; and what was wrong, in words.

A *shell* is a piece of surface that hangs together by edges. It is closed when each of its edges is passed as often one
way as the other. Nothing is repaired that would change the shape: holes stay, and are said.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.spatial import KDTree

from service.geometry.arrays import Bools, Floats, Indices, components, dot, plural
from service.geometry.mesh import Mesh, Points, Triangles
from service.kit.unfit import Unfit

_SAME_MM = 1e-6  # corners closer than that are one: what a file's single precision leaves of a mm
_TOUCHING_MM = 1e-3  # corners at open edges closer than that were meant to be one; no printer shows the difference
_MOST_LOOSE = 300_000  # corners at open edges: with more the file is no surface, and it would take too long
_NO_AREA = 1e-12  # of a triangle's longest edge squared


@dataclass(frozen=True, slots=True)
class Surface:
    """Corners (n, 3) in mm, faces (m, 3), the shell of each face (m) and, for each shell, whether it is closed.

    Of each face `normals` (m, 3), which are 0 where it has no area, and `areas` (m) in mm2; of each shell the volume it
    encloses in mm3, below zero when it faces inward. `doubts` are sentences for a person.
    """

    vertices: Points
    faces: Triangles
    shell: Indices
    closed: Bools
    normals: Floats
    areas: Floats
    volumes: Floats
    doubts: tuple[str, ...]

    @property
    def corners(self) -> Floats:
        """The corners of each face (m, 3, 3)."""
        return np.asarray(self.vertices[self.faces])


def surface(mesh: Mesh) -> Surface:
    """Put a mesh in order; raises Unfit when nothing of it has an area."""
    doubts: list[str] = []
    vertices, faces = _merged(mesh.vertices, mesh.faces)
    faces, flat = _without_flat(faces)
    faces, doubled, opposite = _without_doubles(faces)
    if len(faces):
        vertices, faces = _touching_merged(vertices, faces)
        faces, more = _without_flat(faces)
        flat += more
    normals, areas = _normals(vertices[faces])
    if not (areas > 0).any():
        raise Unfit(
            "Nothing in this file has any thickness or area: all its triangles are flat, or lie on each other back to "
            "back. Export the part again as a solid."
        )
    flat += int((areas == 0).sum())
    faces, turned, one_sided = _turned_alike(faces)
    edges = _Edges.of(faces)
    shell = _shells(edges)
    closed, open_edges = _closed(edges, shell)
    normals, areas = _normals(vertices[faces])
    doubts += _said_of_faces(flat, doubled, opposite, turned, one_sided=one_sided)
    doubts += _said_of_edges(edges, open_edges)
    return Surface(
        vertices, faces, shell, closed, normals, areas, _volumes(vertices[faces], shell, len(closed)), tuple(doubts)
    )


@dataclass(frozen=True, slots=True)
class _Edges:
    """Each face's three sides (m, 3) as numbers of edges, which way it goes along them (1 or -1); of each edge,
    how many faces have it and its two corners.
    """

    number: Indices
    way: Indices
    count: Indices
    ends: Indices

    @classmethod
    def of(cls, faces: Triangles) -> _Edges:
        start, end = faces.ravel(), np.roll(faces, -1, axis=1).ravel()
        low, high = np.minimum(start, end), np.maximum(start, end)
        keys = low * (int(faces.max()) + 1) + high
        _, first, number, count = np.unique(keys, return_index=True, return_inverse=True, return_counts=True)
        ends = np.column_stack([low[first], high[first]])
        shape = faces.shape
        return cls(number.reshape(shape), np.where(start < end, 1, -1).reshape(shape), count, ends)

    def neighbours(self, fewest: int, most: int) -> tuple[Indices, Indices]:
        """Pairs of sides, as numbers in the flattened faces, that lie at one edge next to each other."""
        order = self.number.ravel().argsort(kind="stable")
        edge = self.number.ravel()[order]
        count = self.count[edge[1:]]
        both = (edge[1:] == edge[:-1]) & (count >= fewest) & (count <= most)
        return order[:-1][both], order[1:][both]


def _merged(vertices: Points, faces: Triangles) -> tuple[Points, Triangles]:
    used, index = np.unique(faces, return_inverse=True)
    corners = vertices[used]
    keys = np.round(corners / _SAME_MM)
    order = np.lexsort(keys.T)
    new = np.ones(len(order), dtype=bool)
    new[1:] = (keys[order[1:]] != keys[order[:-1]]).any(axis=1)
    number = np.empty(len(order), dtype=np.int64)
    number[order] = np.cumsum(new) - 1
    return corners[order[new]], number[index].reshape(-1, 3)


def _touching_merged(vertices: Points, faces: Triangles) -> tuple[Points, Triangles]:
    """Corners at open edges that all but touch, merged; they are left when too many lie together to mean anything."""
    edges = _Edges.of(faces)
    loose = np.unique(edges.ends[edges.count == 1])
    if not 0 < len(loose) < _MOST_LOOSE:
        return vertices, faces
    tree = KDTree(vertices[loose])
    if tree.count_neighbors(tree, _TOUCHING_MM) > 20 * len(loose):
        return vertices, faces
    pairs = tree.query_pairs(_TOUCHING_MM, output_type="ndarray")
    number = np.arange(len(vertices))
    label = components(len(loose), pairs[:, 0], pairs[:, 1])[1]
    first = np.full(label.max() + 1, len(loose))
    np.minimum.at(first, label, np.arange(len(loose)))
    number[loose] = loose[first[label]]
    return vertices, number[faces]


def _without_flat(faces: Triangles) -> tuple[Triangles, int]:
    """Without faces that use a corner twice. Others without area stay: they keep their neighbours together."""
    flat = (faces == np.roll(faces, 1, axis=1)).any(axis=1)
    return faces[~flat], int(flat.sum())


def _without_doubles(faces: Triangles) -> tuple[Triangles, int, int]:
    """Each set of three corners once; and not at all when as many faces on it look either way."""
    if not len(faces):
        return faces, 0, 0
    ordered = np.sort(faces, axis=1)
    order = np.lexsort(ordered.T)
    same = (ordered[order[1:]] == ordered[order[:-1]]).all(axis=1)
    if not same.any():
        return faces, 0, 0
    group = np.concatenate([[0], np.cumsum(~same)])
    lowest = faces.argmin(axis=1)[:, None]
    after = np.take_along_axis(faces, (lowest + 1) % 3, 1) < np.take_along_axis(faces, (lowest + 2) % 3, 1)
    looks = np.where(after[:, 0], 1, -1)[order]
    net = np.bincount(group, looks).astype(np.int64)
    size = np.bincount(group)
    wanted = np.flatnonzero(looks * np.sign(net[group]) > 0)
    first = np.sort(order[wanted[np.unique(group[wanted], return_index=True)[1]]])
    cancelled = int(size[net == 0].sum()) // 2
    return faces[first], len(faces) - len(first) - 2 * cancelled, cancelled


def _turned_alike(faces: Triangles) -> tuple[Triangles, int, bool]:
    """Faces turned so that neighbours pass their edge opposite ways; how many were; and whether that was impossible.

    Each face is taken twice, as it is and turned; what hangs together are two surfaces, of which the one is kept that
    turns fewer faces. They are one when the surface has one side only.
    """
    edges = _Edges.of(faces)
    one, two = edges.neighbours(2, 2)
    ways = edges.way.ravel()
    clash = ways[one] == ways[two]
    if not clash.any():
        return faces, 0, False
    one, two, count = one // 3, two // 3, len(faces)
    other = np.where(clash, two + count, two)
    opposite = np.where(clash, two, two + count)
    parts, label = components(2 * count, np.concatenate([one, one + count]), np.concatenate([other, opposite]))
    kept = np.bincount(label[:count], minlength=parts)
    turn = kept[label[:count]] < kept[label[count:]]
    one_sided = bool((label[:count] == label[count:]).any())
    # Where both sheets keep as many, the face with the lowest number of the pair of parts decides.
    tied = (kept[label[:count]] == kept[label[count:]]) & (label[:count] > label[count:])
    turn |= tied
    return np.where(turn[:, None], faces[:, ::-1], faces), int(turn.sum()), one_sided


def _shells(edges: _Edges) -> Indices:
    """The shell of each face. Where four or more meet at an edge, solids touch there; that does not join them."""
    one, two = edges.neighbours(2, 3)
    return components(len(edges.number), one // 3, two // 3)[1]


def _closed(edges: _Edges, shell: Indices) -> tuple[Bools, Bools]:
    """Whether each shell is closed, and which edges are open in a shell of theirs."""
    owner = np.repeat(shell, 3)
    key = owner * len(edges.count) + edges.number.ravel()
    keys, index, count = np.unique(key, return_inverse=True, return_counts=True)
    net = np.bincount(index.ravel(), edges.way.ravel())
    closed = np.ones(int(shell.max()) + 1, dtype=bool)
    closed[keys[net != 0] // len(edges.count)] = False
    is_open = np.zeros(len(edges.count), dtype=bool)
    is_open[keys[count == 1] % len(edges.count)] = True
    return closed, is_open


def _normals(corners: Floats) -> tuple[Floats, Floats]:
    along, aside = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    cross = np.cross(along, aside)
    twice = np.linalg.norm(cross, axis=1)
    longest = np.maximum((along**2).sum(axis=1), (aside**2).sum(axis=1))
    real = twice > _NO_AREA * np.maximum(longest, 1e-300)
    return np.where(real[:, None], cross / np.where(real, twice, 1)[:, None], 0), np.where(real, twice / 2, 0)


def _volumes(corners: Floats, shell: Indices, shells: int) -> Floats:
    a, b, c = (corners - corners.reshape(-1, 3).mean(axis=0)).transpose(1, 0, 2)
    return np.bincount(shell, dot(a, np.cross(b, c)) / 6, minlength=shells).astype(np.float64)


def _said_of_faces(flat: int, doubled: int, opposite: int, turned: int, *, one_sided: bool) -> list[str]:
    said = []
    if flat:
        said.append(f"{plural(flat, 'triangle has', 'triangles have')} no area; left out.")
    if doubled:
        said.append(f"{plural(doubled, 'triangle lies', 'triangles lie')} exactly on another; left out.")
    if opposite:
        said.append(
            f"{plural(opposite, 'pair', 'pairs')} of triangles lie back to back, a wall without thickness; left out."
        )
    if one_sided:
        said.append("The surface has one side only somewhere, so that inside and outside cannot be told there.")
    if turned:
        said.append(f"{plural(turned, 'triangle faces', 'triangles face')} the other way than those around; turned.")
    return said


def _said_of_edges(edges: _Edges, is_open: Bools) -> list[str]:
    said = []
    if is_open.any():
        ends = edges.ends[is_open]
        corners, index = np.unique(ends, return_inverse=True)
        index = index.reshape(-1, 2)
        holes = components(len(corners), index[:, 0], index[:, 1])[0]
        said.append(
            f"The surface is not closed: {plural(int(is_open.sum()), 'open edge')} around {plural(holes, 'hole')}. "
            "Close it in the program it was drawn in; until then it has no volume or walls."
        )
    crowded = edges.count[edges.count > 2]
    odd, even = int((crowded % 2).sum()), int((1 - crowded % 2).sum())
    if odd:
        said.append(
            f"{plural(odd, 'edge is', 'edges are')} shared by three triangles, or another odd number, as no solid's is."
        )
    if even:
        said.append(
            f"{plural(even, 'edge is', 'edges are')} shared by four triangles or more: solids touch there along a "
            "line, and may print apart."
        )
    return said
