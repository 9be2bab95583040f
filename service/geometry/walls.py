"""The thinnest wall of closed bodies, in mm.

The wall at a place of the surface is the width of the largest ball in the material that touches it there. A ray that
goes in at a slant f from straight and comes out after t leaves room for t / cos f; straight in that is t. Where the
surface it meets leans by an angle a, the ball touches that nearer by, where a second ray is sent: at a slant of a / 2
if both were planes. Only what faces along with a ray counts, within FACING of the place's own direction; a bevel or the
side of a box next to the place is no wall, and an edge sharper than FACING is one that runs out to nothing.

Rays are sent from many places. From the thinnest of them the walls are followed: a fan of rays leads to places beside,
on the other side, to go on from, ever closer by.
"""

from __future__ import annotations

import numpy as np

from service.geometry.arrays import Bools, Floats, Indices
from service.geometry.bodies import Bodies
from service.geometry.grid import Grid

FACING = np.radians(30.0)  # judgement: a thread's flanks, at 60 degrees, are no wall; a wall drawn for a mould is one
_BY_AREA, _BY_FACE = 10_000, 10_000  # places spread evenly over the surface, and over the faces, which finds small ones
_FOLLOWED = 96
_FAN, _SLANT, _CLOSER, _ROUNDS = 6, np.radians(20.0), 0.75, 14
_SLIVER_MM = 1e-4  # of a face's height: a narrower one does not know which way it faces


def thinnest_wall(bodies: Bodies, grid: Grid) -> float | None:
    """The thinnest wall of the closed bodies; None where nothing lies opposite anything."""
    surface = bodies.surface
    corners = surface.corners
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    true = surface.areas * 2 > _SLIVER_MM * longest
    usable = np.flatnonzero(bodies.walls & surface.closed[surface.shell] & true)
    if not len(usable):
        return None
    seeker = _Seeker(bodies, grid, true)
    face = np.concatenate([_by_area(surface.areas[usable]), _by_face(len(usable))])
    weights = _spread(len(face))
    face = usable[face]
    places = np.einsum("kc,kcj->kj", weights, corners[face])
    found, _ = seeker.straight_in(face, places)
    thin = found.argsort(kind="stable")[:_FOLLOWED]
    thin = thin[np.isfinite(found[thin])]
    return seeker.follow(face[thin], places[thin], float(found[thin[0]])) if len(thin) else None


class _Seeker:
    """Sends rays in and says how thick the wall is there."""

    def __init__(self, bodies: Bodies, grid: Grid, true: Bools) -> None:
        self._normals = bodies.surface.normals
        # Faces inside material are not met: they are of no solid.
        self._groups = np.where(bodies.walls, bodies.solid, -1)
        self._grid, self._true = grid, true

    def straight_in(self, face: Indices, places: Floats) -> tuple[Floats, Floats]:
        """How far it is straight in from places on faces to what faces along, infinite for none; and its normals."""
        distance, met, _ = self._opposite(face, places, -self._normals[face])
        return distance, self._normals[met]

    def wall(self, face: Indices, places: Floats) -> Floats:
        """How thick the wall is at places on faces; infinite where there is none."""
        straight, leaning = self.straight_in(face, places)
        ways = leaning - self._normals[face]
        ways /= np.maximum(np.linalg.norm(ways, axis=1, keepdims=True), 1e-300)
        slant = -np.einsum("ij,ij->i", ways, self._normals[face])
        leans = np.isfinite(straight) & (slant < 1 - 1e-9)
        found = straight.copy()
        distance = self._opposite(face[leans], places[leans], ways[leans])[0]
        found[leans] = np.minimum(found[leans], distance / slant[leans])
        return found

    def _opposite(self, face: Indices, places: Floats, ways: Floats) -> tuple[Floats, Indices, Floats]:
        """How far rays go in from places until they meet what faces along (infinite for none), on which face, where."""
        hits = self._grid.cast(places, ways, face, self._groups[face], self._groups)
        met = np.maximum(hits.triangle, 0)
        along = -np.einsum("ij,ij->i", self._normals[met], self._normals[face])
        wall = (hits.triangle >= 0) & self._true[met] & (along >= np.cos(FACING))
        wall &= np.einsum("ij,ij->i", self._normals[met], ways) > 0
        distance = np.where(wall, hits.distance, 0)
        return np.where(wall, distance, np.inf), met, places + distance[:, None] * ways

    def follow(self, face: Indices, places: Floats, least: float) -> float:
        """The thinnest that walls come to when followed from places at which there is one."""
        slant = _SLANT
        for _ in range(_ROUNDS):
            many = np.repeat(np.arange(len(face)), _FAN + 1)
            distance, met, ends = self._opposite(face[many], places[many], _fan(-self._normals[face], slant))
            on = np.isfinite(distance)
            if not on.any():
                break
            beside, there = met[on], ends[on]
            wide = self.wall(beside, there)
            least = min(least, float(wide.min()))
            best = wide.argsort(kind="stable")[:_FOLLOWED]
            face, places = beside[best], there[best]
            slant *= _CLOSER
        return least


def _fan(ways: Floats, slant: float) -> Floats:
    """Each unit vector, followed by some at a slant to it on all sides."""
    helper = np.eye(3)[np.abs(ways).argmin(axis=1)]
    aside = np.cross(ways, helper)
    aside /= np.linalg.norm(aside, axis=1, keepdims=True)
    other = np.cross(ways, aside)
    turns = np.arange(_FAN) * 2 * np.pi / _FAN
    tilted = [np.cos(slant) * ways + np.sin(slant) * (np.cos(turn) * aside + np.sin(turn) * other) for turn in turns]
    return np.stack([ways, *tilted], axis=1).reshape(-1, 3)


def _by_area(areas: Floats) -> Indices:
    """Faces, each as often as its area asks for, in equal steps."""
    total = np.cumsum(areas)
    return np.asarray(np.searchsorted(total, (np.arange(_BY_AREA) + 0.5) / _BY_AREA * total[-1]))


def _by_face(count: int) -> Indices:
    """Faces in equal steps of their number; all when there are few."""
    return np.arange(count) if count <= _BY_FACE else np.arange(_BY_FACE) * count // _BY_FACE


def _spread(count: int) -> Floats:
    """Weights of a face's corners (n, 3), spread evenly over it: a sequence that fills the square, folded."""
    step = np.arange(count)[:, None] * np.array([0.7548776662466927, 0.5698402909980532]) % 1
    folded = np.where((step.sum(axis=1) > 1)[:, None], 1 - step, step)
    return np.column_stack([1 - folded.sum(axis=1), folded])
