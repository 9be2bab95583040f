"""Which shells bound which bodies, as a printer would make them: hollows, solids inside solids, solids that overlap.

How often a place is enclosed is the sum, over the shells around it, of 1 for each that faces outward and -1 for each
that faces inward. Where that is above zero there is material. So a shell inside a hollow one is a hollow, a body or
nothing, whichever way it faces; and of solids that overlap the printer makes one.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from service.geometry.arrays import Bools, Floats, Indices, components, plural
from service.geometry.grid import Grid
from service.geometry.mesh import Points
from service.geometry.surface import Surface

_HAIR_MM = 1e-3  # by which a surface must go through another to be said to
_SAMPLES = 16  # places of a shell that are asked whether they lie inside another
_MOST_ASKED = 30_000_000  # triangles seen from places, in all: a few seconds
_MOST_SHELLS, _MOST_PAIRS = 3_000, 10_000
_AT_ONCE = 500_000  # triangles seen at a time: some 150 MB
_MOST_CROSSED = 600_000  # faces; with more it would take too long to look for where a surface cuts itself
_THIN_MM3 = 1e-6


@dataclass(frozen=True, slots=True)
class Bodies:
    """The surface with its shells turned as they must be; the body of each face (m); what is material, and what is odd.

    `count` is of bodies, and `solid` (m) tells apart those that overlap in one; `walls` says of each face (m) whether
    material begins there, `closed` whether every shell is.
    """

    surface: Surface
    body: Indices
    solid: Indices
    walls: Bools
    count: int
    volume: float | None
    doubts: tuple[str, ...]

    @property
    def closed(self) -> bool:
        """Whether there is an inside everywhere."""
        return bool(self.surface.closed.all())

    def points(self) -> list[Points]:
        """The corners of each body."""
        order = self.body.argsort(kind="stable")
        parts = np.split(order, np.flatnonzero(np.diff(self.body[order])) + 1)
        return [self.surface.vertices[np.unique(self.surface.faces[part])] for part in parts]


@dataclass(frozen=True, slots=True)
class Nesting:
    """A surface with its shells turned to face the way they must, and how many had to be.

    `within` (k, 2) are pairs of a shell and a closed one all around it, `overlapping` (k, 2) pairs that overlap; both
    are empty when there were too many shells to look into, and then `told` is false.
    """

    surface: Surface
    turned: int
    within: Indices
    overlapping: Indices
    told: bool


def nesting(surface: Surface) -> Nesting:
    """See which shells lie in which, and turn those that face inward though nothing is around them."""
    within, overlapping, told = _nested(surface)
    outward, turned = _outward(surface, within)
    return Nesting(outward, turned, within, overlapping, told)


def bodies(nested: Nesting, grid: Grid) -> Bodies:
    """Tell the bodies apart; the grid is of the surface."""
    surface, within = nested.surface, nested.within
    crossing, itself = _crossed(surface, grid)
    overlapping = np.concatenate([nested.overlapping, crossing])
    way = np.where(surface.closed, np.sign(surface.volumes), 1).astype(np.int64)
    around = np.bincount(within[:, 0], way[within[:, 1]], minlength=len(way)).astype(np.int64)
    begins = ((around > 0) != (around + way > 0)) | ~surface.closed
    group = components(len(way), overlapping[:, 0], overlapping[:, 1])[1]
    owner = _owners(surface, within, begins & (around <= 0))
    _, body = np.unique(group[owner], return_inverse=True)
    volume = float(surface.volumes[begins].sum()) if surface.closed.all() else None
    doubts = _said(nested, begins, itself, len(np.unique(overlapping)))
    shell, count = surface.shell, int(body.max()) + 1
    return Bodies(surface, body.ravel()[shell], owner[shell], begins[shell], count, volume, tuple(doubts))


def _said(nested: Nesting, begins: Bools, itself: int, overlapping: int) -> list[str]:
    said = []
    if not nested.told:
        said.append(
            f"With {plural(len(begins), 'separate surface')} it was not looked which lie inside which, or overlap: "
            "each is taken for a body of its own."
        )
    if itself:
        said.append(
            f"The surface cuts through itself at {plural(itself, 'place')} or more: volume and walls are unsure there."
        )
    if nested.turned:
        were = plural(nested.turned, "closed surface was", "closed surfaces were")
        said.append(f"{were} inside out; turned to face outward.")
    if overlapping:
        said.append(
            f"{plural(overlapping, 'closed surface')} overlap: they are printed as one body. Its volume here counts "
            "what overlaps more than once."
        )
    if not begins.all():
        lie = plural(int((~begins).sum()), "closed surface lies", "closed surfaces lie")
        said.append(f"{lie} inside solid material and will not show in a print.")
    thin = nested.surface.closed & (np.abs(nested.surface.volumes) < _THIN_MM3)
    if thin.any():
        said.append(f"{plural(int(thin.sum()), 'closed surface encloses', 'closed surfaces enclose')} nothing.")
    return said


def _owners(surface: Surface, within: Indices, outer: Bools) -> Indices:
    """The outer shell that each shell is a part of: itself if it is one, else that closest around it."""
    owner = np.arange(len(outer))
    size = np.abs(surface.volumes)
    inner = within[~outer[within[:, 0]] & outer[within[:, 1]]]
    for shell, other in inner[size[inner[:, 1]].argsort(kind="stable")[::-1]]:
        owner[shell] = other
    return owner


def _outward(surface: Surface, within: Indices) -> tuple[Surface, int]:
    """Shells that nothing closed is around must face outward; what is in one that does not is turned with it."""
    loose = surface.closed.copy()
    loose[within[:, 0]] = False
    wrong = loose & (surface.volumes < 0)
    if not wrong.any():
        return surface, 0
    turn = wrong.copy()
    turn[within[wrong[within[:, 1]], 0]] = True
    faces = np.where(turn[surface.shell][:, None], surface.faces[:, ::-1], surface.faces)
    sign = np.where(turn, -1, 1)
    normals = surface.normals * sign[surface.shell][:, None]
    return replace(surface, faces=faces, normals=normals, volumes=surface.volumes * sign), int(wrong.sum())


def _crossed(surface: Surface, grid: Grid) -> tuple[Indices, int]:
    """Pairs of shells that go through each other, and how many edges go through their own."""
    if len(surface.faces) > _MOST_CROSSED or grid.crowded:
        return np.empty((0, 2), dtype=np.int64), 0
    sides = np.sort(surface.faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    order = np.lexsort(sides.T)
    new = np.flatnonzero(np.diff(sides[order], axis=0, prepend=-1).any(axis=1))
    found = grid.crossings(surface.vertices, surface.faces, sides[order[new]], _HAIR_MM)
    shell = np.empty(len(surface.vertices), dtype=np.int64)
    shell[surface.faces] = surface.shell[:, None]
    pairs = np.column_stack([shell[found.edges[:, 0]], surface.shell[found.triangle]])
    same = pairs[:, 0] == pairs[:, 1]
    return np.unique(pairs[~same], axis=0), int(same.sum())


def _nested(surface: Surface) -> tuple[Indices, Indices, bool]:
    """Pairs (k, 2) of a shell and a closed one all around it; pairs that overlap; and whether that was looked into."""
    none = np.empty((0, 2), dtype=np.int64)
    shells = len(surface.closed)
    if shells == 1:
        return none, none, True
    if shells > _MOST_SHELLS:
        return none, none, False
    order = surface.shell.argsort(kind="stable")
    starts = np.searchsorted(surface.shell[order], np.arange(shells))
    corners = surface.corners[order]
    low = np.minimum.reduceat(corners.min(axis=1), starts)
    high = np.maximum.reduceat(corners.max(axis=1), starts)
    meet = ((low[:, None] < high[None]) & (low[None] < high[:, None])).all(axis=2) & surface.closed
    np.fill_diagonal(meet, val=False)
    pairs = np.argwhere(meet)
    ends = np.append(starts[1:], len(order))
    sizes = ends - starts
    samples = _SAMPLES if sizes[pairs[:, 1]].sum() * _SAMPLES < _MOST_ASKED else 1
    if len(pairs) > _MOST_PAIRS or sizes[pairs[:, 1]].sum() * samples > _MOST_ASKED:
        return none, none, False
    within: list[tuple[int, int]] = []
    overlapping: list[tuple[int, int]] = []
    for one, other in pairs:
        mine = order[starts[one] : ends[one]]
        places = surface.corners[mine[surface.areas[mine].argsort(kind="stable")[::-1][:samples]]].mean(axis=1)
        inside = np.abs(enclosed(places, corners[starts[other] : ends[other]])) > 0.75
        boxed = (low[one] >= low[other] - _HAIR_MM).all() and (high[one] <= high[other] + _HAIR_MM).all()
        if inside.all() and boxed:
            within.append((one, other))
        elif inside.any():
            overlapping.append((one, other))
    return np.array(within, dtype=np.int64).reshape(-1, 2), np.array(overlapping, dtype=np.int64).reshape(-1, 2), True


def enclosed(places: Points, corners: Floats) -> Floats:
    """How often a closed surface of triangles (m, 3, 3) goes around places (k, 3): the solid angle it fills, over 4 pi.

    Of a triangle with corners a, b, c seen from the place: tan(angle / 2) = a . (b x c) over
    abc + (a . b) c + (b . c) a + (c . a) b.
    """
    parts = np.array_split(places, 1 + len(places) * len(corners) // _AT_ONCE)
    return np.concatenate([_sky(part, corners) for part in parts]) / (4 * np.pi)


def _sky(places: Points, corners: Floats) -> Floats:
    a, b, c = (corners[None, :, corner] - places[:, None] for corner in range(3))
    aa, bb, cc = (np.sqrt(np.einsum("kmi,kmi->km", each, each)) for each in (a, b, c))
    volume = np.einsum("kmi,kmi->km", a, np.cross(b, c))
    rest = aa * bb * cc + np.einsum("kmi,kmi->km", a, b) * cc
    rest += np.einsum("kmi,kmi->km", b, c) * aa + np.einsum("kmi,kmi->km", c, a) * bb
    return np.asarray(2 * np.arctan2(volume, rest).sum(axis=1))
