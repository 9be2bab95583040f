"""A mesh as seen from one side, in pixels: what is in front, how bright it is, and where lines are to be drawn.

Every triangle is filled into a grid of pixels, the nearest is kept, and that hides what lies behind. Lines are then
where the pixels change: from the part to the paper, from one smooth piece of surface to another, or from near to far.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import median_filter

from service.geometry.arrays import Bools, Floats, Indices, components, dot, runs
from service.geometry.surface import Surface

PIXELS = 2.5  # to a unit of the drawing
_CREASE = np.radians(32.0)  # between faces: sharper is drawn as a line
_LIGHT = np.array([-0.45, 0.55, 0.70]) / np.linalg.norm([-0.45, 0.55, 0.70])  # from the upper left, before the part
_TONES = (0.68, 0.36)  # brightness below which a tone is laid, and below which a second over it
_STEP = 1.6  # units by which depth must jump, beyond what the slope of a face explains, for a line
_GRAIN = 5  # pixels across, of the filter that takes specks from the tones
_ROUGH = 80  # pixels: a smooth piece that shows less is roughness, and not outlined
_ROUNDED = 500_000  # faces; finer ones need no shading between their corners
_FACES_AT_ONCE, _AT_ONCE = 20_000, 2_000_000  # the second in pixels
_MOST_FILLED = 20_000_000  # pixels, of all triangles: a part as complicated as can be takes a tenth


_EVERY = slice(None)
# Pixels and those to the right of them, pixels and those above.
_BESIDE = (
    ((_EVERY, slice(None, -1)), (_EVERY, slice(1, None))),
    ((slice(None, -1), _EVERY), (slice(1, None), _EVERY)),
)


@dataclass(frozen=True, slots=True)
class View:
    """Pixels (rows from below, columns): the smooth piece in front or -1, its tone from 0 to 2, how near and steep."""

    piece: Indices
    tone: Indices
    depth: Floats
    slope: Floats

    @property
    def outline(self) -> tuple[Bools, Bools]:
        """Where the part meets the paper: between pixels side by side, and one above the other."""
        level, upright = ((self.piece[ahead] < 0) != (self.piece[behind] < 0) for ahead, behind in _BESIDE)
        return level, upright

    @property
    def inner(self) -> tuple[Bools, Bools]:
        """Where a line runs inside the outline, in the same way."""
        sizes = np.bincount(self.piece[self.piece >= 0], minlength=1)
        plain = np.where(self.piece >= 0, sizes[self.piece] >= _ROUGH, False)
        found = []
        for ahead, behind in _BESIDE:
            one, two = self.piece[ahead], self.piece[behind]
            explained = np.maximum(self.slope[ahead], self.slope[behind]) * 1.5 / PIXELS
            jump = np.abs(self.depth[ahead] - self.depth[behind]) > _STEP + explained
            crease = (one != two) & plain[ahead] & plain[behind]
            found.append((one >= 0) & (two >= 0) & (crease | jump))
        return found[0], found[1]


def smooth_pieces(surface: Surface) -> Indices:
    """The smooth piece (m) that each face belongs to: those whose neighbours lean little."""
    sides = np.sort(surface.faces[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    order = np.lexsort(sides.T)
    same = (sides[order[1:]] == sides[order[:-1]]).all(axis=1)
    one, two = order[:-1][same] // 3, order[1:][same] // 3
    lean = dot(surface.normals[one], surface.normals[two])
    thin = (surface.areas[one] == 0) | (surface.areas[two] == 0)
    smooth = (lean > np.cos(_CREASE)) & ~thin
    return components(len(surface.faces), one[smooth], two[smooth])[1]


def rounded_normals(surface: Surface, pieces: Indices) -> Floats:
    """The direction (m, 3, 3) at each corner of each face, shared within a smooth piece."""
    if len(surface.faces) > _ROUNDED:
        return np.broadcast_to(surface.normals[:, None], (len(surface.faces), 3, 3))
    _, corner = np.unique(pieces[:, None] * len(surface.vertices) + surface.faces, return_inverse=True)
    weighted = np.repeat(surface.normals * surface.areas[:, None], 3, axis=0)
    summed = np.column_stack([np.bincount(corner.ravel(), part) for part in weighted.T]).astype(np.float64)
    length = np.linalg.norm(summed, axis=1, keepdims=True)
    return np.asarray((summed / np.maximum(length, 1e-300))[corner.ravel()].reshape(-1, 3, 3))


@dataclass(frozen=True, slots=True)
class Scene:
    """Triangles (m, 3, 3) from one side: right, up and towards the eye, in units of the drawing, from (0, 0) on.

    With them their directions (m, 3), those at their corners (m, 3, 3) and the smooth piece of each (m).
    """

    corners: Floats
    normals: Floats
    rounded: Floats
    pieces: Indices


def look(scene: Scene, wide: float, high: float, *, both_sides: bool) -> View:
    """The scene, so many units wide and high.

    Faces that look away are left out unless the surface is open, where the back of a face may be seen.
    """
    rows, columns = int(np.ceil(high * PIXELS)) + 2, int(np.ceil(wide * PIXELS)) + 2
    towards = np.abs(scene.normals[:, 2]) if both_sides else scene.normals[:, 2]
    shown = np.flatnonzero(towards > 1e-6)
    placed = scene.corners[shown]
    placed[..., :2] = placed[..., :2] * PIXELS + 1
    slopes = -scene.normals[shown, :2] / scene.normals[shown, 2:] / PIXELS
    depth, face = np.full(rows * columns, -np.inf), np.full(rows * columns, -1)
    nearest = _Nearest(columns, depth, face)
    filled, order = 0, (-placed[..., 2].max(axis=1)).argsort(kind="stable")
    for part in np.array_split(order, 1 + len(shown) // _FACES_AT_ONCE):
        filled += _fill(placed[part], slopes[part], part, nearest)
        if filled > _MOST_FILLED:  # what is still to come lies farther away than all this
            break
    pixel = np.flatnonzero(face >= 0)
    seen = face[pixel]
    middle = np.column_stack([pixel % columns, pixel // columns]) + 0.5
    side = np.sign(scene.normals[shown[seen], 2])
    weights = _weights(placed[seen, :, :2], middle)
    direction = (weights[:, :, None] * scene.rounded[shown[seen]]).sum(axis=1)
    bright = side * (direction @ _LIGHT) / np.maximum(np.linalg.norm(direction, axis=1), 1e-300)
    shape = (rows, columns)
    tone, piece, slope = np.zeros(shape, dtype=np.int64), np.full(shape, -1), np.zeros(shape)
    tone.flat[pixel] = (bright[:, None] < np.array(_TONES)).sum(axis=1)
    piece.flat[pixel] = scene.pieces[shown[seen]]
    slope.flat[pixel] = np.linalg.norm(slopes[seen], axis=1) * PIXELS
    nearness = np.where(face >= 0, depth, 0).reshape(shape)
    return View(piece, median_filter(tone, _GRAIN), nearness, slope)


def _weights(corners: Floats, point: npt.NDArray[np.floating]) -> Floats:
    """Where points (k, 2) lie in triangles (k, 3, 2), as weights of the corners; those outside go to its rim."""
    start, along, aside = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    away = point - start
    twice = along[:, 0] * aside[:, 1] - along[:, 1] * aside[:, 0]
    twice = np.where(np.abs(twice) < 1e-12, 1e-12, twice)
    first = np.clip((away[:, 0] * aside[:, 1] - away[:, 1] * aside[:, 0]) / twice, 0, 1)
    second = np.clip((along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0]) / twice, 0, 1)
    return np.column_stack([np.maximum(1 - first - second, 0), first, second])


@dataclass(frozen=True, slots=True)
class _Nearest:
    """What is in front so far, row by row of so many columns: how near it is, and its number."""

    columns: int
    depth: Floats
    face: Indices


def _fill(corners: Floats, slopes: Floats, numbers: Indices, nearest: _Nearest) -> int:
    """Fill triangles, row by row, where they are nearer than what is there; corners are in pixels, depth in units.

    How many pixels that were.
    """
    x, y, z = corners[..., 0], corners[..., 1], corners[..., 2]
    first = np.ceil(y.min(axis=1) - 0.5).astype(np.int64)
    count = np.maximum(np.floor(y.max(axis=1) - 0.5).astype(np.int64) - first + 1, 0)
    owner, row = runs(first, count)
    middle = row + 0.5
    left, right = np.full(len(row), np.inf), np.full(len(row), -np.inf)
    for one, two in ((0, 1), (1, 2), (2, 0)):
        rise = y[owner, two] - y[owner, one]
        share = (middle - y[owner, one]) / np.where(rise == 0, 1, rise)
        on = (rise != 0) & (share >= 0) & (share <= 1)
        at = x[owner, one] + share * (x[owner, two] - x[owner, one])
        left, right = np.where(on, np.minimum(left, at), left), np.where(on, np.maximum(right, at), right)
    hit = right >= left
    owner, row, left, right = owner[hit], row[hit], left[hit], right[hit]
    start = np.ceil(left - 0.5).astype(np.int64)
    wide = np.maximum(np.floor(right - 0.5).astype(np.int64) - start + 1, 0)
    for part in np.array_split(np.arange(len(row)), 1 + int(wide.sum()) // _AT_ONCE):
        span, column = runs(start[part], wide[part])
        span = part[span]
        triangle = owner[span]
        away = np.column_stack([column + 0.5 - x[triangle, 0], row[span] + 0.5 - y[triangle, 0]])
        near = z[triangle, 0] + (slopes[triangle] * away).sum(axis=1)
        near = np.clip(near, z[triangle].min(axis=1), z[triangle].max(axis=1))
        pixel = row[span] * nearest.columns + column
        np.maximum.at(nearest.depth, pixel, near)
        front = near >= nearest.depth[pixel]
        nearest.face[pixel[front]] = numbers[triangle[front]]
    return int(wide.sum())
