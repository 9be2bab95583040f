"""Meshes made of numbers: closed, facing outwards, light enough to be read in a moment. Lengths are mm.

A part is put together from blocks: six-sided cells that share corners. What lies between two cells is inside; the
faces that only one cell has are the surface, so it is closed whatever cells are left out, and a slot or a pocket is
cells left out. A bore is a ring of cells around nothing. Bent and rounded shapes are blocks whose corners were moved.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

Points = npt.NDArray[np.float64]
Triangles = npt.NDArray[np.int64]
Bent = Callable[[Points], Points]

_SIDES = ((0, 3, 2, 1), (4, 5, 6, 7), (0, 1, 5, 4), (1, 2, 6, 5), (2, 3, 7, 6), (3, 0, 4, 7))  # seen from outside
_ROUND = 16  # corners of a bore
_SAME = 1e-6  # mm


@dataclass(frozen=True, eq=False)
class Solid:
    """Corners (n, 3) in mm and triangles (m, 3) that index them."""

    vertices: Points
    faces: Triangles

    @property
    def volume(self) -> float:
        """mm3; that of a closed surface, positive when it faces outwards."""
        a, b, c = (self.vertices[self.faces[:, corner]] for corner in range(3))
        return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)

    @property
    def area(self) -> float:
        """mm2."""
        a, b, c = (self.vertices[self.faces[:, corner]] for corner in range(3))
        return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)

    def bent(self, move: Bent) -> Solid:
        """With every corner moved; turned to face outwards again if that mirrored it."""
        moved = Solid(move(self.vertices), self.faces)
        return moved if moved.volume >= 0 else Solid(moved.vertices, moved.faces[:, ::-1])

    def moved(self, x: float = 0, y: float = 0, z: float = 0) -> Solid:
        """Elsewhere."""
        return Solid(self.vertices + np.array((x, y, z)), self.faces)

    def mirrored(self) -> Solid:
        """The other hand's."""
        return self.bent(lambda points: points * np.array((-1.0, 1.0, 1.0)))

    def beside(self, other: Solid) -> Solid:
        """Both bodies in one file."""
        return Solid(
            np.vstack((self.vertices, other.vertices)), np.vstack((self.faces, other.faces + len(self.vertices)))
        )


@dataclass(frozen=True)
class Bore:
    """A round hole through a plate, at a place of it; `room` is half the square of grid lines kept for it."""

    y: float
    z: float
    diameter: float
    room: float


def plate(
    ys: Sequence[float],
    zs: Sequence[float],
    xs: Sequence[float],
    *,
    bores: Sequence[Bore] = (),
    full: Callable[[float, float, float], bool] = lambda *_: True,
) -> Solid:
    """A block ruled by lines in three directions, with bores along x; `full` says which cells are there.

    Lines inside the room of a bore are the bore's own; bores of one plate share their `y` and their room.
    """
    fractions = (-1.0, -0.5, 0.0, 0.5, 1.0)
    ys = _lines(ys, [(bore.y, bore.room) for bore in bores], fractions)
    zs = _lines(zs, [(bore.z, bore.room) for bore in bores], fractions)
    quads = [
        np.array(((y0, z0), (y1, z0), (y1, z1), (y0, z1)))
        for y0, y1 in pairwise(ys)
        for z0, z1 in pairwise(zs)
        if not any(_within(bore, (y0 + y1) / 2, (z0 + z1) / 2) for bore in bores)
    ]
    for bore in bores:
        quads += _ring(bore)
    blocks = []
    for x0, x1 in pairwise(xs):
        for quad in quads:
            y, z = quad.mean(axis=0)
            if full((x0 + x1) / 2, float(y), float(z)):
                low, high = (np.column_stack((np.full(4, x), quad)) for x in (x0, x1))
                blocks.append(np.vstack((low, high)))
    return of_blocks(np.array(blocks))


def turned(
    rs: Sequence[float],
    zs: Sequence[float],
    around: int = 24,
    *,
    degrees: tuple[float, float] = (0, 360),
    full: Callable[[float, float, float], bool] = lambda *_: True,
) -> Solid:
    """Blocks around the z axis: `rs` from the bore outwards, `full` told radius, angle in degrees and z of a cell."""
    angles = np.linspace(*degrees, around + 1)
    blocks = []
    for start, end in pairwise(angles):
        for r0, r1 in pairwise(rs):
            for z0, z1 in pairwise(zs):
                if full((r0 + r1) / 2, float(start + end) / 2, (z0 + z1) / 2):
                    ring = [(r, angle) for r, angle in ((r0, start), (r1, start), (r1, end), (r0, end))]
                    turns = [(r, np.radians(angle % 360)) for r, angle in ring]  # the last meets the first exactly
                    flat = np.array([(r * np.cos(turn), r * np.sin(turn)) for r, turn in turns])
                    blocks.append(np.vstack([np.column_stack((flat, np.full(4, z))) for z in (z0, z1)]))
    return of_blocks(np.array(blocks))


def of_blocks(blocks: Points) -> Solid:
    """The surface of blocks (k, 8, 3): four corners one way round, then the four opposite them."""
    corners = blocks.reshape(-1, 3)
    _, first, index = np.unique(
        np.round(corners / _SAME).astype(np.int64), axis=0, return_index=True, return_inverse=True
    )
    cells = index.reshape(-1, 8)
    quads = cells[:, _SIDES].reshape(-1, 4)
    _, at, count = np.unique(np.sort(quads, axis=1), axis=0, return_index=True, return_counts=True)
    outside = quads[np.sort(at[count == 1])]
    return _tidy(corners[first], np.vstack((outside[:, [0, 1, 2]], outside[:, [0, 2, 3]])))


def lofted(rings: Sequence[Points], *, start: Points | None = None, end: Points | None = None) -> Solid:
    """A skin over rings (n, 3) of equally many corners, anticlockwise seen against the way they go.

    A point before or after closes it; without both, and unless the last ring is the first, it is open.
    """
    around = len(rings[0])
    vertices = [*rings]
    faces = []
    here = np.arange(around)
    after = np.roll(here, -1)
    for number in range(len(rings) - 1):
        low, high = here + number * around, here + (number + 1) * around
        low2, high2 = after + number * around, after + (number + 1) * around
        faces += [np.column_stack((low, low2, high2)), np.column_stack((low, high2, high))]
    count = len(rings) * around
    if start is not None:
        faces.append(np.column_stack((after, here, np.full(around, count))))
        vertices.append(start.reshape(1, 3))
        count += 1
    if end is not None:
        last = (len(rings) - 1) * around
        faces.append(np.column_stack((here + last, after + last, np.full(around, count))))
        vertices.append(end.reshape(1, 3))
    return Solid(np.vstack(vertices), np.vstack(faces).astype(np.int64))


def stl(solid: Solid) -> bytes:
    """A binary STL; like every STL it does not say that these are millimetres."""
    corners = solid.vertices[solid.faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    rows = np.zeros(len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("unused", "<u2")])
    rows["normal"] = normals / np.where(lengths > 0, lengths, 1)
    rows["corners"] = corners
    return b"made by numbers".ljust(80) + np.uint32(len(rows)).tobytes() + rows.tobytes()


_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_TYPES = (
    f'<?xml version="1.0" encoding="UTF-8"?><Types xmlns="{_PACKAGE}/content-types">'
    f'<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    f'<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>'
)
_RELATIONS = (
    f'<?xml version="1.0" encoding="UTF-8"?><Relationships xmlns="{_PACKAGE}/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>'
)


def three_mf(solid: Solid) -> bytes:
    """A 3MF in millimetres, the same bytes every time."""
    points = "".join(f'<vertex x="{x:.4f}" y="{y:.4f}" z="{z:.4f}"/>' for x, y, z in solid.vertices)
    triangles = "".join(f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in solid.faces)
    model = (
        f'<?xml version="1.0" encoding="UTF-8"?><model unit="millimeter" xml:lang="en" xmlns="{_CORE}"><resources>'
        f'<object id="1" type="model"><mesh><vertices>{points}</vertices><triangles>{triangles}</triangles></mesh>'
        '</object></resources><build><item objectid="1"/></build></model>'
    )
    parts = {"[Content_Types].xml": _TYPES, "_rels/.rels": _RELATIONS, "3D/3dmodel.model": model}
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in parts.items():
            archive.writestr(zipfile.ZipInfo(name), text, zipfile.ZIP_DEFLATED)
    return packed.getvalue()


def _tidy(vertices: Points, faces: Triangles) -> Solid:
    used, index = np.unique(faces, return_inverse=True)
    made = Solid(vertices[used], index.reshape(-1, 3).astype(np.int64))
    return made if made.volume >= 0 else Solid(made.vertices, made.faces[:, ::-1])


def _lines(given: Sequence[float], rooms: Sequence[tuple[float, float]], fractions: Sequence[float]) -> list[float]:
    own = {round(centre + room * fraction, 6) for centre, room in rooms for fraction in fractions}
    free = {each for each in given if not any(abs(each - centre) < room + _SAME for centre, room in rooms)}
    return sorted(own | free)


def _within(bore: Bore, y: float, z: float) -> bool:
    return abs(y - bore.y) < bore.room and abs(z - bore.z) < bore.room


def _ring(bore: Bore) -> list[Points]:
    """Cells between the square around a bore and its round wall."""
    turns = np.arange(_ROUND) * 2 * np.pi / _ROUND
    quarter = [(1, -0.5), (1, 0), (1, 0.5), (1, 1), (0.5, 1), (0, 1), (-0.5, 1), (-1, 1), (-1, 0.5), (-1, 0)]
    square = np.array([*quarter, (-1, -0.5), (-1, -1), (-0.5, -1), (0, -1), (0.5, -1), (1, -1)], dtype=float)
    square = np.roll(square, -1, axis=0) * bore.room
    wall = np.column_stack((np.cos(turns), np.sin(turns))) * bore.diameter / 2
    centre = np.array((bore.y, bore.z))
    return [
        centre + np.array((wall[here], square[here], square[after], wall[after]))
        for here, after in pairwise([*range(_ROUND), 0])
    ]
